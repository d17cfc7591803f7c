import { describe, expect, it } from "vitest";
import { at, device, foh, found, link, madi, mon, rig, rules, soundRig, stage } from "./rigs.ts";

describe("ring-of-sources", () => {
  const links = [
    madi("foh-stage", "stage.1", "foh.1"),
    madi("stage-mon", "stage.2", "mon.2"),
    madi("foh-mon", "foh.3", "mon.1"),
  ];

  it("prints the ring, whoever is named first in it", () => {
    const plan = rig(["foh"], [foh(["1"]), stage(["2"]), mon(["1"])], links);
    const [finding, ...others] = found(plan, "ring-of-sources");
    expect(others).toEqual([]);
    expect(finding).toMatchObject({
      severity: "error",
      devices: ["foh", "stage", "mon"],
      links: ["foh-stage", "stage-mon", "foh-mon"],
    });
    expect(finding!.what).toBe(
      "Sources form a ring: the FOH desk listens to the stage box, which listens to the monitor desk, which listens to the FOH desk.",
    );
    expect(finding!.remedy).toContain('put "internal" first');
  });

  it("warns of a ring that closes when the leader is gone", () => {
    const plan = rig(["foh"], [foh(["internal"]), stage(["1", "2"]), mon(["1", "2"])], links);
    const [finding] = found(plan, "ring-of-sources");
    expect(finding).toMatchObject({ severity: "warning", devices: ["mon", "stage"] });
    expect(finding!.what).toMatch(/^When the FOH desk is gone, sources form a ring/);
  });

  it("is not found where somebody takes over on its own clock", () => {
    const plan = rig(["foh", "mon"], [foh(["internal"]), stage(["1", "2"]), mon(["1", "internal"])], links);
    expect(rules(plan)).toEqual([]);
  });

  it("is not found where the cable that would close it runs one way only", () => {
    const plan = rig(["foh"], [foh(["1", "internal"]), stage(["1"])], [link("foh-stage", "madi", "stage.1", "foh.1")]);
    expect(found(plan, "ring-of-sources")).toEqual([]);
  });
});

describe("ring-closes-later", () => {
  const links = [
    madi("foh-stage", "stage.1", "foh.1"),
    madi("stage-mon", "stage.2", "mon.2"),
    madi("foh-mon", "foh.3", "mon.1"),
  ];
  const devices = (monAfterReboot: readonly string[]) => [
    foh(["internal"]),
    stage(["1", "2"]),
    { ...mon(["1", "internal"]), afterReboot: { clockSources: monAfterReboot } },
  ];

  it("reads the list that a device comes back with, without each device in turn", () => {
    const plan = rig(["foh", "mon"], devices(["1", "2"]), links);
    const [finding, ...others] = found(plan, "ring-closes-later");
    expect(others).toEqual([]);
    expect(finding).toMatchObject({
      severity: "warning",
      devices: ["mon", "stage"],
      links: ["stage-mon", "stage-mon"],
      path: ["devices", "mon", "afterReboot", "clockSources"],
    });
    expect(finding!.what).toBe(
      "After a reboot of the monitor desk, once the FOH desk is gone, sources form a ring: the monitor desk listens to the stage box, which listens to the monitor desk.",
    );
    expect(rules(rig(["foh", "mon"], devices(["1", "internal"]), links))).not.toContain("ring-closes-later");
  });

  it("says that nobody has to be gone where the list alone closes it", () => {
    const list = [{ ...stage(["2", "1"]) }, foh(["internal"]), devices(["2"])[2]!];
    const [finding] = found(rig(["foh", "mon"], list, links), "ring-closes-later");
    expect(finding!.what).toMatch(/^After a reboot of the monitor desk, sources form a ring/);
  });

  it("reads lists that are set in the show, all of them together", () => {
    const set = (device: string, clockSources: readonly string[]) =>
      at(60, { do: "set-clock-sources", device, clockSources });
    const base = [foh(["internal"]), stage(["1", "2"]), mon(["1", "internal"])];
    const closing = rig(["foh", "mon"], base, links, { events: [set("mon", ["1", "2"])] });
    expect(found(closing, "ring-closes-later")[0]!.what).toMatch(
      /^With the clock sources as they are set from 00:01:00 on, once the FOH desk is gone/,
    );
    const turned = rig(["foh", "mon"], base, links, { events: [set("mon", ["1", "2"]), set("stage", ["1"])] });
    expect(found(turned, "ring-closes-later")).toEqual([]);
  });

  it("looks for the absence of others than the leader, and leaves what ring-of-sources says to that", () => {
    const chain = [
      foh(["internal"]),
      device("guest", ["1"], { name: "Guest desk" }),
      stage(["3", "2"]),
      mon(["3", "2"]),
    ];
    const fromGuest = [
      link("foh-guest", "madi", "foh.9", "guest.1"),
      link("guest-stage", "madi", "guest.3", "stage.3"),
      link("guest-mon", "madi", "guest.4", "mon.3"),
      madi("stage-mon", "stage.2", "mon.2"),
    ];
    const plan = rig(["foh"], chain, fromGuest);
    expect(found(plan, "ring-closes-later").map(({ what }) => what)).toEqual([
      expect.stringMatching(/^Once the guest desk is gone, sources form a ring/),
    ]);
    const leaders = rig(["foh"], [foh(["internal"]), stage(["1", "2"]), mon(["1", "2"])], links);
    expect(rules(leaders)).toContain("ring-of-sources");
    expect(found(leaders, "ring-closes-later")).toEqual([]);
  });
});

describe("source-misses-leader", () => {
  it("is an error for a first source that comes from somebody else's clock", () => {
    const plan = rig(
      ["foh", "guest"],
      [foh(["internal"]), device("guest", ["internal"], { name: "Guest desk" }), stage(["2", "1"])],
      [madi("foh-stage", "stage.1", "foh.1"), madi("guest-stage", "stage.2", "guest.1")],
    );
    const [finding] = found(plan, "source-misses-leader");
    expect(finding).toMatchObject({
      severity: "error",
      devices: ["stage"],
      path: ["devices", "stage", "clockSources"],
    });
    expect(finding!.what).toBe("Stage box lists port 2, and that clock comes from the guest desk.");
  });

  it("is an error for a port where no cable ends, or where it only leads away", () => {
    const away = link("stage-foh", "madi", "stage.1", "foh.1");
    const what = (source: string) =>
      found(rig(["foh"], [foh(["internal"]), stage([source])], [away]), "source-misses-leader")[0]!.what;
    expect(what("7")).toBe("Stage box lists port 7, where no cable ends.");
    expect(what("1")).toBe("Stage box lists port 1, where the cable only leads away.");
  });

  it("is a warning for a second source on which the device would hear itself", () => {
    const plan = rig(
      ["foh"],
      [foh(["internal"]), stage(["1", "2"]), mon(["2"])],
      [madi("foh-stage", "stage.1", "foh.1"), madi("stage-mon", "stage.2", "mon.2")],
    );
    const [finding] = found(plan, "source-misses-leader");
    expect(finding).toMatchObject({ severity: "warning", devices: ["stage"] });
    expect(finding!.what).toContain("that clock comes from the stage box itself");
  });

  it("names those together who only inherit a wrong clock", () => {
    const plan = rig(
      ["foh"],
      [
        foh(["internal"]),
        mon(["internal"]),
        device("ears", ["1"], { name: "In-ear transmitter" }),
        device("rec", ["1"], { name: "Recorder" }),
      ],
      [
        madi("foh-mon", "foh.2", "mon.1"),
        link("mon-ears", "madi", "mon.2", "ears.1"),
        link("mon-rec", "madi", "mon.3", "rec.1"),
      ],
    );
    const [finding, ...others] = found(plan, "source-misses-leader");
    expect(others).toEqual([]);
    expect(finding).toMatchObject({ severity: "error", devices: ["ears", "rec"] });
    expect(finding!.remedy).toBe("Mend the monitor desk first; they follow from there.");
  });

  it("is not found where both sources lead back, one of them over another follower", () => {
    expect(found(soundRig(), "source-misses-leader")).toEqual([]);
  });

  it("says nothing about what stands after internal", () => {
    expect(found(soundRig({ mon: { clockSources: ["1", "internal", "9"] } }), "source-misses-leader")).toEqual([]);
  });
});

describe("sources-share-path", () => {
  const laid = (second: readonly string[]) =>
    rig(
      ["foh"],
      [foh(["internal"]), stage(["1", "2"])],
      [
        madi("main", "stage.1", "foh.1", { laidAlong: ["bridge", "stage-left wall"] }),
        madi("spare", "stage.2", "foh.2", { laidAlong: second }),
      ],
    );

  it("names the path that both sources have in common", () => {
    const [finding] = found(laid(["stage-left wall", "roof"]), "sources-share-path");
    expect(finding).toMatchObject({
      severity: "warning",
      devices: ["stage"],
      links: ["main", "spare"],
      path: ["links", "spare", "laidAlong"],
    });
    expect(finding!.what).toContain("the stage-left wall");
    expect(finding!.what).not.toContain("bridge");
  });

  it("is not found where they have none", () => {
    expect(rules(laid(["stage-right wall"]))).toEqual([]);
  });
});

describe("wait-with-one-source", () => {
  it("is found on a follower with a single port to listen to", () => {
    const plan = rig(
      ["foh"],
      [foh(["internal"]), stage(["1"], { waitToRestoreSeconds: 300 })],
      [madi("foh-stage", "stage.1", "foh.1")],
    );
    const [finding] = found(plan, "wait-with-one-source");
    expect(finding).toMatchObject({
      severity: "warning",
      devices: ["stage"],
      path: ["devices", "stage", "waitToRestoreSeconds"],
    });
    expect(finding!.what).toContain("waits 5 min");
  });

  it("is not found with a second source, without a wait, or on one that leads meanwhile", () => {
    const RULE = "wait-with-one-source";
    expect(found(soundRig({ stage: { waitToRestoreSeconds: 300 } }), RULE)).toEqual([]);
    expect(found(soundRig({ stage: { clockSources: ["1"] } }), RULE)).toEqual([]);
    expect(found(soundRig({ mon: { waitToRestoreSeconds: 300 } }), RULE)).toEqual([]);
  });
});

describe("out-of-capture", () => {
  const with_ = (offsetPpm: number | null) =>
    rig(
      ["foh"],
      [foh(["internal"], { oscillator: { offsetPpm } }), stage(["1"]), mon(["2"])],
      [madi("foh-stage", "stage.1", "foh.1"), madi("stage-mon", "stage.2", "mon.2")],
    );

  it("names the first device that cannot take the clock, not those behind it", () => {
    const [finding, ...others] = found(with_(62), "out-of-capture");
    expect(others).toEqual([]);
    expect(finding).toMatchObject({
      severity: "error",
      devices: ["stage", "foh"],
      path: ["devices", "foh", "oscillator", "offsetPpm"],
    });
  });

  it("is not found at the very edge, inside it, or where the offset is drawn", () => {
    expect(rules(with_(-50))).toEqual([]);
    expect(rules(with_(4.2))).toEqual([]);
    expect(rules(with_(null))).toEqual([]);
  });
});
