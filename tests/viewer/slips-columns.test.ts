import { readFileSync } from "node:fs";
import { expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { slipsHeard } from "../../sim/hear.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { plainName } from "../../sim/run-data.ts";
import { slipInstants } from "../../sim/slips.ts";
import { tell } from "../../sim/tell.ts";
import { slipColumns } from "../../viewer/lanes/slip-columns.ts";
import { type FeedSlips, slipsOf } from "../../viewer/slips.ts";
import { slippingRun } from "../browser/fixture.ts";

const WIDTHS = [1, 250.5, 683, 777.3, 1920];
const sum = (slips: FeedSlips, fromSeconds: number, toSeconds: number, width: number) =>
  slipColumns(slips, fromSeconds, toSeconds, width).reduce((total, { count }) => total + count, 0);

test.each(["own-clock", "two-clocks", "leader-reboot-stay"])(
  "%s: whatever the window and the width, columns hold as many slips as the record has there",
  (name) => {
    const run = rehearsed(name);
    let [checked, atEdge] = [0, 0];
    for (const [feed, parts] of slipsHeard(run.plan, run.record)) {
      const all = parts
        .flatMap(({ train, fromNs, toNs }) => slipInstants(train, fromNs, toNs).map(secondsFromNs))
        .sort((one, other) => one - other);
      const slips = slipsOf(run).get(feed)!;
      expect(slips.total, feed).toBe(all.length);
      if (all.length === 0) continue;
      const middle = all[all.length >> 1]!;
      const windows = [
        [0, run.summary.runSeconds],
        // A slip at the very edge belongs to the window.
        [middle, run.summary.runSeconds],
        [0, middle],
        [middle, middle + 0.001],
        [middle - 60, middle + 61.7],
      ] as const;
      for (const [from, to] of windows) {
        const inside = all.filter((at) => at >= from && at <= to).length;
        if (all.some((at) => at === from || at === to)) atEdge += 1;
        for (const width of WIDTHS) expect(sum(slips, from, to, width), `${feed} ${from} ${to} ${width}`).toBe(inside);
        expect(slips.instants(from, to, Number.POSITIVE_INFINITY), `${feed} ${from} ${to}`).toHaveLength(inside);
        checked += inside;
      }
    }
    expect(checked).toBeGreaterThan(100);
    expect(atEdge).toBeGreaterThan(2);
  },
);

test("panned from one end to the other in windows side by side, each of a hundred thousand slips is drawn once", () => {
  const slips = slipsOf(slippingRun(100_000)).get("split")!;
  let [drawn, densely] = [0, 0];
  const width = 1; // no rounding at the borders
  for (let from = 0; from < 5400; from += width) {
    // The last nanosecond belongs to the next window.
    const counted = sum(slips, from, from + width - 1e-9, 683);
    if (counted > 1) densely += 1;
    drawn += counted;
  }
  expect(drawn).toBe(100_000);
  expect(densely).toBeGreaterThan(5000);
});

function rehearsed(name: string) {
  const load = (file: string) => ({ bytes: readFileSync(`scenarios/${plainName(file)}`) });
  const { plan, issues } = readScenario({ file: `${name}.json`, ...load(`${name}.json`) }, load);
  if (plan === null) throw new Error(JSON.stringify(issues));
  const run = rehearse(plan);
  return { format: 1, ...run, telling: tell(run) } as const;
}
