/** What a feed is between two changes of anything on its way: silent and why, not carried, or audible. */
import type { DevicePlan, FeedPlan, Plan } from "../../shared/plan.ts";
import type { Silence } from "../../shared/summary.ts";
import type { Ns } from "../../shared/time.ts";
import { later, nsFromSeconds, ZERO } from "../../shared/time.ts";
import { deviceOf, linkById } from "../by-id.ts";
import type { Looks, Timeline } from "../timeline.ts";
import { stretches, valueAt } from "../timeline.ts";
import type { Carrier } from "./carriers.ts";

export interface Condition {
  readonly silence: Silence | null;
  readonly isCarried: boolean;
  readonly because: string | null;
  /** Devices at which sound comes back when this ends: what fades there is no sudden level. */
  readonly returnsBy: readonly string[];
  readonly mayBeSilent: boolean;
}

const CLEAN: Condition = { silence: null, isCarried: true, because: null, returnsBy: [], mayBeSilent: false };

/** When a device mutes by its own state, with the time that unmuting takes. */
export function mutedLine(device: DevicePlan, looks: Looks): Timeline<boolean> {
  const states = looks.devices.get(device.id);
  if (states === undefined) return { changes: [{ atNs: ZERO, value: false }] };
  const changes: { atNs: Ns; value: boolean }[] = [{ atNs: ZERO, value: false }];
  const unmuteNs = nsFromSeconds(device.unmuteSeconds);
  for (const { fromNs, toNs, value } of stretches(states, looks.endNs, (a, b) => a.state === b.state)) {
    const isMuting = device.muteWhile.includes(value.state);
    if (!isMuting) continue;
    const last = changes[changes.length - 1];
    if (last !== undefined && last.atNs >= fromNs) changes.pop();
    if (changes[changes.length - 1]?.value !== true) changes.push({ atNs: fromNs, value: true });
    changes.push({ atNs: later(toNs, unmuteNs), value: false });
  }
  return { changes };
}

/** What the feed is on each stretch between two changes of anything on its way. */
export function conditionsOf(
  plan: Plan,
  feed: FeedPlan,
  hops: readonly Timeline<Carrier>[],
  looks: Looks,
  muted: ReadonlyMap<string, Timeline<boolean>>,
): { fromNs: Ns; toNs: Ns; value: Condition }[] {
  const devices = feed.through.map((id) => deviceOf(plan, id));
  const edges = new Set<number>([0]);
  const mark = (line: Timeline<unknown> | undefined): void => {
    for (const change of line?.changes ?? []) if (change.atNs < looks.endNs) edges.add(change.atNs);
  };
  for (const { id } of devices) {
    mark(looks.devices.get(id));
    mark(looks.hung.get(id));
    mark(muted.get(id));
  }
  const outOfStep = new Map<string, Timeline<boolean>>();
  for (const [index, hop] of feed.hops.entries()) {
    mark(hops[index]);
    for (const over of hop.over) {
      mark(looks.links.get(`${over.link} ${over.way}`));
      const ear = `${over.link} ${over.way}`;
      mark(looks.inputs.get(ear));
      mark(looks.converters.get(ear));
      const listener = devices[index + 1] as DevicePlan;
      if (listener.muteOutOfStep !== true || outOfStep.has(ear)) continue;
      const line = outOfStepLine(looks.inputs.get(ear), listener, looks.endNs);
      outOfStep.set(ear, line);
      mark(line);
    }
  }
  const line: Timeline<Condition> = {
    changes: [...edges]
      .sort((a, b) => a - b)
      .map((at) => ({
        atNs: at as Ns,
        value: conditionAt(plan, feed, devices, hops, looks, muted, outOfStep, at as Ns),
      })),
  };
  return stretches(line, looks.endNs, isSameCondition);
}

function outOfStepLine(
  inputs: Timeline<{ inStep: boolean; decodes: boolean }> | undefined,
  device: DevicePlan,
  endNs: Ns,
): Timeline<boolean> {
  const changes: { atNs: Ns; value: boolean }[] = [{ atNs: ZERO, value: false }];
  if (inputs === undefined) return { changes };
  const unmuteNs = nsFromSeconds(device.unmuteSeconds);
  for (const { fromNs, toNs, value } of stretches(inputs, endNs, (a, b) => a.inStep === b.inStep)) {
    if (value.inStep) continue;
    while ((changes[changes.length - 1]?.atNs ?? -1) >= fromNs && changes.length > 0) changes.pop();
    changes.push({ atNs: fromNs, value: true }, { atNs: later(toNs, unmuteNs), value: false });
  }
  return { changes };
}

function conditionAt(
  plan: Plan,
  feed: FeedPlan,
  devices: readonly DevicePlan[],
  hops: readonly Timeline<Carrier>[],
  looks: Looks,
  muted: ReadonlyMap<string, Timeline<boolean>>,
  outOfStep: ReadonlyMap<string, Timeline<boolean>>,
  at: Ns,
): Condition {
  const silent = (silence: Silence, because: string, returnsBy: readonly string[]): Condition => ({
    ...CLEAN,
    silence,
    because,
    returnsBy,
  });
  for (const { id } of devices) {
    const line = looks.devices.get(id);
    const state = line === undefined ? undefined : valueAt(line, at)?.state;
    const hung = looks.hung.get(id);
    const isHung = hung !== undefined && valueAt(hung, at) === true;
    if (state === "off" || state === "starting" || isHung) return silent("device-down", id, [id]);
  }
  // A device that boots takes the links behind it along: what comes back, comes back at each of their ends.
  const broken = feed.hops.flatMap((hop, index) => {
    const carrier = valueAt(hops[index] as Timeline<Carrier>, at) as Carrier;
    const line = looks.links.get(`${carrier.link} ${carrier.way}`);
    const state = line === undefined ? undefined : valueAt(line, at)?.state;
    return state === "up" ? [] : [{ link: carrier.link, to: hop.to }];
  });
  if (broken[0] !== undefined)
    return silent(
      "link-down",
      broken[0].link,
      broken.map((each) => each.to),
    );
  for (const { id } of devices) {
    if (valueAt(muted.get(id) as Timeline<boolean>, at) === true) return silent("muted", id, [id]);
  }
  let mayBeSilent = false;
  let notCarriedBy: string | null = null;
  for (const [index, hop] of feed.hops.entries()) {
    const carrier = valueAt(hops[index] as Timeline<Carrier>, at) as Carrier;
    const ear = `${carrier.link} ${carrier.way}`;
    const inputs = looks.inputs.get(ear);
    const input = inputs === undefined ? undefined : valueAt(inputs, at);
    const listener = devices[index + 1] as DevicePlan;
    const link = linkById(plan, carrier.link);
    if (input?.decodes === false || (link !== undefined && hop.channels > link.channels)) notCarriedBy ??= carrier.link;
    const converters = looks.converters.get(ear);
    if (converters !== undefined && valueAt(converters, at) === "finding" && notCarriedBy === null)
      return silent("finding-rate", listener.id, [listener.id]);
    const outLine = outOfStep.get(ear);
    if (outLine !== undefined && valueAt(outLine, at) === true && notCarriedBy === null)
      return silent("out-of-step", listener.id, [listener.id]);
    if (input?.inStep === false && listener.muteOutOfStep === "unknown") mayBeSilent = true;
  }
  if (notCarriedBy !== null) return { ...CLEAN, isCarried: false, because: notCarriedBy };
  return mayBeSilent ? { ...CLEAN, mayBeSilent } : CLEAN;
}

function isSameCondition(a: Condition, b: Condition): boolean {
  return (
    a.silence === b.silence &&
    a.isCarried === b.isCarried &&
    a.because === b.because &&
    a.returnsBy.join() === b.returnsBy.join() &&
    a.mayBeSilent === b.mayBeSilent
  );
}
