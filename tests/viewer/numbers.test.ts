/** The numbers behind a device: their origins against what its file really says, and against the list of what is assumed. */
import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { parse } from "jsonc-parser";
import { expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { numbersOf } from "../../viewer/numbers.ts";
import { buildRun, device } from "../browser/fixture.ts";
import { SHIPPED } from "../helpers/shipped.ts";

type Json = Readonly<Record<string, unknown>>;

function scenarios() {
  return SHIPPED.map((name) => {
    const file = `scenarios/${name}`;
    const load = (other: string) => ({ bytes: readFileSync(join(dirname(file), other)) });
    const { plan } = readScenario({ file, bytes: readFileSync(file) }, load);
    if (plan === null) throw new Error(`${file} cannot be read`);
    const json = (path: string) => parse(readFileSync(path, "utf8"), [], { allowTrailingComma: true }) as Json;
    const scenario = json(file);
    const rig = (typeof scenario.rig === "string" ? json(join("scenarios", scenario.rig)) : scenario.rig) as Json;
    const libraries = [scenario.library, rig.library].filter((each) => typeof each === "string");
    const types = Object.assign(
      {},
      ...[scenario, rig, ...libraries.map((each) => json(join("scenarios", each)))].map(
        (each) => each.deviceTypes ?? {},
      ),
    ) as Record<string, Json>;
    return { name, plan, entries: rig.devices as readonly Json[], types };
  });
}

/** Whether an object of the file says it: "loop.damping" in { loop: { damping } }. */
function says(object: Json | undefined, path: string): boolean {
  const [first = "", ...rest] = path.split(".");
  const value = object?.[first];
  return rest.length === 0 ? value !== undefined : says(value as Json | undefined, rest.join("."));
}

test("a number is given where the device's own entry says it, by its type where that does, else filled in", () => {
  const seen = { given: 0, type: 0, filled: 0 };
  for (const { name, plan, entries, types } of scenarios()) {
    for (const entry of entries) {
      const made = plan.devices.find(({ id }) => id === entry.id)!;
      const chain: Json[] = [];
      for (let like = entry.like; typeof like === "string" && types[like] !== undefined; like = types[like]?.like)
        chain.push(types[like]!);
      for (const { name: number, origin } of numbersOf(plan, made)) {
        // Written as one of several shapes, or as a table in its place.
        if (number === "oscillator.sigma1" || number === "oscillator.tempcoPpmPerCelsius") continue;
        const where = `${name}: ${made.id} ${number}`;
        const isGiven = says(entry, number);
        const isByType = !isGiven && chain.some((type) => says(type, number));
        seen[isGiven ? "given" : isByType ? "type" : "filled"] += 1;
        if (isGiven) expect(origin, where).toBe("Given in the file");
        else if (isByType) expect(origin, where).toMatch(/(^|\. )Given by its type in the file($|: )/);
        else if (number !== "startCelsius") expect(origin, where).toMatch(/^(Assumed|Default)/);
      }
    }
  }
  expect(seen.given).toBeGreaterThan(200);
  expect(seen.type).toBeGreaterThan(20);
  expect(seen.filled).toBeGreaterThan(1000);
});

test("what is assumed and asked for is what the run lists as assumed, device by device", () => {
  let listed = 0;
  for (const { name, plan } of scenarios()) {
    const names = numbersOf(plan, plan.devices[0]!).map((number) => number.name);
    for (const number of names) {
      const lines = plan.assumed.filter((line) => line.startsWith(`${number} `));
      const ids = lines.flatMap((line) => line.slice(line.lastIndexOf(": ") + 2).split(", ")).sort();
      const ours = plan.devices.flatMap((each) => {
        const found = numbersOf(plan, each).find((one) => one.name === number)!;
        return found.isAssumed && found.isAsked ? [each.id] : [];
      });
      expect(ours.sort(), `${name}: ${number}`).toEqual(ids);
      listed += ids.length;
    }
  }
  expect(listed).toBeGreaterThan(500);
});

test("what counts and has no source stands first; nothing claims what only a measurement could", () => {
  for (const { plan } of scenarios()) {
    for (const each of plan.devices) {
      const ranks = numbersOf(plan, each).map(({ isAsked, isAssumed }) => (isAsked ? (isAssumed ? 0 : 1) : 2));
      expect(ranks).toEqual([...ranks].sort());
      for (const { value, ifMeasured, label } of numbersOf(plan, each)) {
        expect(`${label} ${value}`).not.toMatch(/undefined|NaN|\[object/);
        expect(ifMeasured).toMatch(/^[A-Z].*\.$/);
        expect(ifMeasured).not.toMatch(/\b(pass|safe|good|ok|will)\b|!/i);
      }
    }
  }
});

test("of a plan that no file was read for, no origin is claimed", () => {
  const { plan } = buildRun({ devices: [device("foh", "FOH desk", ["internal"])] });
  for (const { origin, isAssumed } of numbersOf(plan, plan.devices[0]!)) {
    expect(origin).toBe("Not known");
    expect(isAssumed).toBe(false);
  }
});
