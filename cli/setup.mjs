// What a checkout needs before anything can run, in plain JavaScript because nothing is installed yet.
import { spawnSync } from "node:child_process";
import { existsSync, readdirSync, readFileSync, statSync } from "node:fs";
import { join } from "node:path";
import { fileURLToPath } from "node:url";

/** The folder of package.json. */
export const root = fileURLToPath(new URL("..", import.meta.url));

/** The bundled command, as `npm run build` leaves it. */
export const command = join(root, "cli", "dist", "pulltest.cjs");

/**
 * Installs what the lock file names if it is not there yet, and builds the command and its page if a source is newer.
 * Ends the process with status 3 when either fails.
 */
export function setUp() {
  if (!isInstalled()) npm("ci");
  if (!isBuilt()) npm("run", "build");
}

/** @param {string[]} args */
function npm(...args) {
  console.error(`npm ${args.join(" ")}`);
  // npm tells the scripts it runs where it is; without that, the shell finds it (npm.cmd on Windows).
  const { npm_execpath: npmScript } = process.env;
  const stdio = /** @type {import("node:child_process").StdioOptions} */ (["ignore", 2, 2]);
  const { status } = npmScript?.endsWith(".js")
    ? spawnSync(process.execPath, [npmScript, ...args], { cwd: root, stdio })
    : spawnSync("npm", args, { cwd: root, stdio, shell: process.platform === "win32" });
  if (status !== 0) {
    console.error(`Could not get ready: npm ${args.join(" ")} ended with status ${status}. What it said is above.`);
    process.exit(3);
  }
}

/** Contents are compared, not times: a fresh clone, a moved folder and a touched file all have misleading times. */
function isInstalled() {
  const installedLock = join(root, "node_modules", ".package-lock.json");
  if (!existsSync(installedLock)) return false;
  const wanted = packagesIn(join(root, "package-lock.json"));
  const installed = packagesIn(installedLock);
  const right = Object.entries(installed).every(([path, found]) => found.version === wanted[path]?.version);
  const complete = Object.entries(wanted).every(
    // Optional packages are those of other platforms. "" is this package itself.
    ([path, entry]) => path === "" || entry.optional || entry.devOptional || path in installed,
  );
  return right && complete;
}

/**
 * @param {string} lockFile
 * @returns {Record<string, { version?: string, optional?: boolean, devOptional?: boolean }>}
 */
function packagesIn(lockFile) {
  return JSON.parse(readFileSync(lockFile, "utf8")).packages;
}

function isBuilt() {
  if (!existsSync(command)) return false;
  const builtAt = statSync(command).mtimeMs;
  const sources = ["shared", "sim", "cli", "viewer", "package.json", "package-lock.json"];
  return sources.every((source) => newestChange(join(root, source)) <= builtAt);
}

/**
 * @param {string} path
 * @returns {number}
 */
function newestChange(path) {
  const stat = statSync(path);
  if (!stat.isDirectory()) return stat.mtimeMs;
  const names = readdirSync(path).filter((name) => name !== "dist");
  return Math.max(0, ...names.map((name) => newestChange(join(path, name))));
}
