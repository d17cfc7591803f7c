/**
 * How long a device that lost its clock can go on alone: said in advance, at the instant of the loss, from the plan's
 * numbers, and set beside what the run did.
 *
 * Against the clock it was on, a device in holdover begins with the error of the frequency it kept, and drifts from
 * there; in free-run it has the offset of its own oscillator. The kept frequency is off by two things: what the plan
 * says (`holdoverErrorPpb`), and what lies in the past of a drifting oscillator. An average over A seconds is the
 * frequency of A/2 ago, so with a drift D it lags by D·A/2; the integrator of a loop at rest lags by D·2ζ/ω.
 *
 * Nothing that happens after the loss is looked at: neither another source, nor a fan that fails. So a run may well do
 * otherwise, and that is what the comparison is for. A loop that had not settled yet is taken as settled.
 */
import { PI } from "../shared/maths.ts";
import type { DevicePlan, Plan } from "../shared/plan.ts";
import type { RunRecord } from "../shared/record.ts";
import type { ForetoldSummary, HoldoverSummary } from "../shared/summary.ts";
import type { Ns } from "../shared/time.ts";
import { later, NEVER, nsFromSeconds, secondsBetween, secondsFromNs } from "../shared/time.ts";
import type { Piece, Timebase } from "../shared/timebase.ts";
import { deviceById } from "./by-id.ts";
import { passagesAt, roomAt, turnedRound } from "./holding/buffers.ts";
import type { Departure, Room, Wandering } from "./holding/departure.ts";
import { keptVariance, leavesAfter, rateAfter, wanderVariance } from "./holding/departure.ts";
import type { Course, Opening, Reading } from "./holding/openings.ts";
import { courseAt, openingsIn, rootAt } from "./holding/openings.ts";
import type { Ran } from "./holding/ran.ts";
import { phaseRan, slipRan } from "./holding/ran.ts";
import { DEFAULT_QUANTUM_SAMPLES, PIECE_SHARE } from "./quantum.ts";
import { aes11Masks, maskLimitSeconds } from "./stability/masks.ts";

const SECONDS_PER_HOUR = 3600;

/** What is foretold at each loss of a lock in a run, in order of time. @param timebases of the rig that was played */
export function predictHoldovers(plan: Plan, record: RunRecord, timebases: readonly Timebase[]): HoldoverSummary[] {
  const { reading, openings } = openingsIn(plan, record, timebases);
  return openings.flatMap((opening) => predict(reading, openings, opening) ?? []);
}

/**
 * How a clock that follows nobody goes on, by the plan's numbers. What a device in holdover really keeps has the noise of
 * its oscillator in it, which nobody knows beforehand: it goes on as foretold at its own loss.
 */
function courseOf(reading: Reading, openings: readonly Opening[], device: string, at: Ns): Course | null {
  const opening = openings.findLast((each) => each.device.id === device && each.openedNs <= at && at < each.endNs);
  const before = opening === undefined ? at : ((opening.openedNs - 1) as Ns);
  const others = opening === undefined ? null : rootAt(reading, opening.followed, before);
  const old = others === null || others === device ? null : courseOf(reading, openings, others, before);
  return opening === undefined || old === null ? courseAt(reading, device, at) : keptBy(reading, opening, old).course;
}

function predict(reading: Reading, openings: readonly Opening[], opening: Opening): HoldoverSummary | null {
  const { device, openedNs, noticedNs, endNs, endState, state } = opening;
  // Whose clock it was on just before; whoever passed it on may be down by now, and the clock goes on all the same.
  const before = (openedNs - 1) as Ns;
  const others = rootAt(reading, opening.followed, before);
  const old = others === null || others === device.id ? null : courseOf(reading, openings, others, before);
  if (others === null || old === null) return null;
  const kept = keptBy(reading, opening, old);
  const away = departure(reading, openedNs, kept.course, old);
  const keptSeconds = secondsBetween(openedNs, kept.course.untilNs);
  const spread = spreadOf(reading, opening, { old, keptSeconds });

  const masks = aes11Masks(device.sampleRateHz);
  const limits = masks.map((mask) => maskLimitSeconds(mask, 0) as number);
  const phases = phaseRan(reading, opening, limits);
  const allowances = limits.map((limit, index) => ({
    percent: Math.round(100 * limit * device.sampleRateHz),
    ...foretold(away, { ahead: limit, behind: limit }, phases[index] as Ran, openedNs, (t) => spread(t, old)),
  }));

  const roots = new Map<string, string | null>();
  const rootOf = (id: string): string | null => {
    const root = roots.has(id) ? (roots.get(id) ?? null) : rootAt(reading, id, noticedNs);
    roots.set(id, root);
    return root;
  };
  // Where its clock meets another.
  const isBetween = (from: string, to: string): boolean => (rootOf(from) === device.id) !== (rootOf(to) === device.id);
  const links = passagesAt(reading, noticedNs, isBetween).flatMap((passage) => {
    const isSender = rootOf(passage.from.id) === device.id;
    const against = rootOf(isSender ? passage.to.id : passage.from.id);
    const course = against === null ? null : courseOf(reading, openings, against, noticedNs);
    const room = roomAt(reading, passage, openedNs);
    if (against === null || course === null || room === null) return [];
    const ahead = departure(reading, openedNs, kept.course, course);
    const ran = slipRan(reading, opening, passage);
    return {
      ...{ link: passage.link.id, way: passage.way, against },
      ...foretold(isSender ? ahead : turnedRound(ahead), room, ran, openedNs, (t) => spread(t, course)),
    };
  });

  return {
    device: device.id,
    atSeconds: secondsFromNs(openedNs),
    state,
    followed: opening.followed,
    keptSeconds,
    keptErrorPpb: kept.error * 1e9,
    driftPpbPerHour: kept.driftPerSecond * SECONDS_PER_HOUR * 1e9,
    ownOffsetPpm: kept.ownOffset * 1e6,
    allowances,
    links,
    ended: endState === null ? null : { afterSeconds: secondsBetween(openedNs, endNs), state: endState },
  };
}

/** How a device goes on that was on this clock, by the plan's numbers; its frequency errors against that clock. */
function keptBy(
  reading: Reading,
  { device, timebase, openedNs, noticedNs, closedNs, state }: Opening,
  old: Course,
): { readonly course: Course; readonly error: number; readonly driftPerSecond: number; readonly ownOffset: number } {
  const own = pieceOf(reading, timebase, openedNs);
  const theirs = pieceOf(reading, old.timebase, openedNs);
  const driftPerSecond = own.ageingPerSecond - theirs.ageingPerSecond;
  const ownOffset = own.rate - theirs.rate - old.control;
  const { holdoverAverageSeconds: average } = device;
  let lag = (driftPerSecond * device.loop.damping) / (PI * device.loop.naturalFrequencyHz); // 2ζ/ω
  if (average > 0) {
    const fromNs = averagedFrom({ device, openedNs, closedNs });
    const lagOf = (id: number): number => averageLag(reading.timebases[id] as Timebase, fromNs, openedNs);
    lag = lagOf(timebase) - lagOf(old.timebase);
  }
  const error = lag + device.holdoverErrorPpb * 1e-9;
  const untilNs = state === "holdover" ? later(noticedNs, nsFromSeconds(device.holdoverSeconds)) : noticedNs;
  return { course: { timebase, control: error - ownOffset, untilNs }, error, driftPerSecond, ownOffset };
}

/** Beginning of the average that a device keeps: no earlier than its loop was closed. */
function averagedFrom({ device, openedNs, closedNs }: Pick<Opening, "device" | "openedNs" | "closedNs">): Ns {
  return Math.max(openedNs - nsFromSeconds(device.holdoverAverageSeconds), closedNs) as Ns;
}

/** Frequency of an oscillator now less its mean over the time before: D·A/2 where it has drifted evenly. */
function averageLag(timebase: Timebase, fromNs: Ns, toNs: Ns): number {
  const seconds = secondsBetween(fromNs, toNs);
  if (seconds <= 0) return 0;
  const { ageingPerSecond, untilNs } = timebase.pieceAt(fromNs, 0);
  if (untilNs >= toNs) return (ageingPerSecond * seconds) / 2;
  return timebase.rateAt(toNs) - (timebase.phaseSecondsAt(toNs) - timebase.phaseSecondsAt(fromNs)) / seconds;
}

function pieceOf({ timebases, plan }: Reading, timebase: number, at: Ns): Piece {
  return (timebases[timebase] as Timebase).pieceAt(at, (DEFAULT_QUANTUM_SAMPLES / plan.sampleRateHz) * PIECE_SHARE);
}

/** The first course against the second from an instant on: stretches end where one of them lets go what it kept. */
function departure(reading: Reading, from: Ns, first: Course, second: Course): Departure[] {
  const own = pieceOf(reading, first.timebase, from);
  const theirs = pieceOf(reading, second.timebase, from);
  const perSecond = own.ageingPerSecond - theirs.ageingPerSecond;
  const ends = [first.untilNs, second.untilNs].filter((end) => end > from && end < NEVER).sort((a, b) => a - b);
  let at = from;
  return [...ends, NEVER].map((end) => {
    const control = (first.untilNs > at ? first.control : 0) - (second.untilNs > at ? second.control : 0);
    const rate = own.rate - theirs.rate + control + perSecond * secondsBetween(from, at);
    const seconds = end === NEVER ? Number.POSITIVE_INFINITY : secondsBetween(at, end);
    at = end;
    return { rate, perSecond, seconds };
  });
}

/**
 * Rms of the phase that wander adds between the device and another clock by a time after the loss, in seconds. Beside
 * what comes after the loss there is what came before: it is in the frequency that was kept, and, once that is let go, in
 * how far both oscillators have wandered from the offsets of the plan since they were switched on.
 */
function spreadOf(
  { plan, timebases }: Reading,
  { device, openedNs, closedNs, timebase }: Opening,
  { old, keptSeconds }: { readonly old: Course; readonly keptSeconds: number },
): (seconds: number, other: Course) => number {
  const wanderOf = (id: number): Wandering => {
    const owner = deviceById(plan, (timebases[id] as Timebase).device) as DevicePlan;
    return owner.oscillator.wander ?? STEADY;
  };
  const averageSeconds = secondsBetween(averagedFrom({ device, openedNs, closedNs }), openedNs);
  const omega = 2 * PI * device.loop.naturalFrequencyHz;
  const by =
    averageSeconds > 0 ? { averageSeconds } : { omega, zeta: device.loop.damping, gridSeconds: plan.wanderGridSeconds };
  const kept = keptVariance(wanderOf(timebase), by) + keptVariance(wanderOf(old.timebase), by);
  return (seconds, other) => {
    const keeps = Math.min(seconds, keptSeconds);
    const free = seconds - keeps;
    let variance = kept * keeps * keeps;
    for (const id of [timebase, other.timebase]) {
      const wander = wanderOf(id);
      const age = secondsBetween((timebases[id] as Timebase).bornNs, openedNs);
      variance += wanderVariance(wander, seconds) + wander.sigma2 * wander.sigma2 * age * free * free;
    }
    return Math.sqrt(variance);
  };
}

const STEADY: Wandering = { sigma1: 0, sigma2: 0 };

function foretold(
  stretches: readonly Departure[],
  room: Room,
  ran: Ran,
  openedNs: Ns,
  spreadAfter: (seconds: number) => number,
): ForetoldSummary {
  const predictedSeconds = leavesAfter(stretches, room);
  const rate = predictedSeconds === null ? 0 : Math.abs(rateAfter(stretches, predictedSeconds));
  const spread = predictedSeconds === null ? 0 : spreadAfter(predictedSeconds);
  return {
    predictedSeconds,
    // As far as the crossing is steep, phase over frequency is time.
    giveOrTakeSeconds: predictedSeconds === null ? null : spread === 0 ? 0 : Math.min(spread / rate, predictedSeconds),
    ranSeconds: ran.atNs === null ? null : secondsBetween(openedNs, ran.atNs),
    watchedSeconds: secondsBetween(openedNs, ran.untilNs),
  };
}
