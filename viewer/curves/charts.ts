/** The four charts: what each shows, in which unit, and its lines. No drawing here. */
import { nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { deviceById } from "../../sim/by-id.ts";
import { cableIn, grouped, showTime } from "../../sim/tell/words.ts";
import { isolated } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { curvePoints, type FeedSlips, type Point } from "../slips.ts";
import { type Flows, flowsOf, frequencySpans, leadsOf, phaseSpans } from "./clocks.ts";
import { columnsSink } from "./columns.ts";
import { type Course, courseOf, KEPT_MOST, type Span, spanAt, trace, valueAt } from "./course.ts";
import { type Extent, farthest } from "./extents.ts";
import { fedBuffers, fillSpans } from "./fills.ts";
import { plain, signed } from "./words.ts";

export type ChartKey = "slips" | "frequency" | "phase" | "fill";

export interface Drawn {
  readonly points: Point[];
  readonly isStepped: boolean;
}

export interface ChartLine {
  readonly name: string;
  /** Keys of the lanes that it belongs to. */
  readonly lanes: ReadonlySet<string>;
  /** Pauses now and then. */
  draw(fromSeconds: number, toSeconds: number, columns: number): Generator<void, Drawn, undefined>;
  /** Null: there is none. */
  valueAt(seconds: number): number | null;
  /** Bound of what the record left out, in samples of phase; null: nothing to bound. */
  withinSamplesAt(seconds: number): number | null;
  /** Why there is no value. */
  missingAt(seconds: number): string;
}

/** A level that is drawn across. */
export interface Level {
  readonly y: number;
  readonly label: string;
}

export interface ChartPlan {
  readonly key: ChartKey;
  /** On the button that chooses it. */
  readonly button: string;
  readonly title: string;
  readonly note: string;
  readonly lines: readonly ChartLine[];
  /** In place of a chart without lines. */
  readonly none: string;
  readonly levels: readonly Level[];
  /** What is in sight whatever the lines do. */
  readonly keeps: readonly number[];
  /** The least range that is drawn, in the unit. */
  readonly rangeLeast: number;
  /** A value with its unit; `decimals` as the window wants them. */
  words(value: number, decimals: number): string;
  /** From one value to another, with its sign and unit. */
  difference(value: number, decimals: number): string;
  /** What stands out in the window, in a sentence. */
  says(extents: readonly Extent[], decimals: number): string;
}

export const CHART_KEYS: readonly ChartKey[] = ["slips", "frequency", "phase", "fill"];

export const BUTTONS: Readonly<Record<ChartKey, string>> = {
  slips: "Slips so far",
  frequency: "Frequency",
  phase: "Phase against the leader",
  fill: "Buffer fill",
};

/** Each is made when it is first asked for. */
export function chartsOf(context: PageContext): (key: ChartKey) => ChartPlan {
  const known = new Map<ChartKey, ChartPlan>();
  let flows: Flows | null = null;
  return (key) => {
    let plan = known.get(key);
    if (plan === undefined) {
      if (key === "slips") plan = slipsChart(context);
      else {
        flows ??= flowsOf(context.run);
        plan =
          key === "frequency"
            ? frequencyChart(context, flows)
            : key === "phase"
              ? phaseChart(context, flows)
              : fillChart(context, flows);
      }
      known.set(key, plan);
    }
    return plan;
  };
}

function slipsChart({ run, slips, lanes }: PageContext): ChartPlan {
  const fed = run.plan.feeds.flatMap((feed) => {
    const own = slips.get(feed.id);
    return own === undefined || own.total === 0 ? [] : [{ feed, own }];
  });
  const atEnd = fed.slice(0, 3).map(({ feed, own }) => `${isolated(feed.name)} ${grouped(own.total)}`);
  const more = fed.length > 3 ? `, and ${fed.length - 3} more` : "";
  return {
    ...{ key: "slips", button: BUTTONS.slips, title: "Slips so far" },
    note: "Drops and repeats, added up from the start.",
    none: run.plan.feeds.length === 0 ? "No feeds, so no slips that anybody hears." : "No feed slips in this run.",
    lines: fed.map(({ feed, own }) => ({
      name: feed.name,
      lanes: new Set([
        `feed ${feed.id}`,
        ...feed.through.map((id) => `device ${id}`),
        ...feed.hops.flatMap(({ over }) => over.flatMap(({ link, way }) => linkLanes(lanes.all, link, way))),
      ]),
      draw: (from, to, columns) => drawSlips(own, from, to, columns),
      valueAt: (seconds) => own.countBy(seconds),
      withinSamplesAt: () => null,
      missingAt: () => "",
    })),
    levels: [],
    keeps: [],
    rangeLeast: 1,
    words: (value) => `${grouped(value)} ${value === 1 ? "slip" : "slips"}`,
    difference: (value) =>
      `${value < 0 ? "−" : "+"}${grouped(Math.abs(value))} ${Math.abs(value) === 1 ? "slip" : "slips"}`,
    says: () => `Slips by the end of the show: ${atEnd.join(", ")}${more}.`,
  };
}

// biome-ignore lint/correctness/useYield: closed form, with nothing to pause for
function* drawSlips(slips: FeedSlips, from: number, to: number, columns: number): Generator<void, Drawn, undefined> {
  return curvePoints(slips, from, to, columns);
}

type LaneKeys = readonly { readonly key: string }[];

/** A two-way link has one lane for both ways. */
function linkLanes(lanes: LaneKeys, link: string, way: string): string[] {
  return [`link ${link} ${way}`, `link ${link} both`].filter((key) => lanes.some((lane) => lane.key === key));
}

function deviceLanes({ run, lanes }: PageContext, device: string): ReadonlySet<string> {
  const { links, feeds } = run.plan;
  const ends = links.filter(({ a, b }) => a.device === device || b.device === device);
  return new Set([
    `device ${device}`,
    ...ends.flatMap(({ id }) => [...linkLanes(lanes.all, id, "there"), ...linkLanes(lanes.all, id, "back")]),
    ...feeds.filter(({ through }) => through.includes(device)).map(({ id }) => `feed ${id}`),
  ]);
}

function lineOf(
  course: Course,
  sampleRateHz: number,
  line: Pick<ChartLine, "name" | "lanes" | "missingAt">,
): ChartLine {
  return {
    ...line,
    *draw(fromSeconds, toSeconds, columns) {
      const sink = columnsSink(fromSeconds, toSeconds, columns);
      yield* trace(course, nsFromSeconds(fromSeconds), nsFromSeconds(toSeconds), columns, sink);
      return { points: sink.finish(), isStepped: false };
    },
    valueAt: (seconds) => valueAt(course, seconds),
    withinSamplesAt(seconds) {
      const span = spanAt(course, nsFromSeconds(seconds));
      return span === null ? null : span.withinSeconds * sampleRateHz;
    },
  };
}

/** Of each device that ever puts out a clock. */
function clockLines(
  context: PageContext,
  spansOf: (device: string) => readonly Span[],
  missingAt: (device: string, seconds: number) => string,
): ChartLine[] {
  const { summary, record, plan } = context.run;
  const budget = { left: KEPT_MOST };
  return summary.devices.flatMap(({ id, name }) => {
    const spans = spansOf(id);
    if (spans.length === 0) return [];
    const line = { name, lanes: deviceLanes(context, id), missingAt: (seconds: number) => missingAt(id, seconds) };
    return [lineOf(courseOf(spans, record.endNs, budget), plan.sampleRateHz, line)];
  });
}

const NO_CLOCK = "puts out no clock";

function frequencyChart(context: PageContext, flows: Flows): ChartPlan {
  const words = (value: number, decimals: number) => `${signed(value, decimals)} ppm`;
  return {
    ...{ key: "frequency", button: BUTTONS.frequency, title: "Frequency of each clock, in ppm of nominal" },
    note: "Above 0 is fast. A millionth (1 ppm) at 48 kHz is a sample every 21 s. No line: no clock.",
    none: "No device puts out a clock in this run.",
    lines: clockLines(
      context,
      (device) => frequencySpans(flows, device),
      () => NO_CLOCK,
    ),
    levels: [{ y: 0, label: "nominal" }],
    keeps: [],
    rangeLeast: 1e-3,
    words,
    difference: words,
    says(extents, decimals) {
      const fastest = farthest(extents, ({ most }) => most.y);
      const slowest = farthest(extents, ({ least }) => -least.y);
      if (fastest === null || slowest === null) return "No clock in this window.";
      return `Fastest in this window: ${isolated(fastest.name)}, ${words(fastest.most.y, decimals)}; slowest: ${isolated(slowest.name)}, ${words(slowest.least.y, decimals)}.`;
    },
  };
}

function phaseChart(context: PageContext, flows: Flows): ChartPlan {
  const { run, lanes } = context;
  const leads = leadsOf(run, lanes.followers);
  const leaderAt = (seconds: number) =>
    leads.findLast(({ fromNs }) => secondsFromNs(fromNs) <= seconds)?.leader ?? null;
  const words = (value: number, decimals: number) => `${signed(value, decimals)} samples`;
  return {
    ...{ key: "phase", button: BUTTONS.phase, title: "Phase of each clock against the leader, in samples" },
    note: "Above 0 is ahead. Whole samples count from where either clock last began or jumped: each of them is paid as a slip. The delay of cables is in it.",
    none: lanes.isLed
      ? "Nobody but the leader puts out a clock in this run."
      : "Nobody leads in this run, so there is nothing to measure against.",
    lines: clockLines(
      context,
      (device) => phaseSpans(flows, leads, device, run.plan.sampleRateHz),
      (device, seconds) => {
        const leader = leaderAt(seconds);
        return leader === device ? "leads" : leader === null ? "nobody leads" : NO_CLOCK;
      },
    ),
    levels: [{ y: 0, label: "leader" }],
    keeps: [],
    rangeLeast: 0.01,
    words,
    difference: words,
    says(extents, decimals) {
      const size = ({ least, most }: Extent) => Math.max(Math.abs(least.y), Math.abs(most.y));
      const furthest = farthest(extents, size);
      if (furthest === null) return "Nothing to measure in this window.";
      const { least, most } = furthest;
      const { x, y } = Math.abs(least.y) > Math.abs(most.y) ? least : most;
      return `Furthest from the leader in this window: ${isolated(furthest.name)}, ${words(y, decimals)} at ${showTime(x)}.`;
    },
  };
}

/** A hundredth of a buffer of this depth still is a pixel and a half. */
const SHALLOW_SAMPLES = 8;

function fillChart(context: PageContext, flows: Flows): ChartPlan {
  const { run, lanes } = context;
  const { plan, record } = run;
  const nameOf = (id: string) => isolated(deviceById(plan, id)?.name ?? id);
  const budget = { left: KEPT_MOST };
  const buffers = fedBuffers(run);
  const lines = buffers.flatMap((buffer): ChartLine[] => {
    const spans = fillSpans(run, flows, buffer);
    if (spans.length === 0) return [];
    const line = {
      name: `${nameOf(buffer.from)} to ${nameOf(buffer.to)}, ${cableIn(plan, buffer.link)}`,
      lanes: new Set([
        ...linkLanes(lanes.all, buffer.link, buffer.way),
        ...buffer.feeds.map((id) => `feed ${id}`),
        ...[buffer.from, buffer.to].map((id) => `device ${id}`),
      ]),
      missingAt: () => "carries nothing",
    };
    return [lineOf(courseOf(spans, record.endNs, budget), plan.sampleRateHz, line)];
  });
  const depths = [...new Set(buffers.map(({ plan }) => plan.buffer.depthSamples))].sort((one, other) => one - other);
  const words = (value: number, decimals: number) => `${plain(value, decimals)} samples`;
  return {
    ...{ key: "fill", button: BUTTONS.fill, title: "Fill of each buffer that carries a feed, in samples" },
    note: "At its depth a buffer drops, at 0 it repeats: each jump is a slip. No line: it carries nothing, or a converter stands in its place.",
    none: "No feed comes through a buffer in this run.",
    lines,
    levels: [
      { y: 0, label: "empty" },
      ...depths.map((depth) => ({ y: depth, label: depths.length === 1 ? "depth" : `depth ${depth}` })),
    ],
    // Empty and full; of a deep buffer only what is near, or nothing could be told of how it moves.
    keeps: [0, ...depths].filter((y) => y <= SHALLOW_SAMPLES && (depths[0] ?? 0) <= SHALLOW_SAMPLES),
    rangeLeast: 0.01,
    words,
    difference: (value, decimals) => `${signed(value, decimals)} samples`,
    says(extents, decimals) {
      const fullest = farthest(extents, ({ most }) => most.y);
      const emptiest = farthest(extents, ({ least }) => -least.y);
      if (fullest === null || emptiest === null) return "Nothing is carried in this window.";
      return `Fullest in this window: ${fullest.name}, ${words(fullest.most.y, decimals)}; emptiest: ${emptiest.name}, ${words(emptiest.least.y, decimals)}.`;
    },
  };
}
