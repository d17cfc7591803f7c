/** Each fault of small rigs, tried and ranked, against the same fault as an event of a whole rehearsal. */
import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";
import { later, nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { withFaults } from "../../sim/trials/list.ts";
import { type CaseToll, ranked, tollsOf } from "../../sim/trials/rank.ts";
import { singleFaults, WANTED } from "../../sim/trials/setup.ts";
import { Trier, trialCount } from "../../sim/trials/trial.ts";
import { PATIENCE_MS, tries } from "../helpers/laws.ts";
import { plans } from "../helpers/random-rig.ts";
import { shippedPlan } from "../helpers/shipped.ts";

const quiet = plans({
  devices: [2, 4],
  seconds: [120, 240],
  eventCount: [0, 0],
  secondSources: true,
  spares: true,
  wideRanges: true,
});

describe("a fault that is tried", () => {
  let silent = 0;
  let clicking = 0;
  let unheard = 0;

  test("comes to what a rehearsal with that event comes to", { timeout: PATIENCE_MS }, () => {
    fc.assert(
      fc.property(quiet, (plan) => {
        const { sweep } = singleFaults(plan, { ...WANTED, draws: 1 });
        const trier = new Trier(sweep);
        const [standing] = sweep.standings;
        const atNs = standing!.atNs;
        const endNs = later(atNs, nsFromSeconds(sweep.watchSeconds));
        const planned = rehearse({ ...sweep.plan, lengthNs: endNs }).summary.feeds;
        for (let index = 0; index < trialCount(sweep); index += 1) {
          const { harms, atSeconds } = trier.play(index);
          expect(atSeconds).toBe(secondsFromNs(atNs));
          const whole = { ...withFaults(sweep.plan, sweep.cases[index]!, atNs), lengthNs: endNs };
          const { feeds } = rehearse(within(whole)).summary;
          for (const [place, harm] of harms.entries()) {
            const [faulty, before] = [feeds[place]!, planned[place]!];
            const isClean = before.firstAudibleAtSeconds === null;
            if (!isClean) continue;
            expect(harm.silentSeconds).toBeCloseTo(silenceOf(faulty), 6);
            expect(harm.clicks).toBe(faulty.slips);
            expect(harm.dropouts).toBe(faulty.dropouts.whileFaulty + faulty.dropouts.onReturn);
            if (harm.silentSeconds > 0) silent += 1;
            if (harm.clicks > 0) clicking += 1;
            if (harm.normalAfterSeconds === 0) unheard += 1;
          }
        }
      }),
      tries(20),
    );
    expect(Math.min(silent, unheard)).toBeGreaterThan(200);
    expect(clicking).toBeGreaterThan(20);
  });
});

/** What is set after the end is not in a scenario of that length. */
function within(plan: Plan): Plan {
  const kept = plan.events.flatMap((event, was) => (event.atNs <= plan.lengthNs ? [{ event, was }] : []));
  const now = new Map(kept.map(({ was }, index) => [was, index]));
  const events = kept.map(({ event }) => ({ ...event, undoes: event.undoes === null ? null : now.get(event.undoes)! }));
  return { ...plan, events };
}

function silenceOf({ states }: ReturnType<typeof rehearse>["summary"]["feeds"][number]): number {
  return states
    .filter(({ state }) => state === "silent" || state === "not-carried")
    .reduce((sum, { fromSeconds, toSeconds }) => sum + (toSeconds - fromSeconds), 0);
}

describe("the ranking", () => {
  const outcome = (plan: Plan) => {
    const { sweep } = singleFaults(plan, { ...WANTED, draws: 2 });
    const trier = new Trier(sweep);
    const results = Array.from({ length: trialCount(sweep) }, (_, index) => trier.play(index));
    return { sweep, results };
  };

  test("does not hang on the order of results, cases or feeds", { timeout: PATIENCE_MS }, () => {
    let compared = 0;
    fc.assert(
      fc.property(quiet, fc.nat(), (plan, turn) => {
        const { sweep, results } = outcome(plan);
        const names = (tolls: readonly CaseToll[]) => tolls.map(({ faults }) => faults[0]!.id);
        const straight = ranked(plan, tollsOf(sweep, results));
        const turned = turn % results.length;
        const mixed = [...results.slice(turned), ...results.slice(0, turned)].reverse();
        const tolls = [...tollsOf(sweep, mixed)].reverse();
        expect(names(ranked({ ...plan, feeds: [...plan.feeds].reverse() }, tolls))).toEqual(names(straight));
        compared += straight.length;
      }),
      tries(8),
    );
    expect(compared).toBeGreaterThan(100);
  });
  test("does not hang on what things are called", () => {
    const text = readFileSync("scenarios/leader-reboot.json", "utf8");
    const { rig } = JSON.parse(text) as { rig: string };
    const ids = shippedPlan("leader-reboot.json").devices.map(({ id }) => id);
    // Backwards in the alphabet, whatever they were; an offset is in the file, so no draw hangs on a name.
    const nameOf = (id: string) => `zz${String(ids.length - ids.indexOf(id)).padStart(2, "0")}`;
    // Some devices are called as those who hear them.
    const renamed = (json: string) =>
      json
        .split(/("heardBy": \[[^\]]*\]|"kind": "[^"]*")/)
        .map((part, place) =>
          place % 2 === 1
            ? part
            : ids.reduce((all, id) => all.replaceAll(new RegExp(`(?<=")${id}(?=["@.])`, "g"), nameOf(id)), part),
        )
        .join("");
    const texts: Record<string, string> = {
      "x.json": renamed(text),
      [rig]: renamed(readFileSync(`scenarios/${rig}`, "utf8")),
    };
    const { plan, issues } = readScenario({ file: "x.json", bytes: Buffer.from(texts["x.json"]!) }, (name) => ({
      bytes: Buffer.from(texts[name]!),
    }));
    expect(issues).toEqual([]);
    const weights = (one: Plan) => {
      const { sweep, results } = outcome(one);
      return ranked(one, tollsOf(sweep, results)).map(({ feeds }) =>
        feeds
          .map(({ feed: _feed, ...toll }) => JSON.stringify(toll))
          .sort()
          .join(" "),
      );
    };
    expect(plan!.devices.some(({ id }) => id === "zz01")).toBe(true);
    expect(weights(plan!)).toEqual(weights(shippedPlan("leader-reboot.json")));
  });

  test("follows the order of concerns that is given", () => {
    const toll = (id: string, feed: Partial<CaseToll["feeds"][number]>): CaseToll => ({
      case: 0,
      faults: [{ id, kind: "reboot", on: id, devices: [], links: [], course: [], repairedAfterSeconds: null }],
      feeds: [{ ...none, ...feed }],
    });
    const none = {
      ...{ feed: "mix", trials: 1, heard: 1, silentSeconds: 0, longestSilenceSeconds: 0, clicks: 0, dropouts: 0 },
      ...{ dropoutsOnReturn: 0, atFullLevel: 0, mayBeSilent: false, normalAfterSeconds: 1 },
    };
    const plan = { feeds: [{ id: "mix", heardBy: ["pa"] }] } as unknown as Plan;
    const all = [toll("quiet", { silentSeconds: 60 }), toll("clicky", { clicks: 9 }), toll("loud", { atFullLevel: 1 })];
    const order = (...concerns: ("pa level" | "pa silence" | "pa clicks")[]) =>
      ranked(plan, all, concerns).map(({ faults }) => faults[0]!.id);
    expect(order("pa level", "pa silence", "pa clicks")).toEqual(["loud", "quiet", "clicky"]);
    expect(order("pa clicks", "pa silence", "pa level")).toEqual(["clicky", "quiet", "loud"]);
    // Whom nobody asks about stands by name.
    expect(order()).toEqual(["clicky", "loud", "quiet"]);
  });
});
