/** How far it is from one cursor to the other, in the three measures that people compare with something. */
import { grouped, kilohertz } from "../../sim/tell/words.ts";

/** Finer than this no instant of a run is: whole nanoseconds. */
const NS_PER_SECOND = 1e9;

/** "0.31 s later: 310 ms, 14,880 samples at 48 kHz": cursor A as seen from cursor B. */
export function betweenWords(aSeconds: number, bSeconds: number, rateHz: number): string {
  const ns = Math.round(Math.abs(aSeconds - bSeconds) * NS_PER_SECOND);
  if (ns === 0) return "at the same instant";
  const measures = `${figure(ns / NS_PER_SECOND, 6)} s ${aSeconds > bSeconds ? "later" : "earlier"}: ${figure(ns / 1e6, 3)} ms`;
  const samples = figure((ns / NS_PER_SECOND) * rateHz, 1);
  return `${measures}, ${samples} ${samples === "1" ? "sample" : "samples"} at ${kilohertz(rateHz)}`;
}

/** With so many decimals at most, thousands apart; what would round to nothing is said to be less than the last digit. */
function figure(value: number, decimals: number): string {
  const least = 10 ** -decimals;
  if (value < least / 2) return `less than ${least.toFixed(decimals)}`;
  const [whole, rest = ""] = value.toFixed(decimals).split(".") as [string, string?];
  const digits = rest.replace(/0+$/, "");
  return `${grouped(Number(whole))}${digits === "" ? "" : `.${digits}`}`;
}
