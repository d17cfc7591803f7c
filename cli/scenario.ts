/** A scenario from this machine: the file, what it names, and faults from the command line. */
import { dirname, resolve } from "node:path";
import type { Issue } from "../shared/issues.ts";
import { readScenarioFrom, type ScenarioRead } from "../shared/scenario.ts";
import type { FaultOption, WrittenEvent } from "./faults.ts";
import { readBounded, readStream, resolveInside } from "./files.ts";
import type { Io } from "./terminal.ts";

export interface CommandLine {
  readonly events: readonly WrittenEvent[];
  /** What each event was typed as. */
  readonly options: readonly FaultOption[];
  readonly seed: string | null;
}

/** "-" is standard input; what that names is looked for in the working folder. */
export async function readScenarioFile(
  file: string,
  io: Io,
  { events, options, seed }: CommandLine,
): Promise<ScenarioRead> {
  const isInput = file === "-";
  const name = isInput ? "(standard input)" : file;
  const path = resolve(io.workingFolder, file);
  const read = await (isInput ? readStream(io.input) : readBounded(path));
  if ("problem" in read) return unreadable(name, read.problem);
  const folder = isInput ? io.workingFolder : dirname(path);
  const scenario = await readScenarioFrom(
    { file: name, bytes: read.bytes, moreEvents: events, seed },
    async (wanted) => {
      const inside = await resolveInside(folder, wanted);
      return "problem" in inside ? inside : readBounded(inside.path);
    },
  );
  return { ...scenario, issues: scenario.issues.map((issue) => asTyped(issue, options)) };
}

/** An issue with an event of the command line stands at what was typed, which has no lines. */
function asTyped(issue: Issue, options: readonly FaultOption[]): Issue {
  const [events, index] = issue.path;
  const typed = issue.file === "(command line)" && events === "events" ? options[Number(index)] : undefined;
  return typed === undefined
    ? issue
    : { ...issue, file: `${typed.option} ${typed.text}`, line: 0, column: 0, path: [] };
}

function unreadable(file: string, problem: string): ScenarioRead {
  const issue: Issue = {
    file,
    line: 0,
    column: 0,
    path: [],
    expected: "a scenario file that can be read",
    received: problem,
    remedy: "check the name and the folder",
  };
  return { plan: null, issues: [issue], sha256: "", placeOf: () => ({ file, line: 1, column: 1 }) };
}
