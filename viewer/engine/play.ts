/** Answers one request of the page, wherever the engine runs. */
import { firstFix } from "../../sim/first-fix.ts";
import { readTexts } from "../../sim/plan-of.ts";
import { comparePolicies, rowsToCompare } from "../../sim/policies.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { ROWS_COMPARED_UNASKED, runData } from "../../sim/run-data.ts";
import { tell } from "../../sim/tell.ts";
import { walkFor } from "../../sim/walk/steps.ts";
import type { Answer, Request } from "./protocol.ts";
import { tryFaults } from "./try.ts";

/** The run's share of the work; the rest is rehearsing what to change first. */
const RUN_SHARE = 0.6;
/** A bar that moves more often than this looks no smoother, and each answer takes time of both sides. */
const PROGRESS_MS = 40;

export function play(request: Request, answer: (answer: Answer) => void): void {
  const { id } = request;
  try {
    if (request.do === "try") {
      tryFaults(request, answer);
      return;
    }
    const { files } = request;
    const read = readTexts(files, undefined, request.do === "rehearse" ? request.seed : undefined);
    if (read.plan === null) {
      answer({ id, is: "issues", issues: read.issues });
      return;
    }
    if (request.do === "walk") {
      answer({ id, is: "walk", walk: walkFor(read.plan) });
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
