/** `pulltest stability`: the stability of one measured clock, and whether it stays below the masks. */
import { resolve } from "node:path";
import type { Issue } from "../../shared/issues.ts";
import { nearest } from "../../shared/nearest.ts";
import {
  aes11Masks,
  judgePhase,
  judgeStatistic,
  MASKS,
  type Mask,
  type MaskVerdict,
  marginOf,
  NOISE_TYPES,
  type NoiseType,
  octaveTaus,
  prepare,
  STATISTICS,
  type StatisticName,
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

export interface StabilityRequest {
  readonly file: string;
  readonly column: string | null;
  /** Texts as typed; null where the option was left out. */
  readonly tau0: string | null;
  readonly rateHz: string | null;
  readonly taus: string | null;
  readonly noise: string | null;
  readonly confidence: string | null;
  readonly statistics: string | null;
  /** Masks that have to hold; none: all are compared, and none decides the status. */
  readonly masks: readonly string[];
  readonly json: boolean;
}

/** What `stability --json` prints. Deviations are dimensionless, times in seconds. */
export interface StabilityReport {
  readonly schemaVersion: 1;
  readonly file: string;
  readonly column: string;
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
  const found = await (file === "-"
    ? readStream(io.input, CSV_BYTES_MAX)
    : readBounded(resolve(io.workingFolder, file), CSV_BYTES_MAX));
  const whole = { file, line: 1, column: 1, path: [] };
  const issues: Issue[] = [...optionIssues];
  let read: ReturnType<typeof readSamplesCsv> | null = null;
  if ("problem" in found)
    issues.push({
      ...whole,
      line: 0,
      expected: "a CSV file",
      received: receivedInstead(found.problem),
      remedy: "give a file that can be read",
    });
  else {
    const text = new TextDecoder().decode(found.bytes);
    read = readSamplesCsv(text, { file, column: request.column, tau0Seconds: options.tau0Seconds });
    issues.push(...read.issues);
  }
  const prepared = read?.samples ? prepare(read.samples) : null;
  if (prepared?.issue)
    issues.push({
      ...whole,
      expected: prepared.issue.expected,
      received: prepared.issue.received,
      remedy: prepared.issue.remedy,
    });
  if (issues.length > 0 || prepared === null || read === null) {
    io.err(issuesText(issues, "nothing was computed"));
    return BAD_INPUT;
  }

  const { confidence, noise, statistics } = options;
  const rows = stabilityTable(prepared, {
    tausSeconds: options.tausSeconds ?? octaveTaus(prepared),
    noise,
    confidence,
  });
  const verdicts = options.masks.map((mask) =>
    mask.statistic === "phase" ? judgePhase(mask, prepared) : judgeStatistic(mask, valuesOf(rows, mask.statistic)),
  );
  const { kind, tau0Seconds, points, missing } = prepared;
  const report: StabilityReport = {
    schemaVersion: 1,
    ...{ file, column: read.column, kind, tau0Seconds, points, missing, confidence, rows },
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

function valuesOf(rows: readonly TableRow[], name: "mtie" | "tdev") {
  return rows.flatMap(({ tauSeconds, cells }) => {
    const cell = cells[name];
    return "issue" in cell ? [] : [{ tauSeconds, value: cell.value }];
  });
}

interface Options {
  readonly tau0Seconds: number | null;
  readonly tausSeconds: readonly number[] | null;
  readonly noise: NoiseType | "identified";
  readonly confidence: number;
  readonly statistics: readonly StatisticName[];
  readonly masks: readonly Mask[];
}

function readOptions(request: StabilityRequest): { readonly options: Options; readonly issues: readonly Issue[] } {
  const issues: Issue[] = [];
  const refuse = (option: string, expected: string, received: string, remedy: string) => {
    issues.push({ file: option, line: 1, column: 1, path: [], expected, received: JSON.stringify(received), remedy });
  };
  const positive = (option: string, text: string | null, example: string): number | null => {
    if (text === null) return null;
    const value = text.trim() === "" ? Number.NaN : Number(text);
    if (value > 0 && Number.isFinite(value)) return value;
    refuse(option, "a number above 0", text, `write it like ${option} ${example}`);
    return null;
  };
  const known = <Name extends string>(option: string, text: string, names: readonly Name[]): Name | null => {
    const found = names.find((name) => name.toLowerCase() === text.trim().toLowerCase());
    if (found !== undefined) return found;
    const meant = nearest(text, names);
    refuse(option, `one of ${names.join(", ")}`, text, meant === null ? "choose one of them" : `did you mean ${meant}`);
    return null;
  };
  const parts = (text: string) => text.split(",").map((part) => part.trim());

  const tau0Seconds = positive("--tau0", request.tau0, "1");
  const rateHz = positive("--rate-hz", request.rateHz, "48000");
  const tausSeconds =
    request.taus === null
      ? null
      : parts(request.taus).map((part) => positive("--taus", part, "1,10,100") ?? Number.NaN);
  const noiseNames = ["identified", ...Object.keys(NOISE_TYPES)] as (NoiseType | "identified")[];
  const noise = request.noise === null ? "identified" : known("--noise", request.noise, noiseNames);
  let confidence = 0.95;
  if (request.confidence !== null) {
    confidence = Number(request.confidence);
    if (!(confidence > 0 && confidence < 1))
      refuse(
        "--confidence",
        "a probability above 0 and below 1",
        request.confidence,
        "write it like --confidence 0.95",
      );
  }
  const names = Object.keys(STATISTICS) as StatisticName[];
  const statistics =
    request.statistics === null
      ? names
      : parts(request.statistics).flatMap((part) => known("--statistics", part, names) ?? []);
  const aes11 = aes11Masks(rateHz ?? 48_000);
  const isAes11 = (id: string) => aes11.some((mask) => mask.id === id);
  const all = [...MASKS, ...aes11];
  const chosen = request.masks.flatMap((text) => {
    const id = known(
      "--mask",
      text,
      all.map((mask) => mask.id),
    );
    if (id !== null && isAes11(id) && request.rateHz === null)
      refuse("--mask", "a sample rate beside a mask of AES11", text, "add --rate-hz 48000");
    return id ?? [];
  });
  const isWanted = ({ id }: Mask) =>
    request.masks.length === 0 ? request.rateHz !== null || !isAes11(id) : chosen.includes(id);
  return {
    options: {
      ...{ tau0Seconds, tausSeconds, confidence, statistics },
      noise: noise ?? "identified",
      masks: all.filter(isWanted),
    },
    issues,
  };
}
