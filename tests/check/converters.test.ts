import { describe, expect, it } from "vitest";
import type { ConverterPlan, LinkPlan } from "../../shared/plan.ts";
import { candidateFixes } from "../../sim/fix.ts";
import { leadBy } from "../../sim/lead-by.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { device, feed, foh, found, link, madi, mon, rig, rules, stage } from "./rigs.ts";

const converter: ConverterPlan = { delaySeconds: 0.001, lockSeconds: 0.1, ratioMax: 2 };
const converts = (...ports: number[]) => ({ converters: Object.fromEntries(ports.map((port) => [port, converter])) });
const guest = (words: Parameters<typeof device>[2] = {}, sources = ["internal"]) =>
  device("guest", sources, { name: "Guest desk", kind: "desk", offsetPpm: -5.5, ...words });
const oneWay = (id: string, from: string, to: string): LinkPlan => ({ ...madi(id, from, to), hasReturn: false });
const guestIn = oneWay("guest-in", "guest.1", "foh.7");

describe("a guest behind a converter", () => {
  it("is on a clock of its own by plan: nobody but the note speaks of it", () => {
    const plan = rig(["foh"], [foh(["internal"], converts(7)), guest()], [guestIn]);
    expect(rules(plan)).toEqual(["converter-joins-clocks"]);
    expect(found(plan, "converter-joins-clocks")[0]).toMatchObject({
      severity: "advice",
      devices: ["foh", "guest"],
      links: ["guest-in"],
      path: ["devices", "foh", "ports", "7", "converter"],
      what: "FOH desk takes the guest desk through a sample-rate converter at port 7: two clocks meet there without a click.",
    });
    expect(rules(rig(["foh"], [foh(["internal"]), guest()], [guestIn]))).toEqual(["two-leaders"]);
  });

  it("may run at another rate, as far as the converter goes", () => {
    const at = (sampleRateHz: number) =>
      rig(["foh"], [foh(["internal"], converts(7)), guest({ sampleRateHz })], [guestIn]);
    expect(rules(at(96_000))).toEqual(["converter-joins-clocks"]);
    const [mismatch] = found(at(192_000), "rate-mismatch");
    expect(mismatch?.what).toBe(
      "Guest desk is at 192 kHz, the FOH desk at 48 kHz; link guest-in joins them, and the converter at port 7 of the FOH desk bridges no more than 2 to 1.",
    );
  });

  it("still hears what comes back to it without one: that way rate and clock count", () => {
    const both = madi("guest-in", "guest.1", "foh.7");
    const atOneRate = rig(["foh"], [foh(["internal"], converts(7)), guest()], [both]);
    expect(rules(atOneRate)).toEqual(["left-on-internal", "converter-hides-clock"]);
    const atTwo = rig(["foh"], [foh(["internal"], converts(7)), guest({ sampleRateHz: 96_000 })], [both]);
    expect(found(atTwo, "rate-mismatch")[0]).toMatchObject({
      why: "A receiver takes nothing from a sender at another sample rate; a converter bridges the two the other way only.",
      see: "Silence, or noise, on what the guest desk takes over this link.",
    });
    const withTwo = rig(
      ["foh"],
      [foh(["internal"], converts(7)), guest({ ...converts(1), sampleRateHz: 96_000 })],
      [both],
    );
    expect(rules(withTwo)).toEqual(["converter-joins-clocks", "converter-joins-clocks"]);
  });

  it("is led by its own desk, with boxes of its own, as a part of its own", () => {
    const plan = rig(
      ["foh", "guest"],
      [foh(["internal"], converts(7)), guest(), device("guest-box", ["1"], { name: "Guest box" })],
      [guestIn, oneWay("guest-box", "guest.2", "guest-box.1")],
    );
    expect(rules(plan)).toEqual(["converter-joins-clocks"]);
    // A clock that a converter takes away cannot lead the other part.
    const joined = rig(["foh"], [foh(["internal"]), guest({}, ["1"])], [oneWay("out", "foh.7", "guest.1")]);
    expect(leadBy(joined, ["foh", "guest"], "foh")).not.toBeNull();
    const split = {
      ...joined,
      devices: joined.devices.map((one) => (one.id === "guest" ? { ...one, ...converts(1) } : one)),
    };
    expect(leadBy(split, ["foh", "guest"], "foh")).toBeNull();
  });
});

describe("a converter between two devices of one domain", () => {
  const clock = link("to-mon", "word-clock", "foh.3", "mon.3");
  const audio = oneWay("mon-in", "mon.1", "foh.7");

  it("is not needed where both are on one clock, and would hide it if they were not", () => {
    const plan = rig(["foh"], [foh(["internal"], converts(7)), mon(["3"])], [clock, audio]);
    expect(rules(plan)).toEqual(["converter-hides-clock"]);
    expect(found(plan, "converter-hides-clock")[0]).toMatchObject({
      severity: "advice",
      what: "The sample-rate converter at port 7 of the FOH desk stands between two devices that are on one clock.",
    });
  });

  it("hides a wrong setting where they are joined elsewhere and one is on its own clock", () => {
    const back = oneWay("mon-out", "foh.4", "mon.4");
    const plan = rig(["foh"], [foh(["internal"], converts(7)), mon(["internal"])], [clock, audio, back]);
    const [finding] = found(plan, "converter-hides-clock");
    expect(finding).toMatchObject({
      severity: "warning",
      what: "The sample-rate converter at port 7 of the FOH desk hides that the monitor desk and the FOH desk each run on their own clock.",
    });
    expect(rules(plan)).toContain("left-on-internal");
    // What it hides is not to be heard there, and clicks on the way back.
    const { record } = rehearse({ ...plan, lengthNs: 600e9 as typeof plan.lengthNs });
    const slipping = new Set(record.rows.flatMap(({ fact }) => (fact.kind === "slips" ? [fact.link] : [])));
    expect(slipping.has("mon-in")).toBe(false);
    expect(slipping.has("mon-out")).toBe(true);
  });

  it("names whose clock each follows, and a ring", () => {
    const plan = rig(
      ["foh"],
      [foh(["internal"], converts(7)), stage(["2"]), mon(["2"])],
      [oneWay("in", "stage.1", "foh.7"), madi("ring", "stage.2", "mon.2"), oneWay("out", "foh.5", "stage.5")],
    );
    expect(found(plan, "converter-hides-clock")[0]!.what).toContain(
      "hides that the stage box takes its clock out of a ring and the FOH desk runs on its own clock",
    );
  });
});

describe("a converter as a fix", () => {
  const noConverter = rig(["foh"], [foh(["internal"]), guest()], [guestIn]);
  const withFeed = { ...noConverter, feeds: [feed("mix", noConverter, ["guest", "foh"], 2)] };

  it("is offered where no cable brings the leader's clock, and takes the clicks away", () => {
    const [finding] = found(withFeed, "two-leaders");
    expect(finding!.remedy).toBe(
      'The guest desk: listen to a port through which the FOH desk is heard, with "internal" after it. Where no cable brings it there, lay one, or put a sample-rate converter at port 7 of the FOH desk.',
    );
    const [fix] = candidateFixes(withFeed);
    expect(fix!.words).toBe(
      "put a sample-rate converter at port 7 of the FOH desk; it delays the sound by 1 ms, and the clocks stay apart",
    );
    expect(rehearse(withFeed).summary.feeds[0]!.slips).toBeGreaterThan(100);
    expect(rehearse(fix!.apply(withFeed)).summary.feeds[0]!.slips).toBe(0);
    expect(rules(fix!.apply(withFeed))).toEqual(["converter-joins-clocks"]);
  });

  it("is offered for two rates beside the change of rate, not at a port whose clock is followed", () => {
    const words = (sources: string[]) =>
      candidateFixes(
        rig(["foh"], [foh(["internal"]), guest({ sampleRateHz: 44_100 }, sources)], [madi("in", "guest.1", "foh.7")]),
      )
        .filter(({ rule }) => rule === "rate-mismatch")
        .map((fix) => fix.words);
    expect(words(["internal"])).toEqual([
      "guest desk, sample rate: 48 kHz",
      "put a sample-rate converter at port 7 of the FOH desk and port 1 of the guest desk; it delays the sound by 1 ms, and the clocks stay apart",
    ]);
    expect(words(["1"])).toEqual(["guest desk, sample rate: 48 kHz"]);
  });
});
