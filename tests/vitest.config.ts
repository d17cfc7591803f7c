import { readdirSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { defineConfig, type TestProjectInlineConfiguration } from "vitest/config";
import { LongFilesFirst } from "./sequencer.ts";

const root = fileURLToPath(new URL("..", import.meta.url));
const IN_BROWSER = "tests/browser/**/*.test.ts";

/** Tests that put another module in a module's place: it has to be there before anybody has taken the true one. */
const mocking = readdirSync(`${root}tests`, { recursive: true, encoding: "utf8" })
  .map((path) => `tests/${path.replaceAll("\\", "/")}`)
  .filter((path) => path.endsWith(".test.ts") && /^vi\.mock\(/m.test(readFileSync(`${root}${path}`, "utf8")));

/**
 * `unit` is everything that needs Node alone; `browser` opens the built page in a real Chromium. Files of these share
 * their workers, so that the engine, the stories told and Chromium are there once a worker and not once a file; those of
 * `alone` have a worker each.
 */
const projects = [
  project({ name: "unit", include: ["tests/**/*.test.ts"], exclude: [IN_BROWSER, ...mocking], isolate: false }),
  project({ name: "browser", include: [IN_BROWSER], isolate: false }),
  project({ name: "alone", include: mocking }),
];

function project(test: TestProjectInlineConfiguration["test"]): TestProjectInlineConfiguration {
  // Nothing here measures time: on a busy machine a test may take several times as long, a browser seconds to start, and
  // a hang still ends.
  return { root, test: { testTimeout: 60_000, hookTimeout: 60_000, ...test } };
}

export default defineConfig({
  root,
  test: {
    // One less than there are cores is what vitest takes, which on two cores is one after the other.
    maxWorkers: 2,
    sequence: { sequencer: LongFilesFirst },
    projects,
  },
});
