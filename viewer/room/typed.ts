/** What people type into fields of time and number: read, or what is wrong with it. */
import { type Ns, secondsBetween } from "../../shared/time.ts";
import { formatShowTime, parseShowTime } from "../../shared/units.ts";

/** The longest that a file may say, some 104 days: whole nanoseconds are exact below. */
export const SECONDS_MAX = 8_985_600;
/** The shortest: a nanosecond, the grain of a run. */
const SECONDS_MIN = 1e-9;

/** "20:00" and "0:20:00" as well; null for what is no show time. */
export function showTimeIn(text: string): string | null {
  const parts = text.trim().replace(",", ".").split(":");
  if (parts.length < 2 || parts.length > 3) return null;
  const [hours = "0", minutes = "", seconds = ""] = parts.length === 2 ? ["0", ...parts] : parts;
  const [whole = "", rest] = seconds.split(".");
  const made = `${[hours, minutes, whole].map((one) => one.padStart(2, "0")).join(":")}${rest === undefined ? "" : `.${rest.padEnd(3, "0")}`}`;
  const at = parseShowTime(made);
  return at === null ? null : formatShowTime(at);
}

/** Null: it is a number within these bounds. */
export function numberProblem(text: string, min: number, max: number): string | null {
  const value = text.trim() === "" ? Number.NaN : Number(text.trim().replace(",", "."));
  return value >= min && value <= max ? null : `Write a number from ${min} to ${max}, such as ${Math.max(min, 5)}.`;
}

/**
 * How long something lasts that begins at an instant: so many seconds, or, with colons, the show time at which it is
 * over. Blank: it stays (`undefined`).
 */
export function lastingIn(text: string, beginsNs: Ns | null): { seconds: number | undefined } | { problem: string } {
  const typed = text.trim();
  if (typed === "") return { seconds: undefined };
  if (!typed.includes(":")) {
    const problem = numberProblem(typed, SECONDS_MIN, SECONDS_MAX);
    return problem === null ? { seconds: Number(typed.replace(",", ".")) } : { problem };
  }
  const time = showTimeIn(typed);
  const endNs = time === null ? null : parseShowTime(time);
  if (endNs === null || beginsNs === null) return { problem: noShowTime(typed) };
  return endNs > beginsNs ? { seconds: secondsBetween(beginsNs, endNs) } : { problem: endsTooEarly(beginsNs) };
}

export function noShowTime(typed: string): string {
  return `${typed} is no show time. Write it as hh:mm:ss, such as 00:20:00.`;
}

export function endsTooEarly(beginsNs: Ns): string {
  return `It begins at ${formatShowTime(beginsNs)}: write a later time for its end.`;
}
