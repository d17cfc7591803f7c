/**
 * What wander draws: one uniform a knot, in knot order, from each of two streams of an oscillator (three with drift
 * noise), which go on from block to block, and nothing else: so a draw has an address that no event and no neighbour moves.
 */
import { beforeEach, describe, expect, test, vi } from "vitest";
import type { Ns } from "../../shared/time.ts";
import type { OwnWander } from "../../shared/wander.ts";
import { wanderAt } from "../../shared/wander.ts";
import { at, device, link, planOf } from "../helpers/plan.ts";
import { play } from "../helpers/play.ts";
import { streams } from "../helpers/scripted-streams.ts";

vi.mock("../../shared/random.ts", async (original) =>
  (await import("../helpers/scripted-streams.ts")).ofRandom(await original()),
);
vi.mock("../../shared/uniforms.ts", async (original) =>
  (await import("../helpers/scripted-streams.ts")).ofUniforms(await original()),
);

/** Knots that are drawn at once. */
const BLOCK = 1024;

beforeEach(() => {
  streams.opened.length = 0;
  streams.uniform = null;
});

const house: OwnWander = {
  kind: "own",
  seed: "quay-1",
  device: "house",
  gridNs: 1e9 as Ns,
  sigma1: 1e-9,
  sigma2: 1e-10,
  sigma3: 0,
  hMinus1: 0,
};

function phasesOf(own: OwnWander, count: number): number[] {
  const fresh = { ...own };
  return Array.from({ length: count + 1 }, (_, knot) => wanderAt(fresh, (knot * own.gridNs) as Ns));
}

/** Phases while streams are watched, one uniform being another if asked. */
function watchedPhases(own: OwnWander, count: number, changed: { purpose: string; place: number } | null): number[] {
  streams.uniform = ({ purpose }, place, realAt) =>
    purpose === changed?.purpose && place === changed.place ? (realAt(place) + 0.37) % 1 : realAt(place);
  try {
    return phasesOf(own, count);
  } finally {
    streams.uniform = null;
  }
}

/** The first of the phases that differ. */
function firstChanged(own: OwnWander, count: number, purpose: string, place: number): number {
  const before = phasesOf(own, count);
  return watchedPhases(own, count, { purpose, place }).findIndex((phase, knot) => phase !== before[knot]);
}

/** What was opened and how much of it was drawn, in the order opened. */
function told(): string[] {
  return streams.opened.map(
    ({ address: { seed, device, purpose, block }, drawn }) => `${seed}, ${device}, ${purpose}, ${block}: ${drawn}`,
  );
}

const TWO = ["wander of phase", "wander of frequency"];
const THREE = [...TWO, "wander of drift"];

describe("uniforms", () => {
  test.each([
    { what: "two streams", own: house, purposes: TWO },
    { what: "three with drift noise", own: { ...house, sigma3: 1e-12 }, purposes: THREE },
    { what: "two with white FM alone", own: { ...house, sigma2: 0 }, purposes: TWO },
    { what: "two with random-walk FM alone", own: { ...house, sigma1: 0 }, purposes: TWO },
    { what: "two on a finer grid", own: { ...house, gridNs: 1e8 as Ns }, purposes: TWO },
  ])("are those of $what, one of each a knot, whole blocks of 1,024 knots", ({ own, purposes }) => {
    const count = 2 * BLOCK + 100;
    expect(watchedPhases(own, count, null)).toEqual(phasesOf(own, count));
    expect(told()).toEqual(purposes.map((purpose) => `quay-1, house, ${purpose}, 0: ${3 * BLOCK}`));
    for (const knot of [0, 1, 2, 500, BLOCK - 1, BLOCK, BLOCK + 1, BLOCK + 500, 2 * BLOCK - 1])
      for (const purpose of purposes)
        expect(firstChanged(own, 2 * BLOCK, purpose, knot)).toBe(
          // White FM alone hears nothing of what is drawn for frequency.
          own.sigma2 === 0 && purpose === "wander of frequency" ? -1 : knot + 1,
        );
  });

  test("of flicker have a stream of their own, and leave those of wander as many", () => {
    const withFlicker = { ...house, hMinus1: 1e-20 };
    const drawn = [1, 2, 3].map((blocks) => {
      streams.opened.length = 0;
      watchedPhases(withFlicker, blocks * BLOCK - 1, null);
      const lines = told();
      expect(lines.slice(0, 2)).toEqual(TWO.map((purpose) => `quay-1, house, ${purpose}, 0: ${blocks * BLOCK}`));
      expect(lines[2]).toMatch(/^quay-1, house, flicker, 0: \d+$/);
      expect(lines).toHaveLength(3);
      return streams.opened[2]?.drawn ?? Number.NaN;
    });
    // A process that holds its value draws once a hold: all of them together about two thirds of a uniform a knot.
    for (const [n, count] of drawn.entries())
      expect(Math.abs((count - (drawn[n - 1] ?? 0)) / BLOCK - 2 / 3)).toBeLessThan(0.01);
  });

  test("of flicker are drawn in knot order", () => {
    const withFlicker = { ...house, hMinus1: 1e-20 };
    const before = phasesOf(withFlicker, 2 * BLOCK);
    let last = 0;
    for (let place = 0; place < 2 * 680; place += 17) {
      const after = watchedPhases(withFlicker, 2 * BLOCK, { purpose: "flicker", place });
      const first = after.findIndex((phase, knot) => phase !== before[knot]);
      expect(first).toBeGreaterThanOrEqual(Math.max(1, last));
      // Two thirds of a uniform a knot, but for the first values of all processes.
      expect(Math.abs(first - 1.5 * place)).toBeLessThan(24);
      last = first;
    }
    expect(last).toBeGreaterThan(1.9 * BLOCK);
  });

  test.each([
    { what: "two streams", own: house, opened: 2 },
    { what: "four", own: { ...house, sigma3: 1e-12, hMinus1: 1e-20 }, opened: 4 },
  ])("of $what looked at anywhere first, and from the back, give the same phases", ({ own, opened }) => {
    const inOrder = phasesOf(own, 9 * BLOCK);
    const knots = [8 * BLOCK + 5, 3, 5 * BLOCK, 9 * BLOCK, 7 * BLOCK - 1, 0, 2 * BLOCK + 1, 8 * BLOCK + 6];
    for (let knot = 9 * BLOCK; knot >= 0; knot -= 17) knots.push(knot);
    const look = () => {
      const fresh = { ...own };
      for (const knot of knots) expect(wanderAt(fresh, (knot * 1e9) as Ns)).toBe(inOrder[knot]);
    };
    look();
    // Going back goes on from what was kept, and opens no stream again.
    streams.uniform = (_address, place, realAt) => realAt(place);
    look();
    expect(streams.opened).toHaveLength(opened);
  });

  test("are others with another seed, another device or later", () => {
    const first = phasesOf(house, BLOCK);
    for (const other of [
      { ...house, seed: "quay-2" },
      { ...house, device: "stage" },
    ]) {
      const second = phasesOf(other, BLOCK);
      expect(second.filter((phase, knot) => phase === first[knot])).toEqual([0]);
    }
    const [one, two] = [0, BLOCK].map((from) => {
      const phases = phasesOf(house, 2 * BLOCK).slice(from, from + BLOCK + 1);
      return phases.slice(2).map((phase, n) => phase - 2 * (phases[n + 1] as number) + (phases[n] as number));
    }) as [number[], number[]];
    const product = one.reduce((sum, x, n) => sum + x * (two[n] as number), 0);
    const size = Math.sqrt(one.reduce((sum, x) => sum + x * x, 0) * two.reduce((sum, x) => sum + x * x, 0));
    expect(Math.abs(product / size)).toBeLessThan(4 / Math.sqrt(BLOCK));
  });
});

describe("in a run", () => {
  const wander = { sigma1: 1e-9, sigma2: 1e-10, sigma3: 0, hMinus1: 0 };
  const rig = (more: "nothing" | "a power cut" | "a neighbour") =>
    planOf({
      seconds: 400,
      devices: [
        device("house", ["internal"], { oscillator: { wander } }),
        device("stage", ["1"], { oscillator: { wander } }),
        ...(more === "a neighbour"
          ? [
              device("a first one", ["1"], { oscillator: { wander } }),
              device("zz", ["internal"], { oscillator: { wander } }),
            ]
          : []),
      ],
      links: [link("house.1", "stage.1"), ...(more === "a neighbour" ? [link("house.2", "a first one.1")] : [])],
      events:
        more === "a power cut"
          ? [
              at(100, { do: "power-cut", device: "house", supply: null }),
              at(130, { do: "power-back", device: "house", supply: null }),
            ]
          : [],
    });
  /** Wander of a device at late instants, by the flow that it then gives. */
  const late = (more: Parameters<typeof rig>[0], id: string): number[] => {
    const { rows } = play(rig(more));
    return [300, 333.3, 399].map((seconds) => {
      const atNs = seconds * 1e9;
      const told = rows.filter(
        ({ fact, subject, atNs: now }) => now <= atNs && fact.kind === "flow" && subject === `device ${id}`,
      );
      const fact = told.at(-1)?.fact;
      return fact?.kind === "flow" ? wanderAt(fact.flow?.wander ?? null, atNs as Ns) : Number.NaN;
    });
  };

  test("a power cut shifts no draw of the device that it takes down", () => {
    const plain = late("nothing", "house");
    expect(plain.every((seconds) => seconds !== 0 && !Number.isNaN(seconds))).toBe(true);
    expect(late("a power cut", "house")).toEqual(plain);
  });

  test("a neighbour changes no other device's noise", () => {
    for (const id of ["house", "stage"]) expect(late("a neighbour", id)).toEqual(late("nothing", id));
  });
});
