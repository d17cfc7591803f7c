/**
 * Holds a run against the slow oracle: states, phases and slips, each within what the run itself prints as its bound,
 * plus one step of the oracle.
 *
 * What one step means. Events and timers lie on the oracle's grid, so it sees them when they fall. Only what a running
 * phase decides (a window, a whole period, a capture range) falls between two steps, and the oracle is then up to a step
 * late: states may differ for that long, and each such decision that changes a phase may move it by what two clocks can
 * drift apart within a step.
 */
import type { Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { fillRateAt } from "../../sim/slips.ts";
import type { OracleRun } from "../oracle/step-rig.ts";
import type { Played } from "./play.ts";
import type { Wish } from "./random-rig.ts";
import type { SlipFound } from "./reading.ts";
import { readClocks, readSlips } from "./reading.ts";

/** Loops up to 5 Hz: a step of 2 ms is then 0.06/ω, and the oracle's own error far below the bound. */
export const STEPPED: Wish = {
  devices: [2, 6],
  seconds: [12, 24],
  eventCount: [3, 9],
  secondSources: true,
  spares: true,
  loners: true,
  loopHz: [0.2, 5],
  gridMs: 2,
  // Further apart than any cable needs to notice, so that no choice falls between a break and its noticing.
  apartMs: 420,
  noTies: true,
};

export interface Tolerance {
  readonly boundSamples: number;
  /** What the two clocks are taken to be apart where a state or a slip is held against the oracle; the bound unless told. */
  readonly closeSamples?: number;
  readonly stepSeconds: number;
}

/** What the oracle's own sums lose: it adds up some ten thousand steps in floating point. */
const ORACLE_ROUNDING_SAMPLES = 1e-9;
/** A message is rounded up to a whole nanosecond and the oracle knows no delay of messages: under 2 µs in any hall. */
const MESSAGE_NS = 2_000;

/** Every disagreement, in words; none if the two are the same run. */
export function disagreements(plan: Plan, played: Played, oracle: OracleRun, tolerance: Tolerance): string[] {
  const close = { ...tolerance, boundSamples: tolerance.closeSamples ?? tolerance.boundSamples };
  return [
    ...ofStates(plan, played, oracle, close),
    ...ofPhases(plan, played, oracle, tolerance),
    ...ofSlips(plan, played, oracle, close),
  ];
}

/**
 * How far apart the two clocks of a device ever were where the oracle looked, in samples; looks within a step of a
 * decision are left out.
 */
export function largestApart(plan: Plan, played: Played, oracle: OracleRun, stepSeconds: number): number {
  let largest = 0;
  for (const { apartSamples } of apartAtLooks(plan, played, oracle, stepSeconds))
    largest = Math.max(largest, apartSamples);
  return largest;
}

interface Stretch {
  readonly fromNs: number;
  readonly toNs: number;
  readonly what: string;
}

function stretchesOf(changes: readonly { atNs: number; what: string }[], endNs: number): Stretch[] {
  return changes.map(({ atNs, what }, index) => ({ fromNs: atNs, toNs: changes[index + 1]?.atNs ?? endNs, what }));
}

function changesOf(
  rows: readonly Row[],
  subject: string,
  tell: (fact: Row["fact"]) => string | null,
): { atNs: number; what: string }[] {
  return rows.flatMap(({ atNs, subject: whose, fact }) => {
    const what = whose === subject ? tell(fact) : null;
    return what === null ? [] : [{ atNs, what }];
  });
}

function ofStates(plan: Plan, { rows }: Played, oracle: OracleRun, { stepSeconds, boundSamples }: Tolerance): string[] {
  const notes: string[] = [];
  for (const { id, states } of oracle.devices) {
    const device = plan.devices.find((each) => each.id === id) as Plan["devices"][number];
    const mine = changesOf(rows, `device ${id}`, (fact) =>
      fact.kind === "clock" ? `${fact.state} ${fact.source}` : null,
    );
    const theirs = states.map(({ fromSeconds, state, source }) => ({
      atNs: Math.round(fromSeconds * 1e9),
      what: `${state} ${source}`,
    }));
    // The slowest mode of the loops here leaves the window at a fifth of ω times its width a second.
    const omega = 2 * Math.PI * device.loop.naturalFrequencyHz;
    const windowSamples = device.lockWindowPercent / 100;
    const lateSamplesInAll = lateDecisions(rows, plan.lengthNs, stepSeconds) * lateSamples(plan, stepSeconds);
    const windowSeconds = (boundSamples + lateSamplesInAll) / (0.2 * omega * windowSamples);
    notes.push(...apart(id, mine, theirs, plan.lengthNs, (stepSeconds + windowSeconds) * 1e9 + MESSAGE_NS));
  }
  for (const { link, way, states } of oracle.cables) {
    const mine = changesOf(rows, `link ${link} ${way}`, (fact) =>
      fact.kind === "link" ? `${fact.state} ${fact.clock}` : null,
    );
    const theirs = states.map(({ fromSeconds, state, clock }) => ({
      atNs: Math.round(fromSeconds * 1e9),
      what: `${state} ${clock}`,
    }));
    notes.push(...apart(link, mine, theirs, plan.lengthNs, stepSeconds * 1e9 + MESSAGE_NS));
  }
  return notes;
}

/** Stretches in which two stories differ for longer than allowed. */
function apart(
  who: string,
  mine: readonly { atNs: number; what: string }[],
  theirs: readonly { atNs: number; what: string }[],
  endNs: number,
  allowedNs: number,
): string[] {
  const [a, b] = [stretchesOf(mine, endNs), stretchesOf(theirs, endNs)];
  const edges = [...new Set([...a, ...b].map(({ fromNs }) => fromNs)), endNs].sort((x, y) => x - y);
  const notes: string[] = [];
  let since: number | null = null;
  for (const [index, at] of edges.entries()) {
    const next = edges[index + 1];
    if (next === undefined) break;
    const sayA = a.find((each) => each.fromNs <= at && at < each.toNs)?.what;
    const sayB = b.find((each) => each.fromNs <= at && at < each.toNs)?.what;
    if (sayA === sayB) since = null;
    else {
      since ??= at;
      if (next - since > allowedNs)
        notes.push(`${who} from ${since / 1e9} s: ${sayA}, the oracle ${sayB} (till ${next / 1e9} s at least)`);
    }
  }
  return notes.slice(0, 3);
}

/** How often, up to an instant, something that changes a phase was decided between two steps of the oracle. */
function lateDecisions(rows: readonly Row[], untilNs: number, stepSeconds: number): number {
  const stepNs = stepSeconds * 1e9;
  return rows.filter(({ atNs, fact }) => {
    const moves = fact.kind === "wrapped" || (fact.kind === "clock" && fact.state !== "locked");
    const past = atNs % stepNs;
    return atNs <= untilNs && moves && past > MESSAGE_NS && stepNs - past > MESSAGE_NS;
  }).length;
}

/** What two clocks drift apart within a step at the most. */
function lateSamples(plan: Plan, stepSeconds: number): number {
  const fastest = Math.max(...plan.devices.map(({ steeringPpm }) => 2 * steeringPpm));
  return plan.sampleRateHz * stepSeconds * fastest * 1e-6;
}

function apartAtLooks(
  plan: Plan,
  played: Played,
  oracle: OracleRun,
  stepSeconds: number,
): { id: string; at: Ns; apartSamples: number }[] {
  const clocks = readClocks(played.rows, played.timebases);
  const stepNs = stepSeconds * 1e9;
  return oracle.looks.flatMap(({ atSeconds, phaseSeconds }) => {
    const at = Math.round(atSeconds * 1e9) as Ns;
    // Within a step of a decision the oracle may still have to make it.
    const isDeciding = played.rows.some(
      ({ atNs, fact }) => (fact.kind === "re-aligned" || fact.kind === "wrapped") && atNs <= at && at - atNs <= stepNs,
    );
    if (isDeciding) return [];
    return [...phaseSeconds].flatMap(([id, theirs]) => {
      const mine = clocks.phaseSecondsAt(id, at);
      // Off, or silent while it boots: the states tell.
      return mine === null || theirs === null
        ? []
        : [{ id, at, apartSamples: Math.abs(mine - theirs) * plan.sampleRateHz }];
    });
  });
}

function ofPhases(plan: Plan, played: Played, oracle: OracleRun, { boundSamples, stepSeconds }: Tolerance): string[] {
  const notes: string[] = [];
  for (const { id, at, apartSamples } of apartAtLooks(plan, played, oracle, stepSeconds)) {
    const allowed =
      boundSamples +
      ORACLE_ROUNDING_SAMPLES +
      lateDecisions(played.rows, at, stepSeconds) * lateSamples(plan, stepSeconds);
    if (apartSamples > allowed)
      notes.push(`phase of ${id} at ${at / 1e9} s: ${apartSamples} samples apart, ${allowed} allowed`);
  }
  return notes.slice(0, 3);
}

function ofSlips(plan: Plan, { rows }: Played, oracle: OracleRun, tolerance: Tolerance): string[] {
  const notes: string[] = [];
  const found = readSlips(rows);
  for (const { link, way, slips } of oracle.receivers) {
    const mine = [...(found.get(`${link} ${way}`) ?? [])];
    const theirs = [...slips];
    while (mine.length > 0 || theirs.length > 0) {
      const [a, b] = [mine[0], theirs[0]];
      const isSame =
        a !== undefined &&
        b !== undefined &&
        a.sign === b.sign &&
        Math.abs(a.atNs / 1e9 - b.atSeconds) <= allowedSeconds(plan, rows, a, tolerance);
      if (isSame) {
        mine.shift();
        theirs.shift();
        continue;
      }
      // What stops the counting may fall between the two: then one of them has a slip more, and both start anew.
      const isMineFirst = b === undefined || (a !== undefined && a.atNs / 1e9 < b.atSeconds);
      const atSeconds = isMineFirst ? (a as SlipFound).atNs / 1e9 : (b as { atSeconds: number }).atSeconds;
      const isAtAnEnd = endsWithin(plan, rows, atSeconds, tolerance.stepSeconds + 2 / plan.sampleRateHz);
      if (isAtAnEnd) (isMineFirst ? mine : theirs).shift();
      else {
        notes.push(
          `slips of ${link} ${way}: ${a === undefined ? "none" : `${a.sign} at ${a.atNs / 1e9}`}, the oracle ${b === undefined ? "none" : `${b.sign} at ${b.atSeconds}`}`,
        );
        break;
      }
    }
  }
  return notes;
}

/** The oracle sees a slip up to a sample late; a fill that is off by the bound crosses its level bound/rate earlier or later. */
function allowedSeconds(
  plan: Plan,
  rows: readonly Row[],
  slip: SlipFound,
  { boundSamples, stepSeconds }: Tolerance,
): number {
  const samplesPerSecond = Math.abs(fillRateAt(slip.train.curve, slip.atNs));
  return (
    stepSeconds +
    1 / plan.sampleRateHz +
    (boundSamples + lateDecisions(rows, slip.atNs, stepSeconds) * lateSamples(plan, stepSeconds)) / samplesPerSecond
  );
}

function endsWithin(plan: Plan, rows: readonly Row[], atSeconds: number, seconds: number): boolean {
  if (plan.lengthNs / 1e9 - atSeconds <= seconds) return true;
  return rows.some(
    ({ atNs, fact }) =>
      (fact.kind === "link" || fact.kind === "clock") &&
      atNs / 1e9 >= atSeconds - seconds &&
      atNs / 1e9 - atSeconds <= seconds,
  );
}
