/**
 * How steady a clock is: deviations over averaging time on log-log paper, or its time error over the show, with the
 * limits of standards as lines. Worked out when the part is opened, not as the page loads; the canvas has a list of its
 * lines and a table of the same facts beside it, because a canvas is mute.
 */
import {
  Chart,
  type ChartDataset,
  LinearScale,
  LineController,
  LineElement,
  LogarithmicScale,
  type Plugin,
  PointElement,
  type ScaleOptionsByType,
  Tooltip,
} from "chart.js";
import { ticks } from "d3";
import { GROUND } from "../../shared/states.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { aes11Masks, judgeStatistic, MASKS, type Mask, STATISTICS } from "../../sim/stability/index.ts";
import { capital, grouped, rateWords, showTime, times } from "../../sim/tell/words.ts";
import { h, isolated, part, table } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { ticksThatFit, timeTicks } from "../show-time.ts";
import type { Point } from "../slips.ts";
import { type ClockFacts, clocksOf, decades, furthestWithin, maskLine, outline, spans } from "../stability.ts";
import { ground, lineColour, onGroundChange } from "../theme.ts";

const DEVIATIONS = ["oadev", "mdev", "tdev", "mtie"] as const;
type Deviation = (typeof DEVIATIONS)[number];
type Kind = Deviation | "time-error";

const SHORT: Readonly<Record<Kind, string>> = {
  oadev: "ADEV",
  mdev: "MDEV",
  tdev: "TDEV",
  mtie: "MTIE",
  "time-error": "TE",
};

const titleOf = (kind: Kind): string => (kind === "time-error" ? "Time error" : STATISTICS[kind].title);

/** One line of the chart beside the curve. */
interface Limit {
  readonly title: string;
  readonly lines: readonly (readonly Point[])[];
}

export function stabilityPart(context: PageContext): HTMLElement {
  const { run, announce } = context;
  const devices = run.summary.devices;
  const [first] = devices;
  if (first === undefined)
    return part("stability", "How steady the clocks are", h("p", { class: "none" }, "This rig has no devices."));
  const clocks = clocksOf(run);
  const names = new Map(devices.map((device) => [device.id, device.name]));
  const nameOf = (id: string | null): string => (id === null ? "true time" : isolated(names.get(id) ?? id));

  const device = choice(
    "Clock of",
    devices.map(({ id, name }) => [id, name]),
  );
  const against = choice("against", [["", "true time"], ...devices.map(({ id, name }) => [id, name] as const)]);
  const kind = choice("as", [
    ...DEVIATIONS.map((each) => [each, `${STATISTICS[each].title} (${SHORT[each]})`] as const),
    ["time-error", "Time error over the show"] as const,
  ]);
  const matter = h("div", { class: "steadiness" });
  const opened = h(
    "details",
    {},
    h("summary", {}, "Allan deviation, MTIE and time error of one clock"),
    h("div", { class: "choices" }, device.label, against.label, kind.label),
    clocks.oscillatorsWander
      ? null
      : h(
          "p",
          { class: "none" },
          'The oscillators of this run are steady: wander is off, so a clock here has frequency, drift and settling, but no noise. In the file, "run": { "wander": true } turns it on.',
        ),
    matter,
  );

  let drawing: Drawing | null = null;
  const show = (isAsked: boolean) => {
    drawing?.stop();
    drawing = null;
    for (const option of against.select.options) option.disabled = option.value === device.select.value;
    if (against.select.value === device.select.value) against.select.value = "";
    const [whose, reference] = [device.select.value, against.select.value || null];
    const chosen = kind.select.value as Kind;
    const facts = clocks.of(whose, reference);
    const pair = `${nameOf(whose)} against ${nameOf(reference)}`;
    const sentences =
      facts === null
        ? [noClock(reference)]
        : chosen === "time-error"
          ? aboutWhole(facts, reference)
          : about(facts, reference);
    matter.replaceChildren(h("p", { class: "when" }, `${pair}. ${sentences.join(" ")}`));
    if (facts !== null && !(facts.isStraight && chosen !== "time-error")) {
      drawing =
        chosen === "time-error"
          ? timeError(facts, reference, pair, run.plan.sampleRateHz)
          : deviation(facts, chosen, pair);
      matter.append(...drawing.elements);
      drawing.measure();
    }
    if (isAsked) announce(`${titleOf(chosen)}: ${drawing?.says ?? sentences.join(" ")}`);
  };
  opened.addEventListener("toggle", () => {
    if (opened.open && matter.childElementCount === 0) show(false);
    else if (opened.open) drawing?.measure();
  });
  for (const { select } of [device, against, kind]) select.addEventListener("change", () => show(true));
  const measure = () => {
    if (opened.open) drawing?.measure();
  };
  for (const event of ["resize", "beforeprint", "afterprint"]) addEventListener(event, measure);
  onGroundChange(measure);
  return part("stability", "How steady the clocks are", opened);
}

function choice(label: string, options: readonly (readonly [value: string, text: string])[]) {
  const select = h("select", {}, ...options.map(([value, text]) => h("option", { value }, text)));
  return { select, label: h("label", { class: "choice" }, h("span", {}, label), select) };
}

function noClock(reference: string | null): string {
  return `There is no moment at which ${reference === null ? "it puts" : "both put"} out a clock.`;
}

/** What was sampled, and what to know before the curve is believed. */
function about({ series, stretch, isStraight, jumps, meanFrequency }: ClockFacts, reference: string | null): string[] {
  const count = series.phaseSeconds.length;
  const from = showTime(secondsFromNs(series.startNs));
  const to = showTime(secondsFromNs(series.startNs) + (count - 1) * series.tau0Seconds);
  const who = reference === null ? "it was" : "both were";
  const why = stretch.isInLock
    ? `the longest unbroken stretch in which ${who} locked or leading`
    : `the longest unbroken stretch with a clock, since ${who} never locked or leading${reference === null ? "" : " together"}`;
  return [
    `${from} to ${to}, ${why}: ${grouped(count)} samples, ${brief(series.tau0Seconds)} s apart.`,
    ...(meanFrequency === null ? [] : [`On average ${rateWords(meanFrequency)}.`]),
    ...(jumps > 0 ? [`Re-aligned ${times(jumps)} in it: the jump is in the curve.`] : []),
    ...(isStraight ? ["Nothing but that frequency: its phase is a straight line, so every deviation is 0."] : []),
  ];
}

/** The same of the time error, which is drawn over all of the show. */
function aboutWhole({ timeError, jumps, meanFrequency }: ClockFacts, reference: string | null): string[] {
  const { phaseSeconds, tau0Seconds } = timeError;
  const who = reference === null ? "it puts" : "one of them puts";
  return [
    `The whole show: ${grouped(phaseSeconds.length)} samples, ${brief(tau0Seconds)} s apart${phaseSeconds.some(Number.isNaN) ? `, with a gap while ${who} out no clock` : ""}.`,
    ...(meanFrequency === null || jumps > 0 ? [] : [`On average ${rateWords(meanFrequency)}, in its longest stretch.`]),
  ];
}

interface Drawing {
  readonly elements: readonly HTMLElement[];
  /** The curve in one sentence. */
  readonly says: string;
  measure(): void;
  stop(): void;
}

function deviation({ rows }: ClockFacts, kind: Deviation, pair: string): Drawing {
  const { title, unit } = STATISTICS[kind];
  const found = rows.flatMap(({ tauSeconds, cells, noise }) => {
    const cell = cells[kind];
    // A logarithm has no place for 0; the table has.
    return "issue" in cell ? [] : [{ tauSeconds, cell, noise }];
  });
  const points = found
    .filter(({ cell }) => cell.value > 0)
    .map(({ tauSeconds, cell }) => ({ x: tauSeconds, y: cell.value, interval: cell.interval }));
  const interval = kind === "mtie" ? "observation interval" : "averaging time";
  const unitWords = unit === "seconds" ? "seconds" : "fractional frequency";
  const says =
    points.length === 0
      ? `${pair} has no value above 0.`
      : points
          .filter((_, index) => index % 3 === 0 || index === points.length - 1)
          .map(({ x, y }) => `at ${brief(x)} s ${valueWords(y, unit)}`)
          .join(", ");
  const [low, high] = [points[0]?.x ?? 1, points.at(-1)?.x ?? 10];
  const limits = MASKS.filter(({ statistic }) => statistic === kind).map((mask) =>
    limitOf(
      mask,
      found.map(({ tauSeconds, cell }) => ({ tauSeconds, value: cell.value })),
      [low / 1.5, high * 1.5],
    ),
  );
  const words = table(
    `${title}, ${unitWords}; the interval holds the true value with a probability of 95 %, if the noise is of the type named`,
    [
      { head: capital(interval), kind: "number" },
      { head: "Value", kind: "number" },
      { head: "From", kind: "number" },
      { head: "To", kind: "number" },
      { head: "Noise" },
      { head: "Terms", kind: "number" },
    ],
    found.map(({ tauSeconds, cell, noise }) => [
      `${brief(tauSeconds)} s`,
      cell.value.toExponential(4),
      cell.interval === null ? "–" : cell.interval.low.toExponential(4),
      cell.interval === null ? "–" : cell.interval.high.toExponential(4),
      cell.interval === null || noise.allan === null ? "–" : noise.allan.replaceAll("-", " "),
      grouped(cell.terms),
    ]),
  );
  return draw({
    ...{ points, limits, words },
    title: `${title}, ${unitWords}, over ${interval}`,
    says: `${title} of ${pair}: ${says}`,
    curve: `${SHORT[kind]}${points.some(({ interval }) => interval !== null) ? ", bars: 95 %" : ""}`,
    x: {
      type: "logarithmic",
      min: low / 1.5,
      max: high * 1.5,
      ticks: decades(low / 1.5, high * 1.5),
      label: (value) => `${brief(value)} s`,
    },
    y: logarithmicY(
      [
        ...points.flatMap(({ y, interval }) => [y, interval?.low ?? y, interval?.high ?? y]),
        ...limits.flatMap(({ lines }) => lines.flat().map(({ y }) => y)),
      ],
      unit,
    ),
    pointLabel: ({ x, y }) => `${brief(x)} s: ${valueWords(y, unit)}`,
    bars: points.flatMap(({ x, interval }) => (interval === null ? [] : [{ x, ...interval }])),
  });
}

const AES11_TITLES = ["AES11: output, 5 % of a sample", "AES11: input, 25 % of a sample"];

function timeError(
  { timeError: series, stretch }: ClockFacts,
  reference: string | null,
  pair: string,
  rateHz: number,
): Drawing {
  const present = series.phaseSeconds.filter((x) => !Number.isNaN(x));
  const least = present.reduce((low, x) => Math.min(low, x), Number.POSITIVE_INFINITY);
  const greatest = present.reduce((high, x) => Math.max(high, x), Number.NEGATIVE_INFINITY);
  const size = Math.max(Math.abs(least), Math.abs(greatest));
  const start = secondsFromNs(series.startNs);
  const end = start + Math.max(1, series.phaseSeconds.length - 1) * series.tau0Seconds;
  const both = (mask: Mask): number => mask.pieces[0]?.offsetSeconds ?? 0;
  // Against true time every clock leaves a limit that was meant against its reference.
  const masks = reference === null ? [] : aes11Masks(rateHz);
  const drawn = masks.filter((mask) => both(mask) < 10 * size);
  const limits = drawn.map((mask): Limit => {
    const lines = [1, -1].map((sign) => [start, end].map((x) => ({ x, y: sign * both(mask) })));
    return { title: AES11_TITLES[masks.indexOf(mask)] ?? mask.title, lines };
  });
  const [reach, unit] = unitFor(Math.max(size, ...drawn.map(both)));
  const inLock = Number((100 * furthestWithin(series, stretch) * rateHz).toPrecision(2));
  const when = `${showTime(secondsFromNs(stretch.fromNs))} to ${showTime(secondsFromNs(stretch.toNs))}`;
  const share =
    reference === null
      ? ""
      : `. The delay of cables is in it, whole sample periods are left out. In the longest stretch in which both ${stretch.isInLock ? "were locked or leading" : "put out a clock"}, ${when}, the furthest is ${inLock} % of a sample; AES11 allows an output 5 %, an input 25 %`;
  const range = `From ${timeWords(least)} to ${timeWords(greatest)}${share}`;
  const says = `Time error of ${pair}. ${range}`;
  const padding = (greatest - least || size || 1e-9) * 0.1;
  const top = Math.max(greatest + padding, ...drawn.map((mask) => both(mask) * 1.1));
  const bottom = Math.min(least - padding, ...drawn.map((mask) => -both(mask) * 1.1));
  const words = table(
    "Time error, least and greatest in each tenth of the stretch",
    [
      { head: "From", kind: "number" },
      { head: "Until", kind: "number" },
      { head: "Least", kind: "number" },
      { head: "Greatest", kind: "number" },
    ],
    spans(series, 10).map((span) => [
      showTime(span.fromSeconds),
      showTime(span.toSeconds),
      timeWords(span.leastSeconds),
      timeWords(span.greatestSeconds),
    ]),
  );
  return draw({
    ...{ limits, words, says },
    note: `${range}.`,
    points: [],
    outline: (columns) => outline(series, columns),
    title: `Time error in ${unit}, over show time`,
    curve: "Time error",
    x: {
      type: "linear",
      min: start,
      max: end,
      ticks: (width) => timeTicks(start, end, ticksThatFit(width, end)).values,
      label: showTime,
    },
    y: {
      type: "linear",
      min: bottom,
      max: top,
      ticks: ticks(bottom / reach, top / reach, 6).map((value) => value * reach),
      label: (value) => brief(value / reach).replace("-", "−"),
    },
    pointLabel: ({ x, y }) => `${showTime(x)}: ${timeWords(y)}`,
    bars: [],
  });
}

function limitOf(
  mask: Mask,
  values: readonly { tauSeconds: number; value: number }[],
  reach: readonly [number, number],
): Limit {
  const { outcome, firstExceeded } = judgeStatistic(mask, values);
  const verdict =
    firstExceeded !== null
      ? `exceeded from ${brief(firstExceeded.atSeconds)} s`
      : outcome === "below"
        ? "not exceeded"
        : outcome;
  const document = mask.source.replace(/[,(].*$/, "").trim();
  return { title: `${mask.title}, ${document}: ${verdict}`, lines: [maskLine(mask, ...reach)] };
}

interface Axis {
  readonly type: "logarithmic" | "linear";
  readonly min: number;
  readonly max: number;
  readonly ticks: readonly number[] | ((widthPixels: number) => readonly number[]);
  label(value: number): string;
}

function logarithmicY(values: readonly number[], unit: "seconds" | "fractional"): Axis {
  const above = values.filter((value) => value > 0);
  const [least, most] = [Math.min(...above, 1), Math.max(...above, 0)];
  const [low, high] = most === 0 ? [1e-12, 1e-9] : [least / 1.3, most * 1.3];
  // Whole decades, one at the least, so that each axis has two labels.
  const min = Number(`1e${Math.floor(Math.log10(low))}`);
  const max = Number(`1e${Math.ceil(Math.log10(high))}`);
  return {
    type: "logarithmic",
    ...{ min, max },
    ticks: decades(min, max),
    label: (value) => (unit === "seconds" ? timeWords(value) : power(value)),
  };
}

interface Bar {
  readonly x: number;
  readonly low: number;
  readonly high: number;
}

interface Draft {
  readonly title: string;
  readonly says: string;
  /** What stands between the title and the chart. */
  readonly note?: string;
  readonly curve: string;
  readonly points: readonly Point[];
  /** Where the points depend on how wide the chart is. */
  readonly outline?: (columns: number) => readonly Point[];
  readonly limits: readonly Limit[];
  readonly bars: readonly Bar[];
  readonly words: HTMLElement;
  readonly x: Axis;
  readonly y: Axis;
  pointLabel(point: Point): string;
}

function draw(draft: Draft): Drawing {
  Chart.register(LineController, LinearScale, LogarithmicScale, LineElement, PointElement, Tooltip);
  const { limits, x, y } = draft;
  const canvas = h("canvas", { role: "img", "aria-label": `${draft.says}. The table below has every value.` });
  const box = h("div", { class: "curve-box steadiness-box" }, canvas);
  const titles = [draft.curve, ...limits.map(({ title }) => title)];
  const list = h(
    "ol",
    { class: "curve-lines" },
    ...titles.map((title, index) =>
      h("li", {}, h("span", { class: "letter", "data-line": index }, letter(index)), " ", title),
    ),
  );
  const elements = [
    h("h3", { class: "group-name" }, draft.title),
    ...(draft.note === undefined ? [] : [h("p", {}, draft.note)]),
    box,
    list,
    h("details", { class: "as-table" }, h("summary", {}, "The curve as a table"), draft.words),
  ];
  const datasets: ChartDataset<"line", Point[]>[] = [
    { data: [], borderWidth: 2, pointRadius: draft.outline === undefined ? 3 : 0, pointHitRadius: 8 },
    ...limits.flatMap(({ lines }) =>
      lines.map((line) => ({ data: [...line], borderWidth: 1.5, pointRadius: 0, pointHitRadius: 0 })),
    ),
  ];
  // Which title each dataset belongs to.
  const owner = [0, ...limits.flatMap(({ lines }, index) => lines.map(() => index + 1))];
  const scale = (axis: Axis) => ({
    type: axis.type,
    ...{ min: axis.min, max: axis.max },
    ticks: { callback: (value: number | string) => axis.label(Number(value)), maxRotation: 0, maxTicksLimit: 12 },
    afterBuildTicks(made: { ticks: { value: number }[]; width: number; chart: Chart }) {
      const values = typeof axis.ticks === "function" ? axis.ticks(made.chart.width) : axis.ticks;
      made.ticks = values.map((value) => ({ value }));
    },
  });
  const chart = new Chart(canvas, {
    type: "line",
    data: { datasets },
    options: {
      animation: false,
      parsing: false,
      normalized: true,
      responsive: true,
      maintainAspectRatio: false,
      layout: { padding: { top: 16, right: 8 } },
      events: ["mousemove", "mouseout"],
      interaction: { mode: "nearest", axis: "x", intersect: false },
      scales: { x: scale(x), y: scale(y) } as never,
      plugins: {
        tooltip: {
          displayColors: false,
          filter: ({ datasetIndex }) => datasetIndex === 0,
          callbacks: {
            title: () => "",
            label: ({ parsed }) => draft.pointLabel({ x: parsed.x ?? 0, y: parsed.y ?? 0 }),
          },
        },
      },
    },
    plugins: [barsAndLetters(draft.bars, owner)],
  });
  return {
    elements,
    says: draft.says,
    measure() {
      const { quiet, rule, panel, ink } = GROUND[ground()];
      chart.data.datasets.forEach((dataset, index) => {
        const colour = lineColour(owner[index] ?? 0);
        Object.assign(dataset, { borderColor: colour, pointBackgroundColor: colour, pointBorderColor: colour });
      });
      if (draft.outline !== undefined) Object.assign(datasets[0]!, { data: draft.outline(box.clientWidth) });
      else Object.assign(datasets[0]!, { data: draft.points });
      const font = { family: getComputedStyle(document.body).fontFamily, size: 12 };
      for (const axis of Object.values(chart.options.scales ?? {}) as Partial<ScaleOptionsByType<"linear">>[]) {
        Object.assign(axis, { grid: { color: rule, tickColor: quiet }, border: { color: quiet } });
        Object.assign(axis.ticks ?? {}, { color: quiet, font });
      }
      Object.assign(chart.options.plugins?.tooltip ?? {}, {
        backgroundColor: panel,
        bodyColor: ink,
        borderColor: quiet,
        borderWidth: 1,
      });
      for (const mark of list.querySelectorAll<HTMLElement>("[data-line]"))
        mark.style.setProperty("--line", lineColour(Number(mark.dataset.line)));
      chart.resize();
      chart.update("none");
    },
    stop: () => chart.destroy(),
  };
}

/** Intervals as bars, and at one end of each line its letter. */
function barsAndLetters(bars: readonly Bar[], owner: readonly number[]): Plugin<"line"> {
  return {
    id: "bars-and-letters",
    afterDatasetsDraw(chart) {
      const { ctx, chartArea } = chart;
      const { paper } = GROUND[ground()];
      const [x, y] = [chart.scales.x!, chart.scales.y!];
      ctx.strokeStyle = lineColour(0);
      ctx.lineWidth = 1.5;
      for (const bar of bars) {
        const at = x.getPixelForValue(bar.x);
        const [high, low] = [y.getPixelForValue(bar.high), y.getPixelForValue(bar.low)];
        ctx.beginPath();
        ctx.moveTo(at, high);
        ctx.lineTo(at, low);
        for (const end of [high, low]) {
          ctx.moveTo(at - 4, end);
          ctx.lineTo(at + 4, end);
        }
        ctx.stroke();
      }
      ctx.font = `700 12px ${getComputedStyle(document.body).fontFamily}`;
      ctx.textAlign = "right";
      ctx.lineWidth = 4;
      ctx.strokeStyle = paper;
      const lettered = new Set<number>();
      owner.forEach((index, dataset) => {
        const points = chart.getDatasetMeta(dataset).data;
        // The curve's letter goes to its beginning, where intervals are short; those of limits to their ends.
        const end = index === 0 && bars.length > 0 ? points[0] : points.at(-1);
        if (end === undefined || Number.isNaN(end.y) || lettered.has(index)) return;
        lettered.add(index);
        const at = end === points[0] ? end.x - 6 : Math.min(end.x, chartArea.right - 4 - 14 * index);
        const above = Math.min(Math.max(chartArea.top + 12, end.y - 5), chartArea.bottom - 4);
        ctx.strokeText(letter(index), at, above);
        ctx.fillStyle = lineColour(index);
        ctx.fillText(letter(index), at, above);
      });
    },
  };
}

function letter(index: number): string {
  return String.fromCharCode(65 + index);
}

/** Four figures, grouped where there are thousands: "1,024", "0.5". */
function brief(value: number): string {
  const text = Number(value.toPrecision(4));
  return Number.isInteger(text) && Math.abs(text) >= 1000 ? grouped(text) : String(text);
}

const TIME_UNITS: readonly (readonly [seconds: number, unit: string])[] = [
  [1, "s"],
  [1e-3, "ms"],
  [1e-6, "µs"],
  [1e-9, "ns"],
  [1e-12, "ps"],
];

/** The largest unit that the size fills. */
function unitFor(seconds: number): readonly [seconds: number, unit: string] {
  return TIME_UNITS.find(([size]) => Math.abs(seconds) >= size * (1 - 1e-9)) ?? [1e-15, "fs"];
}

function timeWords(seconds: number): string {
  if (seconds === 0) return "0";
  const [size, unit] = unitFor(seconds);
  return `${brief(Number((seconds / size).toPrecision(3)))} ${unit}`.replace("-", "−");
}

function valueWords(value: number, unit: "seconds" | "fractional"): string {
  return unit === "seconds" ? timeWords(value) : value.toExponential(2).replace("-", "−");
}

/** 1e-10 → "10⁻¹⁰". */
function power(value: number): string {
  const digits = String(Math.round(Math.log10(value)));
  return `10${[...digits].map((digit) => "⁻⁰¹²³⁴⁵⁶⁷⁸⁹"["-0123456789".indexOf(digit)]).join("")}`;
}
