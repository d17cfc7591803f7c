/**
 * A node: one device on one network, its part in the election of IEEE 1588 there, and the streams that it sends and
 * gets. Announcements and sync are not sent one by one: a frame says "from now on", and the instants follow from it.
 *
 * Ports of the election, first row that applies:
 *
 * | role          | when                                                       | becomes                              |
 * | any           | its device is off or starting, its cable noticed out       | down: it forgets whom it heard       |
 * | down          | otherwise                                                  | listening                            |
 * | listening     | somebody counts                                            | by the decision (`election/decide`)  |
 * | listening     | a receipt timeout has run                                  | by the decision, leads without a wait|
 * | others        | somebody counts, no longer counts, or says something else; | by the decision                      |
 * |               | its own class changes                                      |                                      |
 * | about-to-lead | its wait has run (to pass on a leader's time)              | leads                                |
 * | any           | its device never leads                                     | follows, else listening              |
 *
 * Somebody counts from the second announcement heard within four intervals on (802.1AS: the first), until a receipt
 * timeout after the last. Who begins to announce does so a millisecond later, and keeps that grid; a change of what a
 * node announces takes effect at its next announcement; falling silent, at once. In-ports: 0 its device, then the attachments. Out-ports: 0 its device's clock port, then the attachments, then
 * its incoming streams.
 *
 * The parts: `node-state.ts` what it is made of, `node-hear.ts` who counts, `node-elect.ts` the decision,
 * `node-follow.ts` what its device gets, `node-send.ts` what leaves, `node-begin.ts` how it stands before the first instant.
 */
import type { Cause } from "../../shared/record.ts";
import { FROM_START } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { NEVER, secondsBetween } from "../../shared/time.ts";
import type { Machine, MachineEvent, Step } from "../machine.ts";
import type { Carrier, Frame, Mail, Order, Status } from "../mail.ts";
import { beginWork, presentClass, recordBegin } from "./node-begin.ts";
import { elect, isBestOfPort, listensUntil } from "./node-elect.ts";
import { notePath, tellDevice, watchSync } from "./node-follow.ts";
import {
  ceaseOn,
  disqualify,
  disqualifyAll,
  expiresAtNs,
  forgetOn,
  hearClock,
  qualifiesAtNs,
  startHearing,
} from "./node-hear.ts";
import { announceNow, sendStanding, sendStreams, sendSync, streamKey } from "./node-send.ts";
import type { Foreign, NodeNumbers, NodeSpec, NodeState, PortState, Work } from "./node-state.ts";
import { draftOf, followedOf, nodeNumbers, portOf, sendTo, setForeign, setPort } from "./node-state.ts";
import { WORDS } from "./node-words.ts";

export type { NodeBegin, NodeSpec, NodeState } from "./node-state.ts";

export function makeNode(spec: NodeSpec): Machine<NodeState, Order, Mail> {
  const n = nodeNumbers(spec);
  const streamIndex = new Map(spec.streamsIn.map((link, index) => [streamKey(link), index]));
  return {
    id: spec.id,
    rank: "lives",
    start(now): Step<NodeState, Mail> {
      const w = beginWork(n, now);
      for (let i = 0; i < w.s.ports.length; i++) recordBegin(w, i);
      // Cables and bridges know nothing yet of what stands.
      for (let i = 0; i < w.s.carriers.length; i++) if (w.s.carriers[i]?.carries === true) sendStanding(w, i);
      settleDue(w);
      return { state: w.s, effects: w.effects };
    },
    handle(state, event: MachineEvent<Order, Mail>, now): Step<NodeState, Mail> {
      const w: Work = { n, s: draftOf(state), effects: [], now, cause: event.cause };
      if (event.kind === "world") obey(w, event.order);
      else if (event.kind === "due") serve(w);
      else hear(w, streamIndex, event.port, event.mail);
      tellDevice(w);
      settleDue(w);
      return { state: w.s, effects: w.effects };
    },
    due: (state) => state.due,
  };
}

function obey(w: Work, order: Order): void {
  const { s } = w;
  if (order.do === "stick") {
    if (s.isStuck === order.stuck) return;
    s.isStuck = order.stuck;
    if (!order.stuck) comeLoose(w);
    return;
  }
  if (order.do !== "sync") throw new Error(`${w.n.spec.id} was given an order for others: ${order.do}`);
  if (s.isSyncStopped === order.stopped) return;
  s.isSyncStopped = order.stopped;
  sendSync(w);
}

/** It takes part again: who listened listens anew. */
function comeLoose(w: Work): void {
  for (const [index, port] of w.s.ports.entries())
    if (port.role === "listening" && !w.n.spec.ptp.followerOnly)
      setPort(w, index, { ...port, sinceNs: w.now, untilNs: listensUntil(w, index), untilCause: w.cause });
  elect(w, null);
}

function hear(w: Work, streams: ReadonlyMap<string, number>, port: number, mail: Mail): void {
  switch (mail.kind) {
    case "flow":
      w.s.signal = mail.signal;
      if (!w.s.isSyncStopped) sendSync(w);
      return;
    case "status":
      hearStatus(w, mail.status);
      return;
    case "carrier":
      hearCarrier(w, port - 1, mail.carrier);
      return;
    case "frame": {
      const stream = streams.get(mail.frame.key);
      if (stream !== undefined) setReached(w, stream, port - 1, mail.frame.body !== null);
      else if (mail.frame.body?.kind !== "stream") hearFrame(w, port - 1, mail.frame);
      return;
    }
  }
}

function hearFrame(w: Work, attachment: number, frame: Frame): void {
  const news = hearClock(w, attachment, frame);
  if (news === "none") return;
  if (news === "qualified") elect(w, null);
  else notePath(w);
  watchSync(w, followedOf(w.s));
}

function hearStatus(w: Work, { alive, clockClass }: Status): void {
  const { s, n } = w;
  const before = s.clockClass;
  s.clockClass = presentClass(n.spec, clockClass);
  if (alive !== s.alive) {
    s.alive = alive;
    if (!alive) s.isStuck = false; // whatever held it starts anew
    startHearing(w);
    elect(w, null);
    sendStreams(w);
  } else if (alive && s.clockClass !== before) elect(w, null);
}

function hearCarrier(w: Work, attachment: number, carrier: Carrier): void {
  const { s } = w;
  const before = s.carriers[attachment] as Carrier;
  s.carriers = s.carriers.with(attachment, carrier);
  if (before.carries && !carrier.carries) {
    ceaseOn(w, attachment);
    for (let i = 0; i < s.reachedOn.length; i++) setReached(w, i, attachment, false);
  }
  if (before.up !== carrier.up) {
    if (!carrier.up) forgetOn(w, attachment);
    elect(w, null);
  }
  watchSync(w, followedOf(s));
  if (!before.carries && carrier.carries) sendStanding(w, attachment);
}

function setReached(w: Work, stream: number, attachment: number, reached: boolean): void {
  const { s, n } = w;
  const before = s.reachedOn[stream] as readonly number[];
  if (before.includes(attachment) === reached) return;
  const after = reached ? [...before, attachment] : before.filter((each) => each !== attachment);
  s.reachedOn = s.reachedOn.with(stream, after);
  if (before.length > 0 === after.length > 0) return;
  sendTo(w, n.spec.carries.length + 1 + stream, { kind: "reach", reached });
}

/** Something that a node waits for. */
interface Item {
  readonly what: "qualifies" | "expires" | "sync" | "port" | "announce";
  readonly index: number;
  readonly atNs: Ns;
  readonly cause: Cause;
}

const NOTHING: Item = { what: "port", index: -1, atNs: NEVER, cause: FROM_START };

/** What is next. At one instant what arrives goes first: an announcement beats a time-out. */
function nextItem(n: NodeNumbers, s: NodeState): Item {
  let next = NOTHING;
  for (let i = 0; i < s.foreigns.length; i++) {
    const f = s.foreigns[i] as Foreign;
    const atNs = qualifiesAtNs(n, f);
    if (s.alive && atNs < next.atNs) next = { what: "qualifies", index: i, atNs, cause: f.cause };
  }
  for (let i = 0; i < s.foreigns.length; i++) {
    const f = s.foreigns[i] as Foreign;
    const atNs = expiresAtNs(f);
    if (atNs < next.atNs) next = { what: "expires", index: i, atNs, cause: f.cause };
  }
  if (s.syncLostNs < next.atNs) next = { what: "sync", index: 0, atNs: s.syncLostNs, cause: s.syncCause };
  for (let i = 0; i < s.ports.length; i++) {
    const { untilNs, untilCause, announceNs, announceCause } = s.ports[i] as PortState;
    if (untilNs < next.atNs) next = { what: "port", index: i, atNs: untilNs, cause: untilCause };
    if (announceNs < next.atNs) next = { what: "announce", index: i, atNs: announceNs, cause: announceCause };
  }
  return next;
}

/** One thing at a time: the next has a cause of its own, and is due at this instant too if it is. */
function serve(w: Work): void {
  const { s, now } = w;
  const { what, index, atNs } = nextItem(w.n, s);
  if (atNs > now) return;
  switch (what) {
    case "qualifies":
      setForeign(w, index, { ...(s.foreigns[index] as Foreign), isQualified: true });
      elect(w, null);
      return;
    case "expires":
      expire(w, s.foreigns[index] as Foreign);
      return;
    case "sync":
      loseSync(w);
      return;
    case "port": {
      const { role, sinceNs } = s.ports[index] as PortState;
      if (s.isStuck) {
        setPort(w, index, { ...(s.ports[index] as PortState), untilNs: NEVER });
        return;
      }
      elect(w, role === "listening" ? WORDS.nobody(secondsBetween(sinceNs, now)) : null, index);
      return;
    }
    case "announce":
      announceNow(w, index);
      return;
  }
}

/** Somebody has not announced for too long. */
function expire(w: Work, f: Foreign): void {
  const reason = WORDS.silent(f.train.senderDevice, secondsBetween(f.lastNs, w.now));
  if (f.isQualified) lose(w, f, reason);
  else disqualify(w, w.s.foreigns.indexOf(f));
}

/** No sync has come for too long. In 802.1AS that ends what the leader has announced, until it announces again. */
function loseSync(w: Work): void {
  const { s, n } = w;
  s.syncLostNs = NEVER;
  s.isSyncLost = true;
  const followed = followedOf(s);
  if (n.election.electsWithoutSync && followed !== null) lose(w, followed, WORDS.noSync(followed.train.leaderDevice));
}

/** Somebody who counted does not any more. Where a port keeps the best alone, nobody is left on it then. */
function lose(w: Work, f: Foreign, reason: string): void {
  const port = portOf(w.n.spec, f.attachment);
  if (!w.n.election.keepsOthers && isBestOfPort(w, f)) disqualifyAll(w, port);
  else disqualify(w, w.s.foreigns.indexOf(f));
  elect(w, reason, port);
}

function settleDue(w: Work): void {
  const { s, now } = w;
  const { atNs, cause } = nextItem(w.n, s);
  const at = atNs < now ? now : atNs;
  if (s.due.atNs !== at || s.due.cause !== cause) s.due = { atNs: at, cause };
}
