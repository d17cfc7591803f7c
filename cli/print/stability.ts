/** The stability of a record as text: one table per statistic, then the masks. */

import {
  type MaskPoint,
  type NoiseType,
  STATISTICS,
  type StatisticName,
  type TableRow,
} from "../../sim/stability/index.ts";
import { capital, counted, grouped } from "../../sim/tell/words.ts";
import type { StabilityReport } from "../verbs/stability.ts";
import type { Ink, Style } from "./ink.ts";
import { oneLine, wrapped } from "./plain.ts";

const SHORT: Readonly<Record<StatisticName, string>> = {
  adev: "ADEV",
  oadev: "OADEV",
  mdev: "MDEV",
  tdev: "TDEV",
  hdev: "HDEV",
  ohdev: "OHDEV",
  totdev: "TOTDEV",
  sampleDeviation: "SD",
  tieRms: "TIErms",
  mtie: "MTIE",
};

const NOISE_WORDS: Readonly<Record<NoiseType, string>> = {
  "white-pm": "white PM",
  "flicker-pm": "flicker PM",
  "white-fm": "white FM",
  "flicker-fm": "flicker FM",
  "random-walk-fm": "random-walk FM",
  "flicker-walk-fm": "flicker-walk FM",
  "random-run-fm": "random-run FM",
};

const OUTCOME_STYLE: Readonly<Record<StabilityReport["masks"][number]["outcome"], Style>> = {
  below: "bold",
  exceeded: "red",
  "not judged": "dim",
};

export function stabilityText(
  report: StabilityReport,
  statistics: readonly StatisticName[],
  { ink, columns }: { readonly ink: Ink; readonly columns: number | null },
): string {
  const blocks = [
    headText(report, columns),
    ...statistics.map((name) => statisticText(report, name, ink)),
    ...(report.masks.length === 0 ? [] : [masksText(report, ink, columns)]),
  ];
  return `${blocks.join("\n\n")}\n`;
}

function headText(report: StabilityReport, columns: number | null) {
  const { file, column, kind, points, missing, tau0Seconds, confidence, rows } = report;
  const length = (points - 1) * tau0Seconds;
  const gaps = missing === 0 ? "no gaps" : counted(missing, "value missing", "values missing");
  const record =
    `${oneLine(file)}, column ${oneLine(column)}: ${grouped(points)} points of phase` +
    `${kind === "frequency" ? " summed from frequency" : ""}, ${figures(tau0Seconds, 9)} s apart, ` +
    `${figures(length, 9)} s long, ${gaps}.`;
  const trust = `Intervals hold the true value with a probability of ${figures(100 * confidence)} %, if the noise is of the type named.`;
  const star = rows.some(({ noise }) => noise.isTakenOver)
    ? " A star marks a type taken over from a shorter tau, because too few points are left to tell."
    : "";
  return `${wrapped(record, columns, 0)}\n${wrapped(trust + star, columns, 0)}`;
}

function statisticText({ rows }: StabilityReport, name: StatisticName, ink: Ink): string {
  const { title, unit } = STATISTICS[name];
  const hasInterval = rows.some(({ cells }) => "interval" in cells[name] && cells[name].interval !== null);
  const head = `${title} (${SHORT[name]}), ${unit === "seconds" ? "seconds" : "fractional frequency"}`;
  const columns = hasInterval
    ? ["tau s", "value", "from", "to", "noise"]
    : ["tau s", unit === "seconds" ? "seconds" : "value", "terms"];
  const lines = rows.map((row) => rowCells(row, name, hasInterval));
  const widths = columns.map((heading, at) =>
    Math.max(heading.length, ...lines.map((cells) => (cells.length === columns.length ? (cells[at] ?? "").length : 0))),
  );
  const line = (cells: readonly string[]) =>
    `  ${cells.map((cell, at) => (at === cells.length - 1 ? cell : cell.padEnd(widths[at] ?? 0))).join("  ")}`.trimEnd();
  return [ink("bold", head), ink("dim", line(columns)), ...shortened(lines).map(line)].join("\n");
}

/** One remark for the row where the record becomes too short; those after it say the same. */
function shortened(lines: readonly (readonly string[])[]): (readonly string[])[] {
  return lines.filter((cells, at) => cells.length > 2 || (lines[at - 1]?.length ?? 3) > 2);
}

/** Two cells where there is no value: the time, and why. */
function rowCells({ tauSeconds, cells, noise }: TableRow, name: StatisticName, hasInterval: boolean): string[] {
  const tau = figures(tauSeconds, 9);
  const cell = cells[name];
  if ("issue" in cell) return [tau, `no value: expected ${cell.issue.expected}, received ${cell.issue.received}`];
  if (!hasInterval) return [tau, scientific(cell.value), grouped(cell.terms)];
  const family = name === "hdev" || name === "ohdev" ? "hadamard" : "allan";
  const type = noise[family];
  const words = type === null ? "not known" : `${NOISE_WORDS[type]}${noise.isTakenOver ? " *" : ""}`;
  const { interval } = cell;
  return [
    tau,
    scientific(cell.value),
    interval === null ? "-" : scientific(interval.low),
    interval === null ? "-" : scientific(interval.high),
    words,
  ];
}

function masksText({ masks }: StabilityReport, ink: Ink, columns: number | null): string {
  const width = Math.max(...masks.map(({ outcome }) => outcome.length));
  const lines = masks.map((mask) => {
    const head = mask.outcome.padEnd(width);
    const text = `  ${head}  ${mask.title} (${mask.id}, ${mask.source}). ${verdictText(mask)}`;
    const broken = wrapped(text, columns, width + 4);
    return `  ${ink(OUTCOME_STYLE[mask.outcome], head)}${broken.slice(2 + head.length)}`;
  });
  const note =
    "Compared only at the times listed above, for this record alone. The standards were not read: where their numbers come from is in --json.";
  return [ink("bold", "Masks"), ...lines, ink("dim", wrapped(note, columns, 0))].join("\n");
}

function verdictText(mask: StabilityReport["masks"][number]): string {
  if (mask.reason !== null) return `${capital(mask.reason)}.`;
  const { judged, firstExceeded, nearest } = mask;
  if (judged === null || nearest === null) return "";
  const isPhase = mask.statistic === "phase";
  const at = ({ atSeconds, valueSeconds, limitSeconds }: MaskPoint) =>
    `${isPhase ? "after" : "at"} ${figures(atSeconds, 9)} s (${timeText(valueSeconds)}, limit ${timeText(limitSeconds)})`;
  const where = `${counted(judged.count, isPhase ? "point" : "interval", isPhase ? "points" : "intervals")} from ${figures(judged.fromSeconds, 9)} to ${figures(judged.toSeconds, 9)} s`;
  if (firstExceeded === null)
    return `Nearest ${at(nearest)}: ${mask.margin === null ? "no phase at all" : `${figures(mask.margin, 3)} times below`}. Compared at ${where}.`;
  const most = nearest.atSeconds === firstExceeded.atSeconds ? "" : `, by most ${at(nearest)}`;
  return `First ${at(firstExceeded)}${most}. Compared at ${where}.`;
}

/** Four digits beyond the first, as published tables have them. */
function scientific(value: number): string {
  return value.toExponential(4);
}

/** No more figures than there are. */
function figures(value: number, most = 4): string {
  return String(Number(value.toPrecision(most)));
}

const TIME_UNITS: readonly (readonly [number, string])[] = [
  [1, "s"],
  [1e-3, "ms"],
  [1e-6, "µs"],
  [1e-9, "ns"],
];

function timeText(seconds: number): string {
  if (seconds === 0) return "0 ns";
  const [size, unit] = TIME_UNITS.find(([least]) => seconds >= least) ?? [1e-12, "ps"];
  return `${Number((seconds / size).toPrecision(3))} ${unit}`;
}
