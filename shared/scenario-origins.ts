/**
 * Where the numbers of devices come from, beside the numbers: origins joined through `like`, and what they come to in
 * words. The number that stands in the file is the one that is played; origins only say how much it is worth.
 */
import { namedUnit } from "./named-units.ts";
import type { OriginSaid } from "./plan.ts";
import type { DeviceTypeFile } from "./scenario-schema.ts";

type OriginsFile = NonNullable<DeviceTypeFile["origins"]>;

/** Names of the objects within a device whose numbers have origins of their own. */
export const WITHIN: ReadonlySet<string> = new Set(["oscillator", "loop", "comingUpSeconds"]);

/** The value at "bootSeconds" or "oscillator.offsetPpm"; undefined where nobody gives it. */
export function numberAt(fields: DeviceTypeFile, name: string): unknown {
  const [first = "", second] = name.split(".");
  const value = (fields as Readonly<Record<string, unknown>>)[first];
  if (second === undefined) return WITHIN.has(first) ? undefined : value;
  return typeof value === "object" && value !== null ? (value as Record<string, unknown>)[second] : undefined;
}

/** Of a type that gives a number anew, what was said of the number before it is about another one. */
export function joinOrigins(base: DeviceTypeFile, over: DeviceTypeFile): OriginsFile | undefined {
  if (base.origins === undefined) return over.origins;
  const isOtherOscillator = over.oscillator?.type !== undefined && over.oscillator.type !== base.oscillator?.type;
  const kept = Object.entries(base.origins).filter(
    ([name]) => numberAt(over, name) === undefined && !(isOtherOscillator && name.startsWith("oscillator.")),
  );
  const joined: Record<string, OriginsFile[string]> = Object.fromEntries(kept);
  for (const [name, said] of Object.entries(over.origins ?? {}))
    joined[name] = [...(joined[name] ?? []), ...(said ?? [])];
  return joined;
}

/** What is said of one number, oldest measurement first, then what nobody measured; empty where nothing is. */
export function originsAt(fields: DeviceTypeFile, name: string): readonly OriginSaid[] {
  return sortedOrigins(fields.origins?.[name] ?? []);
}

/** In one order, whatever order they were written in: by day, then by who says so, then by value. */
export function sortedOrigins<T extends OriginSaid>(all: readonly T[]): readonly T[] {
  const key = ({ measured, from, value, times }: OriginSaid) =>
    `${measured ?? "9999-99-99"} ${from} ${JSON.stringify(value)} ${times ?? 1}`;
  return [...all].sort((one, other) => (key(one) < key(other) ? -1 : key(one) > key(other) ? 1 : 0));
}

export function sameValue(one: unknown, other: unknown): boolean {
  return JSON.stringify(one) === JSON.stringify(other);
}

/** The last day on which what is played was measured; null where it never was. */
export function lastMeasured(played: unknown, said: readonly OriginSaid[]): string | null {
  const days = said.flatMap(({ measured, value }) =>
    measured !== undefined && sameValue(value, played) ? [measured] : [],
  );
  return days.sort().at(-1) ?? null;
}

/** As a file has it, with its unit: "74 s", "starting, acquiring", "false". */
export function valueWords(name: string, value: unknown): string {
  if (Array.isArray(value) && value.every((one) => typeof one === "string"))
    return value.length === 0 ? "none" : value.join(", ");
  if (typeof value === "object") return JSON.stringify(value);
  const { unit } = namedUnit(name);
  return typeof value === "number" && unit !== "" ? `${value} ${unit}` : String(value);
}

/**
 * "measured 2026-05-02 (load-in, stopwatch)"; with how often, with what else was said, and with what was measured and is
 * not played. Empty where nothing is said.
 */
export function originWords(name: string, played: unknown, said: readonly OriginSaid[]): string {
  const own = said.filter(({ value }) => sameValue(value, played));
  const others = said.filter(({ value }) => !sameValue(value, played));
  const words = [
    ...own.map((one) => saidWords(one)),
    ...others.map((one) => `not ${valueWords(name, one.value)}, ${saidWords(one)}`),
  ];
  return words.join("; ");
}

function saidWords({ from, measured, times }: OriginSaid): string {
  if (measured === undefined) return `from ${from}`;
  const often = times === undefined || times === 1 ? "" : `, ${times} times`;
  return `measured ${measured}${often} (${from})`;
}
