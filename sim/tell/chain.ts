/** What a chain of loops makes of its first clock, in words. */
import { exp, log } from "../../shared/maths.ts";
import type { Telling } from "../../shared/telling.ts";
import { deviceById } from "../by-id.ts";
import { WORTH_SAYING_DECIBELS } from "../chain/followers.ts";
import type { Told } from "./picture.ts";
import { agree, capital, counted, duration, isPlural, showTime, theDevice } from "./words.ts";

/** "Nine loops stand one behind another between the FOH desk and Pier box 9": two names, whoever they are. */
export function loopsBetween(depth: number, leader: string, last: string): string {
  const loops = capital(counted(depth, "loop", "loops"));
  return depth === 1
    ? `${loops} stands between ${leader} and ${last}`
    : `${loops} stand one behind another between ${leader} and ${last}`;
}

/** "what swings once in 14 s comes out 3.7 times as large". */
export function swingWords(peak: { readonly decibels: number; readonly hz: number }): string {
  return `what swings once in ${duration(1 / peak.hz)} comes out ${timesAsLarge(peak.decibels)} as large`;
}

/** 20 dB are ten times the amplitude. */
function timesAsLarge(decibels: number): string {
  const factor = exp((decibels / 20) * log(10));
  if (factor >= 999.5) return "more than a thousand times";
  return `${factor >= 9.95 ? Math.round(factor) : Math.round(10 * factor) / 10} times`;
}

/**
 * Two sentences about the chain that peaks highest in the run; null where none is worth a word. Where a single part per
 * million throws the far end out of lock there is no overshoot to speak of.
 */
export function chainSentence({ plan, summary }: Told): Telling["chain"] {
  const chain = summary.chains.worst?.highest ?? null;
  if (chain === null || chain.peakDecibels <= WORTH_SAYING_DECIBELS) return null;
  const leader = deviceById(plan, chain.devices[0] ?? "");
  const last = deviceById(plan, chain.devices.at(-1) ?? "");
  if (leader === undefined || last === undefined) return null;
  const loops = loopsBetween(chain.depth, theDevice(leader), theDevice(last));
  const when = chain.fromSeconds === 0 ? "" : `From ${showTime(chain.fromSeconds)} on, `;
  const swing = swingWords({ decibels: chain.peakDecibels, hz: chain.peakHz });
  const { errorMicroseconds, overshootPercent } = chain.afterOnePpm;
  const isMany = isPlural(last.name);
  const unlock = (last.unlockWindowPercent / 100 / plan.sampleRateHz) * 1e6;
  const step =
    errorMicroseconds > unlock
      ? `A step of 1 ppm there is enough for ${theDevice(last)} to lose lock.`
      : `After a step of 1 ppm there, ${theDevice(last)} ${agree(isMany, "is", "are")} off by up to ${microseconds(errorMicroseconds)} and ${agree(isMany, "overshoots", "overshoot")} by ${Math.round(overshootPercent)} %.`;
  const said = when === "" ? loops : loops.replace(/^./, (first) => first.toLowerCase());
  return `${when}${said}: ${swing}. ${step}`;
}

function microseconds(value: number): string {
  if (value < 0.9995) return `${Math.max(1, Math.round(1000 * value))} ns`;
  return `${value < 9.95 ? Math.round(10 * value) / 10 : Math.round(value)} µs`;
}
