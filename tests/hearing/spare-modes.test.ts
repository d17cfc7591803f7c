/** Duplicates and spares by hand, worked out on paper: MADI notices in 0.01 s and comes up in 0.1 s. */
import { describe, expect, it, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import type { FeedSummary } from "../../shared/summary.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";
import { inWords, type Parts, spareRig, type Words, withLatency } from "./spare-rig.ts";

function heard(plan: Plan): FeedSummary {
  return rehearse(plan).summary.feeds[0] as FeedSummary;
}

const out = (link: string, at: string, forSeconds?: number) => ({
  at,
  do: "unplug",
  link,
  ...(forSeconds === undefined ? {} : { forSeconds }),
});
const duplicate = (more: Words = {}): Parts => ({ pair: { mode: "duplicate", ...more } });

describe("duplicates", () => {
  it("carry through the loss of either, and of one after the other, without a gap", () => {
    const one = heard(spareRig([out("main", "00:10:00", 60), out("spare", "00:15:00", 60)], duplicate()));
    expect(inWords(one)).toEqual(["0 clean"]);
    expect(one).toMatchObject({
      silentSeconds: 0,
      dropouts: { whileFaulty: 0, onReturn: 0 },
      returnsAtFullLevel: false,
    });
  });

  it("are silent exactly while no member is up, and come back with the first that is", () => {
    const both = [out("main", "00:10:00"), out("spare", "00:10:30", 20)];
    // The spare is plugged in again at 650 and takes 0.1 s to come up; back by the link, not by the main.
    const feed = heard(spareRig(both, duplicate()));
    expect(inWords(feed)).toEqual(["0 clean", "630 silent link-down spare", "650.1 clean"]);
    expect(feed.returnsAtFullLevel).toBe(true);
    expect(heard(spareRig(both, { ...duplicate(), foh: { unmuteRampSeconds: 1 } })).returnsAtFullLevel).toBe(false);
  });

  it("do without one that is dead from the start, as long as the other holds", () => {
    const dead = { ...duplicate(), spare: { atStart: "unplugged" } };
    expect(inWords(heard(spareRig([], dead)))).toEqual(["0 clean"]);
    expect(inWords(heard(spareRig([out("main", "00:10:00", 60)], dead)))).toEqual([
      "0 clean",
      "600 silent link-down main",
      "660.1 clean",
    ]);
  });

  // Classes A and C of ST 2022-7 as comments in public code have them: 10 ms and 450 ms.
  test.each([
    { windowMilliseconds: undefined, skewSeconds: 0.01, gap: 0 },
    { windowMilliseconds: undefined, skewSeconds: 0.0100001, gap: 0.0100001 },
    { windowMilliseconds: 10, skewSeconds: 0.25, gap: 0.25 },
    { windowMilliseconds: 450, skewSeconds: 0.45, gap: 0 },
    { windowMilliseconds: 450, skewSeconds: 0.46, gap: 0.46 },
    { windowMilliseconds: 0, skewSeconds: 0, gap: 0 },
    { windowMilliseconds: 0, skewSeconds: -0.003, gap: 0.003 },
  ])("with a window of $windowMilliseconds ms and $skewSeconds s between them leave a gap of $gap s", (given) => {
    const { windowMilliseconds, skewSeconds, gap } = given;
    const pair = duplicate(windowMilliseconds === undefined ? {} : { windowMilliseconds });
    const main = 0.02;
    const rig = withLatency(spareRig([out("main", "00:10:00", 60)], pair), { main, spare: main + skewSeconds });
    const feed = heard(rig);
    expect(feed.silentSeconds).toBeCloseTo(gap, 9);
    // It stays on the spare: the return of the main costs nothing either way.
    expect(inWords(feed)).toHaveLength(gap === 0 ? 1 : 3);
    if (gap > 0) expect(feed.states[1]).toMatchObject({ silence: "link-down", because: "main", fromSeconds: 600 });
  });

  it("outside the window ride out a break shorter than the gap would be: the main is in time, the spare is not", () => {
    const rig = (forSeconds: number) =>
      heard(withLatency(spareRig([out("main", "00:10:00", forSeconds)], duplicate()), { spare: 0.5 }));
    // Unnoticed: as long as the break.
    expect(rig(0.004).silentSeconds).toBeCloseTo(0.004, 9);
    // 0.2 s and 0.1 s to come up are less than half a second.
    expect(rig(0.2).silentSeconds).toBeCloseTo(0.3, 9);
    expect(rig(0.45).silentSeconds).toBeCloseTo(0.5, 3);
  });

  it("have one buffer: what slips is heard once, on the member that carries", () => {
    // 10 ppm apart, so that both receivers at the desk slip.
    const own = { ...duplicate(), stage: { clockSources: ["internal"], oscillator: { offsetPpm: -5.9 } } };
    const run = rehearse(spareRig([out("main", "00:10:00", 600)], own));
    const trains = (link: string) =>
      run.record.rows.flatMap(({ fact }) =>
        fact.kind === "slips" && fact.link === link && fact.way === "there" ? [fact] : [],
      );
    const count = (link: string, from: number, to: number) =>
      trains(link).reduce(
        (sum, { fromNs, toNs, count: all }) => sum + (fromNs >= from * 1e9 && toNs <= to * 1e9 ? all : 0),
        0,
      );
    const onMain = count("main", 0, 600);
    expect(onMain).toBeGreaterThan(200);
    const all = trains("main")
      .concat(trains("spare"))
      .reduce((sum, { count: each }) => sum + each, 0);
    const feed = run.summary.feeds[0] as FeedSummary;
    // Half an hour at 0.48 samples a second, whoever carries; the record has the spare's beside it.
    expect(Math.abs(feed.slips - 1800 * 0.48)).toBeLessThanOrEqual(2);
    expect(all).toBeGreaterThan(1.5 * feed.slips);
  });

  it("do not carry what they cannot decode", () => {
    // The main goes into a desk that is at another rate than the box: neither decodes, and nothing is carried.
    const other = heard(spareRig([], { ...duplicate(), stage: { sampleRateHz: 44100 } }));
    expect(other.states.at(-1)).toMatchObject({ state: "not-carried" });
  });

  it("say so: the spare works here, and nobody has tried it", () => {
    const { timeline, ridesOut } = tell(rehearse(spareRig([out("main", "00:10:00", 60)], duplicate())));
    expect(timeline.map(({ text }) => text).join("\n")).toContain(
      "No listener hears it. This spare works here; nobody has pulled it on site.",
    );
    expect(ridesOut[0]).toBe(
      "The main cable: a break of any length is not heard while another of its group carries; the receiver has them all.",
    );
  });
});

describe("a spare by hand", () => {
  const manual = (more: Words = {}): Parts => ({ pair: { mode: "manual", ...more } });

  it("carries a minute after the loss was noticed, and stays", () => {
    const feed = heard(spareRig([out("main", "00:10:00", 300), out("spare", "00:25:00")], manual()));
    expect(inWords(feed)).toEqual([
      "0 clean",
      "600 silent link-down main",
      "660.01 clean",
      "1500 silent link-down spare",
      "1560.01 clean",
    ]);
  });

  it("is not needed where the main is back before anybody was there", () => {
    const feed = heard(spareRig([out("main", "00:10:00", 30)], manual({ switchSeconds: 45 })));
    expect(inWords(feed)).toEqual(["0 clean", "600 silent link-down main", "630.1 clean"]);
    expect(feed.returnsAtFullLevel).toBe(true);
  });

  it("comes back at full level unless something behind the cable fades", () => {
    const events = [out("main", "00:10:00")];
    expect(heard(spareRig(events, manual())).returnsAtFullLevel).toBe(true);
    expect(heard(spareRig(events, { ...manual(), foh: { unmuteRampSeconds: 2 } })).returnsAtFullLevel).toBe(false);
  });

  it("says what it counts on, and before what to mute", () => {
    const { timeline, beforeReturn, ridesOut } = tell(rehearse(spareRig([out("main", "00:10:00")], manual())));
    expect(timeline.map(({ text }) => text).join("\n")).toContain(
      "This counts on somebody who changes over by hand within 1 min.",
    );
    expect(ridesOut[0]).toBe(
      "The main cable: nothing takes over in breaks shorter than 1 min; after a longer one somebody has changed over to the spare by hand, 1 min from the break.",
    );
    expect(beforeReturn).toEqual([
      "Before the main cable is back, mute in this order, by a mute that does not depend on what failed. Bring up slowly.",
      "1. PA: the system engineer mutes at the PA processor.",
      "If what you see differs from this: mute, then think.",
    ]);
  });
});
