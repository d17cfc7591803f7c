/**
 * Set cover: the fewest sets that together have every element that any of them has. The fewest by a search where that
 * ends within a bounded number of steps; beyond, the best that was found, with the bound of the greedy choice
 * (V. Chvátal, "A greedy heuristic for the set-covering problem", Mathematics of Operations Research 4(3), 1979: at most
 * 1 + 1/2 + … + 1/d times the fewest, d elements in the largest set).
 */

export interface Offer {
  /** Elements, each a whole number from 0 on. */
  readonly has: readonly number[];
  /** Among covers of equally many sets the one with the least sum is taken. */
  readonly cost: number;
}

export interface Cover {
  /** Places of the sets that were taken, rising. */
  readonly taken: readonly number[];
  /** No cover has fewer sets; among those with as many none costs less. */
  readonly isFewest: boolean;
  /** No cover has fewer than this many. */
  readonly atLeast: number;
}

/** Some seconds' worth; rigs of dozens of cables need some hundreds. */
const STEPS_MOST = 200_000;

export function coverOf(offers: readonly Offer[], stepsMost = STEPS_MOST): Cover {
  const sets = offers.map(({ has }) => new Set(has));
  const elements = [...new Set(offers.flatMap(({ has }) => has))].sort((one, other) => one - other);
  const holders = new Map(elements.map((each) => [each, holdersOf(sets, each)]));
  const greedy = greedyCover(offers, sets, elements);
  const search = new Search(offers, sets, holders, greedy, stepsMost);
  search.goOn([], 0, elements);
  const isFewest = search.stepsLeft > 0;
  const best = [...search.best].sort((one, other) => one - other);
  const largest = sets.reduce((most, { size }) => Math.max(most, size), 0);
  const atLeast = Math.max(apart(elements, holders), Math.ceil(greedy.length / harmonic(largest) - 1e-9));
  return { taken: best, isFewest, atLeast: isFewest ? best.length : atLeast };
}

function holdersOf(sets: readonly ReadonlySet<number>[], element: number): number[] {
  return sets.flatMap((set, place) => (set.has(element) ? [place] : []));
}

/** Always the set with most of what is missing; among equals the cheaper, then the first. */
function greedyCover(
  offers: readonly Offer[],
  sets: readonly ReadonlySet<number>[],
  elements: readonly number[],
): readonly number[] {
  const taken: number[] = [];
  let missing = elements;
  while (missing.length > 0) {
    const [best = 0] = byGain(offers, sets, [...offers.keys()], missing);
    taken.push(best);
    missing = missing.filter((each) => !(sets[best] as ReadonlySet<number>).has(each));
  }
  return taken;
}

function byGain(
  offers: readonly Offer[],
  sets: readonly ReadonlySet<number>[],
  places: readonly number[],
  missing: readonly number[],
): number[] {
  const gain = new Map(
    places.map((place) => [place, missing.filter((each) => (sets[place] as ReadonlySet<number>).has(each)).length]),
  );
  const cost = (place: number) => (offers[place] as Offer).cost;
  return [...places].sort(
    (one, other) => (gain.get(other) as number) - (gain.get(one) as number) || cost(one) - cost(other) || one - other,
  );
}

/** Branch and bound: of the element that fewest sets have, one of them has to be taken. */
class Search {
  best: readonly number[];
  stepsLeft: number;
  private readonly offers: readonly Offer[];
  private readonly sets: readonly ReadonlySet<number>[];
  private readonly holders: ReadonlyMap<number, readonly number[]>;
  private bestCost: number;

  constructor(
    offers: readonly Offer[],
    sets: readonly ReadonlySet<number>[],
    holders: ReadonlyMap<number, readonly number[]>,
    best: readonly number[],
    stepsMost: number,
  ) {
    this.offers = offers;
    this.sets = sets;
    this.holders = holders;
    this.best = best;
    this.bestCost = best.reduce((sum, place) => sum + (offers[place] as Offer).cost, 0);
    this.stepsLeft = stepsMost;
  }

  goOn(taken: readonly number[], cost: number, missing: readonly number[]): void {
    if (this.stepsLeft <= 0) return;
    this.stepsLeft -= 1;
    const [rarest] = [...missing].sort((one, other) => this.held(one).length - this.held(other).length);
    if (rarest === undefined) {
      if (!this.isBetter(taken.length, cost)) return;
      this.best = taken;
      this.bestCost = cost;
      return;
    }
    if (!this.isBetter(taken.length + apart(missing, this.holders), cost)) return;
    for (const place of byGain(this.offers, this.sets, this.held(rarest), missing)) {
      const set = this.sets[place] as ReadonlySet<number>;
      this.goOn(
        [...taken, place],
        cost + (this.offers[place] as Offer).cost,
        missing.filter((each) => !set.has(each)),
      );
    }
  }

  private held(element: number): readonly number[] {
    return this.holders.get(element) ?? [];
  }

  private isBetter(count: number, cost: number): boolean {
    return count < this.best.length || (count === this.best.length && cost < this.bestCost);
  }
}

/** Elements of which no set has two need a set each. */
function apart(missing: readonly number[], holders: ReadonlyMap<number, readonly number[]>): number {
  const met = new Set<number>();
  let count = 0;
  const rarestFirst = [...missing].sort(
    (one, other) => (holders.get(one)?.length ?? 0) - (holders.get(other)?.length ?? 0),
  );
  for (const element of rarestFirst) {
    const held = holders.get(element) ?? [];
    if (held.some((place) => met.has(place))) continue;
    for (const place of held) met.add(place);
    count += 1;
  }
  return count;
}

function harmonic(most: number): number {
  let sum = 0;
  for (let each = 1; each <= most; each += 1) sum += 1 / each;
  return Math.max(sum, 1);
}
