/** `pulltest stability`: the stability of one clock, measured or rehearsed, and whether it stays below the masks. */
import { resolve } from "node:path";
import type { Issue } from "../../shared/issues.ts";
import { lessWholePeriods } from "../../sim/phase-series.ts";
import {
  judgePhase,
  judgeStatistic,
  type Mask,
  type MaskVerdict,
  marginOf,
  octaveTaus,
  prepare,
  type Samples,
  stabilityTable,
  type TableRow,
} from "../../sim/stability/index.ts";
import { readBounded, readStream, receivedInstead } from "../files.ts";
import { issuesText } from "../print/issues.ts";
import { jsonText } from "../print/plain.ts";
import { stabilityText } from "../print/stability.ts";
import { readSamplesCsv } from "../samples-csv.ts";
import { BAD_INPUT, MET, NOT_MET } from "../status.ts";
import type { Io } from "../terminal.ts";
import { masksFor, readOptions, type StabilityOptions, type StabilityRequest } from "./stability-options.ts";
import { type RunFacts, readRunSamples } from "./stability-run.ts";

/** What `stability --json` prints. Deviations are dimensionless, times in seconds. */
export interface StabilityReport {
  readonly schemaVersion: 1;
  readonly file: string;
  /** Of the CSV file; null for the clock of a run. */
  readonly column: string | null;
  /** Null for a CSV file. */
  readonly run: RunFacts | null;
  readonly kind: "phase" | "frequency";
  readonly tau0Seconds: number;
  /** Points of phase from the first to the last value, gaps included. */
  readonly points: number;
  /** Values that were not measured. */
  readonly missing: number;
  readonly confidence: number;
  readonly rows: readonly TableRow[];
  readonly masks: readonly (Omit<MaskVerdict, "mask"> & {
    readonly id: string;
    readonly statistic: Mask["statistic"];
    readonly title: string;
    readonly source: string;
    readonly status: string;
    /** Limit over value where that is least; null where nothing was judged, or the value is 0. */
    readonly margin: number | null;
  })[];
}

/** Some 10 million rows. */
const CSV_BYTES_MAX = 256_000_000;

export async function stabilityOfFile(request: StabilityRequest, io: Io): Promise<number> {
  const { options, issues: optionIssues } = readOptions(request);
  const { file } = request;
  const read =
    options.run === null
      ? await readCsv(file, request.column, options, io)
      : await readRun(file, options.run, io, { mayPlay: optionIssues.length === 0 });
  const issues = [...optionIssues, ...read.issues];
  if (issues.length > 0 || read.record === null) {
    io.err(issuesText(issues, "nothing was computed"));
    return BAD_INPUT;
  }
  const { prepared, inPeriod, column, run, rateHz } = read.record;
  const { confidence, noise, statistics } = options;
  const rows = stabilityTable(prepared, {
    tausSeconds: options.tausSeconds ?? octaveTaus(prepared),
    noise,
    confidence,
  });
  const verdicts = masksFor(options.masks, rateHz).map((mask): MaskVerdict => {
    if (mask.statistic !== "phase") return judgeStatistic(mask, valuesOf(rows, mask.statistic));
    return inPeriod === null ? withoutReference(mask) : judgePhase(mask, inPeriod);
  });
  const { kind, tau0Seconds, points, missing } = prepared;
  const report: StabilityReport = {
    schemaVersion: 1,
    ...{ file, column, run, kind, tau0Seconds, points, missing, confidence, rows },
    masks: verdicts.map((verdict) => {
      const { mask, ...rest } = verdict;
      const margin = marginOf(verdict);
      return {
        ...{ id: mask.id, statistic: mask.statistic, title: mask.title, source: mask.source, status: mask.status },
        ...rest,
        margin: margin === null || !Number.isFinite(margin) ? null : margin,
      };
    }),
  };
  if (request.json) io.out(`${jsonText(report)}\n`);
  else io.out(stabilityText(report, statistics, { ink: io.ink.out, columns: io.columns }));
  const isMissed = request.masks.length > 0 && verdicts.some(({ outcome }) => outcome !== "below");
  return isMissed ? NOT_MET : MET;
}

/** Every clock leaves a limit of phase against true time after a while; the limit is against what the device follows. */
function withoutReference(mask: Mask): MaskVerdict {
  const reason = "it limits the phase against a reference, and this is against true time; name one with --against";
  return { mask, outcome: "not judged", firstExceeded: null, nearest: null, judged: null, reason };
}

interface ClockRead {
  readonly issues: readonly Issue[];
  /** Null where there are issues. */
  readonly record: {
    readonly prepared: ReturnType<typeof prepare>;
    /** What limits of phase are compared with; null where it is against no reference. */
    readonly inPeriod: Samples | null;
    readonly column: string | null;
    readonly run: RunFacts | null;
    readonly rateHz: number | null;
  } | null;
}

async function readRun(
  file: string,
  asked: NonNullable<StabilityOptions["run"]>,
  io: Io,
  { mayPlay }: { readonly mayPlay: boolean },
): Promise<ClockRead> {
  const read = await readRunSamples(file, asked, io, { mayPlay });
  if ("issues" in read) return { issues: read.issues, record: null };
  const { series, run, sampleRateHz } = read;
  const inPeriod = run.against === null ? null : lessWholePeriods(series, 1 / sampleRateHz);
  return { issues: [], record: { prepared: prepare(series), inPeriod, column: null, run, rateHz: sampleRateHz } };
}

async function readCsv(
  file: string,
  column: string | null,
  { tau0Seconds, rateHz }: StabilityOptions,
  io: Io,
): Promise<ClockRead> {
  const found = await (file === "-"
    ? readStream(io.input, CSV_BYTES_MAX)
    : readBounded(resolve(io.workingFolder, file), CSV_BYTES_MAX));
  const refused = (line: number, expected: string, received: string, remedy: string): ClockRead => {
    return { issues: [{ file, line, column: 1, path: [], expected, received, remedy }], record: null };
  };
  if ("problem" in found)
    return refused(0, "a CSV file", receivedInstead(found.problem), "give a file that can be read");
  const text = new TextDecoder().decode(found.bytes);
  // A brace, or a comment as scenarios have them: no CSV begins like this.
  if (/^\ufeff?\s*(?:\{|\/[/*])/.test(text))
    return refused(1, "a CSV file", "what looks like a scenario", "name one of its devices with --device");
  const { samples, issues, column: name } = readSamplesCsv(text, { file, column, tau0Seconds });
  if (samples === null) return { issues, record: null };
  const prepared = prepare(samples);
  if (prepared.issue !== null) {
    const { expected, received, remedy } = prepared.issue;
    return refused(1, expected, received, remedy);
  }
  // Taken as it was measured: a record says what it is the phase of.
  return { issues, record: { prepared, inPeriod: samples, column: name, run: null, rateHz } };
}

function valuesOf(rows: readonly TableRow[], name: "mtie" | "tdev") {
  return rows.flatMap(({ tauSeconds, cells }) => {
    const cell = cells[name];
    return "issue" in cell ? [] : [{ tauSeconds, value: cell.value }];
  });
}
