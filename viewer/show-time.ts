/** Show time on the page: as fine as the window asks for, never finer. */
import { timeOfDay } from "../shared/as-said.ts";
import type { Plan } from "../shared/plan.ts";
import { nsFromSeconds } from "../shared/time.ts";
import { showTime } from "../sim/tell/words.ts";

/** " (18:00:00)": the time of day beside show time, where the file says when the show starts; else empty. */
export function byTheClock(plan: Pick<Plan, "startsAt"> | null, seconds: number): string {
  return plan?.startsAt === undefined ? "" : ` (${timeOfDay(plan.startsAt, nsFromSeconds(seconds))})`;
}

/** "00:20:00.310": show time with so many decimals of a second. */
export function fineTime(seconds: number, decimals: number): string {
  const scale = [1, 10, 100, 1000, 10_000, 100_000, 1_000_000][decimals] ?? 1;
  // Rounded first, so that .9996 carries into the second instead of being cut off.
  const whole = Math.round(seconds * scale);
  const rest = whole % scale;
  const text = showTime(Math.floor(whole / scale));
  return decimals === 0 ? text : `${text}.${String(rest).padStart(decimals, "0")}`;
}

/** Decimals that tell two neighbouring pixels apart, three at least once seconds matter. */
export function decimalsFor(windowSeconds: number): number {
  if (windowSeconds > 7200) return 0;
  if (windowSeconds > 0.5) return 3;
  return windowSeconds > 0.02 ? 5 : 6;
}

const STEPS_SECONDS = [
  ...[1e-5, 2e-5, 5e-5, 1e-4, 2e-4, 5e-4, 1e-3, 2e-3, 5e-3, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5],
  ...[1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10_800, 21_600, 43_200, 86_400],
  ...[2, 5, 10, 20, 50, 100].map((days) => days * 86_400),
];

export interface Ticks {
  readonly values: readonly number[];
  readonly decimals: number;
}

/** Instants on a round step, at most `count` of them. */
export function timeTicks(fromSeconds: number, toSeconds: number, count: number): Ticks {
  const wanted = (toSeconds - fromSeconds) / Math.max(1, count);
  const step = STEPS_SECONDS.find((candidate) => candidate >= wanted) ?? STEPS_SECONDS.at(-1)!;
  const values: number[] = [];
  for (let index = Math.ceil(fromSeconds / step); index * step <= toSeconds; index += 1) values.push(index * step);
  const decimals = step >= 1 ? 0 : Math.min(6, Math.ceil(-Math.log10(step) - 1e-9));
  return { values, decimals };
}

/** How many labels of show time fit side by side: one more digit from a hundred hours on. */
export function ticksThatFit(widthPixels: number, toSeconds: number): number {
  return widthPixels / (toSeconds >= 360_000 ? 104 : 86);
}
