/** The fewest pulls, against trying every choice of them. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { coverOf, type Offer } from "../../sim/paperwork/cover.ts";

/** Every choice of sets, by other code: the least count and, among those, the least cost. */
function byTrying(offers: readonly Offer[]): { readonly count: number; readonly cost: number } {
  const wanted = new Set(offers.flatMap(({ has }) => has)).size;
  let best = { count: Number.POSITIVE_INFINITY, cost: Number.POSITIVE_INFINITY };
  for (let choice = 0; choice < 2 ** offers.length; choice += 1) {
    const chosen = offers.filter((_, place) => (choice >> place) % 2 === 1);
    if (new Set(chosen.flatMap(({ has }) => has)).size < wanted) continue;
    const cost = chosen.reduce((sum, each) => sum + each.cost, 0);
    if (chosen.length < best.count || (chosen.length === best.count && cost < best.cost))
      best = { count: chosen.length, cost };
  }
  return best;
}

const offers = fc.array(
  fc.record({
    has: fc.uniqueArray(fc.integer({ min: 0, max: 9 }), { minLength: 0, maxLength: 5 }),
    cost: fc.integer({ min: 0, max: 3 }),
  }),
  { minLength: 0, maxLength: 9 },
);

const covered = (given: readonly Offer[], taken: readonly number[]) =>
  new Set(taken.flatMap((place) => given[place]?.has ?? []));

describe("set cover", () => {
  it("is what trying every choice finds", () => {
    let greedyWasWorse = 0;
    let severalOfOneCount = 0;
    fc.assert(
      fc.property(offers, (given) => {
        const cover = coverOf(given);
        const best = byTrying(given);
        const cost = cover.taken.reduce((sum, place) => sum + (given[place] as Offer).cost, 0);
        expect({ count: cover.taken.length, cost }).toEqual(best);
        expect(cover).toMatchObject({ isFewest: true, atLeast: best.count });
        expect(covered(given, cover.taken)).toEqual(new Set(given.flatMap(({ has }) => has)));
        // One step is spent before anything is found: what is left is the greedy choice.
        const greedy = coverOf(given, 1);
        if (greedy.taken.length > best.count) greedyWasWorse += 1;
        else if (greedy.taken.reduce((sum, place) => sum + (given[place] as Offer).cost, 0) > cost)
          severalOfOneCount += 1;
      }),
      { seed: 20261129, numRuns: 600 },
    );
    expect(greedyWasWorse).toBeGreaterThan(5);
    expect(severalOfOneCount).toBeGreaterThan(5);
  });

  it("cut short, it covers all the same, and says how few it could be", () => {
    fc.assert(
      fc.property(offers, (given) => {
        const { taken, isFewest, atLeast } = coverOf(given, 1);
        const best = byTrying(given).count;
        expect(covered(given, taken)).toEqual(new Set(given.flatMap(({ has }) => has)));
        expect(atLeast).toBeLessThanOrEqual(best);
        expect(taken.length).toBeGreaterThanOrEqual(best);
        if (isFewest) expect(taken.length).toBe(best);
      }),
      { seed: 20261130, numRuns: 200 },
    );
  });

  it("says so where the greedy choice is worse, and finds the fewest where it may search", () => {
    // Two rows of seven; the greedy choice begins with the four in the middle.
    const given = [
      [0, 1, 2, 3, 4, 5, 6],
      [7, 8, 9, 10, 11, 12, 13],
      [0, 1, 2, 3, 7, 8, 9, 10],
      [4, 5, 11, 12],
      [6, 13],
    ];
    const all = given.map((has) => ({ has, cost: 1 }));
    expect(coverOf(all, 1)).toEqual({ taken: [2, 3, 4], isFewest: false, atLeast: 2 });
    expect(coverOf(all)).toEqual({ taken: [0, 1], isFewest: true, atLeast: 2 });
  });

  it("of nothing is nothing", () => expect(coverOf([])).toEqual({ taken: [], isFewest: true, atLeast: 0 }));
});
