import { describe, expect, it } from "vitest";
import { device, foh, found, link, madi, mon, rig, rules, soundRig, stage } from "./rigs.ts";

describe("a rig with one leader, a next one, and two paths", () => {
  it("gives no finding at all", () => {
    expect(rules(soundRig())).toEqual([]);
  });

  it("has no opinion on a device that nothing is plugged into", () => {
    const sound = soundRig();
    expect(rules({ ...sound, devices: [...sound.devices, device("spare-box", ["internal"])] })).toEqual([]);
  });
});

describe("no-leader", () => {
  const links = [madi("foh-stage", "stage.1", "foh.1")];

  it("is an error where nobody is named and nobody is on its own clock", () => {
    const [finding] = found(rig([], [foh(["1"]), stage(["1"])], links), "no-leader");
    expect(finding).toMatchObject({ severity: "error", devices: ["foh", "stage"], path: ["leaders"] });
  });

  it("is a warning where one device leads and the plan does not say so", () => {
    const [finding] = found(rig([], [foh(["internal"]), stage(["1"])], links), "no-leader");
    expect(finding).toMatchObject({ severity: "warning", devices: ["foh"] });
  });

  it("is an error where the planned leader listens to a port first", () => {
    const [finding] = found(rig(["foh"], [foh(["1", "internal"]), stage(["internal"])], links), "no-leader");
    expect(finding).toMatchObject({ severity: "error", devices: ["foh"], path: ["devices", "foh", "clockSources"] });
    expect(finding!.what).toContain("the stage box runs on its own clock by choice");
  });

  it("looks at each part of the rig that hangs together by itself", () => {
    const plan = rig(
      ["foh"],
      [foh(["internal"]), stage(["1"]), device("bar", ["1"]), device("foyer", ["1"])],
      [...links, madi("bar-foyer", "bar.1", "foyer.1")],
    );
    expect(found(plan, "no-leader").map((one) => one.devices)).toEqual([["bar", "foyer"]]);
  });
});

describe("two-leaders", () => {
  it("is found where both planned leaders run on their own clocks at once", () => {
    const [finding] = found(soundRig({ mon: { clockSources: ["internal", "1"] } }), "two-leaders");
    expect(finding).toMatchObject({
      severity: "error",
      devices: ["foh", "mon"],
      path: ["devices", "mon", "clockSources"],
    });
  });

  it("is found where a device that hears nobody joins on its own clock", () => {
    const plan = rig(
      ["foh"],
      [foh(["internal"]), device("guest", ["internal"])],
      [link("guest-foh", "aes3", "guest.1", "foh.1")],
    );
    expect(rules(plan)).toEqual(["two-leaders"]);
  });

  it("is not found for a second leader that lists internal later", () => {
    expect(found(soundRig({ mon: { clockSources: ["1", "internal"] } }), "two-leaders")).toEqual([]);
  });

  it("is not found for two rigs that nothing joins", () => {
    const plan = rig(["foh", "bar"], [foh(["internal"]), device("bar", ["internal"])], []);
    expect(rules(plan)).toEqual([]);
  });
});

describe("left-on-internal", () => {
  // 10.4 − 4.2 = 6.2 ppm; 48,000 · 6.2e-6 = 0.2976 samples a second: a slip every 3.36 s.
  const plan = rig(
    ["foh"],
    [foh(["internal"]), mon(["internal"], { offsetPpm: 10.4 })],
    [madi("foh-mon", "foh.2", "mon.1")],
  );

  it("says how far apart the clocks are, how often it clicks, and what to set", () => {
    const [finding, ...others] = found(plan, "left-on-internal");
    expect(others).toEqual([]);
    expect(finding).toMatchObject({ severity: "error", devices: ["mon"], links: ["foh-mon"] });
    expect(finding!.what).toMatch(/^Monitor desk is on its own clock, 6\.2 ppm faster than the FOH desk\./);
    expect(finding!.see).toBe("Its lock lamp may be lit. What it takes from the FOH desk clicks about every 3.4 s.");
    expect(finding!.remedy).toBe("Monitor desk, clock source: port 1 (FOH desk), not internal.");
  });

  it("is the only finding about that device: it is not a second leader as well", () => {
    expect(rules(plan)).toEqual(["left-on-internal"]);
  });

  it("counts the clicks against the clock that the sender follows, not the sender's own", () => {
    // The stage box (−6.3 ppm) follows the FOH desk (4.2), the monitor desk is at 10.4: 6.2 ppm, not 16.7.
    const chain = rig(
      ["foh"],
      [foh(["internal"]), stage(["1"]), mon(["internal"], { offsetPpm: 10.4 })],
      [madi("foh-stage", "stage.1", "foh.1"), madi("mon-stage", "stage.2", "mon.1")],
    );
    expect(found(chain, "left-on-internal")[0]!.see).toContain("the stage box clicks about every 3.4 s");
  });

  it("gives no figure where an offset is drawn", () => {
    const drawn = {
      ...plan,
      devices: plan.devices.map((one) => ({ ...one, oscillator: { ...one.oscillator, offsetPpm: null } })),
    };
    expect(found(drawn, "left-on-internal")[0]!.what).toMatch(/^Monitor desk is on its own clock\. /);
    expect(found(drawn, "left-on-internal")[0]!.see).toContain("at regular intervals");
  });

  it("is not found where only its own clock comes back to it: then it is a second leader", () => {
    const island = rig(
      ["foh"],
      [foh(["internal"]), mon(["internal"]), stage(["1"])],
      [madi("mon-stage", "mon.1", "stage.1"), link("stage-foh", "madi", "stage.2", "foh.1")],
    );
    expect(rules(island)).toEqual(["source-misses-leader", "two-leaders"]);
  });

  it("is not found for a device that listens, nor for one that is meant to lead next", () => {
    const listens = rig(["foh"], [foh(["internal"]), mon(["1", "internal"])], plan.links);
    expect(found(listens, "left-on-internal")).toEqual([]);
    const next = rig(["foh", "mon"], [foh(["internal"]), mon(["internal"])], plan.links);
    expect(rules(next)).toEqual(["two-leaders"]);
  });
});
