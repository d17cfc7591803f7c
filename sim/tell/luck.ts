/**
 * A return that nobody heard because the returning clock happened to lie inside the unlock window: true of this run,
 * not of the rig. Where it came to lie depends on how long the outage was.
 */
import type { DevicePlan, FeedPlan } from "../../shared/plan.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { pictureAt, statesOf, type Told } from "./picture.ts";
import { summaryOf } from "./pieces.ts";

/** Just before an instant, and just after it, in seconds. */
const BESIDE = 1e-6;

interface Luck {
  /** When the device took its source again, in seconds of show time. */
  readonly at: number;
  /** "a boot of another length": what might have turned out otherwise. */
  readonly hadIt: string;
}

/** The first return on the feed's way that was left to luck and is heard clean; null without one. */
export function luckOf(told: Told, feed: FeedPlan): Luck | null {
  const rows = told.record.rows;
  const aligned = new Set(
    rows.flatMap((row) => (row.fact.kind === "re-aligned" ? [`${row.subject} ${row.atNs}`] : [])),
  );
  for (const { subject, fact, atNs } of rows) {
    if (fact.kind !== "clock" || fact.state !== "acquiring" || fact.reason !== "a source was chosen") continue;
    const device = told.plan.devices.find(({ id }) => `device ${id}` === subject);
    if (device === undefined || !feed.through.includes(device.id)) continue;
    const at = secondsFromNs(atNs);
    if (aligned.has(`${subject} ${atNs}`) || isSilentBeside(told, feed, at)) continue;
    const root = pictureAt(told, at + BESIDE).standings.get(device.id)?.root ?? null;
    if (root === null || root === device) continue;
    const before = pictureAt(told, at - BESIDE).standings.get(device.id)?.root ?? device;
    const since = lastOn(told, device, root, at);
    if (before === root || since === null) continue;
    const driftSamples = (at - since) * apartPpm(before, root) * 1e-6 * told.plan.sampleRateHz;
    if (driftSamples < device.unlockWindowPercent / 100) continue;
    const hasBooted = statesOf(told.summary, root.id).some(
      ({ state, toSeconds }) => state === "starting" && toSeconds > since && toSeconds <= at,
    );
    return { at, hadIt: hasBooted ? "a boot of another length" : "a return at another moment" };
  }
  return null;
}

function isSilentBeside(told: Told, feed: FeedPlan, at: number): boolean {
  return (summaryOf(told, feed)?.states ?? []).some(
    ({ state, fromSeconds, toSeconds }) => state === "silent" && fromSeconds <= at + 1 && toSeconds >= at - 1,
  );
}

/** Until when, before `at`, it followed that root; null if it never did: then it does not return. */
function lastOn(told: Told, device: DevicePlan, root: DevicePlan, at: number): number | null {
  const states = statesOf(told.summary, device.id).filter(({ toSeconds }) => toSeconds <= at + BESIDE);
  for (const { fromSeconds, toSeconds } of [...states].reverse()) {
    const middle = (fromSeconds + toSeconds) / 2;
    if (pictureAt(told, middle).standings.get(device.id)?.root === root) return toSeconds;
  }
  return null;
}

/** How far two clocks may be apart: what the file knows of their offsets, else what their tolerances allow. */
function apartPpm(one: DevicePlan, other: DevicePlan): number {
  const [a, b] = [one.oscillator, other.oscillator];
  const known = (a.offsetPpm ?? 0) - (b.offsetPpm ?? 0);
  return Math.abs(known) + (a.offsetPpm === null ? a.tolerancePpm : 0) + (b.offsetPpm === null ? b.tolerancePpm : 0);
}
