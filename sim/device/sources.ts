/** What arrives at a device, what it loses, and what it takes instead. */
import type { Signal } from "../../shared/flow.ts";
import { rateAgainstTimebase } from "../../shared/flow.ts";
import type { Cause } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER } from "../../shared/time.ts";
import type { View } from "../choice.ts";
import { INTERNAL, wantedSource } from "../choice.ts";
import { pointAt } from "../loop.ts";
import type { Arrival } from "../mail.ts";
import { keptControl } from "./average.ts";
import { apartFrom, closeLoop, follow, hold, lookAhead, openLoop, runOnOwn, timebaseOf } from "./phase.ts";
import type { Input, Work } from "./state.ts";
import { enter, inputOf } from "./state.ts";

/** How far inside the capture range a refused source must come to be taken: ten percent (assumed). */
const CAPTURE_HYSTERESIS = 0.9;
/** Pieces of a bending timebase looked ahead for a capture, before looking again. */
const CAPTURE_PIECES = 64;

export function isGoodSignal(up: boolean, signal: Signal | null, sampleRateHz: number): boolean {
  return up && signal?.gives === true && signal.rateHz === sampleRateHz;
}

export function arrive(w: Work, index: number, arrival: Arrival): void {
  const { s, now, n } = w;
  const before = s.inputs[index] as Input;
  const { up, signal } = arrival;
  const source = String(n.spec.ports[index]);
  const isGood = isGoodSignal(up, signal, n.plan.sampleRateHz);
  const isNew = isGood && !before.isGood;
  const isWithinHoldOff = s.lost === source && s.wasHolding && now <= s.holdOffUntilNs && s.sources.includes(source);
  // While a break is not noticed, nothing has been lost: it does not wait to be restored.
  const wasBroken = before.up && before.signal === null;
  const mustWait = isNew && before.wasGood && !wasBroken && !isWithinHoldOff;
  const input: Input = {
    up,
    signal,
    isGood,
    wasGood: before.wasGood || isGood,
    availableNs: mustWait ? later(now, n.waitToRestoreNs) : isNew ? now : before.availableNs,
    isRefused: isGood && before.isRefused,
    cause: isNew ? w.cause : before.cause,
  };
  s.inputs = s.inputs.map((old, i) => (i === index ? input : old));
  if (s.state === "off" || s.state === "starting") return;
  if (s.source === source) currentChanged(w, source, before, input, arrival.reason ?? "its link went down");
  else if (isWithinHoldOff && isGood && s.source === null) sameSourceBack(w, source, signal as Signal);
}

/** The source in use goes on, is gone but not noticed, is back unnoticed, or is lost. */
function currentChanged(w: Work, source: string, before: Input, input: Input, whyDown: string): void {
  if (input.isGood && input.signal !== null) {
    if (hasOtherLeader(w, source, input.signal)) take(w, source, "another leads its network", w.cause);
    else if (w.s.drive.kind === "loop") follow(w, input.signal);
    else {
      w.s.courseCause = w.cause;
      closeLoop(w, source, input.signal, false);
      lookAhead(w);
    }
  } else if (input.up && input.signal === null) {
    if (before.signal !== null) openLoop(w);
  } else loseCurrent(w, input.up ? "the other end gives no clock it can use" : whyDown);
}

/**
 * Over one port a network may bring the time of another leader. Where that is no further away than the unlock window the
 * loop pulls over; beyond it, this is another source, chosen by the election in the device's stead.
 */
function hasOtherLeader(w: Work, source: string, { flow }: Signal): boolean {
  const { drive } = w.s;
  if (!w.n.spec.networkPorts.has(source) || drive.kind === "off") return false;
  const before = drive.kind === "loop" ? drive.reference : drive.flow;
  if (before.timebase === flow.timebase && drive.kind === "loop") return false;
  return Math.abs(apartFrom(w, flow)) > w.n.unlockWindowSeconds;
}

export function loseCurrent(w: Work, reason: string, cause?: Cause): void {
  const { s, now, n } = w;
  const wasLocked = s.state === "locked";
  openLoop(w);
  s.lost = s.source;
  s.wasHolding = s.hasLockedSinceFreeRun;
  s.holdOffUntilNs = later(now, n.holdOffNs);
  s.lossCause = cause ?? w.cause;
  s.reactAtNs = NEVER;
  if (s.byHand === s.source) s.byHand = null;
  if (s.hasLockedSinceFreeRun && n.holdoverNs > 0) {
    if (!wasLocked) runOnOwn(w, s.heldControl);
    enter(w, "holdover", null, reason, cause);
    s.holdoverUntilNs = later(now, n.holdoverNs);
    s.holdoverCause = s.lossCause;
  } else freeRun(w, null, reason, cause);
}

/** On its own oscillator: the control steps to 0. */
export function freeRun(w: Work, source: string | null, reason: string, cause?: Cause): void {
  const { drive } = w.s;
  if (drive.kind === "loop" || (drive.kind === "own" && drive.flow.rate !== 0)) runOnOwn(w, 0);
  enter(w, "free-run", source, reason, cause);
}

function sameSourceBack(w: Work, source: string, signal: Signal): void {
  const { s } = w;
  s.courseCause = w.cause;
  closeLoop(w, source, signal, false);
  s.lost = null;
  s.holdOffUntilNs = NEVER;
  s.reactAtNs = NEVER;
  const error = s.drive.kind === "loop" ? pointAt(w.n.shape, s.drive.course, w.now).error : 0;
  const isInside = Math.abs(error) <= w.n.lockWindowSeconds;
  enter(w, isInside ? "locked" : "acquiring", source, "the same source is back within hold-off");
  lookAhead(w);
}

function isInCapture(w: Work, input: Input): boolean {
  if (input.signal === null) return false;
  const { flow } = input.signal;
  const offset = Math.abs(timebaseOf(w, flow.timebase).rateAt(w.now) + rateAgainstTimebase(flow, w.now));
  return offset <= (input.isRefused ? w.n.capture * CAPTURE_HYSTERESIS : w.n.capture);
}

/** What it may choose from. */
function sourcesOf({ sources, stuck }: Work["s"]): readonly string[] {
  if (stuck === null) return sources;
  return stuck.on === null ? [] : [stuck.on];
}

/** What the choice can see, the capture range apart. */
function viewOf(w: Work): View {
  const { s, now } = w;
  return {
    sources: sourcesOf(s),
    current: s.source,
    isCurrentGood: s.source !== null && (s.source === INTERNAL || isStillHeld(w, s.source)),
    isRevertive: w.n.plan.revertive,
    byHand: s.byHand,
    isHeldOff: s.lost !== null && now < s.holdOffUntilNs,
    isAvailable: (source) => {
      if (source === INTERNAL) return true;
      const input = inputOf(w, source);
      return input?.isGood === true && now >= input.availableNs;
    },
  };
}

/** A source whose loss has not been noticed is still the source. */
function isStillHeld(w: Work, source: string): boolean {
  const input = inputOf(w, source);
  return input !== undefined && (input.isGood || (input.up && input.signal === null));
}

/**
 * The source it wants. Only what it would choose is held against the capture range: what is refused stays so until it
 * has come ten percent inside, and is waited for.
 */
export function wish(w: Work): string | null {
  const { s } = w;
  const view = viewOf(w);
  const tested = new Set<string>();
  const wanted = wantedSource({
    ...view,
    isAvailable: (source) => {
      if (!view.isAvailable(source)) return false;
      tested.add(source);
      const input = inputOf(w, source);
      return input === undefined || isInCapture(w, input);
    },
  });
  const before = s.captureWakeNs;
  s.captureWakeNs = NEVER;
  s.inputs = s.inputs.map((input, index) => {
    if (!tested.has(String(w.n.spec.ports[index]))) return input;
    const isRefused = !isInCapture(w, input);
    const at = isRefused ? entersCaptureAt(w, input) : NEVER;
    if (at < s.captureWakeNs) s.captureWakeNs = at;
    return input.isRefused === isRefused ? input : { ...input, isRefused };
  });
  if (s.captureWakeNs !== before) s.captureCause = w.cause;
  return wanted;
}

/** When what arrives comes back inside the capture range: looked for over some pieces of its timebase. */
function entersCaptureAt(w: Work, input: Input): Ns {
  if (input.signal === null) return NEVER;
  const { flow } = input.signal;
  const limit = w.n.capture * CAPTURE_HYSTERESIS;
  let from = w.now;
  for (let i = 0; i < CAPTURE_PIECES; i++) {
    const piece = timebaseOf(w, flow.timebase).pieceAt(from, w.n.quantumSeconds);
    const rate = piece.rate + rateAgainstTimebase(flow, from);
    const slope = piece.ageingPerSecond + flow.ageingPerSecond;
    if (i > 0 && Math.abs(rate) <= limit) return from;
    const seconds = slope === 0 ? -1 : ((rate > 0 ? limit : -limit) - rate) / slope;
    const at = seconds > 0 ? later(from, Math.ceil(seconds * 1e9) as Ns) : NEVER;
    if (at < piece.untilNs) return at;
    if (piece.untilNs === NEVER) return NEVER;
    from = piece.untilNs;
  }
  return from;
}

/** Finds out what it wants; what it wants for the length of its reaction time, it takes. */
export function choose(w: Work): void {
  const { s, now } = w;
  if (s.state === "off" || s.state === "starting") return;
  // The common case costs nothing: on its first source, nothing pending.
  if (s.source !== null && s.source === s.sources[0] && s.byHand === null && s.reactAtNs === NEVER) {
    if (s.captureWakeNs !== NEVER) s.captureWakeNs = NEVER;
    return;
  }
  const wanted = wish(w);
  const isStranded = s.source !== null && !sourcesOf(s).includes(s.source);
  if ((wanted === s.source || wanted === null) && !isStranded) {
    s.reactAtNs = NEVER;
    return;
  }
  // The cause is what made it want this one, not what made it want to change at all.
  if (s.reactAtNs === NEVER || s.reactFor !== wanted) s.reactCause = w.cause;
  s.reactFor = wanted;
  if (s.reactAtNs === NEVER) s.reactAtNs = later(now, w.n.reactionNs);
  if (now < s.reactAtNs) return;
  s.reactAtNs = NEVER;
  if (wanted === null) loseCurrent(w, "its source was taken off the list", s.reactCause);
  else take(w, wanted, "a source was chosen", s.reactCause);
}

export function take(w: Work, source: string, reason: string, cause: Cause): void {
  const { s } = w;
  s.lost = null;
  s.holdOffUntilNs = NEVER;
  s.courseCause = cause;
  if (s.state === "locked" && s.drive.kind === "loop") hold(w, keptControl(w));
  if (source === INTERNAL) {
    freeRun(w, INTERNAL, reason, cause);
    return;
  }
  const hasJumped = closeLoop(w, source, (inputOf(w, source) as Input).signal as Signal, true, cause);
  s.insideSinceNs = NEVER;
  enter(w, "acquiring", source, reason, hasJumped ? undefined : cause);
  lookAhead(w);
}

/** A command waits for nothing but the reaction time. */
export function skipWaits(w: Work): void {
  const { s, now } = w;
  s.inputs = s.inputs.map((input) =>
    input.isGood && input.availableNs > now ? { ...input, availableNs: now } : input,
  );
  if (s.holdOffUntilNs !== NEVER) s.holdOffUntilNs = now;
}
