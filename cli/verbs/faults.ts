/** `pulltest faults`: every single fault of a rig, tried and ranked by what those who listen have of it. */
import { access } from "node:fs/promises";
import { resolve } from "node:path";
import { type Issue, withoutLine } from "../../shared/issues.ts";
import { sha256 } from "../../shared/sha256.ts";
import { stampOf } from "../../sim/stamp.ts";
import { grouped } from "../../sim/tell/words.ts";
import { worseTogether } from "../../sim/trials/pairs.ts";
import { nameOf, ranked, tollsOf } from "../../sim/trials/rank.ts";
import { singleFaults } from "../../sim/trials/setup.ts";
import { type Sweep, type TrialResult, trialCount } from "../../sim/trials/trial.ts";
import { clashOf, outputObstacle, realPathOf, writeNewFile } from "../files.ts";
import { faultsCsv, faultsJson, faultsText } from "../print/faults.ts";
import { issuesText } from "../print/issues.ts";
import { jsonText, oneLine } from "../print/plain.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, INTERRUPTED, MET } from "../status.ts";
import type { Io } from "../terminal.ts";
import { inOrder, Keeper, type KeptHead, readKept, writeKept } from "../trials/kept.ts";
import { clockOf, feedIssues, readWanted, type TypedWanted, timeIssues } from "../trials/options.ts";
import { playTrials, threadsFor } from "../trials/pool.ts";
import { progressOf } from "../trials/progress.ts";

export interface FaultsRequest extends TypedWanted {
  readonly file: string;
  readonly seed: string | null;
  /** Results as they come go there. */
  readonly keep: string | null;
  /** Go on from what is there. */
  readonly resume: boolean;
  /** Results of others: put together, and only what is missing is played. */
  readonly from: readonly string[];
  readonly csv: string | null;
  readonly force: boolean;
  /** Print every class of faults, not the worst alone. */
  readonly all: boolean;
  readonly json: boolean;
  readonly version: string;
}

export async function faultsOfFile(request: FaultsRequest, io: Io): Promise<number> {
  const { file, seed, keep, resume, csv } = request;
  const refused = (problem: string): number => {
    io.err(`pulltest faults: ${oneLine(problem)}\n`);
    return BAD_INPUT;
  };
  const read = await readScenarioFile(file, io, { events: [], options: [], seed });
  const { wanted, concerns, threads, shard, issues: typed, notes } = readWanted(request, clockOf(read.plan));
  const issues = [
    ...typed,
    ...optionIssues(request),
    ...timeIssues(wanted.atNs, read.plan),
    ...feedIssues(file, read.plan),
    ...read.issues,
  ];
  if (issues.length > 0 || read.plan === null) {
    io.err(issuesText(issues, "nothing was tried"));
    return BAD_INPUT;
  }
  for (const note of notes) io.err(`${oneLine(note)}\n`);
  const obstacle = await tableObstacle(request, read.inputs, io);
  if (obstacle !== null) return refused(obstacle);

  const { sweep, leftOut, pairsLeftOut } = singleFaults(read.plan, wanted);
  const head = headOf(sweep);
  const { wantedFrom, wantedTo } = partOf(trialCount(sweep), shard);
  const found: TrialResult[] = [];
  for (const name of request.from) {
    const kept = await readKept(io.workingFolder, name, head);
    if ("problem" in kept) return refused(kept.problem);
    for (const result of kept.results) found.push(result);
  }
  let behind: number | null = null;
  if (keep !== null && (await isThere(io.workingFolder, keep))) {
    if (!resume) return refused(`${keep} is there already; --resume goes on from it, or give another name`);
    const kept = await readKept(io.workingFolder, keep, head);
    if ("problem" in kept) return refused(kept.problem);
    for (const result of kept.results) found.push(result);
    behind = kept.bytes;
  }
  const known = new Set(found.map(({ index }) => index));
  const missing: number[] = [];
  for (let index = wantedFrom; index < wantedTo; index += 1) if (!known.has(index)) missing.push(index);

  let keeper: Keeper | null = null;
  try {
    keeper = keep === null ? null : await Keeper.open(io.workingFolder, keep, head, behind);
  } catch (error) {
    return refused(`cannot write ${keep}: ${(error as Error).message}`);
  }
  const outcome = await played(sweep, missing, {
    threads: threads ?? threadsFor(missing.length),
    keeper,
    io,
    found,
  });
  const results = inOrder(found);
  const total = wantedTo - wantedFrom;
  if (keeper !== null) await keeper.close();
  if (keep !== null && outcome.problem === null) {
    const problem = await writeKept(io.workingFolder, keep, head, results);
    if (problem !== null) return refused(problem);
    io.err(`Wrote ${oneLine(keep)}: ${grouped(results.length)} of ${grouped(head.trials)} results.\n`);
  }
  if (outcome.problem !== null)
    return refused(
      `cannot write ${keep}: ${outcome.problem}; what stands in it is whole, and --resume goes on from there`,
    );

  const all = ranked(sweep.plan, tollsOf(sweep, results), concerns);
  const tolls = all.filter(({ faults }) => faults.length === 1);
  const pairs = all.filter(({ faults }) => faults.length > 1);
  const worse = worseTogether(pairs, new Map(tolls.map((toll) => [nameOf(toll), toll])));
  const print = {
    file,
    version: request.version,
    stamp: stampOf(read.plan),
    sha256: read.sha256,
    sweep,
    leftOut,
    pairs: wanted.pairs ? { tried: pairs.length, leftOut: pairsLeftOut, worse } : null,
    results,
    tolls,
    // A part of the whole, by wish or not, is never to be taken for it.
    missing: head.trials - results.length,
    listsAll: request.all,
    repairsGiven: wanted.repairsGiven,
  };
  if (csv !== null) {
    const problem = await writeNewFile(io.workingFolder, csv, faultsCsv(print), { overwrite: true });
    if (problem !== null) return refused(problem);
    io.err(`Wrote ${oneLine(csv)}: a row for each fault and listener.\n`);
  }
  // Whoever plays a part of many reads the whole elsewhere.
  if (shard === null || request.json)
    io.out(
      request.json ? `${jsonText(faultsJson(print))}\n` : faultsText(print, { ink: io.ink.out, columns: io.columns }),
    );
  else
    io.err(`Part ${shard.part} of ${shard.parts}: ${grouped(results.length)} results for ${grouped(total)} trials.\n`);
  return outcome.isInterrupted ? INTERRUPTED : MET;
}

interface Played {
  readonly isInterrupted: boolean;
  /** Why results cannot be kept any more; null: they were. */
  readonly problem: string | null;
}

/** Null where the table may be written: over nothing that is read, and not where results are kept. */
async function tableObstacle(
  { csv, keep, from, force }: FaultsRequest,
  read: readonly string[],
  { workingFolder }: Io,
): Promise<string | null> {
  if (csv === null) return null;
  const kept = await Promise.all(from.map((name) => realPathOf(resolve(workingFolder, name))));
  const inputs = [...read, ...kept.filter((path) => path !== null)];
  const names = [{ name: csv, what: "table" }, ...(keep === null ? [] : [{ name: keep, what: "file of results" }])];
  return (
    (await clashOf(workingFolder, names)) ??
    (await outputObstacle(workingFolder, [{ name: csv, kind: "table" }], { inputs, force }))
  );
}

async function played(
  sweep: Sweep,
  missing: readonly number[],
  {
    threads,
    keeper,
    io,
    found,
  }: { readonly threads: number; readonly keeper: Keeper | null; readonly io: Io; readonly found: TrialResult[] },
): Promise<Played> {
  let isInterrupted = false;
  let problem: string | null = null;
  const stop = () => {
    isInterrupted = true;
  };
  process.once("SIGINT", stop);
  const progress = progressOf(io, "trials", "; Ctrl-C keeps what is done");
  let done = 0;
  try {
    await playTrials(sweep, missing, {
      workers: threads,
      isStopped: () => isInterrupted || problem !== null,
      onLost: (why) => io.err(`A thread was lost (${oneLine(why)}); its trials are played anew.\n`),
      onResults: async (results) => {
        for (const result of results) found.push(result);
        done += results.length;
        progress.at(done, missing.length);
        if (keeper === null || problem !== null) return;
        try {
          await keeper.add(results);
        } catch (error) {
          problem = (error as NodeJS.ErrnoException).code === "ENOSPC" ? "the disk is full" : (error as Error).message;
        }
      },
    });
  } finally {
    process.removeListener("SIGINT", stop);
    progress.end();
  }
  return { isInterrupted, problem };
}

function headOf(sweep: Sweep): KeptHead {
  const bytes = new TextEncoder().encode(JSON.stringify(sweep));
  return { pulltest: "trials", format: 1, sweep: sha256(bytes), trials: trialCount(sweep) };
}

/** Parts of one size, one trial more or less; neighbours, since they share their past. */
function partOf(
  trials: number,
  shard: { readonly part: number; readonly parts: number } | null,
): { readonly wantedFrom: number; readonly wantedTo: number } {
  if (shard === null) return { wantedFrom: 0, wantedTo: trials };
  const { part, parts } = shard;
  return { wantedFrom: Math.floor((trials * (part - 1)) / parts), wantedTo: Math.floor((trials * part) / parts) };
}

async function isThere(folder: string, file: string): Promise<boolean> {
  return access(resolve(folder, file)).then(
    () => true,
    () => false,
  );
}

function optionIssues({ keep, resume, shard }: FaultsRequest): Issue[] {
  const needsKeep = (option: string, received: string): Issue => ({
    ...withoutLine(option),
    expected: "--keep FILE beside it",
    received,
    remedy: "name the file that results are kept in",
  });
  return [
    ...(resume && keep === null ? [needsKeep("--resume", "nothing")] : []),
    ...(shard !== null && keep === null ? [needsKeep("--shard", JSON.stringify(shard))] : []),
  ];
}
