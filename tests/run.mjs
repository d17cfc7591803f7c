// `npm test`: everything, on a machine that has nothing but Node and npm. Arguments go to vitest: `npm test -- tests/sim`.
import { spawnSync } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { root, setUp } from "../cli/setup.mjs";
import { findChromium } from "./chromium-path.mjs";

const args = process.argv.slice(2);

setUp();
const wantsBrowser = args.length === 0 || args.some((arg) => arg.includes("browser"));
const chromium = wantsBrowser ? (findChromium() ?? installChromium()) : undefined;

const scratch = mkdtempSync(join(tmpdir(), "pulltest-tests-"));
const report = join(scratch, "report.json");
const { status } = spawnSync(
  process.execPath,
  [
    join(root, "node_modules", "vitest", "vitest.mjs"),
    "run",
    "--config=tests/vitest.config.ts",
    "--reporter=default",
    "--reporter=json",
    `--outputFile.json=${report}`,
    ...args,
  ],
  { cwd: root, stdio: "inherit", env: chromium ? { ...process.env, CHROMIUM_PATH: chromium } : process.env },
);
const counts = count();
rmSync(scratch, { recursive: true });

if (status !== 0 && counts.failed === 0)
  console.log(`\nNo test failed, yet vitest ended with status ${status}: see above.`);
const skipped = counts.skipped > 0 ? `, ${counts.skipped} skipped` : "";
console.log(`\n${counts.passed} passed, ${counts.failed} failed${skipped}`);
process.exitCode = status ?? 130;

function count() {
  const counts = { passed: 0, failed: 0, skipped: 0 };
  if (!existsSync(report)) return counts;
  for (const file of JSON.parse(readFileSync(report, "utf8")).testResults) {
    const before = counts.failed;
    for (const { status } of file.assertionResults) {
      if (status === "passed") counts.passed++;
      else if (status === "failed") counts.failed++;
      else counts.skipped++;
    }
    // A file that cannot be loaded, or whose set-up throws, has no failed test of its own.
    if (file.status === "failed" && counts.failed === before) counts.failed++;
  }
  return counts;
}

function installChromium() {
  if (process.getuid?.() === 0 && spawnSync("apt-get", ["--version"]).status === 0) {
    console.error("apt-get install chromium");
    const env = { ...process.env, DEBIAN_FRONTEND: "noninteractive" };
    const stdio = /** @type {import("node:child_process").StdioOptions} */ (["ignore", "ignore", "inherit"]);
    spawnSync("apt-get", ["update", "-qq"], { stdio, env });
    spawnSync("apt-get", ["install", "-y", "-qq", "--no-install-recommends", "chromium"], { stdio, env });
  }
  const found = findChromium();
  if (!found)
    console.error(
      "The browser tests need Chromium: install it (Debian: apt-get install chromium) or set CHROMIUM_PATH.",
    );
  return found;
}
