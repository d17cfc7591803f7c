/** How a node stands before the first instant, and what others have to know of that to be built. */
import { CLASS_FOLLOWER_ONLY, TOO_MANY_STEPS } from "../../shared/ptp-profiles.ts";
import { FROM_START } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { NEVER, ZERO } from "../../shared/time.ts";
import { announcementBeforeStart, electionNumbers } from "../election/numbers.ts";
import type { Announced } from "../election/own-data.ts";
import type { Train } from "../election/train.ts";
import type { Arrival, ClockFrame, Frame } from "../mail.ts";
import { bestHeard, listensUntil } from "./node-elect.ts";
import { arrivalOf, NOTHING_TOLD, pathOf, toTell } from "./node-follow.ts";
import { trainOf } from "./node-send.ts";
import type { Draft, Foreign, NodeNumbers, NodeSpec, PortState, Work } from "./node-state.ts";
import { NEVER_HEARD, nodeNumbers, numberOf, portCount, portOf } from "./node-state.ts";
import { WORDS } from "./node-words.ts";

/** Announcements of a port that leads as the show begins: they have gone on for ever. */
export function firstTrain(node: Pick<NodeSpec, "seed" | "device" | "network">, announced: Announced): Train {
  const election = electionNumbers(node.network.profile);
  const address = { seed: node.seed, device: node.device, network: node.network.id };
  return trainOf(node.device, election, announced, announcementBeforeStart(address, election.announceNs));
}

/** What its device hears before the first instant; what the device itself puts out is not asked for. */
export function firstArrival(spec: Omit<NodeSpec, "signal">): Arrival {
  return arrivalOf(beginWork(nodeNumbers({ ...spec, signal: null }), ZERO));
}

export function beginWork(n: NodeNumbers, now: Ns): Work {
  const { spec } = n;
  const s: Draft = {
    alive: spec.status.alive,
    clockClass: presentClass(spec, spec.status.clockClass),
    signal: spec.signal,
    isSyncStopped: false,
    isStuck: false,
    carriers: spec.carries.map((carries) => ({ up: carries, carries })),
    ports: [],
    foreigns: (spec.begin?.heard ?? []).map(({ attachment, frame }) => standing(attachment, frame)),
    follows: null,
    best: null,
    syncLostNs: NEVER,
    syncCause: FROM_START,
    isSyncLost: false,
    told: NOTHING_TOLD,
    reachedOn: spec.streamsIn.map((_, i) => {
      const attachment = spec.begin?.reachedOn[i] ?? null;
      return attachment === null ? [] : [attachment];
    }),
    due: { atNs: NEVER, cause: FROM_START },
  };
  const w: Work = { n, s, effects: [], now, cause: FROM_START };
  s.ports = Array.from({ length: portCount(spec) }, (_, i) => beginPort(w, i));
  const best = bestHeard(w);
  s.best = best?.train.data ?? null;
  if (best !== null && s.ports.some(({ role }) => role === "follows")) {
    s.follows = { attachment: best.attachment, key: best.key };
    s.ports = s.ports.map((port) => (port.role === "follows" ? { ...port, path: pathOf(best) } : port));
  }
  s.told = toTell(s);
  return w;
}

function beginPort(w: Work, index: number): PortState {
  const { s, n, now } = w;
  const given = n.spec.begin?.ports[index];
  const isUp = s.alive && s.carriers.some(({ up }, attachment) => up && portOf(n.spec, attachment) === index);
  const waits = given === undefined && isUp && !n.spec.ptp.followerOnly;
  return {
    role: given?.role ?? (isUp ? "listening" : "down"),
    leader: given?.leader ?? null,
    parent: given?.parent ?? null,
    steps: given?.steps ?? 0,
    path: null,
    sinceNs: now,
    untilNs: waits ? listensUntil(w, index) : NEVER,
    untilCause: FROM_START,
    wanted: given?.train ?? null,
    train: given?.train ?? null,
    announceNs: NEVER,
    announceCause: FROM_START,
  };
}

/** Somebody who has been heard for ever. */
function standing(attachment: number, { key, body, path }: Frame): Foreign {
  const { train, signal } = body as ClockFrame;
  return {
    attachment,
    key,
    train,
    signal,
    path,
    isFlowing: true,
    sinceNs: train.firstNs,
    lastNs: NEVER_HEARD,
    expiresNs: NEVER,
    isQualified: train.data.stepsRemoved < TOO_MANY_STEPS,
    cause: FROM_START,
  };
}

export function presentClass({ ptp }: Pick<NodeSpec, "ptp">, clockClass: number | null): number {
  return ptp.followerOnly ? CLASS_FOLLOWER_ONLY : (clockClass ?? ptp.clockClass);
}

export function recordBegin(w: Work, index: number): void {
  const { role, leader, parent, steps, path } = w.s.ports[index] as PortState;
  const port = w.n.spec.isBoundary ? numberOf(w.n.spec, index) : null;
  w.effects.push({
    do: "record",
    fact: { kind: "election", port, role, leader, parent, steps, path, reason: WORDS.begins },
  });
}
