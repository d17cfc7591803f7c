/**
 * What a node hears: frames that stand, from which the instants follow at which announcements arrive. Nothing is sent
 * for one announcement; when somebody counts, and when he no longer does, is worked out from his train.
 */

import { TOO_MANY_STEPS } from "../../shared/ptp-profiles.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER, nsFromSeconds } from "../../shared/time.ts";
import { receiptTimeoutNs } from "../election/numbers.ts";
import { gridAtOrAfter, gridAtOrBefore, isSameData } from "../election/train.ts";
import type { ClockFrame, Frame } from "../mail.ts";
import type { Foreign, NodeNumbers, Work } from "./node-state.ts";
import { NEVER_HEARD, numberOf, portOf, setForeign } from "./node-state.ts";

/** An announcement and the frame that tells of it are one thing: no way through a rig is longer (assumed). */
const ON_ITS_WAY_NS = 1_000_000 as Ns;
/** A nanosecond for each cable of the longest way. */
const ROUNDINGS_NS = 1000;

/** First announcement since it has been arriving without a break. */
function firstHeardNs({ train, sinceNs }: Foreign): Ns {
  const from = sinceNs > train.firstNs ? sinceNs : train.firstNs;
  return gridAtOrAfter(train.firstNs, train.announceNs, from);
}

/** From an announcement until it is here: what it says may be new, so its frame goes first, roundings and all. */
function onItsWayNs({ path }: Foreign): Ns {
  return (nsFromSeconds(path.forthSeconds) + ROUNDINGS_NS) as Ns;
}

/** When it will have been heard often enough; NEVER: it already has, or will not be. */
export function qualifiesAtNs(n: NodeNumbers, f: Foreign): Ns {
  if (f.isQualified || !f.isFlowing || f.train.data.stepsRemoved >= TOO_MANY_STEPS) return NEVER;
  const first = firstHeardNs(f);
  const { qualifyCount, qualifyWithinNs } = n.election;
  const more = first - f.lastNs <= qualifyWithinNs ? 0 : qualifyCount - 1;
  return later(first, (more * f.train.announceNs + onItsWayNs(f)) as Ns);
}

/** When it counts as lost, unless it is heard before. */
export function expiresAtNs(f: Foreign): Ns {
  return f.isFlowing && f.lastNs !== NEVER_HEARD && firstHeardNs(f) <= f.expiresNs ? NEVER : f.expiresNs;
}

/** The last announcement that has arrived by now. */
function lastHeardNs(f: Foreign, by: Ns): Ns {
  if (!f.isFlowing) return f.lastNs;
  const last = gridAtOrBefore(f.train.firstNs, f.train.announceNs, by);
  return last >= firstHeardNs(f) ? last : f.lastNs;
}

/** What has changed for the election: "qualified": what somebody who counts says, or that he is gone. */
export type News = "none" | "sync" | "qualified";

/** A clock frame has come in. */
export function hearClock(w: Work, attachment: number, frame: Frame): News {
  const { s, n, now } = w;
  const body = frame.body as ClockFrame | null;
  const index = s.foreigns.findIndex((f) => f.attachment === attachment && f.key === frame.key);
  const old = s.foreigns[index];
  if (body === null || isOwn(n, body)) {
    if (old?.isFlowing !== true) return "none";
    cease(w, index);
    return "sync";
  }
  const { train, signal } = body;
  const isSame = old !== undefined && old.train.firstNs === train.firstNs && isSameData(old.train.data, train.data);
  if (isSame && old.isFlowing) {
    setForeign(w, index, withSync(old, frame, body));
    return "sync";
  }
  // One that is back, and says something else than before, is believed from here on and not from its next announcement.
  const isTooFar = train.data.stepsRemoved >= TOO_MANY_STEPS;
  const next: Foreign = {
    attachment,
    key: frame.key,
    train,
    signal,
    path: frame.path,
    isFlowing: true,
    sinceNs: (now - ON_ITS_WAY_NS) as Ns,
    lastNs: old === undefined ? NEVER_HEARD : lastHeardNs(old, (now - 2 * ON_ITS_WAY_NS) as Ns),
    expiresNs: NEVER,
    isQualified: old?.isQualified === true && !isTooFar,
    cause: w.cause,
  };
  if (old === undefined) {
    s.foreigns = [...s.foreigns, next];
    return "none";
  }
  setForeign(w, index, expiring(n, next));
  return old.isQualified ? (isSame ? "sync" : "qualified") : "none";
}

/** Its own announcement come back: by another of its ports, or round a ring. */
function isOwn({ spec }: NodeNumbers, { train }: ClockFrame): boolean {
  const own = spec.ptp.identity;
  return train.data.sender.clock === own || train.path.includes(own);
}

function withSync(f: Foreign, frame: Frame, { signal, train }: ClockFrame): Foreign {
  return {
    attachment: f.attachment,
    key: f.key,
    train,
    signal,
    path: frame.path,
    isFlowing: true,
    sinceNs: f.sinceNs,
    lastNs: f.lastNs,
    expiresNs: f.expiresNs,
    isQualified: f.isQualified,
    cause: f.cause,
  };
}

/** With the end of the wait that its last announcement began. */
function expiring(n: NodeNumbers, f: Foreign): Foreign {
  if (f.lastNs === NEVER_HEARD) return f;
  const timeout = receiptTimeoutNs(n.election, n.address, numberOf(n.spec, f.attachment), f.lastNs);
  return { ...f, expiresNs: later(f.lastNs, timeout) };
}

/** Its packets no longer arrive. One that was never heard is forgotten. */
function cease(w: Work, index: number): void {
  const f = w.s.foreigns[index] as Foreign;
  const lastNs = lastHeardNs(f, w.now);
  if (lastNs === NEVER_HEARD) forget(w, index);
  else setForeign(w, index, expiring(w.n, { ...f, signal: null, isFlowing: false, lastNs, cause: w.cause }));
}

/** Everything that came in on an attachment ceases. */
export function ceaseOn(w: Work, attachment: number): void {
  for (let i = w.s.foreigns.length - 1; i >= 0; i--) {
    const f = w.s.foreigns[i] as Foreign;
    if (f.attachment === attachment && f.isFlowing) cease(w, i);
  }
}

/** A port whose cable is out knows nobody. */
export function forgetOn(w: Work, attachment: number): void {
  w.s.foreigns = w.s.foreigns.filter((f) => f.attachment !== attachment);
}

/** Does not count any more until it is heard anew, after `now`. */
export function disqualify(w: Work, index: number): void {
  const f = w.s.foreigns[index] as Foreign;
  if (!f.isFlowing) forget(w, index);
  else setForeign(w, index, unheard(f, (w.now + 1) as Ns, w));
}

/** Nobody on a port counts any more until he is heard anew. */
export function disqualifyAll(w: Work, port: number): void {
  const { s, n } = w;
  for (let i = s.foreigns.length - 1; i >= 0; i--)
    if (portOf(n.spec, (s.foreigns[i] as Foreign).attachment) === port) disqualify(w, i);
}

/** A device that starts knows nobody, though packets arrive. */
export function startHearing(w: Work): void {
  const flowing = w.s.foreigns.filter((f) => f.isFlowing);
  w.s.foreigns = flowing.map((f) => unheard(f, w.now, w));
}

function unheard(f: Foreign, sinceNs: Ns, w: Work): Foreign {
  return { ...f, sinceNs, lastNs: NEVER_HEARD, expiresNs: NEVER, isQualified: false, cause: w.cause };
}

function forget(w: Work, index: number): void {
  w.s.foreigns = w.s.foreigns.filter((_, i) => i !== index);
}
