/**
 * Engines round `Math.exp` and its kin as they like. Two engines of one family agreeing proves little, so here one is made
 * to round them wrongly: every shipped scenario, wander on everywhere, must come out the same byte for byte.
 */
import { type Context, constants, createContext, Script } from "node:vm";
import { describe, expect, test } from "vitest";
import type { RunBytes } from "../helpers/bytes-of-run.ts";
import { bytesOfRun } from "../helpers/bytes-of-run.ts";
import { bundleEngine, shippedTexts } from "../helpers/engine-bundle.ts";

/** What the language leaves to engines, all of it. */
const LOOSE = [
  ...["exp", "expm1", "log", "log1p", "log2", "log10", "pow", "cbrt", "hypot"],
  ...["sin", "cos", "tan", "asin", "acos", "atan", "atan2", "sinh", "cosh", "tanh", "asinh", "acosh", "atanh"],
];

/** Makes functions of Math answer one unit in the last place higher, in the realm where it runs. */
function perturbation(names: readonly string[]): string {
  return `for (const name of ${JSON.stringify(names)}) {
    const true_ = Math[name];
    const cell = new Float64Array(1);
    const bits = new BigInt64Array(cell.buffer);
    Math[name] = (...given) => {
      const value = true_(...given);
      if (value === 0 || !Number.isFinite(value)) return value;
      cell[0] = value;
      bits[0] += 1n;
      return cell[0];
    };
  }`;
}

interface Realm {
  bytesOfRun(name: string, texts: Readonly<Record<string, string>>): RunBytes;
  /** Value of an expression there. */
  value(expression: string): unknown;
}

/** A realm of its own, in which Math is bent before the engine is loaded. */
function realmWith(engine: Script, bent: readonly string[]): Realm {
  // An ordinary global object: through any other, each look at `Math` costs several times what it is looked at for.
  const context: Context = createContext(constants.DONT_CONTEXTIFY);
  Object.assign(context, { TextEncoder, TextDecoder });
  new Script(perturbation(bent)).runInContext(context);
  engine.runInContext(context);
  const value = (expression: string): unknown => new Script(expression).runInContext(context);
  const { bytesOfRun: inRealm } = value("pulltest") as { bytesOfRun: typeof bytesOfRun };
  return { bytesOfRun: inRealm, value };
}

const { texts, scenarios } = shippedTexts();
const engine = new Script(await bundleEngine());

describe("with exp, log, sin, cos, pow and kin a unit in the last place off", () => {
  const realm = realmWith(engine, LOOSE);

  test("which they are there", () => {
    for (const [name, given, right] of [
      ["exp", "1", Math.exp(1)],
      ["log", "3", Math.log(3)],
      ["sin", "1", Math.sin(1)],
      ["cos", "1", Math.cos(1)],
      ["pow", "1.1, 3", 1.1 ** 3],
      ["hypot", "3, 4", 5],
      ["atan2", "1, 2", Math.atan2(1, 2)],
    ] as const) {
      const bent = realm.value(`Math.${name}(${given})`) as number;
      expect(bent, name).not.toBe(right);
      expect(Math.abs(bent / right - 1), name).toBeLessThan(1e-15);
    }
    expect(LOOSE.filter((name) => !(name in Math))).toEqual([]);
  });

  test.each(scenarios)("%s is the same byte for byte", (name) => {
    const here = bytesOfRun(name, texts);
    const there = realm.bytesOfRun(name, texts);
    expect(there.text === here.text).toBe(true);
    expect(here.wandering).toBeGreaterThan(0);
    expect(here.looks).toBeGreaterThan(50);
  });

  test("which an engine that leans on a function so bent would not be: it takes square roots", () => {
    const name = "long-chain.json";
    const { text } = bytesOfRun(name, texts);
    expect(realmWith(engine, ["sqrt"]).bytesOfRun(name, texts).text).not.toBe(text);
  });
});
