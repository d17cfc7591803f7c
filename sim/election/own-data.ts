/** What a device says of itself, and what it says of its leader when it passes the time on. */
import type { PtpPlan } from "../../shared/plan.ts";
import type { Candidate } from "./compare.ts";
import type { DataSet } from "./train.ts";
import { isSameData } from "./train.ts";

/** What goes out in an announcement, but for when. */
export interface Announced {
  readonly data: DataSet;
  readonly leaderDevice: string;
  readonly path: readonly string[];
}

/** The device as its own leader; `clockClass` is the present one. Port 0 stands for the device itself. */
export function ownCandidate(ptp: PtpPlan, clockClass: number): Candidate {
  const self = { clock: ptp.identity, port: 0 };
  return {
    data: {
      priority1: ptp.priority1,
      clockClass,
      clockAccuracy: ptp.clockAccuracy,
      offsetScaledLogVariance: ptp.offsetScaledLogVariance,
      priority2: ptp.priority2,
      leader: ptp.identity,
      stepsRemoved: 0,
      sender: self,
    },
    receiver: self,
  };
}

/** Sent from one of its ports, as its own leader. */
export function announcesItself(own: DataSet, device: string, port: number, tracesPath: boolean): Announced {
  const clock = own.leader;
  return { data: sentFrom(own, 0, clock, port), leaderDevice: device, path: tracesPath ? [clock] : [] };
}

/** Sent from one of its ports: what it has from its parent, one step further. */
export function passesOn(parent: Announced, clock: string, port: number): Announced {
  const { data, leaderDevice, path } = parent;
  return {
    data: sentFrom(data, data.stepsRemoved + 1, clock, port),
    leaderDevice,
    path: path.length === 0 ? path : [...path, clock],
  };
}

/** One port of several attachments announces the same by each, in its name. */
export function inNameOf<T extends Announced>(announced: T, port: number): T {
  const { data } = announced;
  if (data.sender.port === port) return announced;
  return { ...announced, data: { ...data, sender: { clock: data.sender.clock, port } } };
}

export function isSameAnnounced(a: Announced | null, b: Announced | null): boolean {
  if (a === b) return true;
  if (a === null || b === null || !isSameData(a.data, b.data) || a.path.length !== b.path.length) return false;
  return a.path.every((each, i) => each === b.path[i]);
}

function sentFrom(data: DataSet, stepsRemoved: number, clock: string, port: number): DataSet {
  return {
    priority1: data.priority1,
    clockClass: data.clockClass,
    clockAccuracy: data.clockAccuracy,
    offsetScaledLogVariance: data.offsetScaledLogVariance,
    priority2: data.priority2,
    leader: data.leader,
    stepsRemoved,
    sender: { clock, port },
  };
}
