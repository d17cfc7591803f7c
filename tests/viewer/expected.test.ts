import { expect, test } from "vitest";
import type { ExpectPlan } from "../../shared/plan.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { lanesOf } from "../../sim/lanes/lane.ts";
import { judge } from "../../sim/verdict.ts";
import { inPageWords } from "../../viewer/expected.ts";
import { shareWords } from "../../viewer/views/devices.ts";
import { busyRun } from "../browser/fixture.ts";

/** The busy run, judged as the command judges. */
function judged(plan: readonly ExpectPlan[]) {
  const run = busyRun();
  const { devices, links, feeds } = run.summary;
  const expectations = judge(plan, devices, links, feeds);
  const verdict = expectations.map(({ expected, found }) => `Expected ${expected}; found ${found}.`);
  const all = {
    ...run,
    plan: { ...run.plan, expect: plan },
    summary: { ...run.summary, expect: expectations },
    telling: { ...run.telling, verdict },
  };
  return inPageWords(all, lanesOf(all).all);
}

const is = (device: string, state: "free-run" | "locked", from: number, to: number): ExpectPlan => ({
  kind: "device",
  device,
  is: state,
  fromNs: nsFromSeconds(from),
  toNs: nsFromSeconds(to),
});

test("an expectation is told in the words of the lanes, with the word of the file in brackets", () => {
  const { summary, telling } = judged([
    is("guest", "free-run", 0, 1000),
    is("foh", "free-run", 0, 1100),
    is("foh", "free-run", 0, 1250),
    is("mon", "locked", 0, 1000),
  ]);
  expect(summary.expect.map(({ expected, found, met }) => [expected, found, met])).toEqual([
    ["guest is on its own clock (free-run) from 00:00:00 to 00:16:40", "on its own clock (free-run) throughout", true],
    // It is the leader: its lane says so, and so does this.
    ["foh is on its own clock (free-run) from 00:00:00 to 00:18:20", "leading (free-run, as planned) throughout", true],
    ["foh is on its own clock (free-run) from 00:00:00 to 00:20:50", "booting (starting) at 00:20:00", false],
    ["mon is locked from 00:00:00 to 00:16:40", "locked throughout", true],
  ]);
  expect(telling.verdict[2]).toBe(
    "Expected foh is on its own clock (free-run) from 00:00:00 to 00:20:50; found booting (starting) at 00:20:00.",
  );
});

test("what is not about a state keeps its words", () => {
  const run = busyRun();
  expect(inPageWords(run, lanesOf(run).all).summary.expect).toEqual(run.summary.expect);
});

test("a share is never rounded to none or to all", () => {
  // 1.1 s of two hours.
  const share = 1.1 / 7200;
  expect(shareWords(share)).toBe("under 0.1 %");
  expect(shareWords(1 - share)).toBe("over 99.9 %");
  expect(shareWords(0.9985)).toBe("99.9 %");
  expect(shareWords(0.99949)).toBe("over 99.9 %");
  expect(shareWords(0.5)).toBe("50.0 %");
});
