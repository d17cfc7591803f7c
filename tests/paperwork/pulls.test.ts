/** Which pulls exercise what, on rigs whose answer is known. */
import { isDeepStrictEqual } from "node:util";
import { describe, expect, it } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { pullSheet } from "../../sim/paperwork/pull-sheet.ts";
import { type Pull, type PullTest, pullTest } from "../../sim/paperwork/pulls.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { faultsIn, REPAIR_SECONDS, withFaults } from "../../sim/trials/list.ts";
import { asPlanned } from "../../sim/trials/moments.ts";
import { type LanternFile, lanternPlan } from "../helpers/lantern-networks.ts";
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

  it("tells which cables have no spare, of a word-clock line once", () => {
    const plan = threeCables();
    const more = [
      link("foh.8", "pa.1", { id: "to-pa" }),
      ...["rack", "truck"].map((id) =>
        link("stage.8", `${id}.1`, {
          id: `wc-${id}`,
          type: "word-clock",
          line: { id: "wc", taps: ["rack", "truck"], terminatedAt: ["truck"] },
        }),
      ),
    ];
    const devices = [...plan.devices, device("pa", ["1"]), device("rack", ["1"]), device("truck", ["1"])];
    const [mix] = plan.feeds;
    const toPa = { from: "foh", to: "pa", channels: 2, over: [{ link: "to-pa", way: "there" as const }], spare: null };
    const feeds = [{ ...mix!, through: [...mix!.through, "pa"], hops: [...mix!.hops, toPa] }];
    const rig = { ...plan, devices, feeds, links: [...plan.links, ...more] };
    const test = pullTest(rig, AT);
    expect(test.alone).toEqual(["to-pa", "wc-rack"]);
    expect(pullSheet(rig, test).after.join("\n")).toContain(
      "Without a spare, for all or part of what goes over them: cable to-pa and word-clock line.",
    );
    expect(pullTest(plan, AT).alone).toEqual([]);
    expect(pullSheet(plan, pullTest(plan, AT)).after.join("\n")).not.toContain("Without a spare");
  });
});

describe("either of two streams", () => {
  const pair = (change: (file: LanternFile) => void = () => {}) =>
    lanternPlan([], (file) => {
      Object.assign(file.rig, { spares: [{ id: "pair", links: ["up", "up-blue"], mode: "duplicate" }] });
      change(file);
    });
  const alone = (link: string) => ({ kind: "alone", spare: "pair", link });

  it("carries alone once, shown by a pull that takes the other away for as long as it lasts", () => {
    const plan = pair();
    const test = pullTest(plan, AT);
    expect(test.duties).toEqual(expect.arrayContaining([alone("up"), alone("up-blue")]));
    expect(test.undone.filter(({ kind }) => kind === "alone")).toEqual([]);
    const shows = (link: string) =>
      test.pulls.filter(({ duties }) => duties.some((duty) => isDeepStrictEqual(duty, alone(link))));
    for (const [link, other] of [
      ["up", "up-blue"],
      ["up-blue", "up"],
    ] as const) {
      expect(shows(link).length).toBeGreaterThan(0);
      for (const { faults, backSeconds } of shows(link)) {
        // The network goes on over its second trunk when the first is out: that takes no stream away.
        expect(faults.map(({ id }) => id)).not.toContain("cable-out trunk");
        const { summary } = rehearse(withFaults(plan, faults, AT));
        const before = 60 + backSeconds - 1e-3;
        const stateOf = (id: string) =>
          summary.links
            .find((each) => each.id === id)!
            .states.find(({ fromSeconds, toSeconds }) => fromSeconds <= before && before < toSeconds)!.state;
        expect([stateOf(link), stateOf(other)]).toEqual(["up", "down"]);
      }
    }
    const words = JSON.stringify(pullSheet(plan, test).sections);
    expect(words).toContain("on the Red network carries alone");
    expect(words).toContain("on the Blue network carries alone");
  });

  it("cannot where both go over one network, and the sheet says so", () => {
    const plan = pair((file) => {
      const blue = file.rig.links.find(({ id }) => id === "up-blue")!;
      Object.assign(blue, { from: "stage.1", to: "foh.1" });
    });
    const test = pullTest(plan, AT);
    expect(test.undone.filter(({ kind }) => kind === "alone")).toEqual([alone("up"), alone("up-blue")]);
    expect(pullSheet(plan, test).after.filter((line) => line.includes("carries alone"))).toHaveLength(2);
  });

  it("is asked for in every shipped scenario that has a pair of them", () => {
    let pairs = 0;
    for (const name of ["one-switch-reboots.json", "forklift-on-the-ramp.json"]) {
      const { plan } = asPlanned(shippedPlan(name));
      const test = pullTest(plan, AT);
      for (const { id, links } of plan.spares) {
        pairs += 1;
        for (const link of links)
          expect(test.pulls.flatMap(({ duties }) => duties)).toContainEqual({ kind: "alone", spare: id, link });
      }
    }
    expect(pairs).toBeGreaterThan(3);
  });
});

describe("a device with two supplies", () => {
  const powered = (power: Readonly<Record<string, readonly string[]>>, words: Partial<Plan> = {}): Plan => {
    const plan = threeCables(words);
    return { ...plan, devices: plan.devices.map((each) => ({ ...each, power: power[each.id] ?? each.power })) };
  };
  const both = { stage: ["mains a", "mains b"], foh: ["mains a", "mains b"] };
  const off = (test: PullTest) => test.pulls.filter(({ faults: [fault] }) => fault?.kind === "supply-out");
  const goesOn = (device: string, supply: string) => ({ kind: "supply", device, supply });

  it("goes on with either: each supply is off once, for all at a time", () => {
    const plan = powered(both);
    const test = pullTest(plan, AT);
    expect(off(test).map(done).sort()).toEqual(["supply-out mains a", "supply-out mains b"]);
    expect(test.undone).toEqual([]);
    for (const pull of off(test)) {
      const supply = pull.faults[0]!.on;
      expect(pull.duties).toEqual([goesOn("foh", supply), goesOn("stage", supply)]);
      expect(pull.backSeconds).toBe(60);
      expect(pull.out.size + pull.left.size).toBe(0);
      const { summary } = rehearse(withFaults(plan, pull.faults, AT));
      expect(summary.devices.flatMap(({ states }) => states).filter(({ state }) => state === "off")).toEqual([]);
    }
    const sheet = pullSheet(plan, test);
    expect(sheet.lead[1]).toContain("Leave each cable out, and each supply off, for 1 min");
    const rows = sheet.sections[0]!.rows.map((row) => String(row[0]));
    const at = rows.findIndex((row) => row.includes("Have supply mains a switched off"));
    expect(at).toBeGreaterThan(0);
    expect(rows.slice(at + 2).every((row) => row.includes("Reboot"))).toBe(true);
    expect(JSON.stringify(sheet.sections)).toContain("While it is off: nothing changes.");
  });

  it("is not shown by taking another one's only supply away", () => {
    const plan = powered({ ...both, foh: ["mains a"] });
    const test = pullTest(plan, AT);
    expect(off(test).map(done)).toEqual(["supply-out mains b"]);
    expect(test.undone).toEqual([goesOn("stage", "mains a")]);
    expect(pullSheet(plan, test).after[0]).toContain("the stage box goes on without supply mains a");
  });

  it("nor by a supply whose battery goes on, unless that is empty in time", () => {
    const batteries = (seconds: number) => pullTest(powered(both, { batteries: { "mains a": seconds } }), AT);
    expect(off(batteries(600)).map(done)).toEqual(["supply-out mains b"]);
    expect(batteries(600).undone).toHaveLength(2);
    const none = powered(both, { batteries: { "mains a": 600, "mains b": 600 } });
    expect(pullSheet(none, pullTest(none, AT)).after.at(-1)).toContain("Supplies are not pulled here");
    expect(off(batteries(30)).map(done)).toHaveLength(2);
  });

  it("and one with a single supply is not switched off", () => {
    const test = pullTest(powered({ stage: ["mains a"], foh: ["mains b"] }), AT);
    expect(off(test)).toEqual([]);
    expect(test.duties.filter(({ kind }) => kind === "supply")).toEqual([]);
    expect(pullSheet(threeCables(), test).after.at(-1)).toContain("Supplies are not pulled here");
  });
});
