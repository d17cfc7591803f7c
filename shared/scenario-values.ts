/**
 * Words, numbers and shapes that schemas of files are made of. The message of each rule is the expectation in words.
 */
import * as z from "zod/mini";
import { defaultRow } from "./defaults.ts";
import { SHOW_TIME_EXPECTED, SHOW_TIME_PATTERN } from "./units.ts";

// Compiled checks need `new Function`, which a page with a strict content policy refuses; these schemas run once a file.
z.config({ jitless: true });

/** The largest duration: an instant after it would not be exact. */
export const SECONDS_MAX = 8_985_600;

export function matching(pattern: RegExp, expected: string) {
  return z.string({ error: expected }).check(z.regex(pattern, { error: expected }));
}

export function oneOf<const T extends readonly [string, ...string[]]>(values: T) {
  return z.enum(values, { error: `one of ${values.join(", ")}` });
}

export function yesOrNo() {
  return z.boolean({ error: "true or false" });
}

export function numberFrom(min: number, max: number, unit: string) {
  const expected = `a number from ${min} to ${max}${unit === "" ? "" : ` ${unit}`}`;
  return z.number({ error: expected }).check(z.minimum(min, { error: expected }), z.maximum(max, { error: expected }));
}

export function numberAbove(min: number, max: number, unit: string) {
  const expected = `a number above ${min}, up to ${max}${unit === "" ? "" : ` ${unit}`}`;
  return z.number({ error: expected }).check(z.gt(min, { error: expected }), z.maximum(max, { error: expected }));
}

export function wholeFrom(min: number, max: number, unit: string) {
  const expected = `a whole number from ${min} to ${max}${unit === "" ? "" : ` ${unit}`}`;
  return z.int({ error: expected }).check(z.minimum(min, { error: expected }), z.maximum(max, { error: expected }));
}

export function oneOfNumbers<const T extends readonly [number, ...number[]]>(values: T) {
  return z.literal(values, { error: `one of the numbers ${values.join(", ")}` });
}

export function listOf<T extends z.ZodMiniType>(item: T, what: string) {
  return z.array(item, { error: `a list of ${what}` });
}

/** An object that knows its keys and no others. */
export function only<T extends z.core.$ZodLooseShape>(shape: T, what: string) {
  return z.strictObject(shape, {
    error: (issue) => (issue.code === "unrecognized_keys" ? Object.keys(shape).join(", ") : what),
  });
}

/** With more in the JSON Schema than what it accepts. */
export function marked<T extends z.ZodMiniType>(type: T, meta: z.core.GlobalMeta): T {
  const copy = z.clone(type);
  z.globalRegistry.add(copy, meta);
  return copy;
}

/** With a description in the JSON Schema. */
export function told<T extends z.ZodMiniType>(type: T, description: string): T {
  return marked(type, { description });
}

/** Optional, with the default that `defaults.ts` has for it shown in the JSON Schema. */
export function orDefault<T extends z.ZodMiniType>(
  on: Parameters<typeof defaultRow>[0],
  name: Parameters<typeof defaultRow>[1],
  type: T,
) {
  const { value, derived, unit, what } = defaultRow(on, name);
  const shown = `${Array.isArray(value) ? value.join(", ") : value}${unit === "" ? "" : ` ${unit}`}`;
  return z.optional(
    marked(type, { description: `${what}. Default: ${shown}.`, ...(derived ? {} : { default: value }) }),
  );
}

export const id = matching(
  /^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$/u,
  "an id: letters, digits, - and _, at most 64, beginning with a letter or a digit",
);
/** Of blanks and signs of direction alone it would be shown as nothing. */
export const label = matching(
  /^(?=.*[^\p{Z}\p{Cf}])\P{Cc}{1,200}$/u,
  "a text of 1 to 200 characters in one line, not of blanks alone",
);
export const port = wholeFrom(1, 999, "(a port)");
export const portRef = matching(
  /^[A-Za-z0-9][A-Za-z0-9_-]{0,63}\.[1-9][0-9]{0,2}$/u,
  'a device and its port, such as "stage.1"',
);
export const clockSource = matching(
  /^(?:[1-9][0-9]{0,2}|internal)$/u,
  'a port number in quotes, such as "1", or "internal"',
);
export const showTime = matching(SHOW_TIME_PATTERN, SHOW_TIME_EXPECTED);
export const seconds = numberFrom(0, SECONDS_MAX, "s");
export const offsetPpm = numberFrom(-1000, 1000, "ppm");
export const celsius = numberFrom(-50, 100, "°C");
export const filePath = matching(/^\P{Cc}{1,400}$/u, 'a file beside the scenario, such as "./quay.rig.json"');
export const schemaKey = z.optional(z.string({ error: "the address of a JSON Schema, in quotes" }));
export const format = z.literal(1, { error: "1, the only format so far" });
