/** What people type into fields of time and number: read, or what is wrong with it. */
import { NO_CLOCK, readDuration, readInstant, type ShowClock } from "../../shared/as-said.ts";
import type { Plan } from "../../shared/plan.ts";
import { type Ns, secondsBetween } from "../../shared/time.ts";
import { formatShowTime, parseShowTime } from "../../shared/units.ts";

/** The longest that a file may say, some 104 days: whole nanoseconds are exact below. */
export const SECONDS_MAX = 8_985_600;
/** The shortest: a nanosecond, the grain of a run. */
const SECONDS_MIN = 1e-9;

interface Problem {
  readonly problem: string;
}

/** What is said of a form that may mean two things; empty: it means one. */
interface Read {
  readonly note: string;
}

export function clockOf({ startsAt, lengthNs }: Plan): ShowClock {
  return { startsAt: startsAt ?? null, lengthNs };
}

/** An instant in the file's form, of "00:20:00", "20 min", "0:20" or the time of day. */
export function showTimeIn(text: string, clock: ShowClock): (Read & { readonly at: string }) | Problem {
  const read = readInstant(text, clock);
  if ("expected" in read) return { problem: `${text.trim()}: ${read.remedy}.` };
  return { at: formatShowTime(read.value), note: noteOf(text, read.understood) };
}

/** How long a show is, in the file's form: "1:30" is hours and minutes. */
export function showLengthIn(text: string): (Read & { readonly at: string }) | Problem {
  return showTimeIn(text, NO_CLOCK);
}

/** A number, or where it is of seconds a duration, within these bounds. */
export function numberIn(
  text: string,
  unit: string,
  min: number,
  max: number,
): (Read & { readonly value: number }) | Problem {
  const plain = text.trim() === "" ? Number.NaN : Number(text.trim().replace(",", "."));
  const read = unit === "s" && Number.isNaN(plain) ? readDuration(text) : { value: plain, understood: null };
  if ("value" in read && read.value >= min && read.value <= max)
    return { value: read.value, note: noteOf(text, read.understood) };
  return { problem: `Write a number from ${min} to ${max}, such as ${Math.max(min, 5)}.` };
}

/**
 * How long something lasts that begins at an instant: "90", "90 s", "1 min 30 s"; or, with colons, the instant at which
 * it is over. Blank: it stays (`undefined`).
 */
export function lastingIn(
  text: string,
  beginsNs: Ns | null,
  clock: ShowClock,
): (Read & { readonly seconds: number | undefined }) | Problem {
  const typed = text.trim();
  if (typed === "") return { seconds: undefined, note: "" };
  if (!typed.includes(":")) {
    const found = numberIn(typed, "s", SECONDS_MIN, SECONDS_MAX);
    return "problem" in found ? found : { seconds: found.value, note: found.note };
  }
  const time = showTimeIn(typed, clock);
  if ("problem" in time) return time;
  const endNs = parseShowTime(time.at);
  if (endNs === null || beginsNs === null) return { problem: `${typed}: write when it begins first.` };
  return endNs > beginsNs
    ? { seconds: secondsBetween(beginsNs, endNs), note: time.note }
    : { problem: `${endsTooEarly(beginsNs)} How long it lasts is written without colons, like 90 s or 1 min 30 s.` };
}

export function endsTooEarly(beginsNs: Ns): string {
  return `It begins at ${formatShowTime(beginsNs)}: write a later time for its end.`;
}

function noteOf(text: string, understood: string | null): string {
  return understood === null ? "" : `Read ${text.trim()} as ${understood}.`;
}
