/**
 * Results of trials in a file, a line each, kept as they come: what an interrupt, a full disk or a lost machine leaves is
 * whole but for its last line, and is gone on from. The first line says of which trials they are.
 */
import { type FileHandle, open, readFile } from "node:fs/promises";
import { resolve } from "node:path";
import type { TrialResult } from "../../sim/trials/trial.ts";
import { reasonOf, writeNewFile } from "../files.ts";

export interface KeptHead {
  readonly pulltest: "trials";
  readonly format: 1;
  /** SHA-256 of all that decides what the trials are. */
  readonly sweep: string;
  readonly trials: number;
}

export interface Kept {
  readonly results: readonly TrialResult[];
  /** Whole lines, in bytes; what stands behind them was cut off. */
  readonly bytes: number;
}

/** @returns why not, in words: what is wrong, where, and what to do */
export async function readKept(folder: string, file: string, head: KeptHead): Promise<Kept | { problem: string }> {
  let text: string;
  try {
    text = await readFile(resolve(folder, file), "utf8");
  } catch (error) {
    return { problem: `cannot read ${file}: ${reasonOf(error)}` };
  }
  const whole = text.slice(0, text.lastIndexOf("\n") + 1);
  const [first = "", ...lines] = whole.split("\n").slice(0, -1);
  const found = parsed(first) as Partial<KeptHead> | null;
  if (found?.pulltest !== "trials")
    return { problem: `${file}, line 1: expected results of pulltest faults; name a file that --keep has written` };
  if (found.format !== 1 || found.sweep !== head.sweep || found.trials !== head.trials)
    return {
      problem: `${file} holds results of another plan, or of other options; give the plan and the options that it was made with`,
    };
  const results: TrialResult[] = [];
  for (const [place, line] of lines.entries()) {
    const result = parsed(line) as TrialResult | null;
    if (!isResult(result, head.trials))
      return {
        problem: `${file}, line ${place + 2}: expected the result of a trial, found ${JSON.stringify(line.slice(0, 40))}; take that line out, and --resume plays its trial again`,
      };
    results.push(result);
  }
  return { results, bytes: Buffer.byteLength(whole) };
}

/** Behind what is there already; each call is on the disk when it returns. */
export class Keeper {
  private readonly handle: FileHandle;

  private constructor(handle: FileHandle) {
    this.handle = handle;
  }

  /** @param from bytes of it to go on behind; null: a new file, which must not be there */
  static async open(folder: string, file: string, head: KeptHead, from: number | null): Promise<Keeper> {
    const handle = await open(resolve(folder, file), from === null ? "wx" : "r+");
    const keeper = new Keeper(handle);
    if (from === null) await handle.writeFile(`${JSON.stringify(head)}\n`);
    else {
      await handle.truncate(from);
      await handle.write("", from);
    }
    return keeper;
  }

  async add(results: readonly TrialResult[]): Promise<void> {
    await this.handle.appendFile(results.map((result) => `${JSON.stringify(result)}\n`).join(""));
  }

  async close(): Promise<void> {
    await this.handle.close();
  }
}

/** All of them once more, in their order: the same bytes whoever played what, and when. */
export function writeKept(
  folder: string,
  file: string,
  head: KeptHead,
  results: readonly TrialResult[],
): Promise<string | null> {
  const text = [head, ...results].map((each) => `${JSON.stringify(each)}\n`).join("");
  return writeNewFile(folder, file, text, { overwrite: true });
}

/** By index, each once. */
export function inOrder(results: readonly TrialResult[]): TrialResult[] {
  return [...new Map(results.map((result) => [result.index, result])).values()].sort(
    (one, other) => one.index - other.index,
  );
}

function parsed(line: string): unknown {
  try {
    return JSON.parse(line);
  } catch {
    return null;
  }
}

function isResult(result: TrialResult | null, trials: number): result is TrialResult {
  return (
    result !== null &&
    Number.isInteger(result.index) &&
    result.index >= 0 &&
    result.index < trials &&
    typeof result.atSeconds === "number" &&
    Array.isArray(result.harms) &&
    result.harms.every((harm) => typeof harm.feed === "string" && typeof harm.silentSeconds === "number")
  );
}
