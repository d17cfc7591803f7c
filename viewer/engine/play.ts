/** Answers one request of the page, wherever the engine runs. */
import type { FileLoaded } from "../../shared/scenario.ts";
import { readScenario } from "../../shared/scenario.ts";
import { firstFix } from "../../sim/first-fix.ts";
import { comparePolicies, rowsToCompare } from "../../sim/policies.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { plainName, ROWS_COMPARED_UNASKED, runData, type ScenarioTexts } from "../../sim/run-data.ts";
import { tell } from "../../sim/tell.ts";
import type { Answer, Request } from "./protocol.ts";

/** The run's share of the work; the rest is rehearsing what to change first. */
const RUN_SHARE = 0.6;
/** A bar that moves more often than this looks no smoother, and each answer takes time of both sides. */
const PROGRESS_MS = 40;

export function play({ id, files, seed }: Request, answer: (answer: Answer) => void): void {
  try {
    const { main, texts } = files;
    const bytes = new TextEncoder().encode(texts[main] ?? "");
    const read = readScenario({ file: main, bytes, seed: seed ?? null }, (name) => load(files, name));
    if (read.plan === null) {
      answer({ id, is: "issues", issues: read.issues });
      return;
    }
    let toldMs = performance.now();
    const run = rehearse(read.plan, {
      sha256: read.sha256,
      onProgress(share) {
        const now = performance.now();
        if (now - toldMs < PROGRESS_MS) return;
        toldMs = now;
        answer({ id, is: "progress", share: share * RUN_SHARE });
      },
    });
    const telling = tell(run, { fix: firstFix(run) });
    answer({ id, is: "progress", share: 1 });
    answer({ id, is: "done", data: runData({ ...run, telling, files }) });
    const policies = rowsToCompare(run) <= ROWS_COMPARED_UNASKED ? comparePolicies(run) : null;
    answer({ id, is: "returns", policies });
  } catch (error) {
    answer({ id, is: "failed", problem: (error as Error).message });
  }
}

function load({ texts }: ScenarioTexts, name: string): FileLoaded {
  const text = texts[plainName(name)];
  if (text !== undefined) return { bytes: new TextEncoder().encode(text) };
  return { problem: "it is not among the files that were opened; open it together with the scenario" };
}
