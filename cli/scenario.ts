/** A scenario from this machine: the file, what it names, and faults from the command line. */
import { basename, dirname, resolve } from "node:path";
import { type ShowClock, showClockOf } from "../shared/as-said.ts";
import { type Issue, withoutLine } from "../shared/issues.ts";
import { readJson } from "../shared/read-json.ts";
import { readScenarioFrom, type ScenarioRead } from "../shared/scenario.ts";
import { plainName, type ScenarioTexts } from "../sim/run-data.ts";
import type { FaultOption, WrittenEvent } from "./faults.ts";
import { readBounded, readStream, realPathOf, receivedInstead, resolveInside } from "./files.ts";
import type { Io } from "./terminal.ts";

export interface CommandLine {
  readonly events: readonly WrittenEvent[];
  /** What each event was typed as. */
  readonly options: readonly FaultOption[];
  readonly seed: string | null;
}

/** A scenario read, and the real paths of the files that it came from: nothing may be written over them. */
export interface ScenarioFileRead extends ScenarioRead {
  readonly inputs: readonly string[];
  readonly texts: ScenarioTexts;
}

/**
 * @param line what is added; a function of the clock where instants are typed, which only the file can tell
 * "-" is standard input; what that names is looked for in the working folder.
 */
export async function readScenarioFile(
  file: string,
  io: Io,
  line: CommandLine | ((clock: ShowClock) => CommandLine),
): Promise<ScenarioFileRead> {
  const isInput = file === "-";
  const name = isInput ? "(standard input)" : file;
  const path = resolve(io.workingFolder, file);
  const read = await (isInput ? readStream(io.input) : readBounded(path));
  if ("problem" in read) return unreadable(name, read.problem);
  const clock = () => showClockOf(readJson(name, read.bytes).json?.at(["run"]));
  if (/\.[ct]sv$/i.test(file)) return tableInstead(name);
  const { events, options, seed } = typeof line === "function" ? line(clock()) : line;
  const folder = isInput ? io.workingFolder : dirname(path);
  const real = isInput ? null : await realPathOf(path);
  const inputs = real === null ? [] : [real];
  const main = isInput ? "scenario.json" : basename(file);
  const decoder = new TextDecoder();
  const texts: Record<string, string> = { [main]: decoder.decode(read.bytes) };
  const scenario = await readScenarioFrom(
    { file: name, bytes: read.bytes, moreEvents: events, seed },
    async (wanted) => {
      const inside = await resolveInside(folder, wanted);
      if ("problem" in inside) return inside;
      inputs.push(inside.path);
      const named = await readBounded(inside.path);
      if ("bytes" in named) texts[plainName(wanted)] = decoder.decode(named.bytes);
      return named;
    },
  );
  const isAdded = events.length > 0 || seed !== null;
  const files: ScenarioTexts = { main, texts, ...(isAdded ? { added: { events, seed } } : {}) };
  return { ...scenario, inputs, texts: files, issues: scenario.issues.map((issue) => asTyped(issue, options, texts)) };
}

/** An issue with an event of the command line stands at what was typed, which has no lines. */
function asTyped(issue: Issue, options: readonly FaultOption[], texts: Readonly<Record<string, string>>): Issue {
  const [events, index] = issue.path;
  const typed = issue.file === "(command line)" && events === "events" ? options[Number(index)] : undefined;
  if (typed === undefined) return issue;
  const id = issue.expected.startsWith("an id") ? idOfDevice(typed.text.split("@")[0] ?? "", texts) : null;
  if (id !== null) return { ...issue, ...typedPlace(typed), remedy: `its id is ${id}: write that` };
  const isNoDevice = typed.option === "--power-cut" && issue.path[2] === "device";
  const remedy = isNoDevice ? `${issue.remedy}; a supply is cut with --supply-cut` : issue.remedy;
  return { ...issue, ...typedPlace(typed), remedy };
}

function typedPlace({ option, text }: FaultOption): ReturnType<typeof withoutLine> {
  return withoutLine(`${option} ${text}`);
}

/** Of the device with that name, capitals aside; it stands in the scenario or in a rig that it names. */
function idOfDevice(name: string, texts: Readonly<Record<string, string>>): string | null {
  const encoder = new TextEncoder();
  for (const [file, text] of Object.entries(texts)) {
    const { json } = readJson(file, encoder.encode(text));
    const devices = json?.at(["rig", "devices"]) ?? json?.at(["devices"]);
    const found = (Array.isArray(devices) ? devices : []).find(
      (device) => typeof device?.name === "string" && device.name.toLowerCase() === name.trim().toLowerCase(),
    );
    if (typeof found?.id === "string") return found.id;
  }
  return null;
}

/** A table read as JSON has something wrong in every word, and none of it is what is wrong. */
function tableInstead(file: string): ScenarioFileRead {
  return unread({
    ...withoutLine(file),
    expected: "a scenario",
    received: "a table",
    remedy: "make one of it first: pulltest new --from-csv TABLE… --out FILE",
  });
}

function unreadable(file: string, problem: string): ScenarioFileRead {
  return unread({
    ...withoutLine(file),
    expected: "a scenario file that can be read",
    received: receivedInstead(problem),
    remedy: problem.includes("MB") ? "name a scenario file" : "check the name and the folder",
  });
}

function unread(issue: Issue): ScenarioFileRead {
  const { file } = issue;
  const texts = { main: "", texts: {} };
  return { plan: null, issues: [issue], inputs: [], texts, sha256: "", placeOf: () => ({ file, line: 1, column: 1 }) };
}
