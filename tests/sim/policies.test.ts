/** A leader that comes back, under five policies: what is changed, what comes of it, what is advised. */
import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import type { DevicePlan, Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { type Absence, absencesOf } from "../../sim/policies/absence.ts";
import { adviceOf } from "../../sim/policies/advice.ts";
import type { FeedOutcome, Outcome } from "../../sim/policies/outcome.ts";
import { POLICIES, type Policy, variantsOf } from "../../sim/policies/variants.ts";
import { comparePolicies, type PolicyComparison, rowsToCompare } from "../../sim/policies.ts";
import { rehearse } from "../../sim/rehearse.ts";

function shipped(name: string): Plan {
  const file = `scenarios/${name}.json`;
  const { plan } = readScenario({ file, bytes: readFileSync(file) }, (wanted) => ({
    bytes: readFileSync(`scenarios/${wanted}`),
  }));
  if (plan === null) throw new Error(`${file} cannot be read`);
  return plan;
}

const REBOOT = shipped("leader-reboot");

function withDevice(plan: Plan, id: string, change: Partial<DevicePlan>): Plan {
  return { ...plan, devices: plan.devices.map((device) => (device.id === id ? { ...device, ...change } : device)) };
}

const seconds = (value: number) => nsFromSeconds(value);
const comparisons = new Map<Plan, PolicyComparison>();

function compared(plan: Plan): PolicyComparison {
  const known = comparisons.get(plan) ?? comparePolicies(rehearse(plan))[0];
  if (known === undefined) throw new Error("nobody who leads goes away and comes back");
  comparisons.set(plan, known);
  return known;
}

function absenceIn(plan: Plan): Absence {
  const [absence] = absencesOf(rehearse(plan));
  if (absence === undefined) throw new Error("nobody who leads goes away and comes back");
  return absence;
}

function variant(plan: Plan, policy: Policy): Plan {
  const neverDown = new Set(plan.devices.map(({ id }) => id).filter((id) => id !== "foh"));
  const made = variantsOf(plan, absenceIn(plan), neverDown).find((each) => each.policy === policy);
  if (made?.plan == null) throw new Error(made?.whyNot ?? policy);
  return made.plan;
}

function outcome(plan: Plan, policy: Policy): Outcome {
  const found = compared(plan).policies.find((each) => each.policy === policy);
  if (found?.outcome == null) throw new Error(`${policy}: ${found?.whyNot}`);
  return found.outcome;
}

function feed(plan: Plan, policy: Policy, id: string): FeedOutcome {
  return outcome(plan, policy).feeds.find((each) => each.id === id)!;
}

const exactly = (value: number) => ({ least: value, most: value });

describe("what a policy changes", () => {
  /** All that a run depends on; what the scenario tells and expects is its own. */
  const played = ({
    title: _title,
    story: _story,
    expect: _expect,
    assumed: _assumed,
    origins: _origins,
    assumptions: _assumptions,
    ...plan
  }: Plan) => plan;

  test.each([
    ["at-once", "leader-reboot-stay", "leader-reboot"],
    ["at-once", "leader-reboot-wait", "leader-reboot"],
    ["after-wait", "leader-reboot", "leader-reboot-wait"],
    ["after-wait", "leader-reboot-stay", "leader-reboot-wait"],
    ["stay", "leader-reboot-stay", "leader-reboot-stay"],
    ["at-once", "leader-reboot-follows", "leader-reboot"],
  ] as const)("%s of %s is the shipped %s", (policy, from, to) => {
    expect(played(variant(shipped(from), policy))).toEqual(played(shipped(to)));
  });

  test("come back as a follower: the shipped one, with the order in the middle of the boot", () => {
    const own = played(variant(REBOOT, "follows"));
    const filed = played(shipped("leader-reboot-follows"));
    expect(own.devices).toEqual(filed.devices);
    expect(own.events.map(({ atNs }) => atNs)).toEqual([seconds(1200), seconds(1237)]);
    expect(own.events.map(({ atNs: _at, written: _written, ...event }) => event)).toEqual(
      filed.events.map(({ atNs: _at, written: _written, ...event }) => event),
    );
  });

  test("another leads: the shipped one, but for who would be next", () => {
    const { leaders, ...own } = played(variant(REBOOT, "another-leads"));
    const { leaders: _filed, ...filed } = played(shipped("leader-stage-box"));
    expect(own).toEqual(filed);
    expect(leaders).toEqual(["stage", "foh", "mon"]);
  });

  test("is told as edits of the file, and nothing else", () => {
    const edits = Object.fromEntries(compared(REBOOT).policies.map(({ policy, edits }) => [policy, edits]));
    const set = (device: string | null, field: string, to: unknown) => ({ do: "set", device, field, to });
    expect(edits).toEqual({
      "at-once": [],
      "after-wait": [set("mon", "waitToRestoreSeconds", 300), set("stage", "waitToRestoreSeconds", 300)],
      stay: [set("mon", "revertive", false), set("stage", "revertive", false)],
      follows: [
        set("mon", "revertive", false),
        set("stage", "revertive", false),
        {
          do: "add-event",
          event: { at: "00:20:37", do: "set-clock-sources", device: "foh", clockSources: ["1", "internal"] },
        },
      ],
      "another-leads": [
        set(null, "leaders", ["stage", "foh", "mon"]),
        set("foh", "clockSources", ["1", "internal"]),
        set("mon", "clockSources", ["2", "internal"]),
        set("stage", "clockSources", ["internal"]),
      ],
    });
    expect(compared(REBOOT).policies.map(({ isAsFiled }) => isAsFiled)).toEqual([true, false, false, false, false]);
  });

  test("an order that comes between leaves every repair with its own fault", () => {
    const events: Plan["events"] = [
      { atNs: seconds(600), undoes: null, do: "hang", device: "rec" },
      { atNs: seconds(1200), undoes: null, do: "reboot", device: "foh", part: "all" },
      { atNs: seconds(1210), undoes: null, do: "hang", device: "truck" },
      { atNs: seconds(1300), undoes: 2, do: "unhang", device: "truck" },
      { atNs: seconds(1400), undoes: 0, do: "unhang", device: "rec" },
    ];
    const own = variant({ ...REBOOT, events }, "follows").events;
    expect(own.map(({ do: deed }) => deed)).toEqual([
      "hang",
      "reboot",
      "hang",
      "set-clock-sources",
      "unhang",
      "unhang",
    ]);
    expect(own.map(({ undoes }) => undoes)).toEqual([null, null, null, null, 2, 0]);
  });
});

describe("what comes of it", () => {
  test("the mix position costs the same under each policy, and the clock plan nothing of it", () => {
    for (const policy of POLICIES) {
      expect(feed(REBOOT, policy, "pa-mix"), policy).toMatchObject({
        silentForDeviceDownSeconds: 75,
        silentForClockSeconds: exactly(0),
        returnsAtFullLevel: 8,
      });
    }
  });

  test("the returned desk on its own clock clicks until the others are back with it", () => {
    // 4.2 + 3.1 = 7.3 ppm is 0.3504 samples a second: 300 s of waiting, or 4,124.9 s to the end of the show.
    expect(feed(REBOOT, "after-wait", "pa-mix").slips).toEqual(exactly(105));
    expect(feed(REBOOT, "stay", "pa-mix").slips.most).toBe(Math.floor(0.3504 * 4124.9));
    for (const policy of ["at-once", "follows", "another-leads"] as const)
      expect(feed(REBOOT, policy, "pa-mix").slips, policy).toEqual(exactly(0));
  });

  test("silence for the clock is counted apart where a device mutes what is out of step", () => {
    const mutes = withDevice(REBOOT, "foh", { muteOutOfStep: true });
    const stay = feed(mutes, "stay", "pa-mix");
    expect(stay.silentForDeviceDownSeconds).toBe(75);
    expect(stay.silentForClockSeconds.least).toBeGreaterThan(4000);
    expect(feed(mutes, "follows", "pa-mix").silentForClockSeconds.most).toBeLessThan(10);
  });

  test("who is on whose clock at the end", () => {
    const ends = (policy: Policy) =>
      outcome(REBOOT, policy).clocksAtEnd.map(({ leader, followers }) => `${leader}: ${followers.join(" ")}`);
    const all = ["ears", "foh", "mon", "pa", "rec", "stage", "truck"];
    const but = (leader: string) => [`${leader}: ${all.filter((id) => id !== leader).join(" ")}`];
    expect(ends("at-once")).toEqual(but("foh"));
    expect(ends("after-wait")).toEqual(but("foh"));
    expect(ends("stay")).toEqual(["foh: pa", "mon: ears rec stage truck"]);
    expect(ends("follows")).toEqual(but("mon"));
    expect(ends("another-leads")).toEqual(but("stage"));
  });
});

describe("luck", () => {
  const { shiftsSeconds } = compared(REBOOT);

  test("the instants of return are spread over one sample of the two clocks", () => {
    expect(shiftsSeconds).toHaveLength(8);
    // 7.3 ppm at 48 kHz, an eighth of it apart.
    for (const [index, shift] of shiftsSeconds.entries()) expect(shift).toBeCloseTo(index / 8 / (7.3e-6 * 48_000), 6);
  });

  test("whether the return costs a dropout depends on them: none to one", () => {
    for (const id of ["ears-mix", "multitrack", "broadcast"])
      expect(feed(REBOOT, "at-once", id).dropouts.onReturn, id).toEqual({ least: 0, most: 1 });
    for (const policy of ["stay", "follows", "another-leads"] as const)
      expect(feed(REBOOT, policy, "ears-mix").dropouts.onReturn, policy).toEqual(exactly(0));
  });

  test("each of them as it is played alone: a boot that is longer by so much", () => {
    const dropouts = shiftsSeconds.map((shift) => {
      const { summary } = rehearse(withDevice(REBOOT, "foh", { bootSeconds: 75 + shift }));
      return summary.feeds.find(({ id }) => id === "ears-mix")!.dropouts.onReturn;
    });
    expect(new Set(dropouts)).toEqual(new Set([0, 1]));
    // It jumps where it is off by more than the unlock window of 0.25: half of all places in a sample.
    expect(dropouts.filter((count) => count === 1)).toHaveLength(4);
  });

  test("those who are sent back are sent at several instants too", () => {
    const onReturn = feed(shipped("leader-reboot-stay"), "stay", "ears-mix").dropouts.onReturn;
    expect(onReturn).toEqual({ least: 0, most: 1 });
  });
});

describe("what goes away and comes back", () => {
  const unplugged = (links: readonly string[]): Plan => ({
    ...REBOOT,
    events: [
      ...links.map(
        (link) =>
          ({ do: "unplug", link, end: null, way: null, into: null, atNs: seconds(1200), undoes: null }) as const,
      ),
      ...links.map(
        (link, index) =>
          ({ do: "plug", link, end: null, way: null, into: null, atNs: seconds(1290), undoes: index }) as const,
      ),
    ],
  });

  test("a power cut: away from the cut to the end of the boot, and it starts when the power is back", () => {
    const cut: Plan = {
      ...REBOOT,
      events: [
        { atNs: seconds(1200), undoes: null, do: "power-cut", device: "foh", supply: null },
        { atNs: seconds(1230), undoes: 0, do: "power-back", device: "foh", supply: null },
      ],
    };
    expect(absencesOf(rehearse(cut))).toEqual([
      {
        leader: "foh",
        how: "power",
        goneAtSeconds: 1200,
        startsAtSeconds: 1230,
        backAtSeconds: 1305,
        followers: ["mon", "pa", "stage"],
      },
    ]);
    expect(variant(cut, "follows").events.map(({ atNs }) => atNs)).toEqual([1200, 1230, 1267].map(seconds));
  });

  test("every cable over which it is listened to: it is told to follow meanwhile, and does when they are back", () => {
    const plan = unplugged(["foh-mon", "foh-pa", "foh-stage"]);
    expect(absenceIn(plan)).toMatchObject({ leader: "foh", how: "unplugged", goneAtSeconds: 1200 });
    expect(absenceIn(plan).backAtSeconds).toBeGreaterThan(1290);
    expect(outcome(plan, "follows").clocksAtEnd.map(({ leader }) => leader)).toEqual(["mon"]);
    expect(outcome(plan, "stay").clocksAtEnd.map(({ leader }) => leader)).toEqual(["foh", "mon"]);
    expect(feed(plan, "at-once", "ears-mix").dropouts.onReturn).toEqual({ least: 0, most: 1 });
  });

  test("not: one of several cables, a device that nobody listens to, one that does not come back", () => {
    expect(comparePolicies(rehearse(unplugged(["foh-stage"])))).toEqual([]);
    expect(
      comparePolicies(
        rehearse({ ...REBOOT, events: [{ ...REBOOT.events[0]!, device: "rec" } as Plan["events"][number]] }),
      ),
    ).toEqual([]);
    const gone: Plan = {
      ...REBOOT,
      events: [{ atNs: seconds(1200), undoes: null, do: "power-cut", device: "foh", supply: null }],
    };
    expect(comparePolicies(rehearse(gone))).toEqual([]);
    expect(comparePolicies(rehearse(shipped("leader-stage-box")))).toEqual([]);
  });

  const [reboot] = REBOOT.events;
  const twice: Plan = { ...REBOOT, events: [reboot!, { ...reboot!, atNs: seconds(3000) }] };

  test("each absence is compared for itself: what is told while it is away is told in that one", () => {
    const both = comparePolicies(rehearse(twice));
    expect(both.map(({ absence, otherAbsences }) => [absence.goneAtSeconds, otherAbsences])).toEqual([
      [1200, 1],
      [3000, 1],
    ]);
    const orders = both.map(({ policies }) =>
      policies
        .find(({ policy }) => policy === "follows")!
        .edits.flatMap((edit) => (edit.do === "add-event" ? [edit.event.at] : [])),
    );
    expect(orders).toEqual([["00:20:37"], ["00:50:37"]]);
    // Both boots are in what is heard, whichever of them the policy is about.
    for (const { policies } of both)
      for (const { outcome: found } of policies)
        expect(found!.feeds.find(({ id }) => id === "pa-mix")!.silentForDeviceDownSeconds).toBe(150);
  });

  test("what a comparison costs is known before: the rows of so many runs", () => {
    const [once, both] = [rehearse(REBOOT), rehearse(twice)];
    expect(rowsToCompare(once)).toBe(5 * 8 * once.record.rows.length);
    expect(rowsToCompare(both)).toBe(2 * 5 * 8 * both.record.rows.length);
    expect(rowsToCompare(rehearse(shipped("leader-stage-box")))).toBe(0);
  });
});

describe("what cannot be made", () => {
  const alone = REBOOT.devices.reduce(
    (plan, { id, clockSources }) => withDevice(plan, id, { clockSources: clockSources.slice(0, 1) }),
    REBOOT,
  );

  test("without a second source there is nothing to go back from", () => {
    const { policies, advice } = compared(alone);
    expect(policies.map(({ outcome: found }) => found !== null)).toEqual([false, false, false, false, true]);
    expect(policies[0]!.whyNot).toContain("has a second source on another clock");
    expect(advice).toBeNull();
  });

  test("two sources from the leader itself are no second one", () => {
    const main = alone.links.find(({ id }) => id === "foh-stage")!;
    const spare = { ...main, id: "second", a: { device: "stage", port: 8 }, b: { device: "foh", port: 8 } };
    const both = withDevice({ ...alone, links: [...alone.links, spare] }, "stage", { clockSources: ["1", "8"] });
    expect(compared(both).policies[0]!.outcome).toBeNull();
  });

  test("without a house clock, a stage box or a next leader that stays up, nobody else can lead", () => {
    const desks = withDevice({ ...REBOOT, leaders: ["foh"] }, "stage", { kind: "desk" });
    const made = compared(desks).policies.find(({ policy }) => policy === "another-leads")!;
    expect(made).toMatchObject({ outcome: null, edits: [], leads: null });
    expect(made.whyNot).toContain("no house clock, no stage box");
  });

  test("a run that ends before the wait is over says so", () => {
    const short = { ...REBOOT, lengthNs: seconds(1320) };
    expect(compared(short).policies[1]!.words).toContain("the run ends before it is over");
    expect(compared(REBOOT).policies[1]!.words).not.toContain("the run ends");
  });
});

describe("advice", () => {
  const clean: Omit<FeedOutcome, "id" | "heardBy"> = {
    dropouts: { whileFaulty: exactly(0), onReturn: exactly(0) },
    slips: exactly(0),
    silentForDeviceDownSeconds: 0,
    silentForClockSeconds: exactly(0),
    silentOtherwiseSeconds: 0,
    returnsAtFullLevel: 0,
    mayBeSilent: false,
  };
  const heard = (of: Readonly<Record<string, Partial<FeedOutcome>>>): Outcome => ({
    runs: 8,
    clocksAtEnd: [],
    feeds: ["pa", "in-ears", "record", "broadcast"].map((id) => ({ id, heardBy: [id], ...clean, ...of[id] })),
  });
  const onReturn = (least: number, most: number) => ({
    dropouts: { whileFaulty: exactly(0), onReturn: { least, most } },
  });
  const between = (one: Outcome, other: Outcome) =>
    adviceOf([
      { policy: "at-once", outcome: one },
      { policy: "stay", outcome: other },
    ]);

  test("for the shipped reboot: two that nobody can tell apart, and by what each other is worse", () => {
    expect(compared(REBOOT).advice).toEqual({
      best: ["follows", "another-leads"],
      worse: [
        { policy: "after-wait", by: "dropouts and clicks in the PA" },
        { policy: "stay", by: "dropouts and clicks in the PA" },
        { policy: "at-once", by: "dropouts and clicks in ears" },
      ],
    });
  });

  test.each([
    ["sudden level in ears", { "in-ears": { returnsAtFullLevel: 1 } }, { pa: { silentForDeviceDownSeconds: 75 } }],
    ["silence of the PA", { pa: { silentForClockSeconds: { least: 0, most: 3 } } }, { pa: { slips: exactly(1000) } }],
    ["dropouts and clicks in the PA", { pa: { slips: exactly(10) } }, { record: onReturn(3, 3) }],
    ["dropouts and clicks in ears", { "in-ears": onReturn(0, 1) }, { record: { slips: exactly(900) } }],
    ["what the recording has", { record: onReturn(1, 1) }, { broadcast: { slips: exactly(900) } }],
    ["what everybody else hears", { broadcast: { slips: exactly(900) } }, {}],
  ] as const)("%s comes before all that follows", (harm, one, other) => {
    expect(between(heard(one), heard(other))).toEqual({ best: ["stay"], worse: [{ policy: "at-once", by: harm }] });
  });

  test("what luck can do counts; a click more or less, or a blink of silence, does not", () => {
    expect(between(heard({ pa: onReturn(0, 2) }), heard({ pa: onReturn(1, 1) }))?.best).toEqual(["stay"]);
    const nearly = heard({ pa: { slips: exactly(501), silentOtherwiseSeconds: 0.1 } });
    expect(between(nearly, heard({ pa: { slips: exactly(499) } }))).toEqual({ best: ["at-once", "stay"], worse: [] });
  });
});

test("the same plan gives the same comparison", () => {
  expect(JSON.stringify(comparePolicies(rehearse(REBOOT)))).toBe(JSON.stringify([compared(REBOOT)]));
});
