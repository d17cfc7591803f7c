/** What a device machine is made of, and the one step of work that its parts share. */
import type { Flow, Seen, Signal } from "../../shared/flow.ts";
import type { DevicePlan } from "../../shared/plan.ts";
import type { Cause, DeviceState, Fact } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { NEVER, nsFromSeconds } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import type { Wander } from "../../shared/wander.ts";
import type { LoopCourse, LoopShape } from "../loop.ts";
import { loopShape } from "../loop.ts";
import type { Due, Effect } from "../machine.ts";
import type { Arrival, Mail, Status } from "../mail.ts";
import type { Mark } from "./average.ts";
import type { Doubt } from "./doubt.ts";

/** Where the device's clock comes from, physically. */
export type Drive =
  | { readonly kind: "off" }
  /** On its own oscillator; the rate is the control that is left (holdover), or 0, and may be off by `doubtRate`. */
  | { readonly kind: "own"; readonly flow: Flow; readonly doubtRate: number }
  | LoopDrive;

export interface LoopDrive {
  readonly kind: "loop";
  readonly source: string;
  /** What arrives, and against which timebase own phase is counted. */
  readonly reference: Flow;
  readonly seen: Seen;
  /** Whole sample periods between what arrives and what the detector compares. */
  readonly takenOff: number;
  readonly course: LoopCourse;
  /** The noise that comes out of it, beside the course; null: steady. */
  readonly wander: Wander | null;
  /** Until when the needed frequency is a straight line. */
  readonly pieceUntilNs: Ns;
  /** When this loop was closed, and what it may have been off by then. */
  readonly beganAtNs: Ns;
  readonly began: Doubt;
}

export interface Input {
  readonly up: boolean;
  readonly signal: Signal | null;
  /** Link up, the other end gives clock, rates agree. */
  readonly isGood: boolean;
  /** Was good before, since the device started: what comes back must wait to be restored. */
  readonly wasGood: boolean;
  readonly availableNs: Ns;
  /** Refused at the capture range: is taken again only 10 % inside it. */
  readonly isRefused: boolean;
  /** What made it good, when it last became so. */
  readonly cause: Cause;
}

export type DeviceBegin =
  | { readonly kind: "off" }
  | { readonly kind: "starting" }
  | { readonly kind: "own"; readonly source: string | null }
  | { readonly kind: "locked"; readonly source: string };

export interface DeviceSpec {
  readonly id: string;
  readonly plan: DevicePlan;
  readonly timebases: readonly Timebase[];
  /** Numbers of this device's own lives, by birth. */
  readonly lives: readonly number[];
  /** Port number of each in-port. */
  readonly ports: readonly number[];
  /** Sources of its list that are ethernet ports: what comes there comes from an election. */
  readonly networkPorts: ReadonlySet<string>;
  readonly begin: DeviceBegin;
  /** What arrives on each in-port before the first instant. */
  readonly arrivals: readonly Arrival[];
  /** Longest time that any link takes to notice a break. */
  readonly noticeSecondsMax: number;
  readonly quantumSeconds: number;
}

export interface DeviceMachineState {
  readonly state: DeviceState;
  /** Entry of the sources in use or being pulled to. */
  readonly source: string | null;
  readonly sources: readonly string[];
  readonly portClock: Readonly<Record<string, "give" | "take">>;
  readonly life: number;
  readonly drive: Drive;
  readonly inputs: readonly Input[];
  /** Counts what makes buffers start anew. */
  readonly epoch: number;
  readonly isHung: boolean;
  /** Source chosen by hand. */
  readonly byHand: string | null;
  /** It takes no other source than this one (null: none at all), whatever it is told; null: it chooses. */
  readonly stuck: { readonly on: string | null } | null;
  /** Source whose loss was noticed, until another is taken. */
  readonly lost: string | null;
  /** It went into holdover then (for no time at all, perhaps): only so may it go on as if nothing had been. */
  readonly wasHolding: boolean;
  readonly hasLockedSinceFreeRun: boolean;
  /** What its loop was over the averaging time of holdover; empty if there is none. */
  readonly marks: readonly Mark[];
  /** Control as it was when last locked: what holdover goes on with. */
  readonly heldControl: number;
  readonly heldDoubt: number;
  readonly insideSinceNs: Ns;
  readonly bootUntilNs: Ns;
  readonly surfaceUntilNs: Ns;
  readonly holdOffUntilNs: Ns;
  readonly holdoverUntilNs: Ns;
  readonly reactAtNs: Ns;
  /** Next window crossing, change of mode or end of a piece. */
  readonly loopWakeNs: Ns;
  /** When the truth can have left what was told. */
  readonly tellAtNs: Ns;
  readonly captureWakeNs: Ns;
  readonly told: Signal | null;
  readonly status: Status;
  /** The source whose choice is pending. */
  readonly reactFor: string | null;
  /** Each deadline keeps what set it. */
  readonly bootCause: Cause;
  readonly surfaceCause: Cause;
  readonly lossCause: Cause;
  readonly holdoverCause: Cause;
  readonly reactCause: Cause;
  readonly captureCause: Cause;
  readonly courseCause: Cause;
  readonly insideCause: Cause;
  readonly due: Due;
}

/** A device's numbers, turned into the engine's units once. */
export interface DeviceNumbers {
  readonly spec: DeviceSpec;
  readonly plan: DevicePlan;
  readonly timebases: readonly Timebase[];
  readonly shape: LoopShape;
  readonly periodSeconds: number;
  readonly lockWindowSeconds: number;
  readonly unlockWindowSeconds: number;
  /** Steering stop and capture range, fractional frequency. */
  readonly stop: number;
  readonly capture: number;
  readonly dwellNs: Ns;
  readonly holdOffNs: Ns;
  readonly holdoverNs: Ns;
  readonly waitToRestoreNs: Ns;
  readonly reactionNs: Ns;
  readonly bootNs: Ns;
  readonly surfaceBootNs: Ns;
  readonly engineBootNs: Ns;
  readonly quantumSeconds: number;
  /** Longest time on a control that was kept: noticing, then holdover. */
  readonly openSecondsMax: number;
}

export function deviceNumbers(spec: DeviceSpec): DeviceNumbers {
  const { plan } = spec;
  const periodSeconds = 1 / plan.sampleRateHz;
  return {
    spec,
    plan,
    timebases: spec.timebases,
    shape: loopShape(plan.loop.naturalFrequencyHz, plan.loop.damping),
    periodSeconds,
    lockWindowSeconds: (plan.lockWindowPercent / 100) * periodSeconds,
    unlockWindowSeconds: (plan.unlockWindowPercent / 100) * periodSeconds,
    stop: plan.steeringPpm * 1e-6,
    capture: plan.capturePpm * 1e-6,
    dwellNs: nsFromSeconds(plan.dwellSeconds),
    holdOffNs: nsFromSeconds(plan.holdOffSeconds),
    holdoverNs: nsFromSeconds(plan.holdoverSeconds),
    waitToRestoreNs: nsFromSeconds(plan.waitToRestoreSeconds),
    reactionNs: nsFromSeconds(plan.reactionSeconds),
    bootNs: nsFromSeconds(plan.bootSeconds),
    surfaceBootNs: nsFromSeconds(plan.surfaceBootSeconds),
    engineBootNs: nsFromSeconds(plan.engineBootSeconds),
    quantumSeconds: spec.quantumSeconds,
    openSecondsMax: spec.noticeSecondsMax + plan.holdoverSeconds,
  };
}

export type Draft = { -readonly [K in keyof DeviceMachineState]: DeviceMachineState[K] };

/** Field by field: made for every event, and a spread of so many fields takes several times as long. */
export function draftOf(s: DeviceMachineState): Draft {
  return {
    state: s.state,
    source: s.source,
    sources: s.sources,
    portClock: s.portClock,
    life: s.life,
    drive: s.drive,
    inputs: s.inputs,
    epoch: s.epoch,
    isHung: s.isHung,
    byHand: s.byHand,
    stuck: s.stuck,
    lost: s.lost,
    wasHolding: s.wasHolding,
    hasLockedSinceFreeRun: s.hasLockedSinceFreeRun,
    marks: s.marks,
    heldControl: s.heldControl,
    heldDoubt: s.heldDoubt,
    insideSinceNs: s.insideSinceNs,
    bootUntilNs: s.bootUntilNs,
    surfaceUntilNs: s.surfaceUntilNs,
    holdOffUntilNs: s.holdOffUntilNs,
    holdoverUntilNs: s.holdoverUntilNs,
    reactAtNs: s.reactAtNs,
    loopWakeNs: s.loopWakeNs,
    tellAtNs: s.tellAtNs,
    captureWakeNs: s.captureWakeNs,
    told: s.told,
    status: s.status,
    reactFor: s.reactFor,
    bootCause: s.bootCause,
    surfaceCause: s.surfaceCause,
    lossCause: s.lossCause,
    holdoverCause: s.holdoverCause,
    reactCause: s.reactCause,
    captureCause: s.captureCause,
    courseCause: s.courseCause,
    insideCause: s.insideCause,
    due: s.due,
  };
}

/** One step: a copy of the state that the parts may write on, and what comes of it. */
export interface Work {
  readonly n: DeviceNumbers;
  readonly s: Draft;
  readonly effects: Effect<Mail>[];
  readonly now: Ns;
  readonly cause: Cause;
  /** Something other than a slow departure must be told: a new drive, a new state. */
  mustTell: boolean;
}

/** What it follows has come through the device itself. */
export function isInRing(w: Work, { seen }: { readonly seen: Seen }): boolean {
  return seen.through.includes(w.n.plan.id);
}

export function inputOf(w: Work, source: string): Input | undefined {
  return w.s.inputs[w.n.spec.ports.indexOf(Number(source))];
}

/**
 * Enters a state, if it is another one, and drops the deadlines that belong to the old. `cause`: where it is not the
 * event, nor the row recorded before.
 */
export function enter(w: Work, state: DeviceState, source: string | null, reason: string, cause?: Cause): void {
  const { s } = w;
  if (s.state === state && s.source === source) return;
  s.state = state;
  s.source = source;
  if (state === "locked") s.hasLockedSinceFreeRun = true;
  if (state === "free-run" || state === "starting" || state === "off") s.hasLockedSinceFreeRun = false;
  if (state !== "acquiring") s.insideSinceNs = NEVER;
  if (state !== "holdover") s.holdoverUntilNs = NEVER;
  record(w, { kind: "clock", state, source, reason }, cause);
}

export function record(w: Work, fact: Fact, cause: Cause | undefined): void {
  w.effects.push(cause === undefined ? { do: "record", fact } : { do: "record", fact, cause });
}
