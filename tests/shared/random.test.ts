import fc from "fast-check";
import seedrandom from "seedrandom";
import { expect, test } from "vitest";
import { stream } from "../../shared/random.ts";
import { beginStream, drawTogether, drawUniforms, STREAM_NUMBERS } from "../../shared/uniforms.ts";
import { tries } from "../helpers/laws.ts";

const draws = (next: () => number, count: number) => Array.from({ length: count }, next);
const address = fc.tuple(fc.string(), fc.string(), fc.string(), fc.nat());

test("one address, one stream: asked for again, it begins again", () => {
  fc.assert(
    fc.property(address, (at) => void expect(draws(stream(...at), 20)).toEqual(draws(stream(...at), 20))),
    tries(100),
  );
});

test("another address, another stream", () => {
  let apart = 0;
  fc.assert(
    fc.property(address, address, (a, b) => {
      fc.pre(JSON.stringify(a) !== JSON.stringify(b));
      apart += 1;
      expect(draws(stream(...a), 4)).not.toEqual(draws(stream(...b), 4));
    }),
    tries(100),
  );
  expect(apart).toBeGreaterThan(50);
});

test("the parts of an address do not run together", () => {
  const firsts = [
    stream("s", "ab", "c", 1)(),
    stream("s", "a", "bc", 1)(),
    stream("sa", "b", "c", 1)(),
    stream("s", "ab", "c1", 1)(),
    stream("s", "ab", "c", 11)(),
    stream('s","ab', "c", "", 1)(),
  ];
  expect(new Set(firsts).size).toBe(firsts.length);
});

test("draws of one stream do not depend on how much another was used", () => {
  const alone = draws(stream("quay-1", "stage", "offset", 0), 5);
  draws(stream("quay-1", "foh", "offset", 0), 1000);
  const stage = stream("quay-1", "stage", "offset", 0);
  const foh = stream("quay-1", "foh", "offset", 0);
  const interleaved = Array.from({ length: 5 }, () => {
    foh();
    return stage();
  });
  expect(interleaved).toEqual(alone);
});

test("the numbers are those of the alea generator, so that a seed means the same wherever it is used", () => {
  expect(draws(stream("quay-1", "foh", "offset", 3), 8)).toEqual(
    draws(seedrandom.alea('["quay-1","foh","offset",3]'), 8),
  );
});

test("many at once are the numbers that the package's generator hands out one by one, to the bit, one stream at a time or three", () => {
  const COUNT = 3072;
  for (let block = 0; block < 300; block++) {
    const one = draws(seedrandom.alea(JSON.stringify(["quay-1", "foh", "wander", block])), COUNT);
    const other = draws(seedrandom.alea(JSON.stringify(["quay-1", "stage", "wander", block])), COUNT);
    const state: number[] = [];
    beginStream(stream("quay-1", "foh", "wander", block), state, 0);
    beginStream(stream("quay-1", "stage", "wander", block), state, STREAM_NUMBERS);
    for (const place of [2, 3]) beginStream(stream("quay-1", "foh", "wander", block), state, place * STREAM_NUMBERS);
    // In two goes, of which the second goes on where the first ended.
    const alone = [new Float64Array(COUNT / 2), new Float64Array(COUNT / 2)] as const;
    for (const half of alone) drawUniforms(state, 2 * STREAM_NUMBERS, COUNT / 2, half);
    expect([...alone[0], ...alone[1]]).toEqual(one);
    const [few, fewer] = [COUNT / 3, COUNT / 6];
    const thirdAt = 3 * STREAM_NUMBERS;
    const [first, second, third] = [0, 1, 2].map(() => new Float64Array(COUNT)) as [
      Float64Array,
      Float64Array,
      Float64Array,
    ];
    for (const go of [0, 1]) {
      drawTogether(state, 0, few, first, second, thirdAt, fewer, third);
      expect([...first.subarray(0, few)]).toEqual(one.slice(go * few, (go + 1) * few));
      expect([...second.subarray(0, few)]).toEqual(other.slice(go * few, (go + 1) * few));
      expect([...third.subarray(0, fewer)]).toEqual(one.slice(go * fewer, (go + 1) * fewer));
    }
    // Nothing is written beyond what was asked for; and of none, none.
    const before = [...state];
    expect(
      [first.subarray(few), second.subarray(few), third.subarray(fewer)]
        .flatMap((rest) => [...rest])
        .some((x) => x !== 0),
    ).toBe(false);
    drawTogether(state, 0, few, first, second, thirdAt, 0, third);
    expect(state.slice(thirdAt)).toEqual(before.slice(thirdAt));
  }
});

test("evenly spread over [0, 1): mean ½ and variance 1/12, within five standard errors", () => {
  const drawn = draws(stream("quay-1", "foh", "offset", 0), 100_000);
  expect(Math.min(...drawn.slice(0, 50_000))).toBeGreaterThanOrEqual(0);
  expect(drawn.every((x) => x >= 0 && x < 1)).toBe(true);
  const mean = drawn.reduce((sum, x) => sum + x, 0) / drawn.length;
  const variance = drawn.reduce((sum, x) => sum + (x - mean) ** 2, 0) / drawn.length;
  expect(Math.abs(mean - 0.5)).toBeLessThan(5 * Math.sqrt(1 / 12 / drawn.length));
  expect(Math.abs(variance - 1 / 12)).toBeLessThan(5 * Math.sqrt(1 / 180 / drawn.length));
});

test("the first numbers of a thousand blocks are as even as the numbers of one: blocks are not alike", () => {
  const firsts = Array.from({ length: 4000 }, (_, block) => stream("quay-1", "foh", "wander", block)());
  const counts = new Array<number>(10).fill(0);
  for (const x of firsts) counts[Math.floor(x * 10)] = (counts[Math.floor(x * 10)] ?? 0) + 1;
  // 400 expected in each tenth, standard deviation 19.
  for (const count of counts) expect(Math.abs(count - 400)).toBeLessThan(95);
});
