/**
 * A record of phase or frequency from a CSV file: one column of values, perhaps one of times.
 *
 * The header names columns in plain words with their unit: `phase_s`, `phase_ms`, `phase_us`, `phase_ns`, `phase_ps`;
 * `frequency` (fractional, dimensionless), `frequency_ppm`, `frequency_ppb`; `time_s` (or `time`, `seconds`). A word in
 * front is allowed, and names the column as well as the whole does: `foh_phase_ns` is "foh". Commas, semicolons or tabs; a byte order mark; blank lines and lines that begin
 * with # are passed over. An empty cell and NaN are gaps, and so is a row that is missing by its time.
 */
import { dsvFormat } from "d3";
import { type Issue, quote } from "../shared/issues.ts";
import { nearest } from "../shared/nearest.ts";
import type { Samples } from "../sim/stability/index.ts";

export interface CsvRequest {
  /** As typed, for messages. */
  readonly file: string;
  /** Which column; null where the file has only one that could be meant. */
  readonly column: string | null;
  /** Spacing of the rows; null where a column of times says it. */
  readonly tau0Seconds: number | null;
}

export interface CsvRead {
  /** Null when anything is wrong with the input. */
  readonly samples: Samples | null;
  /** The column's name as it stands in the file. */
  readonly column: string;
  readonly issues: readonly Issue[];
}

/** Per unit: what a value is divided by, since 1e9 is exact and 1e-9 is not. */
const UNITS: Readonly<Record<string, { readonly kind: "phase" | "frequency"; readonly divisor: number }>> = {
  phase_s: { kind: "phase", divisor: 1 },
  phase_ms: { kind: "phase", divisor: 1e3 },
  phase_us: { kind: "phase", divisor: 1e6 },
  phase_ns: { kind: "phase", divisor: 1e9 },
  phase_ps: { kind: "phase", divisor: 1e12 },
  frequency: { kind: "frequency", divisor: 1 },
  frequency_ppm: { kind: "frequency", divisor: 1e6 },
  frequency_ppb: { kind: "frequency", divisor: 1e9 },
};
const TIMES = ["time_s", "time", "seconds"];
const VALUE_COLUMNS = "phase_s, phase_ns, frequency, frequency_ppm or frequency_ppb";

/** Rows and gaps together: some 80 MB for one array of them. */
export const POINTS_MAX = 10_000_000;
/** How far a time may lie from the even spacing, in spacings: time stamps jitter, but a twentieth is no jitter any more. */
const TIME_TOLERANCE = 0.05;
/** How far a stated spacing may be from that of the times. */
const SPACING_TOLERANCE = 0.01;

const NUMBER = /^[+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?$/;

interface Row {
  /** From 1, as editors count. */
  readonly line: number;
  readonly text: string;
}

/** Reads a record; all that is wrong with it comes back as issues, each with line and column. */
export function readSamplesCsv(text: string, request: CsvRequest): CsvRead {
  const rows = text
    .replace(/^\ufeff/, "")
    .split(/\r\n|\n|\r/)
    .map((content, index): Row => ({ line: index + 1, text: content }))
    .filter(({ text: content }) => content.trim() !== "" && !content.trimStart().startsWith("#"));
  const [header, ...body] = rows;
  const refused = (issue: Omit<Issue, "file" | "path">): CsvRead => {
    return { samples: null, column: "", issues: [{ file: request.file, path: [], ...issue }] };
  };
  if (header === undefined)
    return refused({
      ...{ line: 1, column: 1, expected: "a line of column names, then one row per value", received: "no rows" },
      remedy: `name the column of values ${VALUE_COLUMNS}`,
    });
  const delimiter = [";", ",", "\t"].find((candidate) => header.text.includes(candidate)) ?? ",";
  const cellsOf = ({ text: content }: Row) => dsvFormat(delimiter).parseRows(content)[0] ?? [];
  const names = cellsOf(header).map((name) => name.trim());
  const chosen = chooseColumn(names, request.column);
  if ("expected" in chosen) {
    const column = chosen.index === null ? 1 : columnOf(header.text, delimiter, chosen.index);
    const { expected, received, remedy } = chosen;
    return refused({ line: header.line, column, expected, received, remedy });
  }
  const { index: valueIndex, unit } = chosen;
  const name = names[valueIndex] as string;
  const timeIndex = names.findIndex((candidate) => TIMES.includes(candidate.toLowerCase()));

  const issues: Issue[] = [];
  const refuse = (row: Row, index: number, expected: string, received: string, remedy: string) => {
    const path = [names[index] ?? ""];
    const column = columnOf(row.text, delimiter, index);
    issues.push({ file: request.file, line: row.line, column, path, expected, received, remedy });
  };
  if (timeIndex < 0 && request.tau0Seconds === null)
    issues.push({
      ...{ file: request.file, line: header.line, column: 1, path: [] },
      expected: `a column ${TIMES[0]}, or the spacing of the rows`,
      received: "neither",
      remedy: "give the spacing in seconds with --tau0",
    });
  if (body.length === 0)
    issues.push({
      ...{ file: request.file, line: header.line, column: 1, path: [] },
      ...{ expected: "at least one row of values", received: "only the column names", remedy: "add the values" },
    });

  const values = new Float64Array(body.length);
  const times = new Float64Array(body.length);
  body.forEach((row, at) => {
    const cells = cellsOf(row);
    const value = numberFrom(cells[valueIndex], { mayBeMissing: true });
    if (typeof value === "number") values[at] = value / unit.divisor;
    else refuse(row, valueIndex, "a number, or nothing for a gap", quote(cells[valueIndex]), value.remedy);
    if (timeIndex < 0) return;
    const time = numberFrom(cells[timeIndex], { mayBeMissing: false });
    if (typeof time === "number") times[at] = time;
    else refuse(row, timeIndex, "a time in seconds", quote(cells[timeIndex]), time.remedy);
  });
  if (issues.length > 0) return { samples: null, column: name, issues };
  const record = (spread: Float64Array, tau0Seconds: number): Samples =>
    unit.kind === "phase" ? { phaseSeconds: spread, tau0Seconds } : { fractionalFrequency: spread, tau0Seconds };
  if (timeIndex < 0) return { samples: record(values, request.tau0Seconds as number), column: name, issues };

  const placed = placesOf(times, request.tau0Seconds);
  for (const { at, expected, received, remedy } of placed.problems)
    refuse(body[at] as Row, timeIndex, expected, received, remedy);
  if (issues.length > 0) return { samples: null, column: name, issues };
  const spread = new Float64Array(placed.points).fill(Number.NaN);
  values.forEach((value, at) => {
    spread[placed.places[at] as number] = value;
  });
  return { samples: record(spread, placed.tau0Seconds), column: name, issues };
}

type Chosen =
  | { readonly index: number; readonly unit: (typeof UNITS)[string] }
  | { readonly index: number | null; readonly expected: string; readonly received: string; readonly remedy: string };

function chooseColumn(names: readonly string[], wanted: string | null): Chosen {
  const found = names.flatMap((name, index) => {
    const unit = unitOf(name);
    return unit === null ? [] : [{ index, unit, name }];
  });
  const listed = found.map(({ name }) => name).join(", ");
  if (wanted !== null) {
    const isMeant = (name: string) => name.toLowerCase() === wanted.toLowerCase();
    const stems = found.map(({ name, unit }) => stemOf(name, unit));
    const one =
      found.find(({ name }) => name === wanted) ??
      found.find(({ name }) => isMeant(name)) ??
      found[stems.indexOf(wanted)] ??
      found[stems.findIndex(isMeant)];
    if (one !== undefined) return one;
    const meant = nearest(wanted, [...names, ...stems.filter((stem) => stem !== "")]);
    return {
      index: null,
      expected: `a column "${wanted}" of ${VALUE_COLUMNS}`,
      received: names.map(quote).join(", "),
      remedy:
        meant === null ? `choose one of the file's: ${listed || "none has a unit"}` : `did you mean ${quote(meant)}`,
    };
  }
  const [only, second] = found;
  if (only === undefined)
    return {
      index: null,
      expected: `a column named ${VALUE_COLUMNS}`,
      received: names.map(quote).join(", "),
      remedy: names.some((name) => NUMBER.test(name))
        ? "write the column names into the first line"
        : "put what it is and its unit into the name of the column",
    };
  if (second !== undefined)
    return {
      index: second.index,
      expected: "one column of phase or frequency",
      received: listed,
      remedy: `choose one with --column ${only.name}`,
    };
  return only;
}

/** By the end of the name: "phase_ns" and "foh phase_ns" are both nanoseconds. */
function unitOf(name: string): (typeof UNITS)[string] | null {
  const words = name.toLowerCase();
  const found = Object.keys(UNITS)
    .filter((unit) => words === unit || /[\s_.:-]$/.test(words.slice(0, -unit.length)))
    .find((unit) => words.endsWith(unit));
  return found === undefined ? null : (UNITS[found] ?? null);
}

/** What stands before the unit: "foh" of "foh_phase_ns". */
function stemOf(name: string, unit: (typeof UNITS)[string]): string {
  const words = Object.keys(UNITS).find((key) => UNITS[key] === unit) ?? "";
  return name.slice(0, -words.length).replace(/[\s_.:-]$/, "");
}

function numberFrom(
  cell: string | undefined,
  { mayBeMissing }: { readonly mayBeMissing: boolean },
): number | { readonly remedy: string } {
  const text = cell?.trim();
  if (text === undefined) return { remedy: "give every row as many cells as there are columns" };
  if (NUMBER.test(text) && Number.isFinite(Number(text))) return Number(text);
  const isMissing = text === "" || text.toLowerCase() === "nan";
  if (isMissing) return mayBeMissing ? Number.NaN : { remedy: "give every row its time, or leave the row out" };
  if (/^[+-]?\d+,\d+(?:[eE][+-]?\d+)?$/.test(text)) return { remedy: "write a decimal point, not a comma" };
  return { remedy: "write a plain number like 1.5e-9, or leave the cell empty" };
}

interface Placed {
  readonly tau0Seconds: number;
  /** Index on the even spacing, by row. */
  readonly places: Float64Array;
  readonly points: number;
  readonly problems: {
    readonly at: number;
    readonly expected: string;
    readonly received: string;
    readonly remedy: string;
  }[];
}

/** Puts times on an even spacing: the one that was stated, else the median step, made finer over the whole length. */
function placesOf(times: Float64Array, stated: number | null): Placed {
  const problems: Placed["problems"] = [];
  const places = new Float64Array(times.length);
  const steps = times.slice(1).map((time, at) => time - (times[at] as number));
  const median = steps.slice().sort()[Math.floor(steps.length / 2)] ?? Number.NaN;
  const step = stated ?? median;
  if (times.length === 1 && stated === null)
    problems.push({
      ...{ at: 0, expected: "two rows or more, to tell the spacing", received: "one row" },
      remedy: "give the spacing in seconds with --tau0",
    });
  if (stated !== null && steps.length > 0 && median > 0) {
    const ratio = median / stated;
    if (!(Math.abs(ratio - Math.max(1, Math.round(ratio))) <= SPACING_TOLERANCE * ratio))
      return {
        ...{ tau0Seconds: stated, places, points: 0 },
        problems: [
          {
            ...{ at: 0, expected: `times ${stated} s apart, as --tau0 says`, received: `${median} s apart` },
            remedy: "leave --tau0 out, or correct it",
          },
        ],
      };
  }
  steps.forEach((difference, at) => {
    const count = Math.round(difference / step);
    if (!(difference > 0))
      problems.push({
        ...{ at: at + 1, expected: `a time after ${times[at]} s`, received: `${times[at + 1]} s` },
        remedy: "put the rows in order of time, each time once",
      });
    else if (step > 0 && !(count >= 1 && Math.abs(difference / step - count) <= TIME_TOLERANCE))
      problems.push({
        ...{ at: at + 1, expected: `a whole number of steps of ${step} s after ${times[at]} s` },
        ...{ received: `${times[at + 1]} s`, remedy: "give evenly spaced rows; leave missing ones out" },
      });
    places[at + 1] = (places[at] as number) + count;
  });
  const last = places[places.length - 1] ?? 0;
  if (problems.length === 0 && last >= POINTS_MAX)
    problems.push({
      ...{ at: times.length - 1, expected: `at most ${POINTS_MAX} steps of ${step} s`, received: `${last} steps` },
      remedy: "give a shorter record, or a coarser one",
    });
  const mean = ((times[times.length - 1] as number) - (times[0] as number)) / last;
  // Nine digits: the sums of decimal fractions are not exact, and no clock here is known to a billionth of its spacing.
  const tau0Seconds = stated ?? Number(mean.toPrecision(9));
  return { tau0Seconds, places, points: last + 1, problems };
}

/** Where a cell begins in its line, from 1; the line's end where the row has no such cell. */
function columnOf(text: string, delimiter: string, index: number): number {
  let isQuoted = false;
  let left = index;
  for (let at = 0; at < text.length && left > 0; at++) {
    if (text[at] === '"') isQuoted = !isQuoted;
    else if (text[at] === delimiter && !isQuoted && --left === 0) return at + 2;
  }
  return left === 0 ? 1 : text.length + 1;
}
