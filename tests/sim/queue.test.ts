import fc from "fast-check";
import TinyQueue from "tinyqueue";
import { describe, expect, test } from "vitest";
import type { Ns } from "../../shared/time.ts";
import { NEVER } from "../../shared/time.ts";
import type { Queue } from "../../sim/queue.ts";
import { makeQueue } from "../../sim/queue.ts";
import { tries } from "../helpers/laws.ts";

/** Few instants and many slots, so that ties are the rule; and the far ends of show time. */
const instant = fc.oneof(
  { weight: 6, arbitrary: fc.integer({ min: 0, max: 12 }) },
  { weight: 2, arbitrary: fc.integer({ min: 0, max: NEVER }) },
  { weight: 1, arbitrary: fc.constant(NEVER as number) },
);
const commands = fc.integer({ min: 1, max: 40 }).chain((slots) =>
  fc.record({
    slots: fc.constant(slots),
    moves: fc.array(fc.record({ slot: fc.integer({ min: 0, max: slots - 1 }), at: instant }), {
      maxLength: 300,
      size: "max",
    }),
  }),
);

/** The obvious one: a list that is sorted whenever somebody asks. */
function firstOf(times: readonly number[]): number {
  const order = times.map((at, slot) => ({ at, slot })).sort((a, b) => a.at - b.at || a.slot - b.slot);
  return order[0]?.slot ?? -1;
}

/** Plays random commands on a queue and the list; throws where they part. */
function holdAgainstList(make: (slots: number) => Queue): { ties: number; putOff: number } {
  let ties = 0;
  let putOff = 0;
  fc.assert(
    fc.property(commands, ({ slots, moves }) => {
      const queue = make(slots);
      const times = new Array<number>(slots).fill(NEVER);
      for (const { slot, at } of moves) {
        if (at > (times[slot] as number)) putOff += 1;
        queue.set(slot, at as Ns);
        times[slot] = at;
        const first = firstOf(times);
        if (queue.first() !== first || queue.firstAtNs() !== times[first])
          throw new Error(`slot ${queue.first()}, not ${first}`);
        if (times.filter((other) => other === times[first]).length > 1) ties += 1;
      }
      expect(times.map((_, slot) => queue.atNs(slot))).toEqual(times);
    }),
    tries(100),
  );
  return { ties, putOff };
}

describe("the queue", () => {
  test("is a sorted list, under random commands", () => {
    const { ties, putOff } = holdAgainstList(makeQueue);
    expect(ties).toBeGreaterThan(1000);
    expect(putOff).toBeGreaterThan(1000);
  });

  test("one that forgets to move what is put off, or mistakes the order at a tie, is caught", () => {
    const deaf = (slots: number): Queue => {
      const queue = makeQueue(slots);
      return { ...queue, set: (slot, at) => (at > queue.atNs(slot) ? undefined : queue.set(slot, at)) };
    };
    const upsideDown = (slots: number): Queue => {
      const queue = makeQueue(slots);
      const turned = (slot: number) => slots - 1 - slot;
      return {
        ...queue,
        first: () => turned(queue.first()),
        set: (slot, at) => queue.set(turned(slot), at),
        atNs: (slot) => queue.atNs(turned(slot)),
      };
    };
    expect(() => holdAgainstList(deaf)).toThrow();
    expect(() => holdAgainstList(upsideDown)).toThrow();
  });

  test("empties in the order of a known heap with a second key for ties", () => {
    fc.assert(
      fc.property(fc.array(instant, { minLength: 1, maxLength: 200, size: "max" }), (times) => {
        const queue = makeQueue(times.length);
        for (const [slot, at] of times.entries()) queue.set(slot, at as Ns);
        const known = new TinyQueue(
          times.map((at, slot) => ({ at, slot })),
          (a, b) => a.at - b.at || a.slot - b.slot,
        );
        // Each slot is put off to never once it was first; those put off already come last, by slot.
        while (known.length > 0) {
          const { at, slot } = known.pop() as { at: number; slot: number };
          if (at === NEVER) break;
          expect(queue.first()).toBe(slot);
          expect(queue.firstAtNs()).toBe(at);
          queue.set(slot, NEVER);
        }
        expect(queue.firstAtNs()).toBe(NEVER);
        expect(queue.first()).toBe(0);
      }),
    );
  });

  test("the hold model: the first goes back in, later, ten thousand times", () => {
    const slots = 64;
    const queue = makeQueue(slots);
    const times = Array.from({ length: slots }, (_, slot) => (slot * 37) % 101);
    for (const [slot, at] of times.entries()) queue.set(slot, at as Ns);
    for (let n = 0; n < 10_000; n++) {
      const slot = queue.first();
      expect(slot).toBe(firstOf(times));
      times[slot] = (times[slot] as number) + ((n * 7919) % 23);
      queue.set(slot, times[slot] as Ns);
    }
  });

  test("ties fall to the lower slot, in whatever order they were set", () => {
    for (const order of [
      [2, 0, 1],
      [1, 2, 0],
      [0, 1, 2],
    ]) {
      const queue = makeQueue(3);
      for (const slot of order) queue.set(slot, 5 as Ns);
      const seen: number[] = [];
      for (let n = 0; n < 3; n++) {
        seen.push(queue.first());
        queue.set(queue.first(), NEVER);
      }
      expect(seen).toEqual([0, 1, 2]);
    }
  });

  test("without slots nothing is ever due", () => {
    const queue = makeQueue(0);
    expect([queue.first(), queue.firstAtNs()]).toEqual([-1, NEVER]);
  });
});
