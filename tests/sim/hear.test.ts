/** What a listener hears, by hand: MADI notices in 0.01 s and comes up in 0.1 s, AES3 likewise; spares switch in 0.3 s. */
import { describe, expect, it } from "vitest";
import type { FeedSummary } from "../../shared/summary.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { plan } from "../helpers/rig.ts";

type Words = Readonly<Record<string, unknown>>;

function rig(
  events: readonly object[],
  more: {
    readonly stage?: Words;
    readonly foh?: Words;
    readonly pa?: Words;
    readonly spare?: Words;
    readonly feed?: Words;
    readonly toPa?: Words;
  } = {},
) {
  return plan({
    format: 1,
    title: "a story",
    run: { length: "00:30:00" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["foh"],
      devices: [
        { id: "foh", clockSources: ["internal"], oscillator: { offsetPpm: 4.1 }, bootSeconds: 75, ...more.foh },
        { id: "pa", clockSources: ["1"], oscillator: { offsetPpm: 2.3 }, ...more.pa },
        { id: "stage", clockSources: ["1", "2"], oscillator: { offsetPpm: -5.9 }, ...more.stage },
      ],
      links: [
        { id: "main", type: "madi", from: "stage.1", to: "foh.1", return: true, laidAlong: ["left"] },
        { id: "spare", type: "madi", from: "stage.2", to: "foh.2", return: true, laidAlong: ["right"] },
        { id: "to-pa", type: "aes3", from: "foh.3", to: "pa.1", ...more.toPa },
      ],
      spares: [{ id: "pair", links: ["main", "spare"], ...more.spare }],
      feeds: [{ id: "mix", through: ["stage", "foh", "pa"], channels: [32, 2], heardBy: ["pa"], ...more.feed }],
    },
    events,
  });
}

function heard(...args: Parameters<typeof rig>): FeedSummary {
  return rehearse(rig(...args)).summary.feeds[0] as FeedSummary;
}

const inWords = (feed: FeedSummary): string[] =>
  feed.states.map(
    (each) => `${each.fromSeconds} ${each.state}${each.silence === null ? "" : ` ${each.silence} ${each.because}`}`,
  );

describe("silence", () => {
  it("counts from the fault: noticing and switching to a good spare", () => {
    const feed = heard([{ at: "00:10:00", do: "unplug", link: "main", forSeconds: 60 }]);
    expect(inWords(feed)).toEqual(["0 clean", "600 silent link-down main", "600.31 clean"]);
    expect(feed).toMatchObject({
      silentSeconds: 0.31,
      longestSilenceSeconds: 0.31,
      dropouts: { whileFaulty: 1, onReturn: 0 },
      firstAudibleAtSeconds: 600,
      cleanAgainAtSeconds: 600.31,
    });
  });

  it("goes back to the main only if the pair does so by itself, after its wait", () => {
    const cut = { at: "00:20:00", do: "unplug", link: "spare", forSeconds: 60 };
    // Main is back at 660.1; with 300 s to wait it carries again at 960.4: then the spare may go at 1,200 unheard.
    const back = heard([{ at: "00:10:00", do: "unplug", link: "main", forSeconds: 60 }, cut], {
      spare: { waitToRestoreSeconds: 300 },
    });
    expect(back.silentSeconds).toBeCloseTo(0.31, 9);
    // A pair that stays is on the spare at 1,200 and switches once more.
    const stays = heard([{ at: "00:10:00", do: "unplug", link: "main", forSeconds: 60 }, cut], {
      spare: { revertive: false },
    });
    expect(stays.silentSeconds).toBeCloseTo(0.62, 9);
  });

  it("has the first reason that holds, and device-down apart from the clock's", () => {
    const feed = heard([{ at: "00:10:00", do: "reboot", device: "foh" }]);
    expect(inWords(feed)).toEqual([
      "0 clean",
      "600 silent device-down foh",
      "675 silent link-down main",
      "675.1 clean",
    ]);
    expect(feed).toMatchObject({ silentSeconds: 75.1, silentForDeviceDownSeconds: 75, silentForClockSeconds: 0 });
  });

  it("of a desk that hangs is its own; clock goes on", () => {
    expect(inWords(heard([{ at: "00:10:00", do: "hang", device: "foh", forSeconds: 30 }]))).toEqual([
      "0 clean",
      "600 silent device-down foh",
      "630 clean",
    ]);
  });

  it("lasts longer by the time that unmuting takes, and belongs to the clock then", () => {
    const feed = heard([{ at: "00:10:00", do: "reboot", device: "foh" }], { foh: { unmuteSeconds: 4 } });
    expect(inWords(feed).slice(-2)).toEqual(["675.1 silent muted foh", "679 clean"]);
    expect(feed.silentForClockSeconds).toBeCloseTo(3.9, 9);
  });

  it("comes back at full level unless something at which it comes back fades", () => {
    const reboot = [{ at: "00:10:00", do: "reboot", device: "foh" }];
    expect(heard(reboot).returnsAtFullLevel).toBe(true);
    expect(heard(reboot, { foh: { unmuteRampSeconds: 2 } }).returnsAtFullLevel).toBe(false);
    // The reboot took the link to the PA along: the PA processor sees the return, and fades.
    expect(heard(reboot, { pa: { unmuteRampSeconds: 2 } }).returnsAtFullLevel).toBe(false);
    expect(heard(reboot, { stage: { unmuteRampSeconds: 2 } }).returnsAtFullLevel).toBe(true); // nothing comes back there
    // A hang leaves the links up: nobody but the desk can fade.
    expect(
      heard([{ at: "00:10:00", do: "hang", device: "foh", forSeconds: 30 }], { pa: { unmuteRampSeconds: 2 } })
        .returnsAtFullLevel,
    ).toBe(true);
  });
});

describe("what is not carried", () => {
  it("is a hop beyond the link's channels, or at another rate", () => {
    expect(inWords(heard([], { feed: { channels: [32, 4] } }))).toEqual(["0 not-carried"]);
    const other = heard([], { pa: { sampleRateHz: 44100 } });
    expect(other.states.at(-1)).toMatchObject({ state: "not-carried", because: "to-pa" });
  });
});

describe("clicks", () => {
  const own = { pa: { clockSources: ["internal"] } };

  it("are one stretch from the first to the last, and never clean again", () => {
    // 1.8 ppm apart: 0.0864 samples a second, a click every 11.574 s; the first when the buffer has moved by one sample.
    const feed = heard([], own);
    expect(feed.slips).toBe(Math.floor(1800 * 0.0864));
    expect(feed.states.map((each) => each.state)).toEqual(["clean", "slipping", "clean"]);
    expect(feed.states[1]?.fromSeconds).toBeCloseTo(1 / 0.0864, 6);
    expect(feed).toMatchObject({
      cleanAgainAtSeconds: null,
      mayBeSilent: true,
      dropouts: { whileFaulty: 1, onReturn: 0 },
    });
  });

  it("are silence where the device mutes what is out of step, and either where nobody knows", () => {
    const muting = heard([], { pa: { clockSources: ["internal"], muteOutOfStep: true } });
    expect(muting.states.at(-1)).toMatchObject({ state: "silent", silence: "out-of-step", because: "pa" });
    expect(muting.silentForClockSeconds).toBeGreaterThan(1790);
    expect(heard([], { pa: { clockSources: ["internal"], muteOutOfStep: false } }).mayBeSilent).toBe(false);
  });

  it("that begin after a setting are not charged to an earlier return", () => {
    const feed = heard([
      { at: "00:05:00", do: "unplug", link: "main", forSeconds: 60 },
      { at: "00:15:00", do: "set-clock-sources", device: "pa", clockSources: ["internal"] },
    ]);
    expect(feed.dropouts).toEqual({ whileFaulty: 2, onReturn: 0 });
  });

  it("on a cable that carries nothing of a feed are nobody's", () => {
    // The spare's receivers slip as well while the stage box is on its own clock, but the main carries.
    const run = rehearse(rig([], { stage: { clockSources: ["internal"] } }));
    const onSpare = run.record.rows.filter(
      (row) => row.fact.kind === "slips" && row.fact.link === "spare" && row.fact.way === "there",
    );
    expect(onSpare.length).toBeGreaterThan(0);
    const onMain = run.record.rows.reduce(
      (sum, { fact }) =>
        fact.kind === "slips" && fact.link === "main" && fact.way === "there" ? sum + fact.count : sum,
      0,
    );
    expect(run.summary.feeds[0]?.slips).toBe(onMain);
  });
});
