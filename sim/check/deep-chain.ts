/**
 * Loops one behind another that together hand on a swing of the clock much larger than they got it. One finding for each
 * device at the head of such chains, about the gravest of them.
 */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import type { ChainPath } from "../chain/followers.ts";
import { chainsAtRest, loopsIn, WORTH_SAYING_DECIBELS } from "../chain/followers.ts";
import type { Peak } from "../chain/response.ts";
import { peakAtMost, peakThroughChain } from "../chain/response.ts";
import { clockGraph } from "../clock-graph.ts";
import { loopsBetween, swingWords } from "../tell/chain.ts";
import { agree, isPlural } from "../tell/words.ts";
import { byText, head, mid } from "./finding.ts";

interface Found {
  readonly path: ChainPath;
  readonly peak: Peak;
}

export function deepChain(plan: Plan): readonly Finding[] {
  const loopsOf = loopsIn(plan);
  const gravest = new Map<string, Found>();
  const paths = [...chainsAtRest(plan).values()].sort((one, two) => byText(one.at(-1)!, two.at(-1)!));
  for (const path of paths) {
    const loops = loopsOf(path);
    const before = gravest.get(path[0]!)?.peak.decibels ?? WORTH_SAYING_DECIBELS;
    if (peakAtMost(loops) <= before + 1e-9) continue;
    const peak = peakThroughChain(loops);
    if (peak.decibels > before + 1e-9) gravest.set(path[0]!, { path, peak });
  }
  return [...gravest.values()].map((found) => findingFor(plan, found));
}

function findingFor(plan: Plan, { path, peak }: Found): Finding {
  const graph = clockGraph(plan);
  const [leader, last] = [path[0]!, path.at(-1)!];
  const isOne = path.length === 2;
  const links = path.slice(1).map((id) => {
    const heard = graph.used(id)?.heard;
    return heard?.kind === "device" ? heard.link : "";
  });
  return {
    rule: "deep-chain",
    severity: "advice",
    devices: path,
    links,
    path: ["devices", last, isOne ? "loop" : "clockSources"],
    what: `${loopsBetween(path.length - 1, mid(plan, leader), mid(plan, last))}.`,
    why: `${isOne ? "It hands" : "Every loop hands"} on what swings near its own speed larger than it got it: ${swingWords(peak)}.`,
    see: isOne
      ? `When the clock before it moves, ${mid(plan, last)} ${agree(isPlural(deviceOf(plan, last).name), "overshoots", "overshoot")} and may lose lock.`
      : "When the first clock moves, the far end swings the most: it is the first to lose lock and the last to find it again.",
    remedy: isOne
      ? `${head(plan, last)}: choose a setting with more damping, if there is one.`
      : `Let some of them take their clock straight from ${mid(plan, leader)}, over cables of their own or from a word-clock distributor.`,
  };
}
