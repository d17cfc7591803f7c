/** Who hangs behind whom, by settings or as a run had it, and which of those chains matter most. */
import { isAbout } from "../../shared/lines.ts";
import type { Plan, PortRef } from "../../shared/plan.ts";
import type { RunRecord } from "../../shared/record.ts";
import type { ChainExtremes, ChainSummary, ChainsSummary } from "../../shared/summary.ts";
import type { Ns } from "../../shared/time.ts";
import { secondsFromNs, ZERO } from "../../shared/time.ts";
import { deviceOf } from "../by-id.ts";
import { clockGraph } from "../clock-graph.ts";
import { allanRatio } from "./allan.ts";
import type { ChainLoop, Peak } from "./response.ts";
import { peakAtMost, peakThroughChain } from "./response.ts";
import { stepThroughChain } from "./step.ts";

/**
 * A chain that peaks by more than this is worth a word: somewhere a swing of the clock comes out twice as large, or more.
 * Of default loops four in a row stay below it, five do not; of loops with ζ = 0.7071 three do not. *Assumed*: less would
 * speak up for every box behind a box behind a desk.
 */
export const WORTH_SAYING_DECIBELS = 6;

/** Ids from the device on whose clock it hangs to the follower. */
export type ChainPath = readonly string[];

/** By follower: the chain that leads to it when all is well. Not those in a ring, or behind one. */
export function chainsAtRest(plan: Plan): ReadonlyMap<string, ChainPath> {
  const graph = clockGraph(plan);
  const upstream = new Map<string, string>();
  for (const { id } of plan.devices) {
    const heard = graph.used(id)?.heard;
    if (heard?.kind === "device") upstream.set(id, heard.device);
  }
  return pathsOf(upstream);
}

type Loops = (path: ChainPath) => readonly ChainLoop[];

/** A chain's loops in order: those of all devices but the first. */
export function loopsIn(plan: Plan): Loops {
  const loops = new Map(plan.devices.map(({ id, loop }) => [id, loop]));
  return (path) => path.slice(1).map((id) => loops.get(id)!);
}

/** Follows each device's arrow up to its end; what goes round is left out. */
function pathsOf(upstream: ReadonlyMap<string, string>): ReadonlyMap<string, ChainPath> {
  const paths = new Map<string, ChainPath | null>();
  for (const id of upstream.keys()) {
    const open: string[] = [];
    let at = id;
    while (upstream.has(at) && !paths.has(at) && !open.includes(at)) {
      open.push(at);
      at = upstream.get(at)!;
    }
    let path: ChainPath | null = open.includes(at) ? null : paths.has(at) ? paths.get(at)! : [at];
    for (const below of open.reverse()) {
      path = path === null ? null : [...path, below];
      paths.set(below, path);
    }
  }
  const found = new Map<string, ChainPath>();
  for (const [id, path] of paths) if (path !== null) found.set(id, path);
  return found;
}

interface Candidate {
  readonly path: ChainPath;
  readonly peak: Peak;
  readonly fromNs: Ns;
}

interface Extremes {
  readonly deepest: Candidate;
  readonly highest: Candidate;
}

/** Peaks by the loops that they are made of: most chains of a rig are made of the same few. */
type Peaks = Map<string, Peak>;

/** Differences below this are rounding: the chain that was there first stays. */
const SAME_DECIBELS = 1e-9;

/** The gravest of some chains and of what was known before. */
function gravest(
  paths: readonly ChainPath[],
  { before, fromNs, peaks, loopsOf }: { before: Extremes | null; fromNs: Ns; peaks: Peaks; loopsOf: Loops },
): Extremes | null {
  let found = before;
  for (const path of paths) {
    const loops = loopsOf(path);
    const isDeep = found === null || path.length >= found.deepest.path.length;
    if (found !== null && !isDeep && peakAtMost(loops) <= found.highest.peak.decibels + SAME_DECIBELS) continue;
    const candidate = { path, peak: peakOf(loops, peaks), fromNs };
    if (found === null) {
      found = { deepest: candidate, highest: candidate };
      continue;
    }
    const isHigher = (than: Candidate) => candidate.peak.decibels > than.peak.decibels + SAME_DECIBELS;
    const { deepest, highest } = found;
    const isDeepest = path.length > deepest.path.length || (path.length === deepest.path.length && isHigher(deepest));
    if (isDeepest || isHigher(highest))
      found = { deepest: isDeepest ? candidate : deepest, highest: isHigher(highest) ? candidate : highest };
  }
  return found;
}

function peakOf(loops: readonly ChainLoop[], peaks: Peaks): Peak {
  const key = loops
    .map(({ naturalFrequencyHz, damping }) => `${naturalFrequencyHz} ${damping}`)
    .sort()
    .join(", ");
  const known = peaks.get(key);
  if (known !== undefined) return known;
  const peak = peakThroughChain(loops);
  peaks.set(key, peak);
  return peak;
}

/**
 * Folds over the states of a run: a device hangs on the sender in the port of its source while its loop is closed. Judged
 * at the end of each instant at which that changes.
 */
export function chainsOver(plan: Plan, record: RunRecord): ChainsSummary {
  const peaks: Peaks = new Map();
  const loopsOf = loopsIn(plan);
  const ears = earsOf(plan);
  const upstream = new Map<string, string>();
  let atStart: Extremes | null = null;
  let worst: Extremes | null = null;
  const changed = new Set<string>();
  let hear = ears(ZERO);
  let instant = ZERO;
  const judge = (): void => {
    if (changed.size === 0) return;
    const fresh = [...pathsOf(upstream).values()].filter((path) => path.some((id) => changed.has(id)));
    worst = gravest(fresh.sort(byLastId), { before: worst, fromNs: instant, peaks, loopsOf });
    if (instant === ZERO) atStart = worst;
    changed.clear();
  };
  for (const { atNs, subject, fact } of record.rows) {
    if (atNs !== instant) {
      judge();
      instant = atNs;
    }
    if (fact.kind === "event" && fact.event.do === "plug" && fact.event.into !== null) hear = ears(atNs);
    if (fact.kind !== "clock") continue;
    const id = subject.slice("device ".length);
    const follows = fact.state === "locked" || fact.state === "acquiring";
    const sender = follows && fact.source !== null ? hear.get(`${id} ${fact.source}`) : undefined;
    if (upstream.get(id) === sender) continue;
    changed.add(id);
    if (sender === undefined) upstream.delete(id);
    else upstream.set(id, sender);
  }
  judge();
  // Most runs begin with their worst.
  const told = new Map<Candidate, ChainSummary>();
  const tellOf = (candidate: Candidate): ChainSummary => {
    const chain = told.get(candidate) ?? chainSummary(plan, candidate);
    told.set(candidate, chain);
    return chain;
  };
  const both = (extremes: Extremes | null): ChainExtremes | null =>
    extremes && { deepest: tellOf(extremes.deepest), highest: tellOf(extremes.highest) };
  return { atStart: both(atStart), worst: both(worst) };
}

/** In which order devices stand in a file must not show. */
function byLastId(one: ChainPath, other: ChainPath): number {
  return one.at(-1)! < other.at(-1)! ? -1 : 1;
}

/** Who sends to each "device port", at an instant: a plug can have moved an end into another port. */
function earsOf(plan: Plan): (at: Ns) => ReadonlyMap<string, string> {
  return (at) => {
    const ears = new Map<string, string>();
    for (const link of plan.links) {
      let { a, b } = link;
      for (const event of plan.events) {
        if (event.atNs > at || event.do !== "plug" || !isAbout(event, link) || event.into === null) continue;
        if (event.end === "a") a = { ...a, port: event.into };
        if (event.end === "b") b = { ...b, port: event.into };
      }
      const hears = (ear: PortRef, sender: PortRef): void => {
        const key = `${ear.device} ${ear.port}`;
        if (!ears.has(key)) ears.set(key, sender.device);
      };
      hears(b, a);
      if (link.twoWay || link.hasReturn) hears(a, b);
    }
    return ears;
  };
}

function chainSummary(plan: Plan, { path, peak, fromNs }: Candidate): ChainSummary {
  const loops = loopsIn(plan)(path);
  const last = stepThroughChain(loops).at(-1)!;
  return {
    devices: path,
    depth: loops.length,
    peakDecibels: peak.decibels,
    peakHz: peak.hz,
    fromSeconds: secondsFromNs(fromNs),
    // 1 ppm is 1e-6, and a second has 1e6 microseconds: the figures are the same.
    afterOnePpm: {
      errorMicroseconds: Math.abs(last.peakErrorSeconds),
      atSeconds: last.atSeconds,
      overshootPercent: 100 * last.frequencyOvershoot,
    },
    wander: wanderThrough(plan, path, { loops, peak }),
  };
}

/** Where the Allan deviation listens best, f·τ: the top of sin⁴(πfτ)/(πfτ)², at tan x = 2x. */
const HEARD_BEST = 0.371;
/** More steps than this, or loops that remember more of them, are not worth the sum. */
const STEPS_MOST = 4096;

function wanderThrough(
  plan: Plan,
  path: ChainPath,
  { loops, peak }: { readonly loops: readonly ChainLoop[]; readonly peak: Peak },
): ChainSummary["wander"] {
  const { wander } = deviceOf(plan, path[0]!).oscillator;
  const grid = plan.wanderGridSeconds;
  const steps = Math.max(1, Math.round(HEARD_BEST / (peak.hz * grid)));
  const slowest = Math.min(...loops.map((loop) => loop.naturalFrequencyHz / Math.max(1, 2 * loop.damping)));
  if (wander === null || wander.sigma3 > 0 || wander.sigma1 + wander.sigma2 + wander.hMinus1 === 0) return null;
  if (steps > STEPS_MOST || slowest * grid < 1 / STEPS_MOST) return null;
  const tauSeconds = steps * grid;
  return { tauSeconds, ratio: allanRatio(loops, wander, tauSeconds, grid) };
}
