/** `pulltest compare`: layouts against the same faults with the same chance, and what their order hangs on. */
import { type Issue, quote, withoutLine } from "../../shared/issues.ts";
import type { Plan } from "../../shared/plan.ts";
import { compareLayouts, type LayoutTried } from "../../sim/trials/compare.ts";
import { flipsOf } from "../../sim/trials/flips.ts";
import { layoutSweeps } from "../../sim/trials/setup.ts";
import { outputObstacle, writeNewFile } from "../files.ts";
import { comparisonCsv, comparisonJson, comparisonText } from "../print/comparison.ts";
import { issuesText } from "../print/issues.ts";
import { jsonText, oneLine } from "../print/plain.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, MET } from "../status.ts";
import type { Io } from "../terminal.ts";
import { playAll } from "../trials/all.ts";
import { clockOf, feedIssues, readWanted, type TypedWanted, timeIssues } from "../trials/options.ts";
import { progressOf } from "../trials/progress.ts";

export interface CompareRequest extends TypedWanted {
  readonly files: readonly string[];
  readonly seed: string | null;
  readonly csv: string | null;
  readonly force: boolean;
  readonly json: boolean;
  /** Leave out which assumed numbers would turn the order round. */
  readonly skipAssumed: boolean;
}

export async function compareFiles(request: CompareRequest, io: Io): Promise<number> {
  const { files, csv, force } = request;
  const refused = (problem: string): number => {
    io.err(`pulltest compare: ${oneLine(problem)}\n`);
    return BAD_INPUT;
  };
  const reads = [];
  for (const file of files)
    reads.push({ file, ...(await readScenarioFile(file, io, { events: [], options: [], seed: request.seed })) });
  const { wanted, threads, issues: typed, notes } = readWanted(request, clockOf(reads[0]?.plan ?? null));
  const issues = [
    ...typed,
    ...layoutIssues(files),
    ...reads.flatMap(({ file, plan, issues: found }) => [
      ...timeIssues(wanted.atNs, plan),
      ...feedIssues(file, plan),
      ...found,
    ]),
  ];
  const plans = reads.flatMap(({ plan }) => (plan === null ? [] : [plan]));
  const [firstPlan] = plans;
  if (issues.length > 0 || plans.length < reads.length || firstPlan === undefined) {
    io.err(issuesText(issues, "nothing was compared"));
    return BAD_INPUT;
  }
  for (const note of notes) io.err(`${oneLine(note)}\n`);
  const inputs = reads.flatMap((read) => read.inputs);
  const outputs = csv === null ? [] : [{ name: csv, kind: "table" as const }];
  const obstacle = await outputObstacle(io.workingFolder, outputs, { inputs, force });
  if (obstacle !== null) return refused(obstacle);

  const sweeps = layoutSweeps(plans, wanted, request.seed ?? firstPlan.seed);
  const tried: LayoutTried[] = [];
  for (const [place, sweep] of sweeps.entries()) {
    const results = await playAll(sweep, threads, io, `trials of layout ${place + 1}`);
    tried.push({ name: nameOf(files, plans, place), sweep, results });
  }
  const comparison = compareLayouts(tried);
  const turning = progressOf(io, "assumed numbers");
  const flips = request.skipAssumed ? null : flipsOf(tried, turning.at);
  turning.end();
  const print = {
    tried,
    comparison,
    flips,
    assumed: plans.map(({ assumed }) => assumed.length),
    repairsGiven: wanted.repairsGiven,
  };
  if (csv !== null) {
    const problem = await writeNewFile(io.workingFolder, csv, comparisonCsv(print), { overwrite: true });
    if (problem !== null) return refused(problem);
    io.err(`Wrote ${oneLine(csv)}: a row for each fault, listener and layout.\n`);
  }
  io.out(
    request.json
      ? `${jsonText(comparisonJson(print))}\n`
      : comparisonText(print, { ink: io.ink.out, columns: io.columns }),
  );
  return MET;
}

/** Titles, where they tell the layouts apart; else the files. */
function nameOf(files: readonly string[], plans: readonly Plan[], place: number): string {
  const titles = plans.map(({ title }) => title);
  return new Set(titles).size === titles.length ? (titles[place] as string) : (files[place] as string);
}

/** One layout alone, or one of them twice. */
function layoutIssues(files: readonly string[]): Issue[] {
  const [first = "", ...others] = files;
  const alone = {
    ...withoutLine(first),
    ...{ expected: "two layouts or more", received: "one", remedy: "name another one; faults tells what this one has" },
  };
  const twice = files
    .filter((file, place) => files.indexOf(file) < place)
    .map((file) => ({
      ...withoutLine(file),
      ...{ expected: "each layout once", received: quote(file), remedy: "leave it out, or name another one" },
    }));
  return others.length === 0 ? [alone] : twice;
}
