/** The election at one node: what becomes of each of its ports, and what they announce from then on. */
import { CLASS_NEVER_FOLLOWS } from "../../shared/ptp-profiles.ts";
import type { FollowedPath, PortRole } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER } from "../../shared/time.ts";
import type { Candidate } from "../election/compare.ts";
import { bestOf, compare, isBetter, isWorse } from "../election/compare.ts";
import { decide } from "../election/decide.ts";
import { receiptTimeoutNs } from "../election/numbers.ts";
import type { Announced } from "../election/own-data.ts";
import { announcesItself, ownCandidate, passesOn } from "../election/own-data.ts";
import { notePath, pathOf, setFollowed } from "./node-follow.ts";
import { announce } from "./node-send.ts";
import type { Foreign, PortState, Work } from "./node-state.ts";
import { numberOf, portOf, setPort } from "./node-state.ts";
import { hasOver, WORDS } from "./node-words.ts";

interface Heard extends Candidate {
  readonly foreign: Foreign;
}

/** What a port is to be, and why. */
interface Part {
  readonly role: PortRole;
  readonly leader: string | null;
  readonly parent: string | null;
  readonly steps: number;
  readonly path: FollowedPath | null;
  /** When listening, or waiting to lead, is over; it begins now, if the role is new. */
  readonly untilNs: Ns;
  readonly wanted: Announced | null;
  readonly reason: string;
}

/** What all ports of the node have in common in one election. */
interface Ballot {
  readonly own: Candidate;
  readonly best: Heard | null;
  /** What has just happened, where that says more than a comparison. */
  readonly why: string | null;
  /** The port that has waited long enough: it leads without further waiting, if it is to lead. */
  readonly timedOut: number;
}

/** Decides for all ports. */
export function elect(w: Work, why: string | null, timedOut = -1): void {
  const { s, n } = w;
  // Stuck, it takes no part; a cable that is out takes effect all the same.
  if (s.isStuck && s.alive && s.ports.every((port, i) => port.role === "down" || isConnected(w, i))) return;
  const heard = heardByPort(w);
  const best = bestOf(heard.filter((each) => each !== null));
  const ballot = { own: ownCandidate(n.spec.ptp, s.clockClass), best, why, timedOut };
  let followed: Foreign | null = null;
  for (let i = 0; i < s.ports.length; i++) {
    const part = partOf(w, ballot, i, heard[i] ?? null);
    if (part.role === "follows" && best !== null) followed = best.foreign;
    become(w, i, part);
  }
  s.best = best?.data ?? null;
  setFollowed(w, followed);
  notePath(w);
}

/** The best that any of its ports has heard. */
export function bestHeard(w: Work): Foreign | null {
  return bestOf(heardByPort(w).filter((each) => each !== null))?.foreign ?? null;
}

/** The best that its port has heard. */
export function isBestOfPort(w: Work, foreign: Foreign): boolean {
  return heardByPort(w)[portOf(w.n.spec, foreign.attachment)]?.foreign === foreign;
}

/** The best of those that count, per port. */
function heardByPort({ s, n }: Work): (Heard | null)[] {
  const { spec } = n;
  const best: (Heard | null)[] = s.ports.map(() => null);
  for (const foreign of s.foreigns) {
    if (!foreign.isQualified) continue;
    const port = portOf(spec, foreign.attachment);
    const receiver = { clock: spec.ptp.identity, port: numberOf(spec, port) };
    const each: Heard = { data: foreign.train.data, receiver, foreign };
    const before = best[port] ?? null;
    if (before === null || isBetter(compare(each, before))) best[port] = each;
  }
  return best;
}

function isConnected({ s, n }: Work, port: number): boolean {
  return s.carriers.some((carrier, attachment) => carrier.up && portOf(n.spec, attachment) === port);
}

function partOf(w: Work, ballot: Ballot, index: number, heard: Heard | null): Part {
  const { s, n } = w;
  const { spec } = n;
  const { own, best, why } = ballot;
  const port = s.ports[index] as PortState;
  if (!s.alive) return idle("down", NEVER, WORDS.off);
  if (!isConnected(w, index)) return idle("down", NEVER, WORDS.cableOut);
  if (spec.ptp.followerOnly) {
    const isBestHere = spec.takes && best !== null && best === heard;
    return isBestHere ? following(w, ballot, best) : idle("listening", NEVER, why ?? WORDS.neverLeads);
  }
  if (port.role === "down") return idle("listening", listensUntil(w, index), WORDS.listens);
  if (port.role === "listening" && heard === null && ballot.timedOut !== index)
    return idle("listening", port.untilNs, WORDS.listens);
  const neverFollows = !spec.takes || s.clockClass <= CLASS_NEVER_FOLLOWS;
  switch (decide(own, neverFollows, best, heard)) {
    case "S1":
      return following(w, ballot, best as Heard);
    case "M3":
      return passingOn(w, ballot, index, best as Heard);
    case "P1":
      return passive(heard as Heard, null, why ?? hasOver(leaderOf(heard as Heard), (heard as Heard).data, own.data));
    case "P2":
      return passive(best as Heard, (best as Heard).foreign.train.senderDevice, WORDS.passive(leaderOf(best as Heard)));
    case "M1":
      return leading(w, ballot, index, heard);
    case "M2":
      return leading(w, ballot, index, best);
  }
}

function leaderOf({ foreign }: Heard): string {
  return foreign.train.leaderDevice;
}

function idle(role: "down" | "listening", untilNs: Ns, reason: string): Part {
  return { role, leader: null, parent: null, steps: 0, path: null, untilNs, wanted: null, reason };
}

export function listensUntil({ n, now }: Work, port: number): Ns {
  return later(now, receiptTimeoutNs(n.election, n.address, numberOf(n.spec, port), now));
}

function following({ s, n }: Work, { own, why }: Ballot, { data, foreign }: Heard): Part {
  const { leaderDevice, senderDevice } = foreign.train;
  const isSameLeader = s.follows !== null && s.best?.leader === data.leader;
  const before = s.follows !== null && s.best !== null && s.best.leader !== data.leader ? s.best : null;
  const whyThisOne = (): string => {
    if (before !== null && isWorse(data, before)) return WORDS.announcesNow(senderDevice, leaderDevice);
    if (before === null && n.spec.ptp.followerOnly) return WORDS.announces(leaderDevice);
    return hasOver(leaderDevice, data, before ?? own.data);
  };
  return {
    role: "follows",
    leader: leaderDevice,
    parent: senderDevice,
    steps: data.stepsRemoved,
    path: pathOf(foreign),
    untilNs: NEVER,
    wanted: null,
    reason: why ?? (isSameLeader ? WORDS.otherWay(senderDevice) : whyThisOne()),
  };
}

/** `parent`: null where its time is its own all the same. */
function passive({ data, foreign }: Heard, parent: string | null, reason: string): Part {
  const leader = foreign.train.leaderDevice;
  return {
    role: "passive",
    leader,
    parent,
    steps: data.stepsRemoved,
    path: null,
    untilNs: NEVER,
    wanted: null,
    reason,
  };
}

function leading({ n }: Work, { own, why }: Ballot, index: number, worse: Heard | null): Part {
  const { spec, election } = n;
  return {
    role: "leads",
    leader: spec.device,
    parent: null,
    steps: 0,
    path: null,
    untilNs: NEVER,
    wanted: announcesItself(own.data, spec.device, numberOf(spec, index), election.tracesPath),
    reason: why ?? (worse === null ? WORDS.alone : hasOver("it", own.data, worse.data)),
  };
}

/** Waits for one announce interval more than there are steps to the leader, so that a better way shows first. */
function passingOn({ s, n, now }: Work, { timedOut, why }: Ballot, index: number, best: Heard): Part {
  const { spec, election } = n;
  const { role, untilNs } = s.ports[index] as PortState;
  const { leaderDevice, senderDevice } = best.foreign.train;
  const steps = best.data.stepsRemoved;
  const isReady = role === "leads" || timedOut === index || !election.waitsToPassOn;
  const waitsUntil = role === "about-to-lead" ? untilNs : later(now, ((steps + 2) * election.announceNs) as Ns);
  return {
    role: isReady ? "leads" : "about-to-lead",
    leader: leaderDevice,
    parent: senderDevice,
    steps,
    path: null,
    untilNs: isReady ? NEVER : waitsUntil,
    wanted: isReady ? passesOn(best.foreign.train, spec.ptp.identity, numberOf(spec, index)) : null,
    reason: isReady ? (why ?? WORDS.passesOn(leaderDevice)) : WORDS.waits(leaderDevice),
  };
}

function become(w: Work, index: number, part: Part): void {
  const old = w.s.ports[index] as PortState;
  const { role, leader, parent, steps, path, untilNs } = part;
  const isNewRole = role !== old.role;
  if (isNewRole || leader !== old.leader || parent !== old.parent || steps !== old.steps) {
    const port = w.n.spec.isBoundary ? numberOf(w.n.spec, index) : null;
    const { reason } = part;
    w.effects.push({
      do: "record",
      fact: { kind: "election", port, role, leader, parent, steps, path, reason },
      cause: w.cause,
    });
    setPort(w, index, {
      role,
      leader,
      parent,
      steps,
      path,
      sinceNs: isNewRole ? w.now : old.sinceNs,
      untilNs,
      untilCause: isNewRole ? w.cause : old.untilCause,
      train: old.train,
      wanted: old.wanted,
      announceNs: old.announceNs,
      announceCause: old.announceCause,
    });
  }
  announce(w, index, part.wanted);
}
