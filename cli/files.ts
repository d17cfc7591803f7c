/** Files on this machine: what may be read, and how a file is written so that none is ever left half written. */
import { randomBytes } from "node:crypto";
import { createReadStream } from "node:fs";
import { mkdir, open, realpath, rename, rm, stat } from "node:fs/promises";
import { basename, dirname, isAbsolute, join, relative, resolve, sep } from "node:path";
import { FILE_BYTES_MAX } from "../shared/read-json.ts";

export type FileRead = { readonly bytes: Uint8Array } | { readonly problem: string };

const IS_FOLDER = "is a folder, not a file";

/** Whatever is read, a pipe or a device that never ends as well, it ends soon after `bytesMax`: the largest scenario. */
export async function readBounded(file: string, bytesMax = FILE_BYTES_MAX): Promise<FileRead> {
  try {
    if ((await stat(file)).isDirectory()) return { problem: IS_FOLDER };
    return await readStream(createReadStream(file), bytesMax);
  } catch (error) {
    return { problem: reasonOf(error) };
  }
}

/** A problem of {@link readBounded} as what was received in place of a file. */
export function receivedInstead(problem: string): string {
  if (problem === IS_FOLDER) return "a folder";
  return problem === REASONS.ENOENT ? "a name that nothing has" : problem;
}

/** Null for what has no path of its own, such as a pipe. */
export async function realPathOf(file: string): Promise<string | null> {
  try {
    return await realpath(file);
  } catch {
    return null;
  }
}

export async function readStream(stream: AsyncIterable<unknown>, bytesMax = FILE_BYTES_MAX): Promise<FileRead> {
  const chunks: Uint8Array[] = [];
  let length = 0;
  for await (const chunk of stream) {
    chunks.push(chunk as Uint8Array);
    length += (chunk as Uint8Array).length;
    if (length > bytesMax) return { problem: `more than ${bytesMax / 1e6} MB, the most that is read` };
  }
  return { bytes: Buffer.concat(chunks) };
}

/**
 * Where a file that a scenario names may be: inside the scenario's own folder, links followed, so that a scenario from
 * somebody else cannot show what else is on this machine.
 */
export async function resolveInside(
  folder: string,
  name: string,
): Promise<{ readonly path: string } | { readonly problem: string }> {
  if (isAbsolute(name) || /^[A-Za-z]:/.test(name)) return { problem: "lies outside the scenario's folder" };
  try {
    const home = await realpath(folder);
    const asked = resolve(home, name);
    if (!isInside(home, asked)) return { problem: "lies outside the scenario's folder" };
    const found = await realpath(asked);
    return isInside(home, found) ? { path: found } : { problem: "leads out of the scenario's folder" };
  } catch (error) {
    return { problem: reasonOf(error) };
  }
}

function isInside(folder: string, file: string): boolean {
  const way = relative(folder, file);
  return way !== "" && way !== ".." && !way.startsWith(`..${sep}`) && !isAbsolute(way);
}

/**
 * What may be written, and by what one of ours is known near its top; null: by nothing. One that is known for ours is
 * replaced without being told to. A table never is, since one column of numbers looks like another, nor a scenario,
 * since somebody may have gone on with it.
 */
const KINDS = {
  page: '<meta name="generator" content="Pulltest"',
  table: null,
  scenario: null,
  report: '"driver": {\n          "name": "Pulltest"',
  "value change dump": "$version Pulltest",
  trace: '"otherData":{"generator":"Pulltest',
  "test report": '<testsuites name="Pulltest"',
} as const;

interface Asked {
  /** Real paths of what is being read. */
  readonly inputs: readonly string[];
  readonly force: boolean;
}

export interface Output {
  readonly name: string;
  readonly kind: keyof typeof KINDS;
  /** What it is for whoever asked, where that says more than the kind. */
  readonly what?: string;
}

/** Null if all of it may be written; else why not, and of what. */
export async function outputObstacle(folder: string, outputs: readonly Output[], asked: Asked): Promise<string | null> {
  const clash = await clashOf(
    folder,
    outputs.map(({ name, kind, what }) => ({ name, what: what ?? kind })),
  );
  if (clash !== null) return clash;
  for (const output of outputs) {
    const problem = await obstacle(folder, output, asked);
    if (problem !== null) return problem;
  }
  return null;
}

/** Null unless two of them are one file, by whatever way. */
export async function clashOf(
  folder: string,
  outputs: readonly { readonly name: string; readonly what: string }[],
): Promise<string | null> {
  const targets = new Map<string, string>();
  for (const { name, what } of outputs) {
    const path = resolve(folder, name);
    const parent = dirname(path);
    const target = (await realPathOf(path)) ?? join((await realPathOf(parent)) ?? parent, basename(path));
    const other = targets.get(target);
    if (other !== undefined)
      return `${name} cannot be both the ${other} and the ${what}; give one of them another name`;
    targets.set(target, what);
  }
  return null;
}

/** The name is empty: that would be the folder that one is in. */
const NAMELESS = "what is to be written needs the name of a file";

async function obstacle(folder: string, { name, kind }: Output, { inputs, force }: Asked): Promise<string | null> {
  if (name === "") return NAMELESS;
  const target = resolve(folder, name);
  const mark = KINDS[kind];
  try {
    const real = await realpath(target);
    if (inputs.includes(real)) return `${name} is what is being read, and would be lost; give the ${kind} another name`;
    const found = await stat(real);
    if (found.isDirectory()) return `cannot write ${name}: it is a folder; give the ${kind} another name`;
    // Moving a file onto a pipe or a device would take that away, and reading from one may never end.
    if (!found.isFile()) return `cannot write ${name}: it is no ordinary file; give the ${kind} another name`;
    if (force || (mark !== null && (await beginsWith(real, mark)))) return null;
    return `${name} is there already${mark === null ? "" : ` and is no ${kind} of ours`}; --force overwrites it`;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === "ENOENT" ? null : `cannot write ${name}: ${reasonOf(error)}`;
  }
}

/** Only the head is read: a page with a long run in it is larger than any scenario. */
async function beginsWith(file: string, mark: string): Promise<boolean> {
  const handle = await open(file, "r");
  try {
    const { buffer, bytesRead } = await handle.read(Buffer.alloc(4096), 0, 4096, 0);
    return buffer.toString("latin1", 0, bytesRead).includes(mark);
  } finally {
    await handle.close();
  }
}

/** Null when written; else what is in the way, in words. An existing file is replaced whole, or not at all. */
export async function writeNewFile(
  folder: string,
  name: string,
  text: string | Uint8Array,
  { overwrite }: { readonly overwrite: boolean },
): Promise<string | null> {
  if (name === "") return NAMELESS;
  const target = resolve(folder, name);
  try {
    if (!overwrite) {
      // "wx": made by us or not at all, even if another program makes it at this instant.
      const handle = await open(target, "wx");
      try {
        await handle.writeFile(text);
      } finally {
        await handle.close();
      }
      return null;
    }
    await replaceFile(target, text);
    return null;
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === "EEXIST") return `${name} is there already; --force overwrites it`;
    return `cannot write ${name}: ${reasonOf(error)}`;
  }
}

/**
 * Several files that belong together: none is moved to its place before all are written. Null when done; else what is in
 * the way. Files that are there are replaced.
 */
export async function writeTogether(
  folder: string,
  files: readonly { readonly name: string; readonly text: string }[],
): Promise<string | null> {
  const ready: { readonly beside: string; readonly target: string }[] = [];
  let at = "";
  try {
    for (const { name, text } of files) {
      at = name;
      const target = resolve(folder, name);
      await makeFolders(dirname(target));
      ready.push({ beside: await writtenBeside(target, text), target });
    }
    for (const { beside, target } of ready) await rename(beside, target);
    return null;
  } catch (error) {
    for (const { beside } of ready) await rm(beside, { force: true });
    return `cannot write ${at}: ${reasonOf(error)}`;
  }
}

/** With those above it. Null when it is there, else why not, as a sentence. */
export async function makeFolder(folder: string, name: string): Promise<string | null> {
  try {
    await makeFolders(resolve(folder, name));
    return null;
  } catch (error) {
    return `cannot make the folder ${name}: ${reasonOf(error)}`;
  }
}

/** Node's own `recursive` never ends where a folder is there and nothing can be made in it, as in /proc. */
async function makeFolders(path: string): Promise<void> {
  const make = (): Promise<void> =>
    mkdir(path).catch(async (error: NodeJS.ErrnoException) => {
      if (error.code !== "EEXIST" || !(await stat(path)).isDirectory()) throw error;
    });
  try {
    await make();
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code !== "ENOENT" || dirname(path) === path) throw error;
    await makeFolders(dirname(path));
    await make();
  }
}

/** Written beside the target, then moved onto it. */
async function replaceFile(target: string, text: string | Uint8Array): Promise<void> {
  const beside = await writtenBeside(target, text);
  try {
    await rename(beside, target);
  } catch (error) {
    await rm(beside, { force: true });
    throw error;
  }
}

async function writtenBeside(target: string, text: string | Uint8Array): Promise<string> {
  const beside = resolve(dirname(target), `.${basename(target)}.${randomBytes(4).toString("hex")}.part`);
  try {
    const handle = await open(beside, "wx");
    try {
      await handle.writeFile(text);
    } finally {
      await handle.close();
    }
    return beside;
  } catch (error) {
    await rm(beside, { force: true });
    throw error;
  }
}

const REASONS: Readonly<Record<string, string>> = {
  ENOENT: "there is no such file or folder",
  EEXIST: "something of that name is there already",
  EACCES: "this user may not",
  EPERM: "this user may not",
  EISDIR: "it is a folder",
  ENOTDIR: "a part of the path is not a folder",
  ENOSPC: "the disk is full",
  EROFS: "the disk can only be read",
  ELOOP: "the link leads to itself",
  ENAMETOOLONG: "the name is too long",
};

export function reasonOf(error: unknown): string {
  const { code, message } = error as NodeJS.ErrnoException;
  return REASONS[code ?? ""] ?? message;
}
