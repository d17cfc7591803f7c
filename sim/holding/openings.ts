/**
 * Where the rig stands when a device's loop opens: who lost which clock, and on whose clock everybody else is. All of it
 * is read from what the record holds up to the instant at which the loss is noticed, nothing later.
 */
import type { Flow } from "../../shared/flow.ts";
import { rateAgainstTimebase } from "../../shared/flow.ts";
import type { DevicePlan, Plan } from "../../shared/plan.ts";
import { ptpProfile } from "../../shared/ptp-profiles.ts";
import type { DeviceState, RunRecord } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER, nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import { deviceById } from "../by-id.ts";
import { deviceBehind, linkInPort, networkBehind } from "../tell/picture.ts";
import type { DeviceLook, Looks, Timeline } from "../timeline.ts";
import { looksOf, valueAt } from "../timeline.ts";

/** A run to be read at an instant. */
export interface Reading {
  readonly plan: Plan;
  readonly looks: Looks;
  readonly timebases: readonly Timebase[];
  /** The device whose clock comes in at a port, if there is one that can be heard. */
  behind(device: string, source: string | null, at: Ns): string | null;
}

/** A device that was locked and is left alone. */
export interface Opening {
  readonly device: DevicePlan;
  /** The loss itself: its loop is open from here on. */
  readonly openedNs: Ns;
  /** When it knows: the state it enters. */
  readonly noticedNs: Ns;
  readonly state: "holdover" | "free-run";
  /** Since when its loop had been closed. */
  readonly closedNs: Ns;
  /** Its own oscillator's life. */
  readonly timebase: number;
  /** The device at the other end of the cable it listened to. */
  readonly followed: string;
  /** When it took a source again, or went down; the end of the show if it did not. */
  readonly endNs: Ns;
  readonly endState: DeviceState | null;
}

/** How a clock that follows nobody goes on: its oscillator, and what it keeps of a control until an instant. */
export interface Course {
  readonly timebase: number;
  readonly control: number;
  readonly untilNs: Ns;
}

const isAlone = (state: DeviceState): state is Opening["state"] => state === "holdover" || state === "free-run";

export function openingsIn(plan: Plan, record: RunRecord, timebases: readonly Timebase[]) {
  const looks = looksOf(record);
  // Most runs of most rigs lose nothing: then there is no more to read.
  const candidates = plan.devices.filter(({ id }) =>
    changesOf(looks, id).some(({ value }, index, all) => isLoss(value, all[index - 1]?.value)),
  );
  const reading: Reading = { plan, looks, timebases, behind: wiringOf(plan, record) };
  const openings = candidates.flatMap((device) => openingsOf(reading, device));
  return { reading, openings: openings.sort((one, other) => one.openedNs - other.openedNs) };
}

function changesOf(looks: Looks, device: string): Timeline<DeviceLook>["changes"] {
  return looks.devices.get(device)?.changes ?? [];
}

function isLoss(is: DeviceLook, was: DeviceLook | undefined): boolean {
  return was?.state === "locked" && isAlone(is.state);
}

/**
 * Asked for often; where no cable is moved to another port, each answer holds for the whole show, unless an election
 * gives it.
 */
function wiringOf(plan: Plan, record: RunRecord): Reading["behind"] {
  const isMoved = plan.events.some((event) => event.do === "plug" && event.into !== null);
  const look = (device: string, source: string | null, at: Ns): string | null =>
    deviceBehind({ plan, record }, device, source, secondsFromNs(at))?.id ?? null;
  if (isMoved || plan.networks !== undefined) return look;
  const known = new Map<string, string | null>();
  return (device, source, at) => {
    const key = `${device} ${source}`;
    const found = known.get(key);
    if (found !== undefined) return found;
    const fresh = look(device, source, at);
    known.set(key, fresh);
    return fresh;
  };
}

function openingsOf(reading: Reading, device: DevicePlan): Opening[] {
  const { looks, timebases } = reading;
  const changes = changesOf(looks, device.id);
  return changes.flatMap(({ atNs: noticedNs, value }, index) => {
    const was = changes[index - 1];
    if (was === undefined || !isLoss(value, was.value)) return [];
    // From the loss on it has been telling its own oscillator; before that, somebody else's.
    const told = looks.flows.get(device.id)?.changes ?? [];
    const isOwn = (flow: Flow | null | undefined): flow is Flow =>
      flow != null && timebases[flow.timebase]?.device === device.id;
    let first = told.findLastIndex(({ atNs }) => atNs <= noticedNs);
    const last = told[first]?.value;
    while (first > 0 && isOwn(told[first - 1]?.value)) first -= 1;
    const opened = told[first];
    // In a ring it told its own oscillator all along: there is no clock that it was on.
    if (!isOwn(last) || opened === undefined || opened.atNs < was.atNs) return [];
    const followed = reading.behind(device.id, was.value.source, (opened.atNs - 1) as Ns);
    if (followed === null) return [];
    const end = changes.slice(index + 1).find((change) => !isAlone(change.value.state));
    const acquired = changes.slice(0, index).findLast((change) => change.value.state === "acquiring");
    return {
      device,
      openedNs: opened.atNs,
      noticedNs,
      state: value.state as Opening["state"],
      closedNs: acquired?.atNs ?? (0 as Ns),
      timebase: last.timebase,
      followed,
      endNs: end?.atNs ?? looks.endNs,
      endState: end?.value.state ?? null,
    };
  });
}

/** The device on whose oscillator this one is at an instant, itself if it follows nobody; null in a ring. */
export function rootAt(reading: Reading, device: string, at: Ns): string | null {
  const seen = new Set<string>();
  for (let id = device; !seen.has(id); ) {
    seen.add(id);
    const look = valueAt(reading.looks.devices.get(id) ?? { changes: [] }, at);
    const follows = look?.state === "locked" || look?.state === "acquiring";
    if (!follows || isOpen(reading, id, at)) return id;
    const next = reading.behind(id, look.source, at);
    if (next === null) return id;
    id = next;
  }
  return null;
}

/** What it tells is its own oscillator: its loop is open, noticed or not. */
function isOpen({ looks, timebases }: Reading, device: string, at: Ns): boolean {
  const flow = valueAt(looks.flows.get(device) ?? { changes: [] }, at) ?? null;
  return flow !== null && timebases[flow.timebase]?.device === device;
}

/** How a clock that follows nobody goes on from an instant, if nothing else happens; null if it never had power. */
export function courseAt({ plan, looks, timebases }: Reading, device: string, at: Ns): Course | null {
  const life = timebases.findLast((timebase) => timebase.device === device && timebase.bornNs <= at);
  if (life === undefined) return null;
  const flow = valueAt(looks.flows.get(device) ?? { changes: [] }, at) ?? null;
  const control = flow !== null && flow.timebase === life.id ? rateAgainstTimebase(flow, at) : 0;
  if (flow === null || control === 0) return { timebase: life.id, control: 0, untilNs: NEVER };
  const change = looks.devices.get(device)?.changes.findLast(({ atNs }) => atNs <= at);
  const holds = nsFromSeconds(deviceById(plan, device)?.holdoverSeconds ?? 0);
  if (change === undefined || change.value.state === "holdover")
    return { timebase: life.id, control, untilNs: later(change?.atNs ?? at, holds) };
  // Open since the break, which it has not noticed yet.
  const { source } = change.value;
  const noticedNs = later(flow.atNs, nsFromSeconds(noticeSeconds(plan, device, source, at)));
  return { timebase: life.id, control, untilNs: later(noticedNs, holds) };
}

/** From a break until a device knows of it; on a network sync is missed, wherever it is held up. */
function noticeSeconds(plan: Plan, device: string, source: string | null, at: Ns): number {
  const network = networkBehind(plan, device, source);
  if (network !== null) {
    const { syncSeconds, syncTimeoutCount } = ptpProfile(network.profile);
    return syncSeconds.value * syncTimeoutCount.value;
  }
  return source === null ? 0 : (linkInPort(plan, device, source, secondsFromNs(at))?.noticeSeconds ?? 0);
}
