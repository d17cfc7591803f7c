/** What the run did of what was foretold: when the phase had moved so far, when the first slip fell. */
import { clockPhaseAt } from "../../shared/clock-phase.ts";
import type { Flow } from "../../shared/flow.ts";
import { rateAgainstTimebase } from "../../shared/flow.ts";
import type { FillCurve } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { NEVER, nsFromSeconds, secondsBetween } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import { DEFAULT_QUANTUM_SAMPLES, PIECE_SHARE } from "../quantum.ts";
import { reachesAt, slipInstants } from "../slips.ts";
import type { Timeline } from "../timeline.ts";
import { nextChangeAfter, valueAt } from "../timeline.ts";
import type { Passage } from "./buffers.ts";
import type { Opening, Reading } from "./openings.ts";
import { rootAt } from "./openings.ts";

/** When something fell, and until when it could have been seen to. */
export interface Ran {
  readonly atNs: Ns | null;
  readonly untilNs: Ns;
}

/**
 * When the device's phase against the clock it had been on has first moved by each of the limits (seconds, rising). That
 * clock goes on even if its device says nothing for a while: its oscillator runs through a reboot. A power cut ends it.
 */
export function phaseRan(reading: Reading, opening: Opening, limits: readonly number[]): Ran[] {
  const { looks, timebases, plan } = reading;
  const { device, followed, openedNs } = opening;
  const own = looks.flows.get(device.id) ?? { changes: [] };
  const theirs = followedFrom(looks.flows.get(followed) ?? { changes: [] }, openedNs);
  const first = valueAt(own, openedNs);
  const rig = { timebases, own, theirs: theirs.line, gridNs: knotsNs(reading) };
  const { endNs } = opening;
  const untilNs = theirs.endNs < endNs ? theirs.endNs : endNs;
  const nothing = limits.map(
    (): Ran => ({ atNs: null, untilNs: theirs.line.changes.length === 0 ? openedNs : untilNs }),
  );
  if (first == null || theirs.line.changes.length === 0) return nothing;

  const samples = plan.sampleRateHz;
  const began = betweenAt(rig, openedNs);
  const found: (Ns | null)[] = limits.map(() => null);
  for (let from = openedNs; from < untilNs && found.includes(null); ) {
    const { curve, to } = pieceOf(rig, from, untilNs, { began, samples });
    for (const [index, limit] of limits.entries()) {
      if (found[index] !== null) continue;
      const level = limit * samples;
      if (Math.abs(curve.samples) >= level) found[index] = from;
      else {
        const at = Math.min(reachesAt(curve, level, 1, from, to), reachesAt(curve, -level, -1, from, to));
        if (at <= to) found[index] = at as Ns;
      }
    }
    from = to;
  }
  return found.map((atNs) => ({ atNs, untilNs }));
}

interface Pair {
  readonly timebases: readonly Timebase[];
  readonly own: Timeline<Flow | null>;
  readonly theirs: Timeline<Flow>;
  /** Wander bends at the knots of this grid; null: nobody wanders. */
  readonly gridNs: Ns | null;
}

function knotsNs({ plan }: Reading): Ns | null {
  return plan.devices.some(({ oscillator }) => oscillator.wander !== null)
    ? nsFromSeconds(plan.wanderGridSeconds)
    : null;
}

/** What the other end told last before it fell silent goes on; until it tells another life of an oscillator. */
function followedFrom(line: Timeline<Flow | null>, fromNs: Ns): { line: Timeline<Flow>; endNs: Ns } {
  const last = line.changes.findLast(({ atNs, value }) => atNs <= fromNs && value !== null);
  const kept: { atNs: Ns; value: Flow }[] = [];
  if (last !== undefined) kept.push({ atNs: last.atNs, value: last.value as Flow });
  for (const { atNs, value } of line.changes) {
    if (atNs <= fromNs || value === null) continue;
    if (value.timebase !== kept[0]?.value.timebase) return { line: { changes: kept }, endNs: atNs };
    kept.push({ atNs, value });
  }
  return { line: { changes: kept }, endNs: NEVER };
}

function flowsAt({ own, theirs }: Pair, at: Ns): readonly [Flow, Flow] {
  return [valueAt(own, at) as Flow, valueAt(theirs, at) as Flow];
}

function betweenAt(pair: Pair, at: Ns): number {
  const [own, theirs] = flowsAt(pair, at);
  return clockPhaseAt(pair.timebases, own, at) - clockPhaseAt(pair.timebases, theirs, at);
}

/** The phase between the two from an instant on, in samples, as the quadratic that it is until something changes. */
function pieceOf(
  pair: Pair,
  from: Ns,
  untilNs: Ns,
  { began, samples }: { readonly began: number; readonly samples: number },
): { curve: FillCurve; to: Ns } {
  const [own, theirs] = flowsAt(pair, from);
  const within = (DEFAULT_QUANTUM_SAMPLES / samples) * PIECE_SHARE;
  const pieces = [own, theirs].map((flow) => (pair.timebases[flow.timebase] as Timebase).pieceAt(from, within));
  const [ownPiece, theirPiece] = pieces as [(typeof pieces)[0], (typeof pieces)[0]];
  let to: number = Math.min(untilNs, nextChangeAfter(pair.own, from), nextChangeAfter(pair.theirs, from));
  for (const { untilNs: end } of pieces) to = Math.min(to, end);
  if (pair.gridNs !== null) to = Math.min(to, (Math.floor(from / pair.gridNs) + 1) * pair.gridNs);
  const perSecond2 =
    ownPiece.ageingPerSecond - theirPiece.ageingPerSecond + own.ageingPerSecond - theirs.ageingPerSecond;
  const seconds = secondsBetween(from, to as Ns);
  const phase = betweenAt(pair, from) - began;
  let perSecond = ownPiece.rate - theirPiece.rate + rateAgainstTimebase(own, from) - rateAgainstTimebase(theirs, from);
  if (pair.gridNs !== null) {
    // Up to the next knot wander is a straight line: its slope is what the ends have between them.
    const end =
      clockPhaseAt(pair.timebases, own, to as Ns) - clockPhaseAt(pair.timebases, theirs, to as Ns) - began - phase;
    perSecond = end / seconds - 0.5 * perSecond2 * seconds;
  }
  return {
    curve: {
      atNs: from,
      samples: samples * phase,
      perSecond: samples * perSecond,
      perSecond2: samples * perSecond2,
      wander: null, // in the slope already
    },
    to: to as Ns,
  };
}

/** The first slip on a passage after the loop opened, while the buffer goes on and both ends stay on the clock they are on. */
export function slipRan(reading: Reading, opening: Opening, passage: Passage): Ran {
  const { looks } = reading;
  const { openedNs, noticedNs, endNs } = opening;
  const key = `${passage.link.id} ${passage.way}`;
  const broken = looks.links.get(key)?.changes.find(({ atNs, value }) => atNs > noticedNs && value.state !== "up");
  const unbrokenNs = broken !== undefined && broken.atNs < endNs ? broken.atNs : endNs;
  const untilNs = clocksChangeAt(reading, passage, noticedNs, unbrokenNs);
  let atNs: Ns | null = null;
  for (const train of looks.trains.get(key) ?? []) {
    const [first] = slipInstants(train, (openedNs + 1) as Ns, untilNs, 1);
    if (first !== undefined && (atNs === null || first < atNs)) atNs = first;
  }
  return { atNs, untilNs };
}

/** When an end of the passage comes to be on another clock than it was; `untilNs` if not before. */
function clocksChangeAt(reading: Reading, { from, to }: Passage, sinceNs: Ns, untilNs: Ns): Ns {
  const was = [from.id, to.id].map((id) => rootAt(reading, id, sinceNs));
  const involved = new Set([from.id, to.id, ...was]);
  const instants = [...involved].flatMap((id) =>
    (id === null ? [] : (reading.looks.devices.get(id)?.changes ?? []))
      .map(({ atNs }) => atNs)
      .filter((atNs) => atNs > sinceNs && atNs < untilNs),
  );
  instants.sort((a, b) => a - b);
  const hasChanged = (atNs: Ns): boolean =>
    rootAt(reading, from.id, atNs) !== was[0] || rootAt(reading, to.id, atNs) !== was[1];
  return instants.find(hasChanged) ?? untilNs;
}
