/** What a library has of each type: its numbers with their origins, and what is still assumed of it. */
import { DEFAULTS } from "../../shared/defaults.ts";
import type { OriginSaid } from "../../shared/plan.ts";
import type { Library } from "../../shared/scenario-library.ts";
import { lastMeasured, originsAt } from "../../shared/scenario-origins.ts";
import { leavesOf } from "./leaves.ts";

export interface TypeNumber {
  /** "bootSeconds", "oscillator.offsetPpm". */
  readonly name: string;
  /** Null: measured, and no number stands, so the default is played. */
  readonly value: unknown;
  /** The type that it is like, which gives it; null: it gives it itself. */
  readonly isOfLike: boolean;
  /** The last day on which this value was measured; null: it was not. */
  readonly measured: string | null;
  readonly origins: readonly OriginSaid[];
}

export interface TypeNumbers {
  readonly type: string;
  readonly like: string | null;
  /** False where what it is like is in another file, so that the rest of it is not known here. */
  readonly isWhole: boolean;
  readonly numbers: readonly TypeNumber[];
  /** Names of numbers that a run would assume of it. */
  readonly assumed: readonly string[];
}

/** In the order of the file. */
export function numbersOfTypes({ types, joined }: Pick<Library, "types" | "joined">): readonly TypeNumbers[] {
  return Object.entries(types).map(([type, written]): TypeNumbers => {
    const whole = joined.get(type) ?? null;
    const fields = whole ?? written;
    const [own, all] = [leavesOf(written), leavesOf(fields)];
    const names = [...new Set([...all.keys(), ...Object.keys(fields.origins ?? {})])].filter(
      (name) => name !== "like" && (name !== "kind" || fields.origins?.kind !== undefined),
    );
    const numbers = names.map((name): TypeNumber => {
      const [value, origins] = [all.get(name) ?? null, originsAt(fields, name)];
      return {
        name,
        value,
        isOfLike: value !== null && !own.has(name),
        measured: lastMeasured(value, origins),
        origins,
      };
    });
    const assumed = DEFAULTS.filter(
      ({ on, origin, name }) => on === "device" && origin === "assumed" && isOfAType(name),
    )
      .map(({ name }) => name as string)
      .filter((name) => !all.has(name));
    return { type, like: written.like ?? null, isWhole: whole !== null, numbers, assumed };
  });
}

/** Of the rest a rig decides, or a single port. */
function isOfAType(name: string): boolean {
  return !/^(?:clockSources|startCelsius|converter\.|bridge\.|ptp\.)/.test(name);
}
