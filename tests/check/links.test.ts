import { describe, expect, it } from "vitest";
import { feed, foh, found, link, madi, mon, rig, rules, soundRig, spare, stage } from "./rigs.ts";

const split = link("foh-mon", "aes50", "foh.2", "mon.1", { laidAlong: ["quay wall"] });

describe("clock-disputed", () => {
  it("is found where a port that is listened to still gives, and says that nothing clicks", () => {
    const plan = rig(["foh"], [foh(["internal"]), mon(["1"], { ports: { "1": "give" } })], [split]);
    expect(rules(plan)).toEqual(["clock-disputed"]);
    const [finding] = found(plan, "clock-disputed");
    expect(finding).toMatchObject({
      severity: "error",
      devices: ["foh", "mon"],
      links: ["foh-mon"],
      path: ["devices", "mon", "ports", "1", "clock"],
    });
    expect(finding!.see).toContain("nothing clicks");
    expect(finding!.remedy).toBe("Monitor desk, port 1: take clock, not give.");
  });

  it("is found where neither end listens, and says that it may click", () => {
    const plan = rig(["foh", "mon"], [foh(["internal"]), mon(["internal"])], [split]);
    expect(found(plan, "clock-disputed")[0]!.see).toContain("clicks");
    expect(rules(plan)).toEqual(["clock-disputed", "two-leaders"]);
  });

  it("asks the end that listens to the link to take, whichever way the file has it", () => {
    const turned = link("foh-mon", "aes50", "mon.1", "foh.2");
    const plan = rig(["foh"], [foh(["internal"]), mon(["1"], { ports: { "1": "give" } })], [turned]);
    expect(found(plan, "clock-disputed")[0]!.remedy).toBe("Monitor desk, port 1: take clock, not give.");
  });

  it("is not found on MADI, where each cable carries its sender's clock", () => {
    const plan = rig(["foh"], [foh(["internal"]), mon(["1"])], [madi("foh-mon", "foh.2", "mon.1")]);
    expect(rules(plan)).toEqual([]);
  });
});

describe("clock-unclaimed", () => {
  it("is found where both ends take, and asks the one next to the leader to give", () => {
    const plan = rig(["foh"], [foh(["internal"], { ports: { "2": "take" } }), mon(["1"])], [split]);
    const [finding] = found(plan, "clock-unclaimed");
    expect(finding).toMatchObject({ severity: "error", devices: ["foh", "mon"], links: ["foh-mon"] });
    expect(finding!.remedy).toMatch(/^FOH desk, port 2: give clock/);
  });

  it("is not found where one gives and the other takes", () => {
    expect(rules(rig(["foh"], [foh(["internal"]), mon(["1"])], [split]))).toEqual([]);
  });
});

describe("rate-mismatch", () => {
  it("is found where the ends differ, and names the one that differs from the rig", () => {
    const plan = soundRig({ stage: { sampleRateHz: 44_100 } });
    const findings = found(plan, "rate-mismatch");
    expect(findings.map((one) => one.links)).toEqual([["foh-stage"], ["mon-stage"]]);
    expect(findings[0]).toMatchObject({ severity: "error", path: ["devices", "stage", "sampleRateHz"] });
    expect(findings[0]!.what).toContain("44.1 kHz");
  });

  it("is not found where all are alike, whatever the rate", () => {
    const plan = soundRig();
    const devices = plan.devices.map((one) => ({ ...one, sampleRateHz: 96_000 }));
    expect(found({ ...plan, devices, sampleRateHz: 96_000 }, "rate-mismatch")).toEqual([]);
  });
});

describe("too-many-channels", () => {
  const pair = rig(["foh"], [foh(["internal"]), stage(["1"])], [madi("foh-stage", "stage.1", "foh.1")]);

  it("is an error for one feed that is larger than the link", () => {
    const [finding] = found({ ...pair, feeds: [feed("mix", pair, ["stage", "foh"], 65)] }, "too-many-channels");
    expect(finding).toMatchObject({ severity: "error", links: ["foh-stage"], path: ["feeds", "mix", "channels"] });
    expect(finding!.what).toContain("65 channels");
    expect(finding!.what).toContain("64 at 48 kHz");
  });

  it("is a warning for feeds that are larger than it only together: they may share inputs", () => {
    const feeds = [feed("mix", pair, ["stage", "foh"], 40), feed("record", pair, ["stage", "foh"], 25)];
    expect(found({ ...pair, feeds }, "too-many-channels")).toMatchObject([{ severity: "warning" }]);
  });

  it("counts each way by itself, and a full link is not too full", () => {
    const feeds = [feed("inputs", pair, ["stage", "foh"], 64), feed("returns", pair, ["foh", "stage"], 64)];
    expect(rules({ ...pair, feeds })).toEqual([]);
  });

  it("looks at the spare as well as at the main", () => {
    const links = [madi("main", "stage.1", "foh.1"), link("spare", "aes50", "stage.2", "foh.2")];
    const plan = rig(["foh"], [foh(["internal"]), stage(["1", "2"])], links, {
      spares: [spare("pair", ["main", "spare"])],
    });
    const findings = found({ ...plan, feeds: [feed("mix", plan, ["stage", "foh"], 56)] }, "too-many-channels");
    expect(findings.map((one) => one.links)).toEqual([["spare"]]);
  });
});

describe("cable-too-long", () => {
  const severities = (type: "madi" | "aes50", medium: "coax" | "fibre" | "category", lengthMetres: number) => {
    const one = link("foh-stage", type, "stage.1", "foh.1", { hasReturn: type === "madi", medium, lengthMetres });
    return found(rig(["foh"], [foh(["internal"]), stage(["1"])], [one]), "cable-too-long").map(
      ({ severity }) => severity,
    );
  };

  it("is an error above the limit of the medium, and none at it", () => {
    expect(severities("madi", "coax", 100)).toEqual([]);
    expect(severities("madi", "coax", 101)).toEqual(["error"]);
    expect(severities("madi", "fibre", 1200)).toEqual([]);
    expect(severities("aes50", "category", 120)).toEqual(["error"]);
  });

  it("warns on category cable from 85 % of its limit on, and only there", () => {
    expect(severities("aes50", "category", 85)).toEqual([]);
    expect(severities("aes50", "category", 86)).toEqual(["warning"]);
    expect(severities("madi", "coax", 99)).toEqual([]);
  });

  it("points to the medium that would reach", () => {
    const far = madi("foh-stage", "stage.1", "foh.1", { lengthMetres: 300 });
    const plan = rig(["foh"], [foh(["internal"]), stage(["1"])], [far]);
    expect(found(plan, "cable-too-long")[0]!.remedy).toContain("fibre, which goes 2000 m");
  });
});

describe("spare-shares-path", () => {
  const laid = (along: string) => {
    const links = [
      madi("main", "stage.1", "foh.1", { laidAlong: ["stage-left wall"] }),
      madi("spare", "stage.2", "foh.2", { laidAlong: [along] }),
    ];
    const plan = rig(["foh"], [foh(["internal"]), stage(["1", "2"])], links, {
      spares: [spare("pair", ["main", "spare"])],
    });
    return { ...plan, feeds: [feed("PA mix", plan, ["stage", "foh"], 32)] };
  };

  it("says that it is not a spare, and what goes silent", () => {
    const [finding] = found(laid("stage-left wall"), "spare-shares-path");
    expect(finding).toMatchObject({
      severity: "warning",
      links: ["main", "spare"],
      path: ["links", "spare", "laidAlong"],
    });
    expect(finding!.what).toBe("Not a spare: main and spare are both laid along the stage-left wall.");
    expect(finding!.see).toContain("PA mix goes silent");
  });

  it("is not found where they go along different things", () => {
    expect(rules(laid("stage-right wall"))).toEqual([]);
  });
});

describe("spare-without-clock", () => {
  const links = [madi("main", "stage.1", "foh.1"), madi("spare", "stage.2", "foh.2"), madi("tie", "mon.1", "stage.3")];
  const spared = (sources: readonly string[], mode: "standby" | "manual" = "standby") =>
    rig(["foh"], [foh(["internal"]), stage(sources), mon(["1"])], links, {
      spares: [{ ...spare("pair", ["main", "spare"]), mode }],
    });

  it("names the device that a spare leaves on its own clock, and the port to add", () => {
    const [finding, ...others] = found(spared(["1"]), "spare-without-clock");
    expect(others).toEqual([]);
    expect(finding).toMatchObject({
      severity: "warning",
      devices: ["stage"],
      links: ["main", "spare"],
      path: ["devices", "stage", "clockSources"],
    });
    expect(finding!.what).toBe(
      "Stage box takes its clock from the main cable alone: the spare cable carries the audio when that goes, and the stage box does not listen to it.",
    );
    expect(finding!.remedy).toBe("Stage box: add port 2 to its clock sources, behind port 1.");
    expect(found(spared(["1", "internal"]), "spare-without-clock")[0]!.remedy).toContain("before internal");
  });

  it("is not found where the spare, or another clock, is listened to, or somebody moves the plug", () => {
    for (const plan of [spared(["1", "2"]), spared(["1", "3"]), spared(["1"], "manual")])
      expect(found(plan, "spare-without-clock")).toEqual([]);
  });
});
