/** What a node is made of: its spec, its state, and one step's work on it. */
import type { Signal } from "../../shared/flow.ts";
import type { NetworkPlan, PtpPlan } from "../../shared/plan.ts";
import type { Cause, FollowedPath, PortRole } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { NEVER } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import type { ElectionNumbers } from "../election/numbers.ts";
import { electionNumbers } from "../election/numbers.ts";
import type { Announced } from "../election/own-data.ts";
import type { DataSet, Train } from "../election/train.ts";
import type { Due, Effect } from "../machine.ts";
import type { Carrier, Frame, Mail, NetworkPath, Status } from "../mail.ts";

export interface NodeSpec {
  /** "node foh a": the device on the network. */
  readonly id: string;
  readonly device: string;
  readonly network: NetworkPlan;
  readonly ptp: PtpPlan;
  /** Port number of each attachment; one that is not there is numbered like the first. */
  readonly ports: readonly number[];
  /** Each attachment is a port of its own in the election; else all of them are one. */
  readonly isBoundary: boolean;
  /** Its device lists the network among its clock sources; else it never follows, though it may announce. */
  readonly takes: boolean;
  /** Of its device: what it takes is time, and time knows no sample rate. */
  readonly sampleRateHz: number;
  /** Ids of the streams that its device sends, and of those that end at it. */
  readonly streamsOut: readonly string[];
  readonly streamsIn: readonly string[];
  readonly timebases: readonly Timebase[];
  readonly seed: string;
  /** What its device said before the first instant. */
  readonly status: Status;
  readonly signal: Signal | null;
  /** Per attachment: whether packets pass as the show begins. */
  readonly carries: readonly boolean[];
  /** An election that is over; null: it has only just been switched on, and listens. */
  readonly begin: NodeBegin | null;
}

export interface NodeBegin {
  /** As the election stands, per port in the election. */
  readonly ports: readonly BeginPort[];
  /** Every clock frame that arrives, its path included, not only of the one that it follows. */
  readonly heard: readonly { readonly attachment: number; readonly frame: Frame }[];
  /** Per incoming stream: the attachment on which its packets arrive; null: they do not. */
  readonly reachedOn: readonly (number | null)[];
}

export interface BeginPort {
  readonly role: PortRole;
  readonly leader: string | null;
  readonly parent: string | null;
  readonly steps: number;
  /** What it announces, if it leads. */
  readonly train: Train | null;
}

/** Somebody who announces or has announced, as heard on one attachment. */
export interface Foreign {
  readonly attachment: number;
  /** Of its frames. */
  readonly key: string;
  readonly train: Train;
  /** What its sync carries; null: none comes. */
  readonly signal: Signal | null;
  readonly path: NetworkPath;
  /** Its announcements arrive. */
  readonly isFlowing: boolean;
  /** They have arrived without a break from here on. */
  readonly sinceNs: Ns;
  /** The last that arrived before that, or before they ceased; {@link NEVER_HEARD}: none that counts. */
  readonly lastNs: Ns;
  /** When it counts as lost, unless something arrives before. */
  readonly expiresNs: Ns;
  readonly isQualified: boolean;
  /** What made it arrive, or cease. */
  readonly cause: Cause;
}
export const NEVER_HEARD = -NEVER as Ns;

/** One port in the election. */
export interface PortState {
  readonly role: PortRole;
  readonly leader: string | null;
  readonly parent: string | null;
  readonly steps: number;
  /** As recorded last: null unless it follows. */
  readonly path: FollowedPath | null;
  /** Listening, or about to lead: since when, until when, and what made it so. */
  readonly sinceNs: Ns;
  readonly untilNs: Ns;
  readonly untilCause: Cause;
  /** What it announces, from its next announcement on (at `announceNs`, else as `train` has it). */
  readonly wanted: Announced | null;
  readonly train: Train | null;
  readonly announceNs: Ns;
  readonly announceCause: Cause;
}

/** What its device was told last. */
export interface Told {
  readonly up: boolean;
  /** As it left the parent; null: none. */
  readonly signal: Signal | null;
  readonly path: NetworkPath | null;
}

export interface NodeState {
  readonly alive: boolean;
  readonly clockClass: number;
  readonly signal: Signal | null;
  /** By order: it announces and sends no sync. */
  readonly isSyncStopped: boolean;
  /** By order: whatever it hears, it stays what it is. */
  readonly isStuck: boolean;
  readonly carriers: readonly Carrier[];
  readonly ports: readonly PortState[];
  readonly foreigns: readonly Foreign[];
  /** Attachment and key of the one it follows. */
  readonly follows: { readonly attachment: number; readonly key: string } | null;
  /** The best that it had heard when it last decided. */
  readonly best: DataSet | null;
  /** When it knows that no sync comes. */
  readonly syncLostNs: Ns;
  readonly syncCause: Cause;
  readonly isSyncLost: boolean;
  readonly told: Told;
  /** Per incoming stream: the attachments on which it arrives. */
  readonly reachedOn: readonly (readonly number[])[];
  readonly due: Due;
}

export type Draft = { -readonly [K in keyof NodeState]: NodeState[K] };

/** Field by field: made for every event, and a spread of so many fields takes several times as long. */
export function draftOf(s: NodeState): Draft {
  return {
    alive: s.alive,
    clockClass: s.clockClass,
    signal: s.signal,
    isSyncStopped: s.isSyncStopped,
    isStuck: s.isStuck,
    carriers: s.carriers,
    ports: s.ports,
    foreigns: s.foreigns,
    follows: s.follows,
    best: s.best,
    syncLostNs: s.syncLostNs,
    syncCause: s.syncCause,
    isSyncLost: s.isSyncLost,
    told: s.told,
    reachedOn: s.reachedOn,
    due: s.due,
  };
}

/** A node's numbers, made once. */
export interface NodeNumbers {
  readonly spec: NodeSpec;
  readonly election: ElectionNumbers;
  readonly address: { readonly seed: string; readonly device: string; readonly network: string };
}

export function nodeNumbers(spec: NodeSpec): NodeNumbers {
  const election = electionNumbers(spec.network.profile);
  const address = { seed: spec.seed, device: spec.device, network: spec.network.id };
  return { spec, election, address };
}

/** One step: a copy of the state that the parts may write on, and what comes of it. */
export interface Work {
  readonly n: NodeNumbers;
  readonly s: Draft;
  readonly effects: Effect<Mail>[];
  readonly now: Ns;
  readonly cause: Cause;
}

export const DEVICE_PORT = 0;

export function sendTo(w: Work, port: number, mail: Mail): void {
  w.effects.push({ do: "send", port, mail });
}

/** Index of the port in the election that an attachment belongs to. */
export function portOf(spec: NodeSpec, attachment: number): number {
  return spec.isBoundary ? attachment : 0;
}

export function portCount(spec: NodeSpec): number {
  return spec.isBoundary ? spec.carries.length : 1;
}

/** The number by which an attachment goes. */
export function numberOf(spec: NodeSpec, attachment: number): number {
  return spec.ports[attachment] ?? (spec.ports[0] as number);
}

export function setForeign(w: Work, index: number, foreign: Foreign): void {
  w.s.foreigns = w.s.foreigns.with(index, foreign);
}

export function setPort(w: Work, index: number, port: PortState): void {
  w.s.ports = w.s.ports.with(index, port);
}

export function followedOf(s: Pick<NodeState, "follows" | "foreigns">): Foreign | null {
  const { follows } = s;
  if (follows === null) return null;
  return s.foreigns.find((f) => f.attachment === follows.attachment && f.key === follows.key) ?? null;
}
