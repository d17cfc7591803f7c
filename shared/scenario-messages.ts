/**
 * From what the schema refused to issues with place, expectation, value and remedy. The expectation is the schema's own
 * message; this file finds the place, picks the variant of a union that was meant, and knows what to do.
 */
import type * as z from "zod/mini";
import { readDuration, readInstant, readLength, type ShowClock, showClockOf } from "./as-said.ts";
import type { Issue, Path } from "./issues.ts";
import { quote } from "./issues.ts";
import type { LinkTypeName } from "./link-types.ts";
import { isStreamType, linkType } from "./link-types.ts";
import { nearest } from "./nearest.ts";
import type { Complaint, JsonFile } from "./read-json.ts";
import { nsFromSeconds } from "./time.ts";
import { DATE_PATTERN, formatShowTime } from "./units.ts";

type Refusal = z.core.$ZodIssue;

/** Remedies look through lists of words; beyond so many problems nobody reads them. */
const REMEDIES_MAX = 60;

/** Every refusal of one file as an issue. `base` is where the refused value stands in the file. */
export function schemaIssues(json: JsonFile, base: Path, refusals: readonly Refusal[]): Issue[] {
  const issues: Issue[] = [];
  for (const refusal of refusals) add(json, base, refusal, issues);
  return withoutEchoes(issues);
}

const LINK_ENDS: ReadonlySet<unknown> = new Set(["from", "to", "ends"]);

/** Ends written as those of another type of link are one problem, not also the missing ends of this type. */
function withoutEchoes(issues: Issue[]): Issue[] {
  const parent = (path: Path) => JSON.stringify(path.slice(0, -1));
  const isEnd = ({ path }: Issue) => path.at(-3) === "links" && LINK_ENDS.has(path.at(-1));
  const otherEnds = new Set(
    issues.filter((one) => isEnd(one) && one.remedy.startsWith("write ")).map(({ path }) => parent(path)),
  );
  if (otherEnds.size === 0) return issues;
  return issues.filter((one) => !(isEnd(one) && one.received === "nothing" && otherEnds.has(parent(one.path))));
}

function add(json: JsonFile, base: Path, refusal: Refusal, issues: Issue[]): void {
  const path = [...base, ...(refusal.path as (string | number)[])];
  const value = json.at(path);
  const withRemedy = issues.length < REMEDIES_MAX;

  if (refusal.code === "unrecognized_keys") {
    const known = refusal.message.split(", ");
    for (const key of refusal.keys)
      issues.push(json.issueAtKey([...path, key], withRemedy ? unknownKey(json, path, key, known) : briefly(key)));
    return;
  }
  if (refusal.code === "invalid_union" && refusal.errors.length > 0) {
    const meant = variantMeant(refusal.errors);
    if (meant) {
      for (const inner of meant) add(json, path, inner, issues);
      return;
    }
  }
  if (refusal.code === "invalid_key") {
    const expected = refusal.issues[0]?.message ?? "a key that is allowed here";
    const key = path.at(-1);
    issues.push(json.issueAtKey(path, { expected, received: quote(key), remedy: keyRemedy(expected) }));
    return;
  }
  const complaint = { expected: refusal.message, received: quote(value) };
  issues.push(
    json.issue(path, {
      ...complaint,
      remedy: withRemedy ? remedyFor(path, value, refusal, showClockOf(json.at(["run"]))) : "correct it",
    }),
  );
}

function briefly(key: string): Complaint {
  return { expected: "a key that is known here", received: quote(key), remedy: "take it away" };
}

/** The variant that leaves least to correct; none where the value is of another kind than all of them. */
function variantMeant(variants: readonly (readonly Refusal[])[]): readonly Refusal[] | null {
  const wrongKind = (refusal: Refusal) => refusal.path.length === 0 && refusal.code !== "unrecognized_keys";
  const open = variants.filter((refusals) => !refusals.some(wrongKind));
  const cost = (refusals: readonly Refusal[]) =>
    refusals.reduce((sum, refusal) => sum + (refusal.code === "unrecognized_keys" ? refusal.keys.length : 1), 0);
  return open.reduce<readonly Refusal[] | null>((best, next) => (!best || cost(next) < cost(best) ? next : best), null);
}

function unknownKey(json: JsonFile, path: Path, key: string, known: readonly string[]): Complaint {
  const complaint = { expected: "a key that is known here", received: quote(key) };
  const type = json.at([...path, "type"]);
  if (path.at(-2) === "links" && ["ends", "from", "to", "return"].includes(key) && typeof type === "string") {
    const { twoWay, name } = linkType(type as LinkTypeName);
    if (isStreamType(type))
      return {
        ...complaint,
        expected: `"from" and "to" on ${name}, which is a stream and runs one way`,
        remedy: 'write "from": "stage.1", "to": "foh.1", and a stream of its own for the other way',
      };
    return {
      ...complaint,
      expected: twoWay
        ? `"ends" on ${name}, which runs both ways in one cable`
        : `"from" and "to" on ${name}, which runs one way a cable`,
      remedy: twoWay
        ? 'write "ends": ["foh.1", "stage.1"]'
        : 'write "from": "stage.1", "to": "foh.1", and "return": true for a second cable back',
    };
  }
  const near = nearest(key, known);
  if (near) return { ...complaint, remedy: `did you mean ${near}?` };
  return { ...complaint, remedy: `take it away; known here: ${known.join(", ")}` };
}

function keyRemedy(expected: string): string {
  return expected.startsWith("an id") ? "choose such a name" : "name the port by its number, in quotes";
}

function remedyFor(path: Path, value: unknown, refusal: Refusal, clock: ShowClock): string {
  const key = path.findLast((step) => typeof step === "string") ?? "";
  const { message } = refusal;
  if (value === undefined) return typeof path.at(-1) === "string" ? `add "${key}"` : "add it";

  if (message.startsWith("one of the numbers "))
    return typeof value === "number" ? "choose one of them" : "choose one of them, without quotes";
  if (typeof value === "number") {
    if (key.endsWith("Ppm") && Math.abs(value) > 1000 && Math.abs(value) <= 1_000_000)
      return `did you mean ${round(value / 1000)} (${value} ppb)?`;
    if (key === "sampleRateHz" && value >= 31 && value <= 216)
      return `did you mean ${round(value * 1000)} (${value} kHz)?`;
    if (message.startsWith("a port number in quotes") || message.startsWith("a show time"))
      return numberAsText(value, message);
    if (message.startsWith("a whole number") && !Number.isInteger(value))
      return `round it, to ${Math.round(value)} for example`;
    if (message.startsWith("a number") || message.startsWith("a whole number")) return "choose a number in that range";
    return key === "format" ? "write 1, without quotes" : "write such a text, in double quotes";
  }
  if (typeof value === "string") {
    if (message.startsWith("a number") || message.startsWith("a whole number"))
      return Number.isFinite(Number(value)) && value.trim() !== ""
        ? "write it without quotes"
        : (numberRemedy(key, value) ?? "write a number, without quotes");
    if (message.startsWith("true or false"))
      return value === "true" || value === "false" ? "write it without quotes" : "write true or false, without quotes";
    if (message.startsWith("one of ")) {
      const near = nearest(value, message.slice("one of ".length).split(", "));
      return near ? `did you mean ${quote(near)}?` : "choose one of them";
    }
    if (message.startsWith("a show time")) return showTimeRemedy(value, clock);
    if (message.startsWith("a date")) return dateRemedy(value);
    if (message.startsWith("a device and its port")) return portRemedy(value);
    if (message.startsWith("a port number in quotes"))
      return nearest(value, ["internal"]) ? 'did you mean "internal"?' : "name a port of the device by its number";
    if (message.startsWith("an id")) return idRemedy(value);
    if (message.startsWith("sixteen hexadecimal digits"))
      return "write digits 0 to 9 and letters a to f, without colons";
    if (message.startsWith("a list")) return `write it as a list: [${quote(value)}]`;
    if (message.startsWith("a text") && !/[^\p{Z}\p{C}]/u.test(value)) return "write something that can be seen";
    if (/^(a text|a file)/.test(message)) return "shorten it, and leave out control characters";
  }
  if (message.startsWith("one of ")) return "choose one of them, in double quotes";
  if (message.startsWith("a list of at least")) return "name more, or leave the key out";
  if (message === "two ends") return 'name both ends: ["foh.1", "stage.1"]';
  if (/: an object|: an object,/.test(message)) return "write an object { } here";
  return "write what is expected here";
}

function numberAsText(value: number, message: string): string {
  if (message.startsWith("a port number"))
    return Number.isInteger(value) && value > 0 ? `write "${value}"` : "name a port by its number";
  return WRITE_SHOW_TIME;
}

/** What was meant, in the file's form; where a form may mean two things, both. */
function showTimeRemedy(value: string, clock: ShowClock): string {
  const read = readInstant(value, clock);
  if (!("value" in read))
    return clock.startsAt !== null || /^\d+:\d\d$/.test(value.trim()) ? read.remedy : WRITE_SHOW_TIME;
  const at = formatShowTime(read.value);
  const [, minutes = "", seconds = ""] = /^(\d+):(\d\d)$/.exec(value.trim()) ?? [];
  if (minutes === "") return `did you mean "${at}"?`;
  if (clock.startsAt !== null) return `did you mean "${at}", which is ${value.trim()} by the clock?`;
  const other = formatShowTime(nsFromSeconds(Number(minutes) * 60 + Number(seconds)));
  return `write "${at}" if it is hours and minutes, "${other}" if it is minutes and seconds`;
}

const WRITE_SHOW_TIME = 'write hours, minutes and seconds: "00:20:00"';

/** "90 s" under forSeconds, "40 ft" under lengthMetres: the number that the file has for it. */
function numberRemedy(key: string, value: string): string | null {
  const read = key.endsWith("Seconds") ? readDuration(value) : key.endsWith("Metres") ? readLength(value) : null;
  if (read === null || !("value" in read)) return null;
  return `write ${quote(key)}: ${read.value}${read.understood === null ? "" : ` if it is ${read.understood}`}`;
}

function dateRemedy(value: string): string {
  const parts = /^\s*([0-9]{4})[-./ ]?([0-9]{1,2})[-./ ]?([0-9]{1,2})\s*$/.exec(value)?.slice(1);
  const guess = parts?.map((part) => part.padStart(2, "0")).join("-");
  // 3/4 is a day in March to some and in April to others: only what begins with the year is guessed at.
  if (guess !== undefined && DATE_PATTERN.test(guess)) return `did you mean "${guess}"?`;
  return 'write year, month and day: "2026-11-20"';
}

function portRemedy(value: string): string {
  return /^[A-Za-z0-9][A-Za-z0-9_-]*$/.test(value)
    ? `name the port as well: "${value}.1"`
    : 'write the device, a point and the port number: "stage.1"';
}

function idRemedy(value: string): string {
  const guess = value
    .trim()
    .replace(/[^A-Za-z0-9_-]+/g, "-")
    .replace(/^[-_]+|-+$/g, "")
    .slice(0, 64);
  return guess === "" ? 'choose an id such as "stage"' : `did you mean "${guess}"?`;
}

function round(value: number): number {
  return Number(value.toPrecision(12));
}
