import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { check } from "../../sim/check/index.ts";
import { clockGraph } from "../../sim/clock-graph.ts";
import { candidateFixes } from "../../sim/fix.ts";
import { leadBy } from "../../sim/lead-by.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tries } from "../helpers/laws.ts";
import { plans } from "../helpers/random-rig.ts";
import { at, device, feed, foh, link, madi, mon, rig, rules, soundRig, spare, stage } from "./rigs.ts";

/** The plan with the first fix for a rule, and what that fix says. */
function mended(plan: Plan, rule: string): { readonly words: string; readonly plan: Plan } {
  const fix = candidateFixes(plan).find((one) => one.rule === rule);
  if (fix === undefined) throw new Error(`no fix for ${rule}`);
  return { words: fix.words, plan: fix.apply(plan) };
}

const split = link("foh-mon", "aes50", "foh.2", "mon.1");

describe("a fix for a finding", () => {
  it("sets the source of a follower that was left on internal, and keeps internal as its last", () => {
    const plan = rig(["foh"], [foh(["internal"]), mon(["internal"])], [madi("foh-mon", "foh.2", "mon.1")]);
    const { words, plan: after } = mended(plan, "left-on-internal");
    expect(words).toBe("monitor desk, clock source: port 1 (FOH desk), not internal");
    expect(after.devices.find((one) => one.id === "mon")!.clockSources).toEqual(["1", "internal"]);
    expect(rules(after)).toEqual([]);
  });

  it("sends a follower to the port that leads back to the leader by the fewest hops", () => {
    const plan = rig(
      ["foh", "guest"],
      [foh(["internal"]), device("guest", ["internal"], { name: "Guest desk" }), stage(["3"]), mon(["1"])],
      [
        madi("mon-stage", "stage.1", "mon.2"),
        madi("foh-stage", "stage.2", "foh.1"),
        madi("guest-stage", "stage.3", "guest.1"),
        madi("foh-mon", "foh.3", "mon.1"),
      ],
    );
    const { words, plan: after } = mended(plan, "source-misses-leader");
    expect(words).toBe("stage box, clock source: port 2 (FOH desk), not port 3");
    expect(clockGraph(after).trace(clockGraph(after).used("stage")!).ends).toBe("foh");
  });

  it("opens a ring at the device that is meant to lead", () => {
    const plan = rig(["foh"], [foh(["1"]), stage(["1"])], [madi("foh-stage", "stage.1", "foh.1")]);
    expect(rules(plan)).toContain("ring-of-sources");
    // The same change answers "no-leader", so it is named once, under that rule.
    expect(mended(plan, "no-leader").words).toBe("FOH desk, clock source: internal first; it leads");
    expect(rules(mended(plan, "no-leader").plan)).toEqual([]);
  });

  it("opens a ring that hangs beside the leader at a port that leads back to it", () => {
    const plan = rig(
      ["foh"],
      [foh(["internal"]), stage(["2"]), mon(["2"])],
      [madi("foh-stage", "stage.1", "foh.1"), madi("stage-mon", "stage.2", "mon.2")],
    );
    const { words, plan: after } = mended(plan, "ring-of-sources");
    expect(words).toBe("stage box, clock source: port 1 (FOH desk), not port 2");
    expect(rules(after)).not.toContain("ring-of-sources");
    expect(check(after).filter((one) => one.severity === "error")).toEqual([]);
  });

  it("lets somebody be next to lead where a ring would close without the leader", () => {
    const plan = rig(
      ["foh"],
      [foh(["internal"]), stage(["1", "2"]), mon(["1", "2"])],
      [madi("foh-stage", "stage.1", "foh.1"), madi("stage-mon", "stage.2", "mon.2"), madi("foh-mon", "foh.3", "mon.1")],
    );
    expect(rules(mended(plan, "ring-of-sources").plan)).not.toContain("ring-of-sources");
  });

  it("turns a port that gives into one that takes, and one that takes into one that gives", () => {
    const disputed = rig(["foh"], [foh(["internal"]), mon(["1"], { ports: { "1": "give" } })], [split]);
    expect(mended(disputed, "clock-disputed").words).toBe("monitor desk, port 1: take clock, not give");
    expect(rules(mended(disputed, "clock-disputed").plan)).toEqual([]);
    const unclaimed = rig(["foh"], [foh(["internal"], { ports: { "2": "take" } }), mon(["1"])], [split]);
    expect(mended(unclaimed, "clock-unclaimed").words).toBe("FOH desk, port 2: give clock, not take");
    expect(rules(mended(unclaimed, "clock-unclaimed").plan)).toEqual([]);
  });

  it("sets a rate, takes a wait away, and lays a spare along another path", () => {
    const rate = soundRig({ stage: { sampleRateHz: 44_100 } });
    expect(mended(rate, "rate-mismatch").words).toBe("stage box, sample rate: 48 kHz");
    expect(rules(mended(rate, "rate-mismatch").plan)).toEqual([]);

    const wait = rig(
      ["foh"],
      [foh(["internal"]), stage(["1"], { waitToRestoreSeconds: 60 })],
      [madi("main", "stage.1", "foh.1")],
    );
    expect(rules(mended(wait, "wait-with-one-source").plan)).toEqual([]);

    const laid = rig(
      ["foh"],
      [foh(["internal"]), stage(["1", "2"])],
      [
        madi("main", "stage.1", "foh.1", { laidAlong: ["stage-left wall"] }),
        madi("spare", "stage.2", "foh.2", { laidAlong: ["stage-left wall", "bridge"] }),
      ],
      { spares: [spare("pair", ["main", "spare"])] },
    );
    // Named once for the sources and for the spare.
    expect(mended(laid, "sources-share-path").words).toBe(
      "spare cable: lay it along another path than the stage-left wall",
    );
    const after = mended(laid, "sources-share-path").plan;
    expect(after.links.find((one) => one.id === "spare")!.laidAlong).toEqual(["bridge"]);
    expect(rules(after)).toEqual([]);
  });

  it("lets another device lead where the leader is out of capture range", () => {
    const plan = soundRig({ foh: { offsetPpm: 62 } });
    const { words, plan: after } = mended(plan, "out-of-capture");
    expect(words).toBe("let the stage box lead; everyone else follows it");
    expect(check(after).filter((one) => one.severity === "error")).toEqual([]);
  });

  it("leaves a clock generator that can hear nobody out of it", () => {
    const plan = rig(
      ["clock"],
      [device("clock", ["internal"], { offsetPpm: 62 }), foh(["9", "internal"]), stage(["1"])],
      [link("clock-lead", "word-clock", "clock.1", "foh.9"), madi("foh-stage", "stage.1", "foh.1")],
    );
    expect(rules(plan)).toEqual(["out-of-capture"]);
    const { words, plan: after } = mended(plan, "out-of-capture");
    expect(words).toBe("let the stage box lead; everyone else follows it");
    expect(after.leaders).toEqual(["stage"]);
    expect(rules(after)).toEqual([]);
  });

  it("is not offered where no setting mends it, nor where nothing is wrong", () => {
    expect(candidateFixes(soundRig())).toEqual([]);
    const long = rig(
      ["foh"],
      [foh(["internal"]), stage(["1"])],
      [madi("main", "stage.1", "foh.1", { lengthMetres: 300 })],
    );
    expect(rules(long)).toEqual(["cable-too-long"]);
    expect(candidateFixes(long)).toEqual([]);
  });
});

describe("what may spare the others when the leader reboots", () => {
  const pa = device("pa", ["1"], { name: "PA processor", kind: "processor" });
  const base = soundRig({ foh: { bootSeconds: 75 } });
  const links = [...base.links, link("stage-pa", "aes3", "stage.3", "pa.1")];
  const withPa = { ...base, devices: [...base.devices, pa], links };
  const plan: Plan = {
    ...withPa,
    feeds: [feed("pa-mix", withPa, ["stage", "pa"], 2)],
    events: [at(120, { do: "reboot", device: "foh", part: "all" })],
  };
  const fixes = candidateFixes(plan);
  const feedAfter = (after: Plan) => rehearse(after).summary.feeds[0]!;

  it("is offered in words for the crew", () => {
    expect(fixes.map((one) => one.words)).toEqual([
      "let the stage box lead; everyone else follows it",
      "let the monitor desk lead; everyone else follows it",
      "FOH desk: while it starts, set its clock source to port 1 (Stage box); the others stay where they are",
      "monitor desk and stage box: stay until told (not revertive)",
      "monitor desk and stage box: wait 5 min before a returned source is trusted (wait-to-restore)",
      "PA processor: fade in over 2 s when audio returns",
      "stage box and PA processor: fade in over 2 s when audio returns",
    ]);
  });

  it("changes what the run finds: the return costs a dropout, and not with another leader or a leader that follows", () => {
    expect(feedAfter(plan).dropouts.onReturn).toBe(1);
    const returns = fixes.filter((one) => one.rule === "leader-returns").map((one) => feedAfter(one.apply(plan)));
    expect(returns.map((one) => one.dropouts.onReturn)).toEqual([0, 0, 0, 0, 1]);
    expect(returns[4]!.realignedAtSeconds[0]! - feedAfter(plan).realignedAtSeconds[0]!).toBeCloseTo(300, 1);
  });

  it("is not offered for a reboot of the surface, nor of somebody else", () => {
    const returning = (events: Plan["events"]) =>
      candidateFixes({ ...plan, events }).filter((one) => one.rule === "leader-returns");
    expect(returning([at(120, { do: "reboot", device: "foh", part: "surface" })])).toEqual([]);
    expect(returning([at(120, { do: "reboot", device: "pa", part: "all" })])).toEqual([]);
    expect(returning([at(120, { do: "power-cut", device: null, supply: "foh" })])).not.toEqual([]);
  });

  it("keeps an undoing event tied to what it undoes", () => {
    const unplug = { do: "unplug", link: "foh-stage", end: null, way: null, into: null } as const;
    const events: Plan["events"] = [
      at(120, { do: "reboot", device: "foh", part: "all" }),
      at(130, unplug),
      { ...at(200, { ...unplug, do: "plug" }), undoes: 1 },
    ];
    const fix = candidateFixes({ ...plan, events }).find((one) => one.words.includes("while it starts"))!;
    const after = fix.apply({ ...plan, events }).events;
    // 75 s of starting: the source is set half way, at 157.5 s, between the two.
    expect(after.map((one) => [one.atNs / 1e9, one.do])).toEqual([
      [120, "reboot"],
      [130, "unplug"],
      [157.5, "set-clock-sources"],
      [200, "plug"],
    ]);
    expect(after[after[3]!.undoes!]).toMatchObject({ do: "unplug" });
  });
});

// A busy machine takes its time; nothing here measures any.
describe("every candidate", { timeout: 60_000 }, () => {
  it("is a plan again: the same devices, links and feeds, events in order, and it can be played", () => {
    const rigs = fc.oneof(
      plans({ secondSources: true, spares: true, loners: true, seconds: [10, 20] }),
      plans({ secondSources: true, ring: true, devices: [3, 7], seconds: [10, 20] }),
    );
    const seen = new Set<string>();
    fc.assert(
      fc.property(rigs, (plan) => {
        for (const fix of candidateFixes(plan)) {
          const frozen = JSON.stringify(plan);
          const after = fix.apply(plan);
          expect(JSON.stringify(plan)).toBe(frozen);
          expect(JSON.stringify(after)).not.toBe(frozen);
          for (const part of ["devices", "links", "spares", "feeds"] as const) {
            expect(after[part].map((one) => one.id)).toEqual(plan[part].map((one) => one.id));
          }
          after.events.forEach((event, index) => {
            if (index > 0) expect(event.atNs).toBeGreaterThanOrEqual(after.events[index - 1]!.atNs);
            if (event.undoes !== null) expect(event.undoes).toBeLessThan(index);
          });
          for (const { clockSources } of after.devices) {
            expect(clockSources.length).toBeGreaterThan(0);
            expect(new Set(clockSources).size).toBe(clockSources.length);
          }
          seen.add(fix.rule);
        }
        const last = candidateFixes(plan).at(-1);
        if (last !== undefined) rehearse(last.apply(plan));
      }),
      tries(40),
    );
    for (const rule of ["left-on-internal", "no-leader", "leader-returns", "returns-at-full-level"]) {
      expect(seen).toContain(rule);
    }
  });

  it("with another leader gives a tree: every device with audio traces to it, whatever was set before", () => {
    let moved = 0;
    const rigs = plans({ secondSources: true, spares: true, loners: true, eventCount: [0, 0], devices: [3, 8] });
    fc.assert(
      fc.property(rigs, fc.nat(), (plan, pick) => {
        const part = plan.devices.map((one) => one.id);
        const leader = part[pick % part.length]!;
        const after = leadBy(plan, part, leader);
        if (after === null) return;
        const graph = clockGraph(after);
        expect(graph.rings).toEqual([]);
        const hasAudio = new Set(
          plan.links.flatMap(({ channels, a, b }) => (channels > 0 ? [a.device, b.device] : [])),
        );
        for (const id of part) {
          // Nothing is heard of what has no audio; where it cannot hear the new leader it stays as it was.
          if (id === leader || !hasAudio.has(id)) continue;
          for (const choice of graph.choices(id)) {
            if (choice.heard.kind !== "own") expect(graph.trace(choice).ends).toBe(leader);
          }
        }
        expect(rules(after)).not.toContain("clock-disputed");
        expect(rules(after)).not.toContain("clock-unclaimed");
        if (leader !== plan.leaders[0]) moved += 1;
      }),
      tries(200),
    );
    expect(moved).toBeGreaterThan(20);
  });
});
