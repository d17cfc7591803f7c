/** `pulltest tested`: what was found on site, walked through or in tables, held against a plan and taken into its files. */
import { join, resolve } from "node:path";
import type { Issue } from "../../shared/issues.ts";
import { EditError } from "../../shared/json-text.ts";
import type { Plan } from "../../shared/plan.ts";
import { type PullResultsRead, readPullResults } from "../../shared/scenario-pull-results.ts";
import type { Change } from "../../sim/changes.ts";
import type { Measurement } from "../../sim/library/grow.ts";
import { measurementsFrom } from "../../sim/library/measurements.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { stampOf } from "../../sim/stamp.ts";
import type { ReadAs } from "../../sim/tables/entry.ts";
import { listed } from "../../sim/tell/words.ts";
import { type Fit, fitsFrom } from "../../sim/walk/fits.ts";
import { resultWords } from "../../sim/walk/judged.ts";
import { takenInto, type Weighed, weighed } from "../../sim/walk/take.ts";
import { weighedWords } from "../../sim/walk/words.ts";
import { outputObstacle, readBounded, readStream, writeTogether } from "../files.ts";
import { unreadable } from "../libraries.ts";
import { issuesText } from "../print/issues.ts";
import { jsonText, oneLine } from "../print/plain.ts";
import { readAsLines } from "../print/read-as.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, MET, NOT_MET } from "../status.ts";
import { sheetFromCsv } from "../tables-csv.ts";
import type { Io } from "../terminal.ts";

/** What `tested --json` prints. */
export interface TestedReport {
  readonly schemaVersion: 1;
  /** Stamps. */
  readonly plan: string;
  /** Null: no result of a walk was given. */
  readonly walkedWith: string | null;
  /** What differs between the two. */
  readonly changes: readonly Change[];
  readonly contradictions: readonly { readonly id: string; readonly words: string }[];
  readonly tested: Weighed["tested"];
  /** Cables that did otherwise. */
  readonly refuted: readonly string[];
  readonly changedSince: readonly string[];
  readonly measured: readonly Fit[];
  /** Pulls that were skipped, or not come to. */
  readonly open: readonly string[];
}

export interface TestedRequest {
  readonly file: string;
  readonly walk: string | null;
  /** Tables of what else was measured. */
  readonly from: readonly string[];
  readonly out: string | null;
  readonly force: boolean;
  readonly json: boolean;
}

export async function testedOnSite(request: TestedRequest, io: Io): Promise<number> {
  const { file, walk, from, out, force, json } = request;
  const refused = (problem: string) => {
    io.err(`pulltest tested: ${oneLine(problem)}; nothing was written\n`);
    return BAD_INPUT;
  };
  if (walk === null && from.length === 0) return refused("name what was found, with --walk, --from or both");
  if ([file, walk, ...from].filter((name) => name === "-").length > 1)
    return refused("only one of the files can come from standard input");
  const { plan, texts, inputs, issues } = await readScenarioFile(file, io, { events: [], options: [], seed: null });
  const read = walk === null ? { results: null, issues: [] } : await readResults(walk, io);
  const tables = await readTables(from, plan, io);
  const all = [...issues, ...read.issues, ...tables.issues];
  if (plan === null || all.length > 0) {
    io.err(issuesText(all, "nothing was written"));
    return BAD_INPUT;
  }
  const { results } = read;
  try {
    const walked = results === null ? NOTHING : weighed(plan, results);
    const found = { ...walked, fits: [...walked.fits, ...fitsFrom(plan, tables.measurements)] };
    if (out !== null) {
      const problem = await write(takenInto(texts, found), texts, { inputs, out, force }, io);
      if (problem !== null) return refused(problem);
    }
    const lines = linesOf(weighedWords(plan, results, found));
    const walkedWith = results?.plan ?? null;
    io.out(json ? `${jsonText(reportOf(found, stampOf(plan), walkedWith))}\n` : `${lines.map(oneLine).join("\n")}\n`);
    for (const line of readAsLines(tables.readAs)) io.err(`${oneLine(line)}\n`);
    return found.contradictions.length === 0 ? MET : NOT_MET;
  } catch (error) {
    if (error instanceof EditError) return refused(error.message.replace(/\.$/, ""));
    throw error;
  }
}

/** Null when written, or when nothing is new; else what is in the way. All are looked at before the first is written. */
async function write(
  taken: ScenarioTexts,
  { texts }: ScenarioTexts,
  { inputs, out, force }: { readonly inputs: readonly string[]; readonly out: string; readonly force: boolean },
  io: Io,
): Promise<string | null> {
  const changed = Object.entries(taken.texts).filter(([name, text]) => text !== texts[name]);
  const outputs = changed.map(([name]) => ({ name: join(out, name), kind: "scenario" }) as const);
  // With --force the very files that were read may be replaced: that is what it is for.
  const obstacle = force ? null : await outputObstacle(io.workingFolder, outputs, { inputs, force });
  if (obstacle !== null) return obstacle;
  const files = changed.map(([name, text]) => ({ name, text }));
  const problem = await writeTogether(resolve(io.workingFolder, out), files);
  if (problem !== null) return problem;
  const names = listed(changed.map(([name]) => join(out, name)));
  io.err(changed.length === 0 ? "Nothing was written: nothing is new.\n" : `Wrote ${oneLine(names)}.\n`);
  return null;
}

async function readResults(walk: string, io: Io): Promise<PullResultsRead> {
  const { name, read } = await readAny(walk, io);
  if ("problem" in read)
    return { results: null, issues: [unreadable(name, "a result of a pull test that can be read", read.problem)] };
  return readPullResults(name, read.bytes);
}

/** Of each device as if it were a type of its own, since a table of a pull test is about this rig. */
async function readTables(from: readonly string[], plan: Plan | null, io: Io) {
  const devices = plan?.devices.map(({ id, name }) => ({ id, name, like: id })) ?? [];
  const types = Object.fromEntries(devices.map(({ id }) => [id, {}]));
  const issues: Issue[] = [];
  const measurements: Measurement[] = [];
  const readAs: ReadAs[] = [];
  for (const table of new Set(from)) {
    const { name, read } = await readAny(table, io);
    if ("problem" in read) {
      issues.push(unreadable(name, "a CSV file that can be read", read.problem));
      continue;
    }
    const { sheet, issues: broken } = sheetFromCsv(name, read.bytes);
    issues.push(...broken);
    if (sheet === null || plan === null) continue;
    const found = measurementsFrom(sheet, { types }, devices);
    issues.push(...found.issues);
    readAs.push(...found.readAs);
    measurements.push(...found.measurements);
  }
  return { issues, measurements, readAs };
}

async function readAny(file: string, io: Io) {
  const isInput = file === "-";
  const read = await (isInput ? readStream(io.input) : readBounded(resolve(io.workingFolder, file)));
  return { name: isInput ? "(standard input)" : file, read };
}

const NOTHING: Weighed = {
  ...{ otherPlan: null, tested: [], refuted: [], changedSince: [], fits: [], contradictions: [], open: [] },
};

function reportOf(found: Weighed, plan: string, walkedWith: string | null): TestedReport {
  const { otherPlan, contradictions, tested, refuted, changedSince, fits, open } = found;
  return {
    schemaVersion: 1,
    plan,
    walkedWith,
    changes: otherPlan?.changes ?? [],
    contradictions: contradictions.map((pull) => ({ id: pull.id, words: resultWords(pull) })),
    tested,
    refuted,
    changedSince,
    measured: fits,
    open: open.map(({ id }) => id),
  };
}

function linesOf({ plan, changes, contradictions, takes, untested }: ReturnType<typeof weighedWords>): string[] {
  const under = (head: string, lines: readonly string[]) =>
    lines.length === 0 ? [] : [[head, ...lines.map((line) => `  ${line}`)]];
  const blocks = [
    ...(plan === "" ? [] : [[plan, ...changes.map((line) => `  ${line}`)]]),
    ...under("The site contradicts the rehearsal:", contradictions),
    ...under("For the plan:", takes),
    ...under("Stays untested:", untested),
  ];
  return blocks.flatMap((block, place) => (place === 0 ? block : ["", ...block]));
}
