/** What a node sends: frames that stand until it says something else. */
import type { Ns } from "../../shared/time.ts";
import { later, NEVER } from "../../shared/time.ts";
import type { ElectionNumbers } from "../election/numbers.ts";
import type { Announced } from "../election/own-data.ts";
import { inNameOf, isSameAnnounced } from "../election/own-data.ts";
import type { Train } from "../election/train.ts";
import { gridAtOrAfter } from "../election/train.ts";
import type { StreamFrame } from "../mail.ts";
import type { PortState, Work } from "./node-state.ts";
import { numberOf, portOf, sendTo, setPort } from "./node-state.ts";
import { NO_PATH } from "./path.ts";

/** Where it leaves: nothing lies behind it. */
const A_STREAM: StreamFrame = { kind: "stream" };

export function clockKey(device: string, port: number): string {
  return `clock ${device}.${port}`;
}
export function streamKey(link: string): string {
  return `stream ${link}`;
}

/**
 * Who begins to lead says so at once: about a millisecond, as github.com/richardcochran/linuxptp has it (`port.c`,
 * port_e2e_transition). A port that goes on leading, though for another, keeps its grid there (`fsm.c`).
 */
const FIRST_ANNOUNCEMENT_NS = 1_000_000 as Ns;

/** A port is to announce this from its next announcement on; null: it falls silent, at once. */
export function announce(w: Work, index: number, wanted: Announced | null): void {
  const port = w.s.ports[index] as PortState;
  if (wanted === null) {
    if (port.wanted === null && port.train === null) return;
    setPort(w, index, withAnnounced(port, null, null, NEVER, w));
    if (port.train !== null) sendClock(w, index);
    return;
  }
  if (port.train !== null && isSameAnnounced(port.train, wanted)) {
    if (port.announceNs !== NEVER) setPort(w, index, withAnnounced(port, wanted, port.train, NEVER, w));
    return;
  }
  const isPending = port.announceNs !== NEVER;
  if (isPending && isSameAnnounced(port.wanted, wanted)) return;
  const nextNs =
    port.train === null
      ? later(w.now, FIRST_ANNOUNCEMENT_NS)
      : gridAtOrAfter(port.train.firstNs, w.n.election.announceNs, w.now);
  const atNs = isPending ? port.announceNs : nextNs;
  setPort(w, index, withAnnounced(port, wanted, port.train, atNs, w));
}

function withAnnounced(port: PortState, wanted: Announced | null, train: Train | null, atNs: Ns, w: Work): PortState {
  return {
    role: port.role,
    leader: port.leader,
    parent: port.parent,
    steps: port.steps,
    path: port.path,
    sinceNs: port.sinceNs,
    untilNs: port.untilNs,
    untilCause: port.untilCause,
    wanted,
    train,
    announceNs: atNs,
    announceCause: w.cause,
  };
}

/** The instant has come at which a port says what it was to say. */
export function announceNow(w: Work, index: number): void {
  const port = w.s.ports[index] as PortState;
  if (port.wanted === null) return;
  setPort(
    w,
    index,
    withAnnounced(port, port.wanted, trainOf(w.n.spec.device, w.n.election, port.wanted, w.now), NEVER, w),
  );
  sendClock(w, index);
}

/** Announcements of this from an instant on. */
export function trainOf(device: string, election: ElectionNumbers, announced: Announced, firstNs: Ns): Train {
  return {
    data: announced.data,
    path: announced.path,
    leaderDevice: announced.leaderDevice,
    senderDevice: device,
    announceNs: election.announceNs,
    firstNs,
    syncNs: election.syncNs,
  };
}

/** What a port announces and whose clock goes with it, or that it does neither, to everybody on it. */
export function sendClock(w: Work, index: number): void {
  for (let attachment = 0; attachment < w.s.carriers.length; attachment++)
    if (portOf(w.n.spec, attachment) === index) sendClockTo(w, attachment);
}

function sendClockTo(w: Work, attachment: number): void {
  const { s, n } = w;
  const { train } = s.ports[portOf(n.spec, attachment)] as PortState;
  const number = numberOf(n.spec, attachment);
  const signal = s.isSyncStopped ? null : s.signal;
  sendTo(w, attachment + 1, {
    kind: "frame",
    frame: {
      key: clockKey(n.spec.device, number),
      body: train === null ? null : { kind: "clock", train: inNameOf(train, number), signal },
      path: NO_PATH,
    },
  });
}

/** The clock of its device has changed, or may no longer go out: the same announcements with another sync. */
export function sendSync(w: Work): void {
  for (let i = 0; i < w.s.ports.length; i++) if ((w.s.ports[i] as PortState).train !== null) sendClock(w, i);
}

/** All that stands, to an attachment that carries again. */
export function sendStanding(w: Work, attachment: number): void {
  const { train } = w.s.ports[portOf(w.n.spec, attachment)] as PortState;
  if (train !== null) sendClockTo(w, attachment);
  if (w.s.alive) sendStreamsTo(w, attachment, A_STREAM);
}

/** Streams go out for as long as the device is alive. */
export function sendStreams(w: Work): void {
  const body = w.s.alive ? A_STREAM : null;
  for (let i = 0; i < w.s.carriers.length; i++) sendStreamsTo(w, i, body);
}

function sendStreamsTo(w: Work, attachment: number, body: StreamFrame | null): void {
  for (const link of w.n.spec.streamsOut)
    sendTo(w, attachment + 1, { kind: "frame", frame: { key: streamKey(link), body, path: NO_PATH } });
}
