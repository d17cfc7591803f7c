/**
 * Where the fill of a buffer stands at an instant, read back from the record: since the buffer last started it has moved
 * by what the two clocks have, less what slips took away. That is the law of `sim/receiver.ts`, from the outside.
 */
import { clockPhaseAt, clockRateAt } from "../../shared/clock-phase.ts";
import type { Flow } from "../../shared/flow.ts";
import type { DevicePlan, LinkPlan } from "../../shared/plan.ts";
import type { Ns } from "../../shared/time.ts";
import { ZERO } from "../../shared/time.ts";
import { deviceById } from "../by-id.ts";
import { countBy } from "../slips.ts";
import { valueAt } from "../timeline.ts";
import type { Departure, Room } from "./departure.ts";
import type { Reading } from "./openings.ts";

/** One way of a link that carries audio between two devices. */
export interface Passage {
  readonly link: LinkPlan;
  readonly way: "there" | "back";
  readonly from: DevicePlan;
  readonly to: DevicePlan;
}

/**
 * Those on which sound arrives in a buffer at an instant (a converter has none), of those between ends that are wanted; in the order of the plan's links. A
 * cable may be moved to another port, never to another device.
 */
export function passagesAt(
  { plan, looks }: Reading,
  at: Ns,
  isWanted: (from: string, to: string) => boolean,
): Passage[] {
  return plan.links.flatMap((link) => {
    if (link.channels === 0) return [];
    const ways = link.twoWay || link.hasReturn ? (["there", "back"] as const) : (["there"] as const);
    return ways.flatMap((way) => {
      const ends = way === "there" ? [link.a.device, link.b.device] : [link.b.device, link.a.device];
      const [sender, receiver] = ends as [string, string];
      if (!isWanted(sender, receiver)) return [];
      const key = `${link.id} ${way}`;
      const isUp = valueAt(looks.links.get(key) ?? { changes: [] }, at)?.state === "up";
      const isHeard = valueAt(looks.inputs.get(key) ?? { changes: [] }, at)?.decodes === true;
      const isConverted = (valueAt(looks.converters.get(key) ?? { changes: [] }, at) ?? "idle") !== "idle";
      const [from, to] = [deviceById(plan, sender), deviceById(plan, receiver)];
      return isUp && isHeard && !isConverted && from !== undefined && to !== undefined ? [{ link, way, from, to }] : [];
    });
  });
}

/** How far the sender may run ahead, or fall behind, before the buffer slips next; seconds. Null if nothing is told. */
export function roomAt(reading: Reading, passage: Passage, at: Ns): Room | null {
  const { link, way, to } = passage;
  const startNs = startedNs(reading, passage, at);
  const [started, now] = [apartAt(reading, passage, startNs), apartAt(reading, passage, at)];
  if (started === null || now === null) return null;
  let net = 0;
  for (const train of reading.looks.trains.get(`${link.id} ${way}`) ?? []) {
    if (train.fromNs < startNs || train.fromNs > at) continue;
    net += train.sign * (train.toNs <= at ? train.count : countBy(train, at));
  }
  const { slipSamples, depthSamples, startSamples } = link.buffer;
  const fill = startSamples + to.sampleRateHz * (now - started) - slipSamples * net;
  return { ahead: (depthSamples - fill) / to.sampleRateHz, behind: fill / to.sampleRateHz };
}

/** When the buffer last started: it began to decode, an end left `starting`, or an end jumped to a clock. */
function startedNs({ looks }: Reading, { link, way, from, to }: Passage, at: Ns): Ns {
  const travelNs = Math.max(1, Math.ceil(link.delaySeconds * 1e9));
  let latest: number = ZERO;
  const consider = (instant: number): void => {
    if (instant <= at && instant > latest) latest = instant;
  };
  const decodes = looks.inputs.get(`${link.id} ${way}`)?.changes ?? [];
  for (const [index, { atNs, value }] of decodes.entries())
    if (value.decodes && decodes[index - 1]?.value.decodes !== true) consider(atNs);
  for (const [device, after] of [
    [from, travelNs],
    [to, 0],
  ] as const) {
    for (const atNs of looks.realigned.get(device.id) ?? []) consider(atNs + after);
    const states = looks.devices.get(device.id)?.changes ?? [];
    for (const [index, { atNs }] of states.entries())
      if (states[index - 1]?.value.state === "starting") consider(atNs + after);
  }
  return latest as Ns;
}

/** What arrives less the receiver's own clock, in seconds: x_s(t − d) − d − x_r(t). */
function apartAt({ looks, timebases }: Reading, { link, from, to }: Passage, at: Ns): number | null {
  const travelNs = Math.max(1, Math.ceil(link.delaySeconds * 1e9));
  const flowOf = (device: DevicePlan, when: number): Flow | null =>
    valueAt(looks.flows.get(device.id) ?? { changes: [] }, Math.max(when, 0) as Ns) ?? null;
  const theirs = flowOf(from, at - travelNs);
  const own = flowOf(to, at);
  if (theirs === null || own === null) return null;
  const arrives = clockPhaseAt(timebases, theirs, at) - link.delaySeconds * (1 + clockRateAt(timebases, theirs, at));
  return arrives - clockPhaseAt(timebases, own, at);
}

/** The same course, seen from the other end. */
export function turnedRound(stretches: readonly Departure[]): Departure[] {
  return stretches.map(({ rate, perSecond, seconds }) => ({ rate: -rate, perSecond: -perSecond, seconds }));
}
