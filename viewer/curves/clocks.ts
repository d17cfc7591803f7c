/** Frequency and phase of each device over a run, as courses: from the flows of the record, in closed form. */
import { clockPhaseAt, clockRateAt } from "../../shared/clock-phase.ts";
import type { Flow } from "../../shared/flow.ts";
import { type Ns, nsFromSeconds, ZERO } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import { type Followers, leadsOver } from "../../sim/lanes/follow.ts";
import { timebasesOf } from "../../sim/lives.ts";
import { type FlowLine, looksOf, stretches, valueAt } from "../../sim/timeline.ts";
import type { Run } from "../run.ts";
import type { Span, SpanWander } from "./course.ts";

/** Between two bends of a timebase its phase is a quadratic to this part of a sample: enough to know where to look. */
const PIECE_SAMPLES = 1e-3;
/** A straight line between knots may leave out this part of a sample. */
const GENTLE_SAMPLES = 1e-4;

export interface Flows {
  readonly endNs: Ns;
  readonly timebases: readonly Timebase[];
  lineOf(device: string): FlowLine;
  bendsIn(timebase: number, fromNs: Ns, toNs: Ns): readonly Ns[];
  /** How a difference of flows goes between knots; null where nothing wanders. `perSecond`: samples in a second. */
  wanderOf(flows: readonly Flow[], fromNs: Ns, toNs: Ns, isStepped: boolean): SpanWander | null;
  /** Instants at which whatever counts whole samples of a device begins anew. */
  startsOf(device: string): readonly Ns[];
}

const NO_FLOW: FlowLine = { changes: [] };

export function flowsOf({ plan, record }: Run): Flows {
  const looks = looksOf(record);
  const timebases = timebasesOf(plan);
  const pieces = new Map<number, { readonly atNs: Ns; readonly curvature: number }[]>();
  const piecesOf = (timebase: number) => {
    let known = pieces.get(timebase);
    if (known === undefined) {
      known = [];
      const { bornNs, pieceAt } = timebases[timebase] as Timebase;
      const within = PIECE_SAMPLES / plan.sampleRateHz;
      for (let at = bornNs; at < record.endNs; ) {
        const { untilNs, ageingPerSecond } = pieceAt(at, within);
        known.push({ atNs: at, curvature: Math.abs(ageingPerSecond) });
        at = untilNs;
      }
      pieces.set(timebase, known);
    }
    return known;
  };
  const firstAfter = (timebase: number, at: Ns): number => {
    const all = piecesOf(timebase);
    let [low, high] = [0, all.length];
    while (low < high) {
      const middle = (low + high) >> 1;
      if (all[middle]!.atNs <= at) low = middle + 1;
      else high = middle;
    }
    return low;
  };
  const curvatureIn = (timebase: number, fromNs: Ns, toNs: Ns): number => {
    const all = piecesOf(timebase);
    let most = 0;
    for (let place = Math.max(0, firstAfter(timebase, fromNs) - 1); place < all.length; place++) {
      if (all[place]!.atNs >= toNs) break;
      most = Math.max(most, all[place]!.curvature);
    }
    return most;
  };
  return {
    endNs: record.endNs,
    timebases,
    lineOf: (device) => looks.flows.get(device) ?? NO_FLOW,
    bendsIn(timebase, fromNs, toNs) {
      const all = piecesOf(timebase);
      const found: Ns[] = [];
      for (let place = firstAfter(timebase, fromNs); place < all.length; place++) {
        const { atNs } = all[place]!;
        if (atNs > toNs) break;
        found.push(atNs);
      }
      return found;
    },
    wanderOf(flows, fromNs, toNs, isStepped) {
      const gridNs = flows.find(({ wander }) => wander !== null)?.wander?.gridNs;
      if (gridNs === undefined) return null;
      const curvature = flows.reduce(
        (sum, flow) => sum + Math.abs(flow.ageingPerSecond) + curvatureIn(flow.timebase, fromNs, toNs),
        0,
      );
      const grid = gridNs / 1e9;
      return { gridNs, isStepped, isGentle: (curvature * grid * grid * plan.sampleRateHz) / 8 <= GENTLE_SAMPLES };
    },
    startsOf(device) {
      const states = looks.devices.get(device)?.changes ?? [];
      const booted = states.filter(({ value }, index) => {
        return value.state !== "starting" && states[index - 1]?.value.state === "starting";
      });
      const begun = (looks.flows.get(device) ?? NO_FLOW).changes.filter(({ value }, index, all) => {
        return value !== null && (all[index - 1]?.value ?? null) === null;
      });
      const instants = [...booted, ...begun].map(({ atNs }) => atNs).concat(looks.realigned.get(device) ?? []);
      return [...new Set(instants)].sort((one, other) => one - other);
    },
  };
}

/** Fractional frequency of a device against true time, in ppm of nominal. */
export function frequencySpans(flows: Flows, device: string): Span[] {
  const { timebases } = flows;
  return stretches(flows.lineOf(device), flows.endNs).flatMap(({ fromNs, toNs, value: flow }): Span[] => {
    if (flow === null) return [];
    return [
      {
        ...{ fromNs, toNs },
        isJoined: true,
        at: (t) => ppmOf(clockRateAt(timebases, flow, t)),
        withinSeconds: flow.withinSeconds,
        bendsIn: (from, to) => flows.bendsIn(flow.timebase, from, to),
        wander: flows.wanderOf([flow], fromNs, toNs, true),
      },
    ];
  });
}

function ppmOf(fraction: number): number {
  return fraction * 1e6;
}

export interface Lead {
  readonly fromNs: Ns;
  /** Id of the device that leads as planned; null: nobody does. */
  readonly leader: string | null;
}

export function leadsOf({ plan, summary }: Run, followers: Followers): Lead[] {
  return leadsOver(plan, summary, followers).map(({ fromSeconds, leader }) => ({
    fromNs: nsFromSeconds(fromSeconds),
    leader,
  }));
}

/**
 * Phase of a device ahead of whoever leads, in samples. Whole samples count from where either of the two clocks last
 * began or jumped, or another device took the lead; there it is within half a sample.
 */
export function phaseSpans(flows: Flows, leads: readonly Lead[], device: string, sampleRateHz: number): Span[] {
  const { timebases, endNs } = flows;
  const own = flows.lineOf(device);
  const ownStarts = flows.startsOf(device);
  return leads.flatMap(({ fromNs: ledNs, leader }, index): Span[] => {
    const untilNs = Math.min(leads[index + 1]?.fromNs ?? endNs, endNs) as Ns;
    if (leader === null || leader === device) return [];
    const theirs = flows.lineOf(leader);
    const starts = new Set([...ownStarts, ...flows.startsOf(leader)]);
    const cuts = instantsOf([own, theirs], [...starts, ledNs], ledNs, untilNs);
    let whole = 0;
    let isFresh = true;
    return cuts.flatMap((fromNs, place): Span[] => {
      const toNs = cuts[place + 1] ?? untilNs;
      const [one, other] = [valueAt(own, fromNs) ?? null, valueAt(theirs, fromNs) ?? null];
      if (one === null || other === null) {
        isFresh = true;
        return [];
      }
      const apart = (t: Ns) => sampleRateHz * (clockPhaseAt(timebases, one, t) - clockPhaseAt(timebases, other, t));
      const isJoined = !isFresh;
      if (isFresh || starts.has(fromNs)) whole = Math.round(apart(fromNs));
      isFresh = false;
      const wholeHere = whole;
      return [
        {
          ...{ fromNs, toNs, isJoined },
          at: (t) => apart(t) - wholeHere,
          withinSeconds: one.withinSeconds + other.withinSeconds,
          bendsIn: (from, to) => bendsOfBoth(flows, one, other, from, to),
          wander: flows.wanderOf([one, other], fromNs, toNs, false),
        },
      ];
    });
  });
}

/** Two flows of one timebase differ by a plain quadratic. */
export function bendsOfBoth(flows: Flows, one: Flow, other: Flow, fromNs: Ns, toNs: Ns): readonly Ns[] {
  if (one.timebase === other.timebase) return [];
  return [...flows.bendsIn(one.timebase, fromNs, toNs), ...flows.bendsIn(other.timebase, fromNs, toNs)];
}

/** Instants of changes and others from `fromNs` to before `toNs`, sorted, each once. */
export function instantsOf(lines: readonly FlowLine[], others: readonly Ns[], fromNs: Ns, toNs: Ns): Ns[] {
  const all = new Set<Ns>([fromNs, ...others]);
  for (const { changes } of lines) for (const { atNs } of changes) all.add(atNs);
  return [...all].filter((at) => at >= fromNs && at < toNs && at >= ZERO).sort((one, other) => one - other);
}
