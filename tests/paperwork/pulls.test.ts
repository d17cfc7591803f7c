/** Which pulls exercise what, on rigs whose answer is known. */
import { describe, expect, it } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { pullSheet } from "../../sim/paperwork/pull-sheet.ts";
import { type Pull, type PullTest, pullTest } from "../../sim/paperwork/pulls.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { faultsIn, REPAIR_SECONDS, withFaults } from "../../sim/trials/list.ts";
import { asPlanned } from "../../sim/trials/moments.ts";
import { device, feed, link, planOf } from "../helpers/plan.ts";
import { shippedPlan } from "../helpers/shipped.ts";

const AT = nsFromSeconds(60);
const done = ({ faults }: Pull) => faults.map(({ id }) => id).join(" + ");
const by = (test: PullTest, id: string) => test.pulls.find((pull) => done(pull) === id);

/** Three cables from a stage box that leads to a desk, each a clock source of the desk and one of a group. */
function threeCables(words: Partial<Plan> = {}): Plan {
  const links = [1, 2, 3].map((port) => link(`stage.${port}`, `foh.${port}`, { id: `line-${port}` }));
  const plan = planOf({
    seconds: 120,
    devices: [
      device("stage", ["internal"], { name: "Stage box" }),
      device("foh", ["1", "2", "3"], { name: "FOH desk", holdOffSeconds: 0.2 }),
    ],
    links,
    feeds: [feed("pa-mix", ["stage", "foh"], links)],
  });
  const over = links.map(({ id }) => ({ link: id, way: "there" as const }));
  return {
    ...plan,
    leaders: ["stage"],
    spares: [
      {
        ...{ id: "trio", links: links.map(({ id }) => id), mode: "standby", switchSeconds: 0.5 },
        ...{ revertive: true, waitToRestoreSeconds: 0 },
      },
    ],
    feeds: plan.feeds.map((each) => ({ ...each, hops: each.hops.map((hop) => ({ ...hop, over, spare: "trio" })) })),
    ...words,
  };
}

describe("the shortest pull test", () => {
  it("pulls every cable of a group, and those before the last together", () => {
    const test = pullTest(threeCables(), AT);
    expect(test.undone).toEqual([]);
    expect(test.cover).toMatchObject({ isFewest: true, atLeast: 4 });
    // The first two together show that both are out and that the third carries, not that the second does.
    expect(test.pulls.map(done).sort()).toEqual([
      "cable-out line-1",
      "cable-out line-1 + cable-out line-2",
      "cable-out line-3",
      "reboot stage",
    ]);
    expect(by(test, "cable-out line-1 + cable-out line-2")?.duties).toEqual(
      expect.arrayContaining([
        { kind: "carries", spare: "trio", link: "line-3" },
        { kind: "source", device: "foh", source: "3" },
      ]),
    );
  });

  it("has times of a rehearsal of that very pull", () => {
    const { plan } = asPlanned(shippedPlan("main-out-good-spare.json"));
    const at = nsFromSeconds(600);
    const test = pullTest(plan, at);
    const pull = by(test, "cable-out main");
    const main = faultsIn(plan, { ...REPAIR_SECONDS, cable: 60 }).find(({ id }) => id === "cable-out main");
    const { summary } = rehearse(withFaults(plan, [main!], at));
    const states = summary.devices.find(({ id }) => id === "stage")!.states;
    const [onSpare] = states.filter(({ state, source }) => state === "locked" && source === "2");
    const again = states.at(-1)!;
    expect(onSpare!.fromSeconds - 600).toBeGreaterThan(0.5);
    expect(again).toMatchObject({ state: "locked", source: "1" });
    expect(pull?.outAfterSeconds).toBeCloseTo(onSpare!.fromSeconds - 600, 9);
    expect(pull!.backSeconds + pull!.againAfterSeconds).toBeCloseTo(again.fromSeconds - 600, 9);
    expect(pull?.out.get("stage")).toMatchObject({ key: "locked-later", source: "2" });
    expect(pull?.left.size).toBe(0);
    expect(test.pulls.map(done).sort()).toEqual(["cable-out main", "cable-out spare", "reboot foh"]);
  });

  it("leaves a cable out for longer than somebody takes to move the plug", () => {
    const plan = threeCables();
    const byHand = {
      ...plan,
      spares: plan.spares.map((spare) => ({ ...spare, mode: "manual" as const, switchSeconds: 90 })),
    };
    expect(pullTest(plan, AT).outSeconds).toBe(60);
    const slow = pullTest(byHand, AT);
    expect(slow.outSeconds).toBe(150);
    expect(slow.undone).toEqual([]);
    const seen = JSON.stringify(pullSheet(byHand, slow).sections);
    expect(seen).toContain("Cable line-2 carries, once somebody has changed over to it");
    expect(JSON.stringify(pullSheet(plan, pullTest(plan, AT)).sections)).not.toContain("changed over");
  });

  it("is the same as the show begins", () => {
    const plan = threeCables();
    const words = (at: number) => pullSheet(plan, pullTest(plan, nsFromSeconds(at))).sections;
    expect(words(0)).toEqual(words(60));
  });

  it("names what no pull brings about", () => {
    const { plan } = asPlanned(shippedPlan("out-of-capture.json"));
    const test = pullTest(plan, nsFromSeconds(600));
    expect(test.undone.length).toBeGreaterThan(0);
    expect(pullSheet(plan, test).after[0]).toMatch(/^No pull of this sheet brings about: .* It is untested/);
  });

  it("says on which day a cable was pulled, and of a pair the earlier day; else that it is untested", () => {
    const plan = threeCables();
    const dates = ["2026-11-20", "2026-11-18", undefined];
    const links = plan.links.map((each, place) => {
      const tested = dates[place];
      return tested === undefined ? each : { ...each, tested };
    });
    const test = pullTest({ ...plan, links }, AT);
    expect(by(test, "cable-out line-1")?.tested).toBe("2026-11-20");
    expect(by(test, "cable-out line-1 + cable-out line-2")?.tested).toBe("2026-11-18");
    expect(by(test, "cable-out line-3")?.tested).toBeNull();
    const text = JSON.stringify(pullSheet({ ...plan, links }, test).sections);
    expect(text).toContain("pulled on 2026-11-20");
    expect(text).toContain("untested");
  });

  it("reboots whoever leads last, and cables as one walks by", () => {
    const plan = threeCables();
    const [section] = pullSheet(plan, pullTest(plan, AT)).sections;
    const first = section!.rows.map(([cell]) => cell);
    expect(first.at(-1)).toBe("4. Reboot the stage box");
    expect(first[0]).toMatch(/^1\. Pull /);
  });
});
