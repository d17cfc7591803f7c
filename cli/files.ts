/** Files on this machine: what may be read, and how a file is written so that none is ever left half written. */
import { randomBytes } from "node:crypto";
import { createReadStream } from "node:fs";
import { open, realpath, rename, rm, stat } from "node:fs/promises";
import { basename, dirname, isAbsolute, relative, resolve, sep } from "node:path";
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

/** What every page of ours has in its head. */
const PAGE_MARK = '<meta name="generator" content="Pulltest"';
const REPORT_MARK = '"driver": {\n          "name": "Pulltest"';

/** Null if a page may be written there; else why not. Only a page of ours is replaced without being told to. */
export function pageObstacle(folder: string, name: string, asked: Asked): Promise<string | null> {
  return obstacle(folder, name, {
    ...asked,
    what: "page",
    isOurs: (file) => beginsWith(file, PAGE_MARK),
    remark: " and is no page of ours",
  });
}

/** The same for a table, which is never taken for one of ours: one column of numbers looks like another. */
export function tableObstacle(folder: string, name: string, asked: Asked): Promise<string | null> {
  return obstacle(folder, name, { ...asked, what: "table", isOurs: async () => false, remark: "" });
}

/** The same for a report in SARIF; one of ours names its tool near the top. */
export function reportObstacle(folder: string, name: string, asked: Asked): Promise<string | null> {
  const isOurs = (file: string) => beginsWith(file, REPORT_MARK);
  return obstacle(folder, name, { ...asked, what: "report", isOurs, remark: " and is no report of ours" });
}

interface Asked {
  /** Real paths of what is being read. */
  readonly inputs: readonly string[];
  readonly force: boolean;
}

async function obstacle(
  folder: string,
  name: string,
  {
    inputs,
    force,
    what,
    isOurs,
    remark,
  }: Asked & { readonly what: string; readonly isOurs: (file: string) => Promise<boolean>; readonly remark: string },
): Promise<string | null> {
  const target = resolve(folder, name);
  try {
    const real = await realpath(target);
    if (inputs.includes(real)) return `${name} is what is being read, and would be lost; give the ${what} another name`;
    const found = await stat(real);
    if (found.isDirectory()) return `cannot write ${name}: it is a folder; give the ${what} another name`;
    // Moving a file onto a pipe or a device would take that away, and reading from one may never end.
    if (!found.isFile()) return `cannot write ${name}: it is no ordinary file; give the ${what} another name`;
    if (force || (await isOurs(real))) return null;
    return `${name} is there already${remark}; --force overwrites it`;
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
  text: string,
  { overwrite }: { readonly overwrite: boolean },
): Promise<string | null> {
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

/** Written beside the target, then moved onto it. */
async function replaceFile(target: string, text: string): Promise<void> {
  const beside = resolve(dirname(target), `.${basename(target)}.${randomBytes(4).toString("hex")}.part`);
  try {
    const handle = await open(beside, "wx");
    try {
      await handle.writeFile(text);
    } finally {
      await handle.close();
    }
    await rename(beside, target);
  } catch (error) {
    await rm(beside, { force: true });
    throw error;
  }
}

const REASONS: Readonly<Record<string, string>> = {
  ENOENT: "there is no such file or folder",
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
