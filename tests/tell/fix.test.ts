/** The one thing to fix first is rehearsed, not believed. */
import { describe, expect, test } from "vitest";
import { type FirstFix, firstFix, type Suffering, sufferingOf } from "../../sim/first-fix.ts";
import { candidateFixes } from "../../sim/fix.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { effectWords } from "../../sim/tell/fix-words.ts";
import { told } from "./stories.ts";

const stories = told();
const results = stories.map(({ name, run }) => ({ name, run, result: firstFix(run) }));

describe("over every scenario and template", () => {
  test("some have a fix that helps, some have none that does, some have nothing to fix", () => {
    const kinds = results.map(({ result }) =>
      result === null ? "nothing" : result.fix === null ? "none helps" : "helps",
    );
    expect(new Set(kinds)).toEqual(new Set(["nothing", "none helps", "helps"]));
  });

  test.each(results.filter(({ result }) => result?.fix))(
    "$name: the change named does what is said of it",
    ({ run, result }) => {
      const { fix, before, after } = result as FirstFix;
      const named = candidateFixes(run.plan).find(({ words }) => words === fix?.words);
      expect(sufferingOf(rehearse(named!.apply(run.plan)))).toEqual(after);
      expect(after).not.toEqual(before);
    },
  );

  test.each(results.filter(({ result }) => result !== null && result.fix === null))(
    "$name: no change tried leaves less silence or fewer clicks",
    ({ run, result }) => {
      const { before, tried } = result as FirstFix;
      for (const fix of candidateFixes(run.plan).slice(0, tried)) {
        const after = sufferingOf(rehearse(fix.apply(run.plan)));
        const isLess =
          after.silentSeconds < before.silentSeconds - 0.05 ||
          (after.silentSeconds <= before.silentSeconds && after.slips < before.slips);
        expect(isLess, fix.words).toBe(false);
      }
    },
  );
});

describe("what is said of it", () => {
  const none: Suffering = {
    silentSeconds: 0,
    slips: 0,
    dropoutsOnReturn: 0,
    dropoutsWhileFaulty: 0,
    fullLevelReturns: 0,
    unheardSlips: 0,
  };

  test.each([
    [{ slips: 1607, dropoutsWhileFaulty: 1, unheardSlips: 9 }, {}, "no clicks"],
    [
      { silentSeconds: 75, dropoutsOnReturn: 3, fullLevelReturns: 1 },
      { silentSeconds: 75, fullLevelReturns: 1 },
      "no dropout on the return; the silence of 1 min 15 s stays",
    ],
    [{ silentSeconds: 600 }, { silentSeconds: 0.3 }, "0.3 s of silence instead of 10 min"],
    [{ slips: 8301 }, { slips: 328 }, "328 clicks instead of 8,301"],
    [{ dropoutsOnReturn: 2 }, { slips: 40 }, "no dropout on the return; but 40 clicks"],
    [
      { silentSeconds: 60, fullLevelReturns: 1 },
      { silentSeconds: 60 },
      "nothing comes back at full level; the silence of 1 min stays",
    ],
    [{ dropoutsWhileFaulty: 1 }, {}, "no dropout"],
    [{ unheardSlips: 12 }, {}, "no slips"],
  ])("%j becomes %j: %s", (before, after, words) => {
    expect(effectWords({ ...none, ...before }, { ...none, ...after })).toBe(words);
  });
});
