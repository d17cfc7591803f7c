/**
 * A ring of sources by its closed form. Each follower sees its neighbour late by the cable's delay, so every loop's error
 * comes to a/ω² under the common drift a, and the errors round the ring sum up to −D, the sum of the delays:
 *
 *   a = −D / Σ(1/ωᵢ²) per second, down to the first steering stop.
 *
 * CALC from the loop's static error, (drift)/ω² (Best, READ).
 */
import { describe, expect, test } from "vitest";
import type { Ns } from "../../shared/time.ts";
import { device, link, planOf } from "../helpers/plan.ts";
import { play } from "../helpers/play.ts";
import { readClocks, readSlips } from "../helpers/reading.ts";

interface Member {
  readonly id: string;
  readonly hz: number;
  readonly damping?: number;
  readonly offsetPpm: number;
  readonly metres: number;
  readonly steeringPpm?: number;
}

/** Each takes the clock of the one before it, the first that of the last; a device outside keeps its own clock. */
function ring(members: readonly Member[], seconds: number, quantumSamples?: number) {
  const links = members.map(({ id, metres }, n) => {
    const before = members[(n + members.length - 1) % members.length] as Member;
    return link(`${before.id}.2`, `${id}.1`, {
      id: `to-${id}`,
      type: "aes3",
      medium: "category",
      lengthMetres: metres,
    });
  });
  const rig = planOf({
    seconds,
    devices: [
      ...members.map(({ id, hz, damping = 1, offsetPpm, steeringPpm = 100 }) =>
        device(id, ["1"], { offsetPpm, steeringPpm, loop: { naturalFrequencyHz: hz, damping } }),
      ),
      device("outside", ["internal"]),
    ],
    links: [...links, link(`${members[0]?.id}.3`, "outside.1", { id: "out" })],
  });
  const { rows, timebases } = play(rig, undefined, quantumSamples);
  return { rows, clocks: readClocks(rows, timebases), slips: readSlips(rows) };
}

describe("the common frequency of a ring", () => {
  test.each([
    {
      what: "two alike",
      members: [
        { id: "a", hz: 1, offsetPpm: 4, metres: 10 },
        { id: "b", hz: 1, offsetPpm: -3, metres: 10 },
      ],
    },
    {
      what: "two unlike, on long cables",
      members: [
        { id: "a", hz: 0.5, offsetPpm: -2, metres: 30, damping: 0.7 },
        { id: "b", hz: 2, offsetPpm: 5, metres: 5 },
      ],
    },
    {
      what: "three, none like another",
      members: [
        { id: "a", hz: 0.7, offsetPpm: 1, metres: 12 },
        { id: "b", hz: 1.1, offsetPpm: -6, metres: 25, damping: 1.4 },
        { id: "c", hz: 1.6, offsetPpm: 3, metres: 3, damping: 0.8 },
      ],
    },
  ])("falls at −D/Σ(1/ω²) a second: $what", ({ members }) => {
    const delaySeconds = members.reduce((sum, { metres }) => sum + metres * 5.38e-9, 0);
    const inertia = members.reduce((sum, { hz }) => sum + 1 / (2 * Math.PI * hz) ** 2, 0);
    const expected = -delaySeconds / inertia;
    for (const quantumSamples of [1e-4, 1e-6]) {
      const { clocks, rows } = ring(members, 40, quantumSamples);
      const phase = (id: string, seconds: number) => clocks.phaseSecondsAt(id, (seconds * 1e9) as Ns) ?? Number.NaN;
      const rate = (id: string, seconds: number) => clocks.fractionalOffsetAt(id, (seconds * 1e9) as Ns) ?? Number.NaN;
      // What each announcement leaves out adds to D or takes from it; reading three phases adds four quanta in 36 s².
      const quantumSeconds = quantumSamples / 48_000;
      const within = (members.length * quantumSeconds) / inertia + (4 * quantumSeconds) / 36;
      // 12 s leave e^(−ω·10 s) of every transient: less than that.
      for (const { id } of members) {
        const slope = (phase(id, 24) - 2 * phase(id, 18) + phase(id, 12)) / 36;
        expect(Math.abs(slope - expected)).toBeLessThan(within);
        expect(Math.abs(rate(id, 24) - rate((members[0] as Member).id, 24))).toBeLessThan(1e-7);
      }
      // The finer run is within four parts in ten thousand of the closed form.
      if (quantumSamples === 1e-6) expect(within).toBeLessThan(4e-4 * Math.abs(expected));
      // All lamps good, and nothing jumps any more.
      const late = rows.filter(
        ({ atNs, fact }) => atNs > 12e9 && (fact.kind === "clock" || fact.kind === "re-aligned"),
      );
      expect(late).toEqual([]);
    }
  });

  test("falls to the first steering stop and stays there: no slips inside, slips outside, all lamps good", () => {
    // Own clocks of +4 and −3 ppm that can be pulled by 20: a comes to its stop first, at 4 − 20 = −16.
    const members = [
      { id: "a", hz: 1, offsetPpm: 4, metres: 10, steeringPpm: 20 },
      { id: "b", hz: 1, offsetPpm: -3, metres: 10, steeringPpm: 20 },
    ];
    const { clocks, rows, slips } = ring(members, 120);
    // −2.124 ppm a second from about 0: it is there after some ten seconds.
    for (const seconds of [40, 80, 120]) {
      for (const id of ["a", "b"])
        expect((clocks.fractionalOffsetAt(id, (seconds * 1e9) as Ns) ?? 0) * 1e6).toBeCloseTo(-16, 2);
    }
    const states = new Map<string, string>();
    for (const { subject, fact } of rows) if (fact.kind === "clock") states.set(subject, fact.state);
    expect([states.get("device a"), states.get("device b")]).toEqual(["locked", "locked"]);
    const inside = [...(slips.get("to-a there") ?? []), ...(slips.get("to-b there") ?? [])];
    expect(inside.filter(({ atNs }) => atNs > 12e9)).toEqual([]);
    // 16 ppm against the device outside: 0.768 samples a second, over 80 s.
    const outside = (slips.get("out there") ?? []).filter(({ atNs }) => atNs > 40e9);
    expect(Math.abs(outside.length - 0.768 * 80)).toBeLessThanOrEqual(1);
    expect(outside.every(({ sign }) => sign === -1)).toBe(true);
  });

  test("without delay it would not fall: twice the cable, twice the fall", () => {
    const fall = (metres: number) => {
      const { clocks } = ring(
        [
          { id: "a", hz: 1, offsetPpm: 0, metres },
          { id: "b", hz: 1, offsetPpm: 0, metres },
        ],
        20,
      );
      const rate = (seconds: number) => clocks.fractionalOffsetAt("a", (seconds * 1e9) as Ns) ?? Number.NaN;
      return (rate(18) - rate(10)) / 8;
    };
    expect(fall(20) / fall(10)).toBeCloseTo(2, 2);
    expect(Math.abs(fall(0))).toBeLessThan(Math.abs(fall(10)) / 100);
  });
});
