/**
 * The front door: plays a plan and says what was found.
 *
 * @example
 * const run = rehearse(plan);
 * run.summary.feeds[0].slips; // whole samples, over the whole show
 */
import { clockRateAt } from "../shared/clock-phase.ts";
import type { Plan } from "../shared/plan.ts";
import type { Row, RunRecord } from "../shared/record.ts";
import type { DeviceSummary, EventSummary, LinkSummary, Summary } from "../shared/summary.ts";
import { type Ns, secondsFromNs } from "../shared/time.ts";
import type { Timebase } from "../shared/timebase.ts";
import { chainsOver } from "./chain/followers.ts";
import { checkAll } from "./check/index.ts";
import { conversionsIn } from "./conversions.ts";
import { startEngine } from "./engine.ts";
import { hear } from "./hear.ts";
import { predictHoldovers } from "./holdover.ts";
import { networksIn } from "./network/outcome.ts";
import { ridesOut } from "./rides-out.ts";
import { buildRig } from "./rig.ts";
import type { Looks } from "./timeline.ts";
import { looksOf, stretches } from "./timeline.ts";
import { judge } from "./verdict.ts";

export interface RehearseOptions {
  /** SHA-256 of the scenario's texts, for the record; empty if they have none. */
  readonly sha256?: string;
  /** Part of a sample period that an announcement may be off by. */
  readonly quantumSamples?: number;
  /** Told now and then which share of the show has been played, up to 1. The run is the same with and without. */
  readonly onProgress?: (share: number) => void;
}

export interface Run {
  readonly plan: Plan;
  readonly record: RunRecord;
  readonly summary: Summary;
}

export interface RunHeard extends Omit<Run, "summary"> {
  readonly summary: Pick<Summary, "feeds">;
}

/** Of a run that is watched: each is a percent. */
const SLICES = 100;

/** Plays a plan to its end. Throws a `BudgetError` if machines wake each other without end. */
export function rehearse(plan: Plan, options: RehearseOptions = {}): Run {
  const { record, timebases } = play(plan, options);
  return { plan, record, summary: summarise(plan, record, timebases) };
}

/** The same with no more of its summary than what is heard, for whoever plays many to compare them by that. */
export function rehearseToHear(plan: Plan): RunHeard {
  const { record } = play(plan, {});
  return { plan, record, summary: { feeds: hear(plan, record) } };
}

function play(plan: Plan, options: RehearseOptions) {
  const rig = buildRig(plan, options.quantumSamples);
  const engine = startEngine(rig);
  const { onProgress } = options;
  if (onProgress !== undefined) {
    for (let slice = 1; slice < SLICES; slice += 1) {
      engine.playTo(Math.floor((plan.lengthNs * slice) / SLICES) as Ns);
      onProgress(slice / SLICES);
    }
  }
  const rows = engine.finish(plan.lengthNs);
  onProgress?.(1);
  const record: RunRecord = {
    format: 1,
    scenarioSha256: options.sha256 ?? "",
    seed: plan.seed,
    endNs: plan.lengthNs,
    rows,
    worstErrorSamples: worstError(rows, plan.sampleRateHz),
    assumed: plan.assumed,
  };
  return { record, timebases: rig.timebases };
}

/** Two flows meet at a receiver: twice the largest bound, in samples. Null where a ring leaves no bound. */
function worstError(rows: readonly Row[], sampleRateHz: number): number | null {
  let worst = 0;
  for (const { fact } of rows) {
    if (fact.kind === "flow" && fact.flow !== null && fact.flow.withinSeconds > worst) worst = fact.flow.withinSeconds;
  }
  return worst === Number.POSITIVE_INFINITY ? null : 2 * worst * sampleRateHz;
}

function summarise(plan: Plan, record: RunRecord, timebases: readonly Timebase[]): Summary {
  const looks = looksOf(record);
  const { endNs } = record;
  const devices: DeviceSummary[] = plan.devices.map((device) => ({
    id: device.id,
    name: device.name,
    states: stretches(
      looks.devices.get(device.id) ?? { changes: [] },
      endNs,
      (a, b) => a.state === b.state && a.source === b.source,
    ).map(({ fromNs, toNs, value }) => ({
      state: value.state,
      source: value.source,
      fromSeconds: secondsFromNs(fromNs),
      toSeconds: secondsFromNs(toNs),
    })),
    offsetPpm: offsetAtEnd(looks, device.id, timebases),
  }));
  const links: LinkSummary[] = plan.links.flatMap((link) => {
    const ways = link.twoWay
      ? (["both"] as const)
      : link.hasReturn
        ? (["there", "back"] as const)
        : (["there"] as const);
    return ways.map((way) => ({
      id: link.id,
      way,
      states: stretches(
        looks.links.get(`${link.id} ${way === "back" ? "back" : "there"}`) ?? { changes: [] },
        endNs,
        (a, b) => a.state === b.state && a.clock === b.clock,
      ).map(({ fromNs, toNs, value }) => ({
        state: value.state,
        clock: value.clock,
        fromSeconds: secondsFromNs(fromNs),
        toSeconds: secondsFromNs(toNs),
      })),
    }));
  });
  const feeds = hear(plan, record);
  const expect = judge(plan.expect, devices, links, feeds);
  return {
    schemaVersion: 1,
    scenario: { title: plan.title, sha256: record.scenarioSha256 },
    seed: plan.seed,
    runSeconds: secondsFromNs(endNs),
    verdict: expect.length === 0 ? "none" : expect.every((each) => each.met) ? "met" : "failed",
    devices,
    links,
    feeds,
    chains: chainsOver(plan, record),
    events: plan.events.map(eventSummary),
    expect,
    converters: conversionsIn(plan, record, timebases),
    holdovers: predictHoldovers(plan, record, timebases),
    ridesOut: ridesOut(plan),
    networks: networksIn(plan, record),
    ...checkAll(plan),
    assumed: record.assumed,
    ...(plan.measured === undefined ? {} : { measured: plan.measured }),
    worstErrorSamples: record.worstErrorSamples,
  };
}

/** Frequency against nominal at the end, in ppm; null where no clock is put out then. */
function offsetAtEnd({ flows, endNs }: Looks, device: string, timebases: readonly Timebase[]): number | null {
  const flow = flows.get(device)?.changes.at(-1)?.value ?? null;
  return flow === null ? null : clockRateAt(timebases, flow, endNs) * 1e6;
}

function eventSummary(event: Plan["events"][number]): EventSummary {
  return { atSeconds: secondsFromNs(event.atNs), do: event.do, on: touchedBy(event), undoes: event.undoes !== null };
}

function touchedBy(event: Plan["events"][number]): string {
  switch (event.do) {
    case "unplug":
    case "plug":
    case "lose-contact":
    case "make-contact":
      return event.link;
    case "cut":
    case "mend":
      return event.path;
    case "power-cut":
    case "power-back":
      return event.device ?? event.supply ?? "";
    case "battery-empty":
      return event.supply;
    case "temperature":
      return event.device ?? "all";
    default:
      return event.device;
  }
}
