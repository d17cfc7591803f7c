/** What a node's device gets to hear: the time of the one that it follows, or why there is none. */
import type { Flow, Signal } from "../../shared/flow.ts";
import type { FollowedPath } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import { gridAtOrBefore } from "../election/train.ts";
import type { Arrival, NetworkPath } from "../mail.ts";
import { delayed } from "../mail.ts";
import type { Foreign, NodeSpec, NodeState, PortState, Told, Work } from "./node-state.ts";
import { DEVICE_PORT, followedOf, numberOf, portOf, sendTo, setPort } from "./node-state.ts";
import { WORDS } from "./node-words.ts";

export const NOTHING_TOLD: Told = { up: false, signal: null, path: null };

/** Whom it follows from now on. */
export function setFollowed(w: Work, foreign: Foreign | null): void {
  const { s } = w;
  const before = s.follows;
  if (foreign === null) {
    if (before !== null) {
      s.follows = null;
      watchSync(w, null);
    }
    return;
  }
  if (before?.attachment === foreign.attachment && before.key === foreign.key) return;
  s.follows = { attachment: foreign.attachment, key: foreign.key };
  s.isSyncLost = false;
  s.syncLostNs = NEVER;
  if (foreign.signal === null) {
    s.syncLostNs = later(w.now, w.n.election.syncTimeoutNs);
    s.syncCause = w.cause;
  }
}

/** Sync of the one that it follows has begun, or ceased: the time without it counts from the last that came. */
export function watchSync(w: Work, followed: Foreign | null): void {
  const { s, now } = w;
  if (followed === null || followed.signal !== null) {
    s.isSyncLost = false;
    s.syncLostNs = NEVER;
  } else if (!s.isSyncLost && s.syncLostNs === NEVER) {
    const last = gridAtOrBefore(followed.train.firstNs, followed.train.syncNs, now);
    s.syncLostNs = later(last, w.n.election.syncTimeoutNs);
    s.syncCause = w.cause;
  }
}

/** What the device should have been told by now. */
export function toTell(s: NodeState): Told {
  const followed = followedOf(s);
  if (followed === null) return NOTHING_TOLD;
  const { signal, path } = followed;
  return { up: !s.isSyncLost, signal, path: signal === null ? null : path };
}

/** Tells the device, if that is news to it. */
export function tellDevice(w: Work): void {
  const { s, n } = w;
  if (!n.spec.takes) return;
  const told = toTell(s);
  if (told.up === s.told.up && told.signal === s.told.signal && isSamePath(told.path, s.told.path)) return;
  s.told = told;
  sendTo(w, DEVICE_PORT, { kind: "arrival", arrival: arrivalOf(w) });
}

/** What its device hears from now on. */
export function arrivalOf({ s, n, now }: Work): Arrival {
  const { up, signal, path } = toTell(s);
  if (signal !== null && path !== null) return takenFrom(n.spec, signal, path, now);
  return { link: n.spec.network.id, way: "there", up, signal: null, reason: whyNothing(s) };
}

function isSamePath(a: NetworkPath | null, b: NetworkPath | null): boolean {
  if (a === b) return true;
  return a !== null && b !== null && a.forthSeconds === b.forthSeconds && a.backSeconds === b.backSeconds;
}

/** Of somebody who is followed, as it goes into the record. */
export function pathOf({ path }: Foreign): FollowedPath {
  const { forthSeconds, backSeconds, varianceSeconds2, bridges } = path;
  return { forthSeconds, backSeconds, varianceSeconds2, bridges };
}

/** Packets of the one that it follows come another way: bridges have found one, or a cable has gone into another port. */
export function notePath(w: Work): void {
  const { s, n } = w;
  const followed = followedOf(s);
  // A path that nothing comes over is the last that was known.
  if (followed === null || !followed.isFlowing) return;
  const index = portOf(n.spec, followed.attachment);
  const port = s.ports[index] as PortState;
  const path = pathOf(followed);
  if (port.role !== "follows" || port.path === null || isSameWay(port.path, path)) return;
  const { role, leader, parent, steps } = port;
  const number = n.spec.isBoundary ? numberOf(n.spec, index) : null;
  w.effects.push({
    do: "record",
    fact: { kind: "election", port: number, role, leader, parent, steps, path, reason: WORDS.otherPath },
    cause: w.cause,
  });
  setPort(w, index, { ...port, path });
}

function isSameWay(a: FollowedPath, b: FollowedPath): boolean {
  return isSamePath(a, b) && a.varianceSeconds2 === b.varianceSeconds2 && a.bridges === b.bridges;
}

function whyNothing(s: NodeState): string {
  const followed = followedOf(s);
  if (followed !== null) return WORDS.noSyncComes(followed.train.leaderDevice);
  const roles = s.ports.map(({ role }) => role);
  if (roles.every((role) => role === "down")) return s.alive ? WORDS.cableOut : WORDS.off;
  if (roles.includes("leads")) return WORDS.leadsItself;
  return roles.includes("passive") ? WORDS.followsNobody : WORDS.leaderless;
}

/**
 * What a device takes from what left its parent: late by the delay in that direction, and set forward by the mean of
 * both, since that is what it measures. It lags by half of what the two differ.
 */
function takenFrom(spec: NodeSpec, signal: Signal, path: NetworkPath, now: Ns): Arrival {
  const timebase = spec.timebases[signal.flow.timebase] as Timebase;
  const late = delayed(signal.flow, path.forthSeconds, timebase, now);
  const flow: Flow = {
    timebase: late.timebase,
    atNs: late.atNs,
    phaseSeconds: late.phaseSeconds + (path.forthSeconds + path.backSeconds) / 2,
    rate: late.rate,
    ageingPerSecond: late.ageingPerSecond,
    wander: late.wander,
    withinSeconds: late.withinSeconds,
  };
  const { epoch, seen } = signal;
  return {
    link: spec.network.id,
    way: "there",
    up: true,
    signal: { flow, gives: true, rateHz: spec.sampleRateHz, epoch, seen },
  };
}
