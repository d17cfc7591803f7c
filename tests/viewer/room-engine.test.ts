/** The engine behind the page: what it answers is what the command finds, and a new request ends the one before. */
import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { type Ns, nsFromSeconds } from "../../shared/time.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { plainName, type ScenarioTexts } from "../../sim/run-data.ts";
import { singleFaults, WANTED } from "../../sim/trials/setup.ts";
import { Trier, trialCount } from "../../sim/trials/trial.ts";
import { createEngine, type Helper, type Host } from "../../viewer/engine/client.ts";
import { play } from "../../viewer/engine/play.ts";
import type { Answer, Request } from "../../viewer/engine/protocol.ts";

const textOf = (file: string) => readFileSync(`scenarios/${file}`, "utf8");
const FILES: ScenarioTexts = {
  main: "leader-reboot.json",
  texts: { "leader-reboot.json": textOf("leader-reboot.json"), "quay.rig.json": textOf("quay.rig.json") },
};
const planOf = (file: string) => {
  const bytes = (name: string) => new TextEncoder().encode(textOf(name));
  const { plan } = readScenario({ file, bytes: bytes(file) }, (name) => ({ bytes: bytes(plainName(name)) }));
  return plan!;
};
const answersTo = (files: ScenarioTexts, seed?: string): Answer[] => {
  const answers: Answer[] = [];
  play({ id: 7, do: "rehearse", files, ...(seed === undefined ? {} : { seed }) }, (answer) => answers.push(answer));
  return answers;
};

test.each(["leader-reboot.json", "long-chain.json", "winter-truck.json", "one-switch-reboots.json"])(
  "%s: watched or not, a run is the same to the byte",
  (file) => {
    const plan = planOf(file);
    const shares: number[] = [];
    const watched = rehearse(plan, { onProgress: (share) => shares.push(share) });
    expect(JSON.stringify(watched)).toBe(JSON.stringify(rehearse(plan)));
    expect(shares).toHaveLength(100);
    expect(shares).toEqual([...shares].sort((one, other) => one - other));
    expect(shares.at(-1)).toBe(1);
  },
);

describe("what it answers", () => {
  test("progress up to all of it, the run that the command plays, then the returns", () => {
    const answers = answersTo(FILES);
    expect(answers.every(({ id }) => id === 7)).toBe(true);
    const shares = answers.flatMap((answer) => (answer.is === "progress" ? [answer.share] : []));
    expect(shares).toEqual([...shares].sort((one, other) => one - other));
    expect(shares.at(-1)).toBe(1);
    const [done, returns] = answers.slice(-2);
    if (done?.is !== "done" || returns?.is !== "returns") throw new Error("expected a run, then its returns");
    const { record, summary } = rehearse(planOf(FILES.main));
    expect(done.data.record.rows).toHaveLength(record.rows.length);
    expect({ ...done.data.summary, scenario: null }).toEqual({ ...summary, scenario: null });
    expect(done.data.files).toBe(FILES);
    expect(done.data.telling.fixFirst).not.toBeNull();
    expect(returns.policies).toHaveLength(1);
  });

  test("another seed", () => {
    const done = answersTo(FILES, "quay-other").find(({ is }) => is === "done");
    expect(done?.is === "done" && done.data.plan.seed).toBe("quay-other");
  });

  test("every problem of a broken file, and nothing of a run", () => {
    const broken = textOf("leader-reboot.json").replace('"foh"', '"fog"').replace('"pa-mix"', '"pa-mux"');
    const answers = answersTo({ ...FILES, texts: { ...FILES.texts, "leader-reboot.json": broken } });
    expect(answers).toHaveLength(1);
    const [answer] = answers;
    expect(answer?.is === "issues" && answer.issues.map(({ received }) => received)).toEqual(['"fog"', '"pa-mux"']);
  });

  test("a file that is not there", () => {
    const [answer] = answersTo({ main: FILES.main, texts: { [FILES.main]: FILES.texts[FILES.main]! } });
    expect(answer?.is === "issues" && answer.issues[0]?.received).toContain("not among the files that were opened");
  });
});

describe("every fault", () => {
  const tried = (layouts: readonly ScenarioTexts[], atNs: Ns | null) => {
    const answers: Answer[] = [];
    play({ id: 3, do: "try", layouts, wanted: { atNs, everyMoment: false, draws: 2 } }, (answer) =>
      answers.push(answer),
    );
    return answers;
  };
  const other = { main: "own-clock.json", texts: { "own-clock.json": textOf("own-clock.json") } };

  test("of two plans by one chance: what there is first, each trial once and in order, then the end", () => {
    const answers = tried([FILES, other], nsFromSeconds(900));
    const [sweeps] = answers;
    if (sweeps?.is !== "sweeps") throw new Error("expected the sweeps first");
    expect(answers.at(-1)).toEqual({ id: 3, is: "tried" });
    expect(sweeps.sweeps[0]).toEqual({
      sweep: singleFaults(planOf(FILES.main), { ...WANTED, atNs: nsFromSeconds(900), draws: 2 }).sweep,
      leftOut: 1,
    });
    const seeds = sweeps.sweeps.map(({ sweep }) => sweep.seeds);
    expect(seeds[1]).toEqual(seeds[0]);
    for (const [place, { sweep }] of sweeps.sweeps.entries()) {
      const results = answers.flatMap((answer) =>
        answer.is === "results" && answer.layout === place ? answer.results : [],
      );
      expect(results.map(({ index }) => index)).toEqual(Array.from({ length: trialCount(sweep) }, (_, index) => index));
      expect(results[5]).toEqual(new Trier(sweep).play(5));
    }
  });

  test("an instant that a show does not have, and a file that cannot be read, are answered and nothing is tried", () => {
    const over = tried([FILES], nsFromSeconds(99_999));
    expect(over).toHaveLength(1);
    expect(over[0]?.is === "failed" && over[0].problem).toContain("is over: put the cursor earlier");
    const broken = tried([FILES, { ...other, texts: {} }], null);
    expect(broken.map(({ is }) => is)).toEqual(["issues"]);
  });
});

test("names of files as a scenario may write them", () => {
  expect(["./a.json", "a.json", "rigs\\a.json", "./x/../a.json"].map(plainName)).toEqual([
    "a.json",
    "a.json",
    "rigs/a.json",
    "a.json",
  ]);
});

/** A host whose workers do as the test says. */
function staged(refuses: "never" | "on making" | "on starting" = "never") {
  const workers: (Helper & { asked: Request[]; ended: boolean })[] = [];
  const here: Request[] = [];
  const host: Host = {
    makeWorker() {
      if (refuses === "on making") throw new Error("no workers");
      const worker = {
        asked: [] as Request[],
        ended: false,
        onmessage: null,
        onerror: null,
        postMessage: (request: Request) => void worker.asked.push(request),
        terminate() {
          worker.ended = true;
        },
      };
      workers.push(worker);
      return worker;
    },
    playHere(request, answer) {
      here.push(request);
      answer({ id: request.id, is: "failed", problem: "played here" });
    },
  };
  const says = (index: number, data: unknown) => workers[index]!.onmessage?.({ data } as MessageEvent);
  return { host, workers, here, says };
}
const issues = (id: number): Answer => ({ id, is: "issues", issues: [] });

describe("the page's side", () => {
  test("faults that are tried end a run that goes on, come as they are done, and stand when they are cancelled", async () => {
    const { host, workers, says } = staged();
    const engine = createEngine(host);
    says(0, { is: "ready" });
    const run = engine.rehearse(FILES);
    const trying = engine.tryFaults([FILES], { atNs: null, everyMoment: false, draws: 3 });
    expect(await run.promise).toEqual({ is: "cancelled" });
    const heard: unknown[] = [];
    trying.onSweeps((sweeps) => heard.push(sweeps));
    trying.onResults((layout, results) => heard.push([layout, results]));
    says(1, { id: 2, is: "sweeps", sweeps: [] });
    says(1, { id: 2, is: "results", layout: 0, results: [] });
    trying.cancel();
    says(1, { id: 2, is: "results", layout: 0, results: [] });
    expect(await trying.promise).toEqual({ is: "cancelled" });
    expect(heard).toEqual([[], [0, []]]);
    expect(workers.map(({ ended }) => ended)).toEqual([true, true, false]);
    const again = engine.tryFaults([FILES], { atNs: null, everyMoment: false, draws: 3 });
    says(2, { id: 3, is: "tried" });
    expect(await again.promise).toMatchObject({ is: "tried" });
    engine.rehearse(FILES);
    expect(workers).toHaveLength(3);
  });

  test("a new request ends the one before, in a fresh worker; what the old one still says is not heard", async () => {
    const { host, workers, says } = staged();
    const engine = createEngine(host);
    says(0, { is: "ready" });
    const first = engine.rehearse(FILES);
    const heard: number[] = [];
    first.onProgress((share) => heard.push(share));
    says(0, { id: 1, is: "progress", share: 0.5 });
    const second = engine.rehearse(FILES);
    expect(await first.promise).toEqual({ is: "cancelled" });
    expect(workers.map(({ ended }) => ended)).toEqual([true, false]);
    says(0, { id: 1, is: "progress", share: 0.9 });
    says(1, { is: "ready" });
    says(1, issues(1));
    says(1, issues(2));
    expect(await second.promise).toEqual(issues(2));
    expect(heard).toEqual([0.5]);
    // Idle by now: the next goes to the same worker.
    engine.rehearse(FILES);
    expect(workers).toHaveLength(2);
    expect(workers[1]!.asked.map(({ id }) => id)).toEqual([2, 3]);
  });

  test("cancelled by hand, once; what is done cannot be cancelled", async () => {
    const { host, workers, says } = staged();
    const engine = createEngine(host);
    const run = engine.rehearse(FILES);
    run.cancel();
    run.cancel();
    expect(await run.promise).toEqual({ is: "cancelled" });
    expect(workers).toHaveLength(2);
    const next = engine.rehearse(FILES);
    says(1, { is: "ready" });
    says(1, issues(2));
    next.cancel();
    expect(await next.promise).toEqual(issues(2));
    expect(workers).toHaveLength(2);
  });

  test("returns come after the run, and a new request ends their comparison", async () => {
    const { host, workers, says } = staged();
    const engine = createEngine(host);
    says(0, { is: "ready" });
    const run = engine.rehearse(FILES);
    const returns: unknown[] = [];
    run.onReturns((policies) => returns.push(policies));
    says(0, { id: 1, is: "done", data: { format: 1 } });
    expect(await run.promise).toMatchObject({ is: "done" });
    engine.rehearse(FILES);
    expect(workers.map(({ ended }) => ended)).toEqual([true, false]);
    says(0, { id: 1, is: "returns", policies: null });
    expect(returns).toEqual([]);
  });

  test("a worker that breaks down over a request fails it, and is not asked again", async () => {
    const { host, workers, says } = staged();
    const engine = createEngine(host);
    says(0, { is: "ready" });
    const run = engine.rehearse(FILES);
    workers[0]!.onerror?.({ message: "out of memory" } as ErrorEvent);
    expect(await run.promise).toEqual({ id: 1, is: "failed", problem: "out of memory" });
    engine.rehearse(FILES);
    expect(workers[0]!.ended).toBe(true);
    expect(workers[1]!.asked).toHaveLength(1);
  });

  test.each(["on making", "on starting"] as const)("workers refused %s: played on the page, and said", async (when) => {
    const { host, workers, here } = staged(when);
    const engine = createEngine(host);
    const run = engine.rehearse(FILES);
    if (when === "on starting") workers[0]!.onerror?.({} as ErrorEvent);
    expect(await run.promise).toEqual({ id: 1, is: "failed", problem: "played here" });
    expect(here).toHaveLength(1);
    expect(engine.note()).toContain("runs no workers");
  });
});
