/** How late a feed is, added up by hand from its cables. */
import fc from "fast-check";
import { describe, expect, it, test } from "vitest";
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import { check } from "../../sim/check/index.ts";
import { feedLatency, hopLatencies, isMerged, type PathLatency, skewSeconds } from "../../sim/latency.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";
import { changed, planOf, soundFile } from "../check/network-rigs.ts";
import { tries } from "../helpers/laws.ts";
import { at } from "../helpers/plan.ts";
import { plans } from "../helpers/random-rig.ts";
import { type Parts, spareRig, withLatency } from "./spare-rig.ts";

const SAMPLE = 1 / 48_000;
/** On coax and on a shielded pair, seconds per metre. */
const [COAX, PAIR] = [5.05e-9, 5.38e-9];

/** MADI takes 2 samples and AES3 one, a receiver's buffer one; 10 m where the file says nothing. */
const MAIN = 2 * SAMPLE + 10 * COAX + SAMPLE;
const TO_PA = SAMPLE + 10 * PAIR + SAMPLE;

const latencyOf = (parts: Parts) => {
  const made = spareRig([], parts);
  return feedLatency(made, made.feeds[0]!);
};

describe("a feed", () => {
  it("is as late as its links, their lengths and the buffers at their ends", () => {
    const { mainSeconds, mainSamples } = latencyOf({});
    expect(mainSeconds).toBeCloseTo(MAIN + TO_PA, 15);
    expect(mainSamples).toBeCloseTo((MAIN + TO_PA) * 48_000, 9);
    expect(mainSamples).toBeCloseTo(5.005, 3);
  });

  it("over the spare by its own length and buffer: 90 m more, and six samples deep", () => {
    const spare = { lengthMetres: 100, buffer: { slipSamples: 3, depthSamples: 12, startSamples: 6 } };
    const { mainSamples, spareSamples } = latencyOf({ spare });
    expect((spareSamples as number) - mainSamples).toBeCloseTo(5 + 90 * COAX * 48_000, 9);
    expect(latencyOf({ spare: {} }).spareSamples).toBe(latencyOf({}).mainSamples);
  });

  it("with a converter has its delay in the place of the buffer", () => {
    const foh = { ports: { 1: { converter: { delaySeconds: 0.0015 } } } };
    const made = spareRig([], { foh });
    const [hop] = hopLatencies(made, made.feeds[0]!);
    expect(hop?.paths[0]).toMatchObject({ converterSeconds: 0.0015, bufferSeconds: 0 });
    expect(hop?.paths[1]).toMatchObject({ converterSeconds: 0, bufferSeconds: SAMPLE });
    expect(rehearse(made).summary.feeds[0]).toMatchObject({ converterDelaySeconds: 0.0015 });
  });

  it("over merged duplicates is as late as the latest of them, whichever carries; outside the window each for itself", () => {
    const made = (spare: number) =>
      withLatency(spareRig([], { pair: { mode: "duplicate", windowMilliseconds: 10 } }), { main: 0.001, spare });
    const inside = feedLatency(made(0.006), made(0.006).feeds[0]!);
    expect(inside.mainSeconds).toBeCloseTo(0.006 + 10 * COAX + SAMPLE + TO_PA, 12);
    expect(inside.spareSeconds).toBeCloseTo(inside.mainSeconds, 12);
    const outside = feedLatency(made(0.051), made(0.051).feeds[0]!);
    expect((outside.spareSeconds as number) - outside.mainSeconds).toBeCloseTo(0.05, 12);
  });

  it("says what the spare makes of it only where there is one", () => {
    const wordsOf = (spare: object) =>
      tell(rehearse(spareRig([], { length: "00:01:00", spare: { ...spare } }))).heard[0]?.text;
    expect(wordsOf({})).toBe(
      "clean from beginning to end. It takes 5 samples (0.1 ms) through; by the spare the same.",
    );
    expect(wordsOf({ buffer: { slipSamples: 6, depthSamples: 48, startSamples: 24 } })).toBe(
      "clean from beginning to end. It takes 5 samples (0.1 ms) through; by the spare 28, a jump as it takes over.",
    );
    const alone = spareRig([], { length: "00:01:00" });
    const feeds = alone.feeds.map((feed) => ({
      ...feed,
      hops: feed.hops.map((hop) => ({ ...hop, over: hop.over.slice(0, 1), spare: null })),
    }));
    expect(tell(rehearse({ ...alone, feeds })).heard[0]?.text).toBe("clean from beginning to end.");
  });
});

test("parts add up to the whole, and whoever is merged is within the window of whom it is merged with", () => {
  const seen = { spares: 0, alone: 0 };
  fc.assert(
    fc.property(plans({ devices: [2, 6], spares: true, eventCount: [0, 0] }), (plan) => {
      for (const feed of plan.feeds) {
        const hops = hopLatencies(plan, feed);
        for (const {
          seconds,
          linkSeconds,
          propagationSeconds,
          bufferSeconds,
          converterSeconds,
          heldBackSeconds,
        } of hops.flatMap(({ paths }) => paths)) {
          expect(seconds).toBeCloseTo(
            linkSeconds + propagationSeconds + bufferSeconds + converterSeconds + heldBackSeconds,
            15,
          );
          expect(bufferSeconds).toBeGreaterThan(0);
        }
        const { mainSeconds, spareSeconds } = feedLatency(plan, feed);
        expect(mainSeconds).toBeCloseTo(
          hops.reduce((sum, { paths }) => sum + paths[0]!.seconds, 0),
          15,
        );
        const hasSpare = feed.hops.some(({ over }) => over.length > 1);
        expect(spareSeconds !== null).toBe(hasSpare);
        seen[hasSpare ? "spares" : "alone"] += 1;
      }
      for (const pair of plan.spares) {
        const [one, other] = pair.links.map((id) => plan.links.find((link) => link.id === id)!) as [LinkPlan, LinkPlan];
        const windowSeconds = skewSeconds(plan, one, other);
        expect(skewSeconds(plan, other, one)).toBe(windowSeconds);
        expect(isMerged(plan, { ...pair, windowSeconds }, one, other)).toBe(true);
        expect(isMerged(plan, { ...pair, windowSeconds: windowSeconds / 2 }, one, other)).toBe(windowSeconds < 2e-9);
      }
    }),
    tries(60),
  );
  expect(seen.spares).toBeGreaterThan(20);
  expect(seen.alone).toBeGreaterThan(20);
});

describe("over a network a stream", () => {
  /** The blue bridges hold packets back for a millisecond each; a stream passes both. */
  const slowBlue = (windowMilliseconds: number) => {
    const slow = { bridge: { timing: "plain", residenceMicroseconds: 1000 } };
    const rig = planOf(
      changed(soundFile(), {
        "blue-1": slow,
        "blue-2": slow,
        pair: { windowMilliseconds },
        "pa-mix": { over: ["main", "second"] },
      }),
    );
    return { ...rig, events: [at(60, { do: "unplug", link: "red-foh", end: null, way: null, into: null })] } as Plan;
  };

  it("is later by the cables and the bridges on its way", () => {
    const rig = slowBlue(10);
    const [main, second] = hopLatencies(rig, rig.feeds.find(({ id }) => id === "pa-mix")!)[0]!.paths as [
      PathLatency,
      PathLatency,
    ];
    // Three cables of 10 m on either network, and two bridges of 2 ms altogether against those of the red one.
    expect(second.propagationSeconds - main.propagationSeconds).toBeCloseTo(
      0.002 - 2 * rig.devices.find(({ id }) => id === "red-1")!.bridge!.residenceSeconds,
      12,
    );
    expect(main.heldBackSeconds).toBeCloseTo(second.propagationSeconds - main.propagationSeconds, 12);
  });

  test("whose duplicate comes later than the window is followed by a gap, as the check says; inside the window by none", () => {
    const heard = (windowMilliseconds: number) => {
      const rig = slowBlue(windowMilliseconds);
      const { summary } = rehearse(rig);
      const { silentSeconds } = summary.feeds.find(({ id }) => id === "pa-mix")!;
      return { silentSeconds, isFound: check(rig).some(({ rule }) => rule === "duplicate-skew") };
    };
    const wide = heard(10);
    const narrow = heard(1);
    expect(wide).toEqual({ silentSeconds: 0, isFound: false });
    expect(narrow.isFound).toBe(true);
    expect(narrow.silentSeconds).toBeGreaterThan(0.0019);
    expect(narrow.silentSeconds).toBeLessThan(0.0021);
  });
});
