/**
 * What wander draws: two uniforms a knot in knot order (three with drift noise), from one stream for each block, and
 * nothing else, so that a draw has an address that no event and no neighbour moves.
 */
import { beforeEach, describe, expect, test, vi } from "vitest";
import type { Ns } from "../../shared/time.ts";
import type { OwnWander } from "../../shared/wander.ts";
import { wanderAt } from "../../shared/wander.ts";
import { at, device, link, planOf } from "../helpers/plan.ts";
import { play } from "../helpers/play.ts";

const BLOCK = 1024;

interface Opened {
  readonly address: string;
  drawn: number;
}

/** Streams that were opened, and one uniform that is changed on its way. */
const watch = vi.hoisted(() => ({
  opened: [] as Opened[],
  changed: null as { address: string; place: number } | null,
}));
vi.mock("../../shared/random.ts", async (original) => {
  const real = await original<typeof import("../../shared/random.ts")>();
  const watched: typeof real.stream = (seed, device, purpose, block) => {
    const draw = real.stream(seed, device, purpose, block);
    const opened: Opened = { address: `${seed} ${device} ${purpose} ${block}`, drawn: 0 };
    watch.opened.push(opened);
    return () => {
      const uniform = draw();
      const { changed } = watch;
      const isChanged = changed !== null && changed.address === opened.address && changed.place === opened.drawn;
      opened.drawn += 1;
      return isChanged ? (uniform + 0.37) % 1 : uniform;
    };
  };
  return { ...real, stream: watched };
});

beforeEach(() => {
  watch.opened.length = 0;
  watch.changed = null;
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

/** The first of the phases that differ. */
function firstChanged(own: OwnWander, count: number, change: { address: string; place: number }): number {
  const before = phasesOf(own, count);
  watch.changed = change;
  const after = phasesOf(own, count);
  watch.changed = null;
  return after.findIndex((phase, knot) => phase !== before[knot]);
}

describe("uniforms", () => {
  test.each([
    { what: "two a knot", own: house, perKnot: 2 },
    { what: "three with drift noise", own: { ...house, sigma3: 1e-12 }, perKnot: 3 },
    { what: "two with white FM alone", own: { ...house, sigma2: 0 }, perKnot: 2 },
    { what: "two with random-walk FM alone", own: { ...house, sigma1: 0 }, perKnot: 2 },
    { what: "two on a finer grid", own: { ...house, gridNs: 1e8 as Ns }, perKnot: 2 },
  ])("are $what, a stream for each block of 1,024 knots", ({ own, perKnot }) => {
    phasesOf(own, 2 * BLOCK + 100);
    expect(watch.opened).toEqual(
      [0, 1, 2].map((block) => ({ address: `quay-1 house wander ${block}`, drawn: perKnot * BLOCK })),
    );
    for (const knot of [0, 1, 2, 500, BLOCK - 1])
      for (let place = perKnot * knot; place < perKnot * (knot + 1); place++)
        for (const block of [0, 1])
          expect(firstChanged(own, 2 * BLOCK, { address: `quay-1 house wander ${block}`, place })).toBe(
            // White FM alone hears the first deviate of a knot, random-walk FM alone both.
            own.sigma2 === 0 && place % 2 === 1 ? -1 : block * BLOCK + knot + 1,
          );
  });

  test("of flicker have streams of their own, and leave those of wander as many", () => {
    const withFlicker = { ...house, hMinus1: 1e-20 };
    phasesOf(withFlicker, 3000);
    const opened = watch.opened.map(({ address, drawn }) => `${address}: ${drawn}`).sort();
    const flicker = opened.slice(0, 3);
    for (const [block, line] of flicker.entries())
      expect(line).toMatch(new RegExp(`^quay-1 house flicker ${block}: \\d+$`));
    expect(opened.slice(3)).toEqual([0, 1, 2].map((block) => `quay-1 house wander ${block}: ${2 * BLOCK}`));
    // A process that holds its value draws once a hold: all of them together about two thirds of a uniform a knot.
    const drawn = flicker.map((line) => Number(line.split(" ").at(-1)));
    for (const count of drawn) expect(Math.abs(count / BLOCK - 2 / 3)).toBeLessThan(0.01);
  });

  test("looked at anywhere first, and from the back, give the same phases", () => {
    const inOrder = phasesOf(house, 9 * BLOCK);
    const fresh = { ...house };
    for (const knot of [8 * BLOCK + 5, 3, 5 * BLOCK, 9 * BLOCK, 7 * BLOCK - 1, 0, 2 * BLOCK + 1, 8 * BLOCK + 6])
      expect(wanderAt(fresh, (knot * 1e9) as Ns)).toBe(inOrder[knot]);
    for (let knot = 9 * BLOCK; knot >= 0; knot -= 17) expect(wanderAt(fresh, (knot * 1e9) as Ns)).toBe(inOrder[knot]);
  });

  test("are others with another seed, another device or another block", () => {
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
