/** Each rule about networks on a rig that is made for it, and what it says there. */
import { describe, expect, it } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { check, checkAll } from "../../sim/check/index.ts";
import type { Rig } from "./network-rigs.ts";
import { bridge, cable, changed, foundIn, planOf, rulesOf, soundFile, stream } from "./network-rigs.ts";

const with_ = (file: Rig, more: Partial<Rig>): Rig => ({
  ...file,
  devices: [...file.devices, ...(more.devices ?? [])],
  links: [...file.links, ...(more.links ?? [])],
});
const sound = soundFile();
const plain = (micros: number) => ({ timing: "plain", residenceMicroseconds: 5, delayVariationMicroseconds: micros });

/** A desk and a box on one switch, and what is changed about them. */
const small = (words: { readonly [id: string]: object | null } = {}): Rig =>
  changed(
    {
      leaders: ["foh"],
      networks: [{ id: "red", recovery: "none" }],
      devices: [
        { id: "foh", name: "FOH desk", kind: "desk", clockSources: ["internal"], ptp: { priority1: 100 } },
        { id: "stage", name: "Stage box", kind: "stage-box", clockSources: ["1"], ptp: { followerOnly: true } },
        bridge("sw"),
      ],
      links: [
        cable("foh-red", "red", "foh.1", "sw.1"),
        cable("stage-red", "red", "stage.1", "sw.2"),
        stream("main", "stage.1", "foh.1"),
      ],
      spares: [],
      feeds: [],
    },
    words,
  );

/** Bridges in a row, each joined to the next, the last to the first where it is closed. */
function row(count: number, recovery: string, isClosed: boolean): Rig {
  const ids = Array.from({ length: count }, (_, index) => `b${index}`);
  const next = ids.flatMap((id, index) =>
    index + 1 < count || isClosed ? [cable(`t${index}`, "red", `${id}.1`, `${ids[(index + 1) % count]}.2`)] : [],
  );
  return {
    ...small(),
    networks: [{ id: "red", recovery }],
    devices: [...small().devices.filter(({ id }) => id !== "sw"), ...ids.map((id) => bridge(id))],
    links: [
      ...next,
      cable("foh-red", "red", "foh.1", "b0.3"),
      cable("stage-red", "red", "stage.1", `b${count - 1}.3`),
      stream("main", "stage.1", "foh.1"),
    ],
  };
}

const MADE: Readonly<Record<string, Rig>> = {
  "asymmetry-shifts-clock": changed(sound, {
    "red-foh": { lengthMetres: 600, asymmetryNanoseconds: 2500, medium: "fibre" },
  }),
  "buffer-below-variation": changed(sound, {
    "red-1": { bridge: { ...plain(1500), timing: "transparent" } },
    "red-2": { bridge: { ...plain(1500), timing: "transparent" } },
  }),
  "cable-overloaded": with_(small({ "stage-red": { megabitsPerSecond: 100 } }), {
    links: Array.from({ length: 10 }, (_, index) => stream(`more-${index}`, "stage.1", "foh.1")),
  }),
  "duplicate-skew": changed(sound, { pair: { windowMilliseconds: 0.3 }, second: { packetMicroseconds: 125 } }),
  "elected-by-identity": changed(sound, { mon: { ptp: { priority1: 100 } } }),
  "feed-through-one-switch": {
    ...small(),
    feeds: [{ id: "pa-mix", through: ["stage", "foh"], channels: 8, heardBy: ["pa"] }],
  },
  "leader-not-elected": changed(sound, { mon: { ptp: { priority1: 90 } } }),
  "network-loop": changed(sound, { red: { recovery: "none" } }),
  "network-ways-share-path": changed(sound, { "red-second": { laidAlong: ["quay wall"] } }),
  "networks-led-apart": with_(
    changed(sound, { "blue-foh": { ends: ["hall.1", "blue-1.1"] }, second: null, pair: null }),
    {
      devices: [{ id: "hall", name: "Hall desk", clockSources: ["9"], ptp: { priority1: 99 } }],
      links: [{ id: "word", type: "word-clock", from: "foh.9", to: "hall.9" }],
    },
  ),
  "next-not-elected": changed(sound, { mon: { ptp: { followerOnly: true } } }),
  "nobody-may-lead": small({ foh: { ptp: { followerOnly: true } } }),
  "recovery-slow": changed(sound, { blue: { recovery: "spanning-tree" } }),
  "ring-misfit": row(3, "ring-200ms", false),
  "spare-on-same-network": changed(sound, { second: { from: "stage.1", to: "foh.1" } }),
  "spare-shares-network": changed(sound, {
    "red-2": { power: ["left"] },
    "blue-2": { power: ["left"] },
  }),
  "stream-clock-mismatch": small({ main: { type: "avb" } }),
  "stream-split": small({ main: { channels: 9 } }),
  "variation-above-window": small({ sw: { bridge: plain(12) } }),
};

/** What takes both networks takes both of the box's clock sources. */
const ALSO: Readonly<Record<string, readonly string[]>> = { "spare-shares-network": ["sources-cut-by-one"] };

describe("a sound rig on two networks", () => {
  it("gives no finding about its settings; nor do a desk, a box and one switch", () => {
    expect(rulesOf(sound)).toEqual([]);
    expect(rulesOf(small())).toEqual([]);
  });

  it("whose switches are boundary devices gives none either, though they have clocks of their own", () => {
    const boundary = { bridge: { timing: "boundary" }, ptp: { priority1: 200 } };
    const all = Object.fromEntries(["red-1", "red-2", "blue-1", "blue-2"].map((id) => [id, boundary]));
    expect(rulesOf(changed(sound, all))).toEqual([]);
  });
});

describe.each(Object.keys(MADE))("%s", (rule) => {
  const file = MADE[rule]!;

  it("is what is found on the rig made for it, and all that is", () => {
    expect([...new Set(rulesOf(file, rule))]).toEqual([...(ALSO[rule] ?? []), rule]);
  });

  it("says what, why, what is seen and what to do, at a place in the file", () => {
    for (const { what, why, see, remedy, path } of foundIn(file, rule)) {
      for (const text of [what, why, see, remedy]) {
        expect(text).toMatch(/^\P{Ll}.*\.$/u);
        expect(text).not.toMatch(/!|undefined|null|NaN|\b(safe|good|pass|passed)\b/);
      }
      const [list, id, field] = path;
      const thing = planOf(file)[list as "devices"].find((one) => one.id === id);
      expect(thing).toBeDefined();
      if (field !== undefined) expect(Object.keys(thing!)).toContain(field);
    }
  });

  it("is the same in whatever order the file has them", () => {
    const plan = planOf(file);
    const turned: Plan = {
      ...plan,
      devices: plan.devices.toReversed(),
      links: plan.links.toReversed(),
      networks: plan.networks!.toReversed(),
    };
    expect(check(turned).map(({ what }) => what)).toEqual(check(plan).map(({ what }) => what));
  });

  it("is listed apart once it is accepted", () => {
    const accepted = [{ rule, devices: null, links: null, reason: "It is for a talk." }];
    const { findings, accepted: listed } = checkAll({ ...planOf(file), accepted });
    expect(findings.some((one) => one.rule === rule)).toBe(false);
    expect(listed.length).toBe(foundIn(file, rule).length);
  });
});

describe("who is elected", () => {
  it("and who is meant to lead are two things, and why the one is not the other is said", () => {
    const [finding, ...others] = foundIn(MADE["leader-not-elected"]!, "leader-not-elected");
    expect(others.length).toBe(1); // one a network
    expect(finding).toMatchObject({ severity: "error", devices: ["mon", "foh"], path: ["devices", "foh", "ptp"] });
    expect(finding!.remedy).toBe("FOH desk: set a priority1 below 90.");
  });

  it("is said to be by identity where nobody has set a priority", () => {
    const unset = small({
      foh: { ptp: { identity: "2222222222222222" } },
      stage: { ptp: { identity: "1111111111111111" } },
    });
    const [finding] = foundIn(unset, "leader-not-elected");
    expect(finding!.why).toMatch(/^Nobody has set a priority/);
    expect(rulesOf(unset)).toEqual(["leader-not-elected"]);
  });

  it("cannot be a device that no cable of the network ends at", () => {
    const away = changed(sound, { "blue-foh": null, second: null, pair: null });
    const apart = changed(with_(away, { devices: [{ id: "hall", name: "Hall desk", ptp: { priority1: 1 } }] }), {});
    const joined = with_(apart, { links: [cable("blue-hall", "blue", "hall.1", "blue-1.1")] });
    const [finding] = foundIn(joined, "leader-not-elected");
    expect(finding).toMatchObject({ devices: ["hall", "foh"], path: ["devices", "hall", "ptp"] });
    expect(finding!.remedy).toMatch(/^Lay a cable from the FOH desk to the blue network/);
  });

  it("when the leader is gone may be somebody else, or nobody", () => {
    const nobody = foundIn(MADE["next-not-elected"]!, "next-not-elected").map(({ what }) => what);
    expect(nobody).toHaveLength(2);
    expect(nobody[1]).toContain("nobody leads the red network");
    const third = with_(sound, {
      devices: [{ id: "truck", name: "Broadcast truck", clockSources: ["1"], ptp: { priority1: 105 } }],
      links: [cable("truck-red", "red", "truck.1", "red-1.5")],
    });
    const [other] = foundIn(third, "next-not-elected");
    expect(other).toMatchObject({ severity: "warning", devices: ["truck", "mon"] });
    expect(rulesOf(third)).toEqual(["next-not-elected"]);
  });

  it("by identity alone is said of the first two only: a follower-only device is no rival", () => {
    const [finding] = foundIn(MADE["elected-by-identity"]!, "elected-by-identity");
    expect(finding!.devices).toEqual(["foh", "mon"]);
    expect(foundIn(small({ foh: { ptp: {} } }), "elected-by-identity")).toEqual([]);
  });

  it("on a network without anybody who may lead is found once, not at each who listens", () => {
    expect(rulesOf(MADE["nobody-may-lead"]!)).toEqual(["nobody-may-lead"]);
    expect(foundIn(MADE["nobody-may-lead"]!, "nobody-may-lead")[0]!.devices).toEqual(["stage"]);
  });
});

describe("a device on a network whose time it does not take", () => {
  it("is left on internal where streams join it to those who do", () => {
    const [finding, ...others] = foundIn(small({ stage: { clockSources: ["internal"] } }), "left-on-internal");
    expect(others).toEqual([]);
    expect(finding).toMatchObject({ devices: ["stage"], links: ["stage-red"] });
    expect(finding!.remedy).toBe("Stage box, clock source: port 1 (FOH desk), not internal.");
    expect(rulesOf(small({ stage: { clockSources: ["internal"] } }))).toEqual(["left-on-internal"]);
  });

  it("is nobody's affair without a stream", () => {
    expect(rulesOf(small({ stage: { clockSources: ["internal"] }, main: null }))).toEqual([]);
  });

  it("is a second leader where it is meant to be the next one and runs on its own clock already", () => {
    expect(rulesOf(changed(sound, { mon: { clockSources: ["internal"] } }))).toEqual(["two-leaders"]);
  });
});

describe("loops and recoveries", () => {
  it("a loop without recovery names the cables in it, and none that is left unplugged as a spare by hand", () => {
    const [finding] = foundIn(MADE["network-loop"]!, "network-loop");
    expect(finding).toMatchObject({
      severity: "error",
      links: ["red-second", "red-trunk"],
      devices: ["red-1", "red-2"],
    });
    const byHand = changed(sound, { red: { recovery: "none" }, "red-second": { atStart: "unplugged" } });
    expect(foundIn(byHand, "network-loop")).toEqual([]);
  });

  it("says how long a spanning tree takes", () => {
    const [finding] = foundIn(MADE["recovery-slow"]!, "recovery-slow");
    expect(finding!.see).toContain("30 s to 50 s");
  });

  it("a ring that is closed and small enough is one", () => {
    expect(rulesOf(row(3, "ring-200ms", true))).toEqual([]);
    expect(rulesOf(row(14, "ring-10ms", true))).toEqual([]);
    const [finding] = foundIn(row(15, "ring-10ms", true), "ring-misfit");
    expect(finding!.what).toContain("15 bridges");
    expect(finding!.what).toContain("14 at most");
  });
});

describe("streams", () => {
  // 8 channels of 48 samples: 1152 bytes of audio, 40 of headers, 18 of Ethernet, 20 between: 1230 bytes a millisecond.
  it("need 9.84 Mbit/s for eight channels in packets of 1 ms: ten of them fit into 100 Mbit/s, eleven do not", () => {
    const slow = (channels: number) => small({ "stage-red": { megabitsPerSecond: 100 }, main: { channels } });
    expect(foundIn(slow(80), "cable-overloaded")).toHaveLength(0);
    const [finding] = foundIn(slow(88), "cable-overloaded");
    expect(finding).toMatchObject({ severity: "error", links: ["stage-red", "main"] });
    expect(finding!.what).toContain("needs 108 Mbit/s");
  });

  it("are counted one way, and on the way that they take when something is gone", () => {
    const both = with_(small({ "stage-red": { megabitsPerSecond: 100 }, main: { channels: 80 } }), {
      links: [stream("talk", "foh.1", "stage.1", { channels: 80 })],
    });
    expect(foundIn(both, "cable-overloaded")).toEqual([]);
    // At rest packets go over red-second, the lower of the two cables by id.
    const narrow = changed(sound, { "red-trunk": { megabitsPerSecond: 100 }, main: { channels: 88 } });
    const [finding, ...others] = foundIn(narrow, "cable-overloaded");
    expect(others).toEqual([]);
    expect(finding).toMatchObject({ severity: "warning", links: ["red-trunk", "main"] });
    expect(finding!.what).toMatch(/^When cable red-second is gone, cable red-trunk has 100 Mbit/);
    expect(foundIn(changed(narrow, { main: { channels: 80 } }), "cable-overloaded")).toEqual([]);
  });
});
