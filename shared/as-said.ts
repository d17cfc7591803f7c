/**
 * Durations, instants and lengths as people say and write them: "1 min 30 s", "18:00", "39' 4"". One reader for
 * everywhere that people type; a scenario file has one form of each, and is held to it. What may mean two things is read
 * in one way that the field decides, and said back (`understood`); where both would do, or neither, it is refused.
 */
import { type Ns, nsFromSeconds, secondsFromNs } from "./time.ts";
import { formatShowTime, parseShowTime } from "./units.ts";

export type AsSaid<T> =
  | {
      readonly value: T;
      /** How a form was taken that may mean two things: "minutes and seconds, 90 s"; null: it means one. */
      readonly understood: string | null;
    }
  | { readonly expected: string; readonly remedy: string };

/** What an instant is read by: the time of day at show time 0 ("17:30"), and how long the show is. Null: not known. */
export interface ShowClock {
  readonly startsAt: string | null;
  readonly lengthNs: Ns | null;
}

export const NO_CLOCK: ShowClock = { startsAt: null, lengthNs: null };

/** The clock that the `run` of a file tells, read or not yet checked. */
export function showClockOf(run: unknown): ShowClock {
  const { startsAt, length } = (typeof run === "object" && run !== null ? run : {}) as Record<string, unknown>;
  return {
    startsAt: typeof startsAt === "string" && TIME_OF_DAY_PATTERN.test(startsAt) ? startsAt : null,
    lengthNs: typeof length === "string" ? parseShowTime(length) : null,
  };
}

export const TIME_OF_DAY_PATTERN = /^(?:[01][0-9]|2[0-3]):[0-5][0-9]$/u;
export const TIME_OF_DAY_EXPECTED = 'a time of day "hh:mm", from "00:00" to "23:59"';
const DAY_SECONDS = 86_400;

/** "18:00:00": the time of day at an instant of a show that starts at `startsAt`, over midnight as well. */
export function timeOfDay(startsAt: string, at: Ns): string {
  const seconds = (secondsOfDay(startsAt) + Math.floor(secondsFromNs(at))) % DAY_SECONDS;
  return formatShowTime(nsFromSeconds(seconds));
}

function secondsOfDay(text: string): number {
  const [hours = 0, minutes = 0] = text.split(":").map(Number);
  return hours * 3600 + minutes * 60;
}

// ---- durations

const SECONDS_IN: Readonly<Record<string, number>> = {
  ...{ ms: 0.001, millisecond: 0.001, milliseconds: 0.001 },
  ...{ s: 1, sec: 1, secs: 1, second: 1, seconds: 1 },
  ...{ m: 60, min: 60, mins: 60, minute: 60, minutes: 60 },
  ...{ h: 3600, hr: 3600, hrs: 3600, hour: 3600, hours: 3600 },
  ...{ d: DAY_SECONDS, day: DAY_SECONDS, days: DAY_SECONDS },
};

export const DURATION_EXPECTED =
  "how long, such as 90, 90 s, 1 min 30 s, 1.5 h, 1:30 (minutes and seconds) or 00:01:30";

/** @param unit of a number alone, as a heading has it; what is no unit of time says nothing: seconds */
export function readDuration(typed: string, unit = "s"): AsSaid<number> {
  const text = tidied(typed);
  const refused = (remedy: string) => ({ expected: DURATION_EXPECTED, remedy });
  if (AMBIGUOUS_COMMA.test(text)) return refused(COMMA_REMEDY);
  const [, hours, mm, ss] = /^(\d{1,4}):([0-5]?\d):([0-5]?\d(?:[.,]\d+)?)$/.exec(text) ?? [];
  if (hours !== undefined && mm !== undefined && ss !== undefined)
    return { value: rounded(Number(hours) * 3600 + Number(mm) * 60 + numberIn(ss)), understood: null };
  const [, minutes, seconds] = /^(\d{1,4}):([0-5]\d(?:[.,]\d+)?)$/.exec(text) ?? [];
  if (minutes !== undefined && seconds !== undefined) {
    // Under "Boot (h)" it would be hours and minutes, anywhere else it is minutes and seconds.
    if (SECONDS_IN[unit] === 3600) return refused("write it with units, like 1 h 30 min");
    const value = rounded(Number(minutes) * 60 + numberIn(seconds));
    return { value, understood: `minutes and seconds, ${value} s` };
  }
  const value = sumOf(text, SECONDS_IN, Object.hasOwn(SECONDS_IN, unit) ? unit : "s");
  return value === null ? refused("write it in seconds, or with units, like 1 min 30 s") : { value, understood: null };
}

// ---- lengths

// The international foot is 0.3048 m exactly, and an inch its twelfth, 0.0254 m (from memory).
const METRES_IN: Readonly<Record<string, number>> = {
  ...{ m: 1, metre: 1, metres: 1, meter: 1, meters: 1, cm: 0.01, mm: 0.001, km: 1000 },
  ...{ ft: 0.3048, foot: 0.3048, feet: 0.3048, "'": 0.3048 },
  ...{ in: 0.0254, inch: 0.0254, inches: 0.0254, '"': 0.0254 },
};

export const LENGTH_EXPECTED = "a length, such as 12 m, 12,5, 40 ft or 39' 4\"";

/** @param unit of a number alone, as a heading has it; what is no unit of length says nothing: metres */
export function readLength(typed: string, unit = "m"): AsSaid<number> {
  const text = tidied(typed)
    .replace(/['\u2032\u2019]{2}|[\u2033\u201d]/g, '"')
    .replace(/[\u2032\u2019]/g, "'");
  const refused = (remedy: string) => ({ expected: LENGTH_EXPECTED, remedy });
  if (AMBIGUOUS_COMMA.test(text)) return refused(COMMA_REMEDY);
  const value = sumOf(text, METRES_IN, Object.hasOwn(METRES_IN, unit) ? unit : "m");
  return value === null
    ? refused("write the number of metres, or with a unit behind each number, like 39 ft 4 in")
    : { value, understood: null };
}

// ---- instants

const INSTANT = "an instant of the show, such as 00:20:00 or 20 min";

/** An instant of show time: by its own form "00:20:00", from the start ("20 min"), or by the time of day ("18:00"). */
export function readInstant(typed: string, clock: ShowClock): AsSaid<Ns> {
  const text = tidied(typed);
  const { startsAt, lengthNs } = clock;
  const expected =
    startsAt === null
      ? `${INSTANT}, or hours and minutes such as 00:20`
      : `${INSTANT}, or the time of day such as 18:00`;
  const refused = (remedy: string) => ({ expected, remedy });
  const [, hours, minutes, seconds] = /^(\d{1,4}):([0-5]?\d):([0-5]?\d(?:[.,]\d{1,3})?)$/.exec(text) ?? [];
  if (hours !== undefined && minutes !== undefined && seconds !== undefined)
    return instant(Number(hours) * 3600 + Number(minutes) * 60 + numberIn(seconds), null) ?? refused(WRITE_IT);
  const [, whole, rest] = /^(\d{1,4}):([0-5]\d[.,]\d{1,3})$/.exec(text) ?? [];
  if (whole !== undefined && rest !== undefined) {
    const at = Number(whole) * 60 + numberIn(rest);
    return instant(at, "minutes and seconds") ?? refused(WRITE_IT);
  }
  const [, hh, mm] = /^(\d{1,4}):([0-5]\d)$/.exec(text) ?? [];
  if (hh !== undefined && mm !== undefined) {
    const seconds = Number(hh) * 3600 + Number(mm) * 60;
    if (startsAt !== null) return byTheClock(text, seconds, startsAt, lengthNs, expected);
    const read = instant(seconds, "hours and minutes");
    const asMinutes = formatShowTime(nsFromSeconds(Number(hh) * 60 + Number(mm)));
    const asHours = read === null ? null : formatShowTime(read.value);
    if (read === null || (lengthNs !== null && read.value > lengthNs))
      return refused(
        `for ${spoken(Number(hh), "min", Number(mm), "s")} write ${asMinutes}${asHours === null ? "" : `; as hours and minutes it is ${asHours}, after the end of the show`}`,
      );
    return read;
  }
  // A number alone may be seconds, minutes or an hour of the day.
  const value = /\p{L}/u.test(text) ? sumOf(text, SECONDS_IN, "") : null;
  return (value === null ? null : instant(value, null)) ?? refused(WRITE_IT);
}

const WRITE_IT = "write it as hh:mm:ss, like 00:20:00, or as the time since the start, like 20 min";

function instant(seconds: number, reading: string | null): { value: Ns; understood: string | null } | null {
  const at = nsFromSeconds(rounded(seconds));
  const text = formatShowTime(at);
  // Finer than a file can say, or later than it can.
  if (parseShowTime(text) !== at) return null;
  return { value: at, understood: reading === null ? null : `${reading}, ${text}` };
}

function byTheClock(
  text: string,
  seconds: number,
  startsAt: string,
  lengthNs: Ns | null,
  expected: string,
): AsSaid<Ns> {
  if (seconds >= DAY_SECONDS)
    return { expected, remedy: "a day has 24 hours; show time has its seconds as well: 25:00:00" };
  const sinceStart = (seconds - secondsOfDay(startsAt) + DAY_SECONDS) % DAY_SECONDS;
  const at = nsFromSeconds(sinceStart);
  const show = formatShowTime(at);
  if (lengthNs !== null && at > lengthNs)
    return {
      expected,
      remedy: `by the clock the show goes from ${startsAt} to ${timeOfDay(startsAt, lengthNs).slice(0, 5)}; show time has its seconds as well: ${text}:00`,
    };
  const nextDay = nsFromSeconds(sinceStart + DAY_SECONDS);
  if (lengthNs !== null && nextDay <= lengthNs)
    return {
      expected,
      remedy: `it is ${text} more than once in this show: write ${show} or ${formatShowTime(nextDay)}`,
    };
  return { value: at, understood: `the time of day, ${show} of the show` };
}

function spoken(one: number, large: string, other: number, small: string): string {
  return other === 0 ? `${one} ${large}` : `${one} ${large} ${other} ${small}`;
}

// ---- numbers with units

/** "1,000": a thousand to one reader, one to another. */
export const AMBIGUOUS_COMMA = /^[+-]?[1-9]\d{0,2},\d{3}(?:\D|$)/;
export const COMMA_REMEDY =
  "write 1000 for a thousand and 1.5 for one and a half: a comma before three digits may mean either";

/** Null for what is no sum of numbers, each with a unit, or one number alone. */
function sumOf(text: string, sizes: Readonly<Record<string, number>>, unit: string): number | null {
  if (/^(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?$/.test(text)) {
    const size = Object.hasOwn(sizes, unit) ? sizes[unit] : undefined;
    return size === undefined ? null : rounded(numberIn(text) * size);
  }
  let sum = 0;
  let rest = text.toLowerCase();
  while (rest !== "") {
    const [part = "", number = "", word = ""] =
      /^(\d+(?:[.,]\d+)?|[.,]\d+)\s*(\p{L}+|['"])\s*(?:and\s+|,\s+)?/u.exec(rest) ?? [];
    const size = Object.hasOwn(sizes, word) ? sizes[word] : undefined;
    if (part === "" || size === undefined) return null;
    sum += numberIn(number) * size;
    rest = rest.slice(part.length);
  }
  return text === "" ? null : rounded(sum);
}

function numberIn(text: string): number {
  return Number(text.replace(",", "."));
}

/** Twelve digits: the product of decimal fractions is not exact, and 9.144000000000001 would stand in the file. */
function rounded(value: number): number {
  return Number(value.toPrecision(12));
}

function tidied(text: string): string {
  return text.trim().replace(/\s+/gu, " ");
}
