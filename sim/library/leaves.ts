/** A device type as a list of its numbers and words, by the names that origins have, and back. */
import type { OriginSaid } from "../../shared/plan.ts";
import { sameValue, WITHIN } from "../../shared/scenario-origins.ts";
import type { DeviceTypeFile } from "../../shared/scenario-schema.ts";

export type TypesFile = Readonly<Record<string, DeviceTypeFile>>;

/** "bootSeconds", "oscillator.offsetPpm"; what is a shape or a list is one value. */
export function leavesOf(type: DeviceTypeFile): ReadonlyMap<string, unknown> {
  const leaves = new Map<string, unknown>();
  for (const [key, value] of Object.entries(type)) {
    if (key === "origins" || value === undefined) continue;
    if (!WITHIN.has(key)) leaves.set(key, value);
    else for (const [inner, each] of Object.entries(value as object)) leaves.set(`${key}.${inner}`, each);
  }
  return leaves;
}

export function typeOf(
  leaves: ReadonlyMap<string, unknown>,
  origins: ReadonlyMap<string, readonly OriginSaid[]>,
): DeviceTypeFile {
  const type: Record<string, unknown> = {};
  for (const [name, value] of leaves) {
    const [key = "", inner] = name.split(".");
    if (inner === undefined) type[key] = value;
    else type[key] = { ...(type[key] as object | undefined), [inner]: value };
  }
  if (origins.size > 0) type.origins = Object.fromEntries(origins);
  return type as DeviceTypeFile;
}

export function originsIn(type: DeviceTypeFile): ReadonlyMap<string, readonly OriginSaid[]> {
  return new Map(Object.entries(type.origins ?? {}).flatMap(([name, said]) => (said ? [[name, said] as const] : [])));
}

/** The same thing said twice counts once: value, who says so, the day and how often. */
export function sameOrigin(one: OriginSaid, other: OriginSaid): boolean {
  return (
    sameValue(one.value, other.value) &&
    one.from === other.from &&
    one.measured === other.measured &&
    (one.times ?? 1) === (other.times ?? 1)
  );
}

/**
 * Which of several values is played until somebody answers: the one that was measured last; of those that were measured
 * on one day, or never, the largest number, or what comes last in the order of its text. Whichever order they come in.
 */
export function playedOf(values: readonly unknown[], said: readonly OriginSaid[]): unknown {
  const day = (value: unknown) =>
    said.reduce(
      (last, one) => (sameValue(one.value, value) && (one.measured ?? "") > last ? (one.measured ?? "") : last),
      "",
    );
  return [...values].sort((one, other) => {
    const [a, b] = [day(one), day(other)];
    if (a !== b) return a < b ? 1 : -1;
    if (typeof one === "number" && typeof other === "number") return other - one;
    return JSON.stringify(one) < JSON.stringify(other) ? 1 : -1;
  })[0];
}
