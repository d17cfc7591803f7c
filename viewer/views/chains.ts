/** Followers one behind another, and what their loops together make of the first clock. */
import type { Plan } from "../../shared/plan.ts";
import type { ChainSummary } from "../../shared/summary.ts";
import { nameOf } from "../../sim/lanes/lane.ts";
import { duration, grouped, showTime } from "../../sim/tell/words.ts";
import { h, name, table } from "../dom.ts";
import type { Run } from "../run.ts";

/** Null where nobody ever follows anybody through another. */
export function chainTable({ plan, summary, telling }: Run): HTMLElement | null {
  const { worst } = summary.chains;
  if (worst === null || worst.deepest.depth < 2) return null;
  const { deepest, highest } = worst;
  const isOne = deepest.devices.join(" ") === highest.devices.join(" ") && deepest.fromSeconds === highest.fromSeconds;
  return h(
    "div",
    { class: "chains" },
    h(
      "p",
      {},
      telling.chain ??
        "Each follower hands on what swings near the speed of its loop a little larger than it got it; those behind it add to that.",
    ),
    table(
      isOne ? "The longest row of loops" : "The longest row of loops, and the one that makes most of a swing",
      [
        { head: "From, to" },
        { head: "Loops", kind: "number" },
        { head: "Makes most of swings of", kind: "number" },
        { head: "They come out", kind: "number" },
        { head: "Off after a step of 1 ppm", kind: "number" },
        { head: "Overshoots by", kind: "number" },
        { head: "First clock's wander comes out", kind: "number" },
      ],
      (isOne ? [deepest] : [deepest, highest]).map((chain) => row(plan, chain)),
    ),
  );
}

function row(plan: Plan, chain: ChainSummary): readonly (Node | string)[] {
  const { devices, depth, peakDecibels, peakHz, fromSeconds, afterOnePpm, wander } = chain;
  const [first = "", last = ""] = [devices[0], devices.at(-1)];
  const since = fromSeconds === 0 ? "" : `, from ${showTime(fromSeconds)} on`;
  return [
    h("span", {}, name(nameOf(plan, first)), ", ", name(nameOf(plan, last)), since),
    grouped(depth),
    duration(1 / peakHz),
    decibels(peakDecibels),
    microseconds(afterOnePpm.errorMicroseconds),
    `${grouped(Math.round(afterOnePpm.overshootPercent))} %`,
    wander === null ? "–" : `× ${ratioWords(wander.ratio)} over ${duration(wander.tauSeconds)}`,
  ];
}

function decibels(value: number): string {
  return `${value < 0 ? "−" : "+"}${Math.abs(value).toFixed(1)} dB`;
}

function microseconds(value: number): string {
  return value < 0.9995 ? `${Math.max(1, Math.round(1000 * value))} ns` : `${Number(value.toPrecision(2))} µs`;
}

/** Of Allan deviations. */
function ratioWords(ratio: number): string {
  return ratio >= 9.95 ? grouped(Math.round(ratio)) : ratio.toFixed(1);
}
