/** `pulltest merge`: two companies' plans as one rig; what they do not agree about, and ways to join them, rehearsed. */
import { join } from "node:path";
import { type Issue, withoutLine } from "../../shared/issues.ts";
import type { PlanRead } from "../../sim/merge/company.ts";
import { MergeRefused } from "../../sim/merge/joined.ts";
import { joinThem, type Merge, readMerge } from "../../sim/merge.ts";
import { counted } from "../../sim/tell/words.ts";
import { makeFolder, outputObstacle, writeNewFile } from "../files.ts";
import { parseJoins } from "../joins.ts";
import { issuesText } from "../print/issues.ts";
import { mergeJson, mergeText } from "../print/merge.ts";
import { jsonText, oneLine } from "../print/plain.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, MET } from "../status.ts";
import type { Io } from "../terminal.ts";

export interface MergeVerbRequest {
  readonly files: readonly [string, string];
  readonly joins: readonly string[];
  readonly same: readonly string[];
  /** "house,tour" */
  readonly names: string | null;
  /** A folder, made if it is not there. */
  readonly out: string | null;
  readonly force: boolean;
  readonly json: boolean;
}

export async function mergeFiles(request: MergeVerbRequest, io: Io): Promise<number> {
  const { files, same, out, force, json } = request;
  const refuse = (problem: string): number => {
    io.err(`pulltest merge: ${oneLine(problem)}\n`);
    return BAD_INPUT;
  };
  if (files[0] === "-" && files[1] === "-") return refuse("only one of the two can come from standard input");
  const issues: Issue[] = [];
  const inputs: string[] = [];
  const reads: (PlanRead | null)[] = [];
  for (const file of files) {
    const read = await readScenarioFile(file, io, { events: [], options: [], seed: null });
    inputs.push(...read.inputs);
    issues.push(...read.issues);
    reads.push(
      read.plan === null
        ? null
        : { file: file === "-" ? "(standard input)" : file, texts: read.texts, plan: read.plan },
    );
  }
  const [one = null, other = null] = reads;
  const parsed = parseJoins(request.joins, [one?.plan ?? null, other?.plan ?? null], files);
  const names = request.names === null ? null : namesOf(request.names);
  issues.push(...parsed.issues, ...(names !== null && "expected" in names ? [names] : []));
  if (issues.length > 0 || one === null || other === null || (names !== null && "expected" in names)) {
    io.err(issuesText(issues, "nothing was joined"));
    return BAD_INPUT;
  }
  const merge = readMerge({ plans: [one, other], names, same, joins: parsed.joins });
  if (out !== null && !merge.isJoined)
    return refuse("--out needs a cable that joins the two: name it with --join, or what is in both with --same");
  let outcome: ReturnType<typeof joinThem> | null = null;
  try {
    if (merge.isJoined && !merge.isBlocked) outcome = joinThem(merge);
  } catch (error) {
    if (!(error instanceof MergeRefused)) throw error;
    return refuse(`the two plans make no file that can be read: ${error.reasons.join("; ")}`);
  }
  if (out !== null && outcome !== null) {
    const made = outcome.ways.flatMap(({ id, whyNot, text }) =>
      whyNot === null ? [{ name: join(out, `${id}.json`), text }] : [],
    );
    const unmade = await makeFolder(io.workingFolder, out);
    if (unmade !== null) return refuse(unmade);
    // All are looked at before the first is written: files of two merges beside each other are neither.
    const outputs = made.map(({ name }) => ({ name, kind: "scenario" as const }));
    const obstacle = await outputObstacle(io.workingFolder, outputs, { inputs, force });
    if (obstacle !== null) return refuse(obstacle);
    for (const { name, text } of made) {
      const problem = await writeNewFile(io.workingFolder, name, text, { overwrite: force });
      if (problem !== null) return refuse(problem);
    }
    io.err(
      `Wrote ${counted(made.length, "scenario", "scenarios")} into ${oneLine(out)}; comments stay in the two files.\n`,
    );
  }
  if (json) io.out(`${jsonText(mergeJson(merge, outcome))}\n`);
  else io.out(mergeText(merge, outcome, { ink: io.ink.out, columns: io.columns }));
  if (!merge.isBlocked) return MET;
  io.err(
    `pulltest merge: ${counted(blocking(merge), "conflict has", "conflicts have")} to be settled first; nothing was joined\n`,
  );
  return BAD_INPUT;
}

function blocking({ conflicts }: Merge): number {
  return conflicts.filter(({ isBlocking }) => isBlocking).length;
}

/** Two words that ids can begin with. */
function namesOf(text: string): readonly [string, string] | Issue {
  const [one = "", other = "", ...more] = text.split(",");
  const isName = (name: string) => /^[A-Za-z0-9][A-Za-z0-9-]{0,23}$/.test(name);
  if (more.length === 0 && isName(one) && isName(other) && one.toLowerCase() !== other.toLowerCase())
    return [one, other];
  return {
    ...withoutLine(`--names ${text}`),
    received: text,
    expected: "two names with a comma between: letters, digits and -, at most 24 each, not the same",
    remedy: "write it like --names house,tour",
  };
}
