/** Units at the edge of a scenario: converted here, once. */
import type { Ns } from "./time.ts";

/** Hours may exceed 99, up to 2495: below 104 days an instant in whole nanoseconds is exact. */
export const SHOW_TIME_PATTERN =
  /^(?:[0-9]{2}|[1-9][0-9]{2}|1[0-9]{3}|2[0-3][0-9]{2}|24[0-8][0-9]|249[0-5]):[0-5][0-9]:[0-5][0-9](?:\.[0-9]{3})?$/u;

export const SHOW_TIME_EXPECTED = 'a show time "hh:mm:ss" or "hh:mm:ss.mmm", below 2496 hours';

/** A day of the calendar as ISO 8601 writes it: 29 February only in leap years, 30 and 31 only where they are. */
export const DATE_PATTERN =
  /^(?:[0-9]{4}-(?:(?:0[13578]|1[02])-(?:0[1-9]|[12][0-9]|3[01])|(?:0[469]|11)-(?:0[1-9]|[12][0-9]|30)|02-(?:0[1-9]|1[0-9]|2[0-8]))|(?:[0-9]{2}(?:0[48]|[2468][048]|[13579][26])|(?:[02468][048]|[13579][26])00)-02-29)$/u;

export const DATE_EXPECTED = 'a date "yyyy-mm-dd"';

/** Of stamps. None that looks like another: without I and 1, O and 0, B and 8, S and 5, Z and 2. */
export const STAMP_CHARACTERS = "ACDEFGHJKLMNPQRTUVWXY34679";

const STAMP = `[${STAMP_CHARACTERS}]{2}-[${STAMP_CHARACTERS}]{2}`;
export const STAMP_PATTERN = new RegExp(`^${STAMP}$`, "u");

/** "2026-11-20", or with a stamp: "2026-11-20 K7-QF". */
export const TESTED_PATTERN = new RegExp(`^${DATE_PATTERN.source.slice(1, -1)}(?: ${STAMP})?$`, "u");

export const TESTED_EXPECTED = 'a date "yyyy-mm-dd", alone or with the stamp of that day behind it, "2026-11-20 K7-QF"';

/** `"00:20:00"` or `"00:20:00.500"` as an instant; null for anything else. */
export function parseShowTime(text: string): Ns | null {
  if (!SHOW_TIME_PATTERN.test(text)) return null;
  const [hours, minutes, seconds] = text.split(":").map(Number) as [number, number, number];
  const milliseconds = Math.round(seconds * 1000) + 60_000 * (minutes + 60 * hours);
  return (milliseconds * 1_000_000) as Ns;
}

/** `"00:20:00"`, with milliseconds (cut, not rounded) only where they are not zero. */
export function formatShowTime(at: Ns): string {
  const milliseconds = Math.floor(at / 1_000_000);
  const two = (count: number) => String(count).padStart(2, "0");
  const whole = Math.floor(milliseconds / 1000);
  const rest = milliseconds - whole * 1000;
  const text = `${two(Math.floor(whole / 3600))}:${two(Math.floor(whole / 60) % 60)}:${two(whole % 60)}`;
  return rest === 0 ? text : `${text}.${String(rest).padStart(3, "0")}`;
}
