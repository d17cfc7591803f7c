/** What nobody has prepared yet: rules about the return, the spare, the mute, the way of the clock. */
import { describe, expect, it } from "vitest";
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import { feedCuts } from "../../sim/check/risks.ts";
import { device, feed, foh, found, link, madi, mon, rig, soundRig, spare, stage } from "./rigs.ts";

const amps = (words: Parameters<typeof device>[2] = {}) =>
  device("amps", ["1"], { name: "PA processor", kind: "processor", ...words });

describe("leader-retakes", () => {
  it("names those who go back, and those only", () => {
    const [finding, ...more] = found(soundRig(), "leader-retakes");
    expect(more).toEqual([]);
    expect(finding).toMatchObject({ severity: "advice", devices: ["foh", "mon", "stage"] });
    expect(finding!.what).toContain(
      "the monitor desk and the stage box go back to its clock by themselves (revertive), at once",
    );
  });

  it("says how long they wait", () => {
    const [finding] = found(soundRig({ stage: { waitToRestoreSeconds: 300 } }), "leader-retakes");
    expect(finding!.what).toContain("after up to 5 min");
  });

  it("is not found where all stay until told, nor where nobody is next", () => {
    expect(found(soundRig({ stage: { revertive: false }, mon: { revertive: false } }), "leader-retakes")).toEqual([]);
    expect(found({ ...soundRig(), leaders: ["foh"] }, "leader-retakes")).toEqual([]);
  });

  it("does not name one that hears the old leader through another that goes back", () => {
    const plan = soundRig();
    const devices = [...plan.devices, device("ears", ["1"], { name: "In-ear transmitter", kind: "transmitter" })];
    const links = [...plan.links, madi("mon-ears", "mon.5", "ears.1")];
    expect(found({ ...plan, devices, links }, "leader-retakes")[0]!.devices).not.toContain("ears");
  });
});

describe("leader-may-leave", () => {
  const led = (words: Parameters<typeof device>[2], link: Partial<LinkPlan> = {}) =>
    rig(
      ["lead"],
      [device("lead", ["internal"], words), stage(["1"])],
      [{ ...madi("lead-stage", "lead.1", "stage.1"), ...link }],
    );

  it("is a warning about a recorder, a device that is off, and one that is plugged in later", () => {
    expect(found(led({ kind: "recorder" }), "leader-may-leave")).toMatchObject([
      { severity: "warning", devices: ["lead"] },
    ]);
    expect(found(led({ kind: "desk", atStart: "off" }), "leader-may-leave")[0]!.what).toContain(
      "off when the show begins",
    );
    expect(found(led({ kind: "desk" }, { atStart: "unplugged" }), "leader-may-leave")[0]!.what).toContain(
      "plugged in after",
    );
  });

  it("has nothing against a desk that is there from the start", () => {
    expect(found(led({ kind: "desk" }), "leader-may-leave")).toEqual([]);
  });
});

describe("leaders-share-supply", () => {
  const fed = (first: readonly string[], second: readonly string[]) =>
    found(soundRig({ foh: { power: first }, mon: { power: second } }), "leaders-share-supply");

  it("is a warning where one supply takes both, and names it", () => {
    expect(fed(["quay 1"], ["quay 1"])).toMatchObject([{ severity: "warning", devices: ["foh", "mon"] }]);
    expect(fed(["quay 1"], ["quay 1"])[0]!.what).toContain("supply quay 1");
  });

  it("is not found where either has another supply", () => {
    expect(fed(["quay 1"], ["quay 2"])).toEqual([]);
    expect(fed(["quay 1"], ["quay 1", "quay 2"])).toEqual([]);
    expect(fed(["quay 1", "quay 2"], ["quay 1"])).toEqual([]);
  });
});

describe("far-from-leader", () => {
  const chain = (length: number) => {
    const boxes = Array.from({ length }, (_, at) => device(`box-${at + 1}`, ["1"], { name: `Stage box ${at + 1}` }));
    const links = boxes.map(({ id }, at) => madi(`run-${at + 1}`, at === 0 ? "foh.1" : `box-${at}.2`, `${id}.1`));
    return found(rig(["foh"], [foh(["internal"]), ...boxes], links), "far-from-leader");
  };

  it("is silent up to two cables, advice from three, a warning from five", () => {
    expect([1, 2, 3, 4, 5].map((length) => chain(length)[0]?.severity)).toEqual([
      undefined,
      undefined,
      "advice",
      "advice",
      "warning",
    ]);
  });

  it("is one finding, about the farthest", () => {
    expect(chain(4)).toHaveLength(1);
    expect(chain(4)[0]).toMatchObject({ devices: ["box-4"] });
    expect(chain(4)[0]!.what).toContain("over four cables and through three devices");
  });
});

describe("word clock", () => {
  const lead = (id: string, from: string, to: string, lengthMetres = 5) =>
    link(id, "word-clock", from, to, { lengthMetres });

  it("handed on is advice; from one device as a star it is none", () => {
    const devices = [foh(["internal"]), mon(["1"]), stage(["1"])];
    const chain = [lead("one", "foh.8", "mon.1"), lead("two", "mon.8", "stage.1")];
    const star = [lead("one", "foh.8", "mon.1"), lead("two", "foh.9", "stage.1")];
    expect(found(rig(["foh"], devices, chain), "word-clock-chain")).toMatchObject([
      { severity: "advice", devices: ["mon"], links: ["one"] },
    ]);
    expect(found(rig(["foh"], devices, star), "word-clock-chain")).toEqual([]);
  });

  it("ends where it goes round a ring, which is a finding of its own", () => {
    const ring = [lead("one", "mon.8", "stage.1"), lead("two", "stage.8", "mon.1")];
    const plan = rig([], [mon(["1"]), stage(["1"])], ring);
    expect(found(plan, "word-clock-chain")).toEqual([]);
    expect(found(plan, "ring-of-sources")).toHaveLength(1);
  });

  it("over more than 30 m is advice, once for all leads; past the limit of its type it is an error alone", () => {
    const devices = [foh(["internal"]), mon(["1"]), stage(["1"])];
    const at = (one: number, two: number) =>
      rig(["foh"], devices, [lead("one", "foh.8", "mon.1", one), lead("two", "foh.9", "stage.1", two)]);
    expect(found(at(30, 10), "word-clock-lead-long")).toEqual([]);
    expect(found(at(31, 60), "word-clock-lead-long")).toMatchObject([{ links: ["one", "two"] }]);
    expect(found(at(101, 5), "word-clock-lead-long")).toEqual([]);
    expect(found(at(101, 5), "cable-too-long")).toMatchObject([{ severity: "error", links: ["one"] }]);
  });
});

/** Stage box, FOH desk and PA processor, with a spare between the first two. */
function paRig(words: { readonly amps?: Parameters<typeof device>[2]; readonly power?: readonly string[] } = {}): Plan {
  const power = words.power === undefined ? {} : { power: words.power };
  const links = [
    madi("main", "stage.1", "foh.1", { laidAlong: ["quay wall"] }),
    madi("spare", "stage.2", "foh.2", { laidAlong: ["pier railing"] }),
    link("foh-pa", "aes3", "foh.3", "amps.1"),
  ];
  const devices = [foh(["internal"], power), stage(["1", "2"], power), amps(words.amps)];
  const plan = rig(["foh"], devices, links, { spares: [spare("pair", ["main", "spare"])] });
  return { ...plan, feeds: [feed("pa-mix", plan, ["stage", "foh", "amps"], 2)] };
}

describe("feed-without-spare", () => {
  it("names the cables of the PA that have none, and not those that have", () => {
    expect(found(paRig(), "feed-without-spare")).toMatchObject([{ severity: "advice", links: ["foh-pa"] }]);
  });

  it("leaves feeds alone that the PA does not hear", () => {
    const plan = paRig();
    const feeds = plan.feeds.map((one) => ({ ...one, heardBy: ["record"] }));
    expect(found({ ...plan, feeds }, "feed-without-spare")).toEqual([]);
  });
});

describe("feed-on-one-supply", () => {
  it("is advice where one supply takes several devices of a feed that has a spare", () => {
    expect(found(paRig({ power: ["quay 1"] }), "feed-on-one-supply")).toMatchObject([
      { severity: "advice", devices: ["foh", "stage"] },
    ]);
  });

  it("is not found with a second supply, with one each, or without a spare", () => {
    expect(found(paRig({ power: ["quay 1", "quay 2"] }), "feed-on-one-supply")).toEqual([]);
    expect(found(paRig(), "feed-on-one-supply")).toEqual([]);
    const plan = soundRig({ foh: { power: ["quay 1"] }, stage: { power: ["quay 1"] } });
    expect(found(plan, "feed-on-one-supply")).toEqual([]);
  });
});

describe("returns-at-full-level", () => {
  it("is about the last device of what loudspeakers or ears hear", () => {
    expect(found(paRig(), "returns-at-full-level")).toMatchObject([{ severity: "advice", devices: ["amps"] }]);
    expect(found(paRig({ amps: { unmuteRampSeconds: 2 } }), "returns-at-full-level")).toEqual([]);
  });
});

describe("mute-only-at-mix", () => {
  it("is advice where a feed ends at a desk, and none where something stands behind it", () => {
    expect(found(soundRig(), "mute-only-at-mix")).toMatchObject([{ severity: "advice", devices: ["foh"] }]);
    expect(found(paRig(), "mute-only-at-mix")).toEqual([]);
  });
});

describe("sources-cut-by-one", () => {
  /** The stage box hears the FOH desk through two boxes between. */
  const between = (
    words: Readonly<Record<"left" | "right", Parameters<typeof device>[2]>>,
    along: readonly string[] = [],
  ) => {
    const links = [
      madi("in-left", "foh.1", "left.1", { laidAlong: along }),
      madi("in-right", "foh.2", "right.1", { laidAlong: along }),
      madi("out-left", "left.2", "stage.1"),
      madi("out-right", "right.2", "stage.2"),
    ];
    const boxes = [device("left", ["1"], words.left), device("right", ["1"], words.right)];
    return found(rig(["foh"], [foh(["internal"]), ...boxes, stage(["1", "2"])], links), "sources-cut-by-one");
  };

  it("is a warning about a path further up, which the first two cables do not show", () => {
    const findings = between({ left: {}, right: {} }, ["quay wall"]);
    expect(findings).toMatchObject([{ severity: "warning", devices: ["stage"] }]);
    expect(findings[0]!.what).toContain("one thing further up takes all of them: the quay wall");
  });

  it("is a warning about a supply that both boxes between hang on alone", () => {
    const fed = (left: readonly string[], right: readonly string[]) =>
      between({ left: { power: left }, right: { power: right } });
    expect(fed(["quay 1"], ["quay 1"])[0]!.what).toContain("supply quay 1");
    expect(fed(["quay 1"], ["quay 1", "quay 2"])).toEqual([]);
    expect(fed(["quay 1"], ["quay 2"])).toEqual([]);
  });

  it("is advice about a device that both sources come through", () => {
    const links = [madi("in", "foh.1", "hub.1"), madi("one", "hub.2", "stage.1"), madi("two", "hub.3", "stage.2")];
    const plan = rig(
      ["foh"],
      [foh(["internal"]), device("hub", ["1"], { name: "Pier box" }), stage(["1", "2"])],
      links,
    );
    const [finding] = found(plan, "sources-cut-by-one");
    expect(finding).toMatchObject({ severity: "advice", devices: ["stage"] });
    expect(finding!.what).toContain("cable in and the Pier box");
  });

  it("counts the next in line as a source, and leaves to the other rule what the first two cables share", () => {
    expect(found(soundRig(), "sources-cut-by-one")).toEqual([]);
    const plan = paRig();
    const links = plan.links.map((one) => ({ ...one, laidAlong: ["quay wall"] }));
    expect(found({ ...plan, links }, "sources-cut-by-one")).toEqual([]);
    expect(found({ ...plan, links }, "sources-share-path")).toHaveLength(1);
  });
});

describe("a spare of three cables", () => {
  it("is not said to be none where two share a wall and the third does not", () => {
    const links = [
      madi("main", "stage.1", "foh.1", { laidAlong: ["quay wall"] }),
      madi("spare", "stage.2", "foh.2", { laidAlong: ["quay wall"] }),
      madi("third", "stage.3", "foh.3", { laidAlong: ["pier railing"] }),
    ];
    const plan = rig(["foh"], [foh(["internal"]), stage(["1"])], links, {
      spares: [spare("three", ["main", "spare", "third"])],
    });
    const [finding] = found({ ...plan, feeds: [feed("mix", plan, ["stage", "foh"], 8)] }, "spare-shares-path");
    expect(finding!.what).toMatch(/^Not a spare to one another/);
    expect(finding!.see).not.toContain("silent");
  });
});

describe("what has to go before a feed is gone", () => {
  it("is one of what has no spare, or one from each of main and spare; ends are not counted", () => {
    expect(feedCuts(paRig())).toEqual([
      {
        feed: "pa-mix",
        disjointWays: 1,
        cuts: [
          ["cable foh-pa"],
          ["device foh"],
          ["supply foh"],
          ["cable main", "cable spare"],
          ["cable main", "path pier railing"],
          ["cable spare", "path quay wall"],
          ["path pier railing", "path quay wall"],
        ],
      },
    ]);
  });

  it("is found for a show of 60 devices and 200 links as for any other", () => {
    const ids = Array.from({ length: 60 }, (_, at) => `d${at}`);
    const devices = ids.map((id, at) => device(id, at === 0 ? ["internal"] : ["1"], { power: [`supply ${at % 7}`] }));
    const links = Array.from({ length: 200 }, (_, at) =>
      madi(`l${at}`, `d${at % 59}.${10 + at}`, `d${(at % 59) + 1}.${300 + at}`, { laidAlong: [`path ${at % 12}`] }),
    );
    const groups = Array.from({ length: 59 }, (_, at) =>
      links.filter((_one, index) => index % 59 === at).map(({ id }) => id),
    );
    const plan = rig(["d0"], devices, links, { spares: groups.map((group, at) => spare(`s${at}`, group)) });
    const feeds = Array.from({ length: 20 }, (_, at) => feed(`f${at}`, plan, ids.slice(at, at + 6), 2));
    const cuts = feedCuts({ ...plan, feeds }, 2);
    expect(cuts).toHaveLength(20);
    for (const one of cuts) expect(one.disjointWays).toBeGreaterThanOrEqual(3);
    expect(cuts.every(({ cuts: sets }) => sets.some((set) => set.length === 1))).toBe(true);
  });
});
