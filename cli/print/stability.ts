/** The stability of a record as text: one table per statistic, then the masks. */

import {
  type MaskPoint,
  type NoiseType,
  STATISTICS,
  type StatisticName,
  type TableRow,
} from "../../sim/stability/index.ts";
import { capital, counted, grouped, rateWords, showTime, times } from "../../sim/tell/words.ts";
import type { StabilityReport } from "../verbs/stability.ts";
import type { RunFacts } from "../verbs/stability-run.ts";
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
  const { kind, points, missing, tau0Seconds, confidence, rows, run } = report;
  const length = (points - 1) * tau0Seconds;
  const gaps = missing === 0 ? "no gaps" : counted(missing, "value missing", "values missing");
  const record =
    `${whoseText(report)}: ${grouped(points)} points of phase` +
    `${kind === "frequency" ? " summed from frequency" : ""}, ${figures(tau0Seconds, 9)} s apart, ` +
    `${figures(length, 9)} s long, ${gaps}.`;
  const trust = `Intervals hold the true value with a probability of ${figures(100 * confidence)} %, if the noise is of the type named.`;
  const star = rows.some(({ noise }) => noise.isTakenOver)
    ? " A star marks a type taken over from a shorter tau, because too few points are left to tell."
    : "";
  return [record, ...(run === null ? [] : runLines(run, report)), trust + star]
    .map((line) => wrapped(line, columns, 0))
    .join("\n");
}

function whoseText({ file, column, run }: StabilityReport): string {
  const from = oneLine(file === "-" ? "(standard input)" : file);
  if (run === null) return `${from}, column ${oneLine(column ?? "")}`;
  const named = (id: string, name: string | null) => {
    return name === null || name === id ? oneLine(id) : `${oneLine(id)} (${oneLine(name)})`;
  };
  const against = run.against === null ? "true time" : named(run.against, run.againstName);
  return `${from}, ${named(run.device, run.deviceName)} against ${against}, rehearsed with seed ${oneLine(run.seed)}`;
}

/** What a rehearsed clock's table stands on, and what it is not. */
function runLines(run: RunFacts, { missing, tau0Seconds }: StabilityReport): string[] {
  const who = run.against === null ? "it was" : "both were";
  const span = `From ${showTime(run.fromSeconds)} to ${showTime(run.toSeconds)}`;
  const lines = [
    {
      asked: `${span}, as asked.`,
      "in-lock": `${span}: the longest unbroken stretch in which ${who} locked or leading; --from and --to choose another.`,
      running: `${span}: ${run.against === null ? "it was never locked or leading" : "they were never locked or leading together"}, so this is the longest unbroken stretch with a clock.`,
    }[run.stretch],
  ];
  if (run.meanFrequency !== null) lines.push(`On average ${rateWords(run.meanFrequency)}.`);
  if (run.against !== null)
    lines.push(
      "The phase holds the delay of the cables; for the limits of AES11 it is taken without whole sample periods.",
    );
  if (run.jumps > 0)
    lines.push(
      `A source was jumped to ${times(run.jumps)} in this stretch (re-aligned): the jump is in every figure below.`,
    );
  if (missing > 0)
    lines.push("Off or starting, a device puts out no clock; after a power cut its phase begins anew, a jump as well.");
  if (!run.oscillatorsWander)
    lines.push(
      "The oscillators of this run are steady: wander is off, so the figures hold frequency, drift and settling only, " +
        'no noise. In the file, "run": { "wander": true } turns it on.',
    );
  else if (!isMultiple(tau0Seconds, run.wanderGridSeconds))
    lines.push(
      `Wander is known every ${figures(run.wanderGridSeconds, 9)} s and runs straight between: with another step than ` +
        "a multiple of that, the shortest times show less of it than there is.",
    );
  if (run.isStraight)
    lines.push(
      `The phase is a straight line within the rounding of its arithmetic, ${figures(run.roundingSeconds, 2)} s: deviations down there are rounding, not noise.`,
    );
  return lines;
}

function isMultiple(stepSeconds: number, gridSeconds: number): boolean {
  const ratio = stepSeconds / gridSeconds;
  return ratio > 0.5 && Math.abs(ratio - Math.round(ratio)) < 1e-9 * ratio;
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
  [1e-12, "ps"],
];

function timeText(seconds: number): string {
  if (seconds === 0) return "0 ns";
  const [size, unit] = TIME_UNITS.find(([least]) => seconds >= least) ?? [1e-15, "fs"];
  return `${Number((seconds / size).toPrecision(3))} ${unit}`;
}
