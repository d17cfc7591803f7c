/**
 * The buffer at one port end, between what arrives and the device's own clock.
 *
 *   fill(t) = start + fs·[(x_s(t − d) − d − x_r(t)) − (the same at t0)] − slip·(drops − repeats)
 *
 * t0 is when the buffer last started: its link came up, either end left `starting`, or either clock jumped. The
 * difference of the two flows is one polynomial; guess, search and count all evaluate that one. It wakes at the first
 * slip of a train, when the curve turns, when step is lost, when a piece of a bending oscillator ends, and with wander
 * when a block of knots has been looked through; all other slips are counted when the train closes.
 *
 * `inStep` is lost when fill has moved a quarter of a sample from where it was when last in step, and regained when both
 * ends trace to one oscillator through locked devices. A buffer that starts is in step until it shows otherwise.
 */
import type { Flow, Signal } from "../shared/flow.ts";
import { phaseAgainstTimebase, rateAgainstTimebase } from "../shared/flow.ts";
import type { Cause, FillCurve, FillWander } from "../shared/record.ts";
import { FROM_START } from "../shared/record.ts";
import type { Ns } from "../shared/time.ts";
import { NEVER } from "../shared/time.ts";
import type { Timebase } from "../shared/timebase.ts";
import type { Wander } from "../shared/wander.ts";
import { isSameWander, wanderAt } from "../shared/wander.ts";
import type { Due, Effect, Machine, MachineEvent, Step } from "./machine.ts";
import type { Arrival, Mail, Order } from "./mail.ts";
import { isLastWord } from "./mail.ts";
import { PIECE_SHARE } from "./quantum.ts";
import type { FillBand } from "./slips.ts";
import { bandOf, countBy, fillAt, goesOnUntil, nextLook, staysUntil } from "./slips.ts";

export const ARRIVAL_PORT = 0;
export const OWN_PORT = 1;

/** Movement of fill, in samples, at which step is lost (size of AES11's input allowance, 25 % of a sample period). */
const OUT_OF_STEP_SAMPLES = 0.25;

/** Steps in which a receiver that wakes looks for where wander could take its fill to a level. */
const STEPS_AHEAD = 16;

export interface BufferShape {
  readonly slipSamples: number;
  readonly depthSamples: number;
  readonly startSamples: number;
}

export interface ReceiverSpec {
  readonly id: string;
  readonly sampleRateHz: number;
  readonly timebases: readonly Timebase[];
  /** By link id: a port may see another cable after a re-plug. None where no audio is carried (word clock). */
  readonly buffers: Readonly<Record<string, BufferShape>>;
  readonly arrival: Arrival | null;
  readonly own: Signal | null;
  readonly quantumSeconds: number;
}

interface OpenTrain {
  readonly fromNs: Ns;
  /** When its curve turns, or could: the train ends there and is counted there, however the rate rounds at that instant. */
  readonly goesOnUntilNs: Ns;
  readonly sign: 1 | -1;
  readonly cause: Cause;
}

export interface ReceiverState {
  readonly arrival: Arrival | null;
  readonly own: Signal | null;
  /** What the two clocks' epochs were when the buffer started. */
  readonly epochs: { readonly theirs: number; readonly own: number } | null;
  /** Difference of the clocks at t0, seconds, wander apart: what start fill stands for. */
  readonly apartAtStart: number;
  readonly wanderAtStart: number;
  readonly curve: FillCurve | null;
  readonly curveUntilNs: Ns;
  /** Where the curve's wander stays for now; of use until its end, and while the curve has that wander. */
  readonly band: FillBand | null;
  readonly net: number;
  readonly train: OpenTrain | null;
  readonly decodes: boolean;
  readonly inStep: boolean;
  readonly stepFill: number;
  readonly curveCause: Cause;
  readonly due: Due;
}

type Draft = { -readonly [K in keyof ReceiverState]: ReceiverState[K] };

/** Field by field: made for every event, and a spread of so many fields takes several times as long. */
function draftOf(s: ReceiverState): Draft {
  return {
    arrival: s.arrival,
    own: s.own,
    epochs: s.epochs,
    apartAtStart: s.apartAtStart,
    wanderAtStart: s.wanderAtStart,
    curve: s.curve,
    curveUntilNs: s.curveUntilNs,
    band: s.band,
    net: s.net,
    train: s.train,
    decodes: s.decodes,
    inStep: s.inStep,
    stepFill: s.stepFill,
    curveCause: s.curveCause,
    due: s.due,
  };
}

/** Where no audio arrives nothing slips: the curve then only tells whether the two clocks are in step. */
const NO_BUFFER: BufferShape = { slipSamples: 1, depthSamples: 2, startSamples: 1 };

export function makeReceiver(spec: ReceiverSpec): Machine<ReceiverState, Order, Mail> {
  const { sampleRateHz, timebases } = spec;
  const within = spec.quantumSeconds * PIECE_SHARE;

  function bufferOf(s: Draft | ReceiverState): BufferShape {
    return (s.arrival === null ? undefined : spec.buffers[s.arrival.link]) ?? NO_BUFFER;
  }

  function hasBuffer(s: Draft): boolean {
    return s.arrival !== null && spec.buffers[s.arrival.link] !== undefined;
  }

  /** What arrives minus the own clock, in seconds, wander left out. */
  function apart(theirs: Flow, own: Flow, at: Ns): number {
    const between =
      theirs.timebase === own.timebase
        ? 0
        : (timebases[theirs.timebase] as Timebase).phaseSecondsAt(at) -
          (timebases[own.timebase] as Timebase).phaseSecondsAt(at);
    return phaseAgainstTimebase(theirs, at) - phaseAgainstTimebase(own, at) + between;
  }

  /** Fill from now on, slips left out, until a piece ends. */
  function draw(s: Draft, theirs: Flow, own: Flow, now: Ns): void {
    let rate = rateAgainstTimebase(theirs, now) - rateAgainstTimebase(own, now);
    let perSecond = theirs.ageingPerSecond - own.ageingPerSecond;
    s.curveUntilNs = NEVER;
    if (theirs.timebase !== own.timebase) {
      const theirPiece = (timebases[theirs.timebase] as Timebase).pieceAt(now, within);
      const ownPiece = (timebases[own.timebase] as Timebase).pieceAt(now, within);
      rate += theirPiece.rate - ownPiece.rate;
      perSecond += theirPiece.ageingPerSecond - ownPiece.ageingPerSecond;
      s.curveUntilNs = theirPiece.untilNs < ownPiece.untilNs ? theirPiece.untilNs : ownPiece.untilNs;
    }
    const samples = bufferOf(s).startSamples + sampleRateHz * (apart(theirs, own, now) - s.apartAtStart);
    const isOne = isSameWander(theirs.wander, own.wander);
    s.curve = {
      atNs: now,
      samples: isOne ? samples - sampleRateHz * s.wanderAtStart : samples,
      perSecond: sampleRateHz * rate,
      perSecond2: sampleRateHz * perSecond,
      wander: isOne ? null : wanderBetween(s, theirs.wander, own.wander),
    };
  }

  /** The same object while nothing about it is new. A buffer that starts has no curve yet. */
  function wanderBetween(s: Draft, theirs: Wander | null, own: Wander | null): FillWander {
    const last = s.curve?.wander ?? null;
    if (last !== null && last.theirs === theirs && last.own === own) return last;
    return { samplesPerSecond: sampleRateHz, theirs, own, startSeconds: s.wanderAtStart };
  }

  function hasLeftStep(s: Draft, curve: FillCurve, now: Ns): boolean {
    const fill = fillAt(curve, now);
    return fill >= s.stepFill + OUT_OF_STEP_SAMPLES || fill <= s.stepFill - OUT_OF_STEP_SAMPLES;
  }

  /** Writes an open train into the record: what it counted up to now. */
  function closeTrain(s: Draft, now: Ns, effects: Effect<Mail>[]): void {
    if (s.train === null || s.curve === null || s.arrival === null) return;
    const { sign, fromNs, cause } = s.train;
    const buffer = bufferOf(s);
    const shape = {
      sign,
      slipSamples: buffer.slipSamples,
      depthSamples: buffer.depthSamples,
      netBefore: s.net,
      curve: s.curve,
    };
    const count = countBy(shape, now);
    effects.push({
      do: "record",
      cause,
      fact: { kind: "slips", link: s.arrival.link, way: s.arrival.way, fromNs, toNs: now, count, ...shape },
    });
    s.net += sign * count;
    s.train = null;
  }

  /** `cause`: said, because the train that ends with it has a row and a cause of its own. */
  function setFacts(s: Draft, decodes: boolean, inStep: boolean, cause: Cause, effects: Effect<Mail>[]): void {
    if (s.decodes === decodes && s.inStep === inStep) return;
    s.decodes = decodes;
    s.inStep = inStep;
    effects.push({
      do: "record",
      cause,
      fact: { kind: "input", link: s.arrival?.link ?? null, way: s.arrival?.way ?? null, decodes, inStep },
    });
  }

  /** Both ends trace to one oscillator through locked devices: nothing can slip. */
  function isTraced(theirs: Signal, own: Signal): boolean {
    return theirs.seen.traced && own.seen.traced && theirs.flow.timebase === own.flow.timebase;
  }

  /** Something arrives, or the own clock has something new: the curve is drawn again from here. */
  function redraw(s: Draft, now: Ns, cause: Cause, effects: Effect<Mail>[]): void {
    closeTrain(s, now, effects);
    const theirs = s.arrival?.signal ?? null;
    const { own, arrival } = s;
    const isUp = arrival?.up === true;
    s.curveCause = cause;
    if (theirs === null || own === null || !isUp || theirs.rateHz !== sampleRateHz || own.rateHz !== sampleRateHz) {
      // Whatever ends the stream ends the buffer, noticed or not: what comes back finds it empty and starts it anew.
      s.curve = null;
      s.epochs = null;
      setFacts(s, false, isUp && own !== null && theirs === null && s.inStep, cause, effects);
      return;
    }
    const isNewStart = s.epochs === null || s.epochs.theirs !== theirs.epoch || s.epochs.own !== own.epoch;
    if (isNewStart) {
      s.epochs = { theirs: theirs.epoch, own: own.epoch };
      s.apartAtStart = apart(theirs.flow, own.flow, now);
      s.wanderAtStart = isSameWander(theirs.flow.wander, own.flow.wander)
        ? 0
        : wanderAt(theirs.flow.wander, now) - wanderAt(own.flow.wander, now);
      s.net = 0;
      s.curve = null;
    }
    draw(s, theirs.flow, own.flow, now);
    const curve = s.curve as unknown as FillCurve;
    let inStep = s.inStep;
    if (isNewStart) {
      inStep = true;
      s.stepFill = bufferOf(s).startSamples;
    } else if (!inStep && isTraced(theirs, own)) {
      inStep = true;
      s.stepFill = fillAt(curve, now);
    } else if (inStep && curve.wander === null && hasLeftStep(s, curve, now)) inStep = false; // else it wakes for that
    setFacts(s, true, inStep, cause, effects);
  }

  /** The nearest level on either side: a slip, or the loss of step. Infinite where there is neither. */
  function nearestLevels(s: Draft): { above: number; below: number } {
    let above = Number.POSITIVE_INFINITY;
    let below = Number.NEGATIVE_INFINITY;
    if (s.train === null && hasBuffer(s)) {
      const { slipSamples, depthSamples } = bufferOf(s);
      above = depthSamples + slipSamples * s.net;
      below = slipSamples * s.net;
    }
    if (s.inStep) {
      above = Math.min(above, s.stepFill + OUT_OF_STEP_SAMPLES);
      below = Math.max(below, s.stepFill - OUT_OF_STEP_SAMPLES);
    }
    return { above, below };
  }

  /** The band of the present curve's wander. */
  function bandAt(s: Draft, { wander }: FillCurve, now: Ns): FillBand | null {
    if (wander === null) return null;
    if (s.band?.of !== wander || now >= s.band.closerNs) s.band = bandOf(wander, now, "block");
    return s.band;
  }

  /** Whether nothing can be at a level now, which is known without a look at wander itself. */
  function isFar(s: Draft, curve: FillCurve, now: Ns): boolean {
    const band = bandAt(s, curve, now);
    if (band === null) return false;
    const { above, below } = nearestLevels(s);
    return staysUntil(curve, band, above, below, now) > now;
  }

  /** When to look next, and whether a slip falls at this very instant. */
  function lookAhead(s: Draft, now: Ns, cause: Cause, steps = 1): void {
    let atNs = s.curve === null ? NEVER : s.curveUntilNs;
    const { curve } = s;
    const isMoving =
      curve !== null && (curve.perSecond !== 0 || curve.perSecond2 !== 0 || curve.wander !== null || s.train !== null);
    if (curve !== null && isMoving) {
      const sooner = (at: Ns): void => {
        if (at < atNs) atNs = at;
      };
      if (s.train !== null) sooner(s.train.goesOnUntilNs);
      const { above, below } = nearestLevels(s);
      if (above < Number.POSITIVE_INFINITY && atNs > now)
        sooner(nextLook(curve, bandAt(s, curve, now), above, below, now, atNs, steps));
    }
    if (s.due.atNs !== atNs || s.due.cause !== cause) s.due = { atNs, cause };
  }

  /** Awake: a first slip, a turning, a lost step, or the end of a piece. */
  function wake(s: Draft, now: Ns, cause: Cause, effects: Effect<Mail>[]): void {
    if (s.curve === null) return;
    const { curve } = s;
    const { slipSamples, depthSamples } = bufferOf(s);
    const far = isFar(s, curve, now);
    const hadTrain = s.train !== null;
    if (s.inStep && !far && hasLeftStep(s, curve, now)) setFacts(s, s.decodes, false, cause, effects);
    if (now >= s.curveUntilNs) {
      redraw(s, now, cause, effects);
    } else if (s.train !== null && now >= s.train.goesOnUntilNs) {
      const goesOnUntilNs = curve.wander === null ? now : goesOnUntil(curve, s.train.sign, now);
      if (goesOnUntilNs > now) s.train = { ...s.train, goesOnUntilNs };
      else closeTrain(s, now, effects);
    }
    const isShort = far && !hadTrain && s.curve === curve;
    if (s.train === null && s.curve !== null && hasBuffer(s) && !isShort) {
      const fill = fillAt(s.curve, now);
      const sign = fill >= depthSamples + slipSamples * s.net ? 1 : fill <= slipSamples * s.net ? -1 : 0;
      if (sign !== 0) {
        const goesOnUntilNs = goesOnUntil(s.curve, sign, now);
        s.train = { fromNs: now, goesOnUntilNs, sign, cause };
        if (goesOnUntilNs <= now) closeTrain(s, now, effects);
      }
    }
  }

  return {
    id: spec.id,
    rank: "lives",
    start(now): Step<ReceiverState, Mail> {
      const effects: Effect<Mail>[] = [];
      const s: Draft = {
        arrival: spec.arrival,
        own: spec.own,
        epochs: null,
        apartAtStart: 0,
        wanderAtStart: 0,
        curve: null,
        curveUntilNs: NEVER,
        band: null,
        net: 0,
        train: null,
        decodes: false,
        inStep: false,
        stepFill: 0,
        curveCause: FROM_START,
        due: { atNs: NEVER, cause: FROM_START },
      };
      redraw(s, now, FROM_START, effects);
      if (effects.length === 0) {
        effects.push({
          do: "record",
          fact: {
            kind: "input",
            link: s.arrival?.link ?? null,
            way: s.arrival?.way ?? null,
            decodes: false,
            inStep: false,
          },
        });
      }
      lookAhead(s, now, FROM_START);
      return { state: s, effects };
    },
    handle(state, event: MachineEvent<Order, Mail>, now): Step<ReceiverState, Mail> {
      const s = draftOf(state);
      const effects: Effect<Mail>[] = [];
      if (event.kind === "due") wake(s, now, event.cause, effects);
      else if (event.kind === "mail") {
        const { mail } = event;
        if (mail.kind === "arrival") {
          if (isLastWord(s.arrival, mail.arrival)) return { state, effects };
          s.arrival = mail.arrival;
        } else if (mail.kind === "flow") s.own = mail.signal;
        redraw(s, now, event.cause, effects);
      }
      // What has just been woken for nothing looks further; what is told something new will be told more.
      if (event.kind === "due") lookAhead(s, now, state.curveCause, STEPS_AHEAD);
      else lookAhead(s, now, event.cause);
      return { state: s, effects };
    },
    due: (state) => state.due,
    finish(state, now) {
      const effects: Effect<Mail>[] = [];
      if (state.train !== null) closeTrain(draftOf(state), now, effects);
      return effects;
    },
  };
}
