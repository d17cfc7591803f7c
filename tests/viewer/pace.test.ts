import fc from "fast-check";
import { expect, test } from "vitest";
import { paceBy, READ_MS, STILL_MS } from "../../viewer/pace.ts";

/** A clock that goes as far as it is told to. */
function clockByHand() {
  let now = 0;
  let waiting: { atMs: number; act: () => void }[] = [];
  return {
    now: () => now,
    after(ms: number, act: () => void) {
      const one = { atMs: now + ms, act };
      waiting.push(one);
      return () => {
        waiting = waiting.filter((other) => other !== one);
      };
    },
    goOn(ms: number) {
      const end = now + ms;
      for (;;) {
        const [next] = waiting.filter(({ atMs }) => atMs <= end).sort((one, other) => one.atMs - other.atMs);
        if (next === undefined) break;
        waiting = waiting.filter((other) => other !== next);
        now = next.atMs;
        next.act();
      }
      now = end;
    },
  };
}

test("a single step is drawn at once; when all stands still, what is drawn is what was changed last", () => {
  const steps = fc.array(fc.record({ waitMs: fc.nat(400), isInSight: fc.boolean(), isMoving: fc.boolean() }), {
    minLength: 1,
  });
  let moved = 0;
  fc.assert(
    fc.property(steps, fc.constantFrom(0, READ_MS), (changes, everyMs) => {
      const clock = clockByHand();
      let [value, drawn, isInSight] = [0, 0, true];
      const drawings: number[] = [];
      const pace = paceBy(
        clock,
        everyMs,
        () => isInSight,
        () => {
          drawn = value;
          drawings.push(clock.now());
        },
      );
      for (const { waitMs, isInSight: now, isMoving } of changes) {
        clock.goOn(waitMs);
        isInSight = now;
        value += 1;
        const before = drawings.length;
        pace.changed(isMoving);
        if (!isMoving) expect(drawn).toBe(value);
        else if (!isInSight) expect(drawings).toHaveLength(before);
        else if (everyMs === 0) expect(drawn).toBe(value);
        if (drawn !== value) moved += 1;
      }
      clock.goOn(STILL_MS);
      expect(drawn).toBe(value);
      const count = drawings.length;
      pace.flush();
      expect(drawings).toHaveLength(count);
    }),
  );
  expect(moved).toBeGreaterThan(100);
});

test("on the move it is drawn no more often than can be read, and out of sight not at all", () => {
  for (const isInSight of [true, false]) {
    const clock = clockByHand();
    let drawings = 0;
    const pace = paceBy(
      clock,
      READ_MS,
      () => isInSight,
      () => {
        drawings += 1;
      },
    );
    for (let frame = 0; frame < 100; frame++) {
      pace.changed(true);
      clock.goOn(20);
    }
    expect(drawings).toBe(isInSight ? 7 : 0);
    clock.goOn(STILL_MS);
    expect(drawings).toBe(isInSight ? 8 : 1);
  }
});
