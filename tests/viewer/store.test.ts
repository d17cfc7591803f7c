import fc from "fast-check";
import { expect, test } from "vitest";
import { createStore, panned, showing, zoomed } from "../../viewer/store.ts";

const LENGTHS = fc.constantFrom(0.5, 60, 5400, 70 * 86_400);
const MOVES = fc.array(
  fc.oneof(
    fc.record({
      do: fc.constant("zoom" as const),
      factor: fc.double({ min: 1e-4, max: 1e4, noNaN: true }),
      at: fc.double({ min: 0, max: 1, noNaN: true }),
    }),
    fc.record({ do: fc.constant("pan" as const), share: fc.double({ min: -3, max: 3, noNaN: true }) }),
    fc.record({ do: fc.constant("cursor" as const), at: fc.double({ min: -1, max: 2, noNaN: true }) }),
  ),
  { minLength: 1, maxLength: 40 },
);

test("whatever is done, the window stays inside the show, keeps a width, and the cursor stays in the show", () => {
  let [narrowest, touchedEnd] = [Number.POSITIVE_INFINITY, 0];
  fc.assert(
    fc.property(LENGTHS, MOVES, (length, moves) => {
      const store = createStore(length, 0);
      for (const move of moves) {
        const look = store.look();
        if (move.do === "zoom") {
          const around = look.fromSeconds + (look.toSeconds - look.fromSeconds) * move.at;
          store.set(zoomed(look, move.factor, around));
        } else if (move.do === "pan") store.set(panned(look, move.share));
        else
          store.set({ cursorSeconds: move.at * length, ...showing(look, Math.min(Math.max(move.at, 0), 1) * length) });
        const { fromSeconds, toSeconds, cursorSeconds } = store.look();
        expect(fromSeconds).toBeGreaterThanOrEqual(0);
        expect(toSeconds).toBeLessThanOrEqual(length * (1 + 1e-12));
        expect(toSeconds - fromSeconds).toBeGreaterThan(0.0009);
        expect(cursorSeconds).toBeGreaterThanOrEqual(0);
        expect(cursorSeconds).toBeLessThanOrEqual(length);
        narrowest = Math.min(narrowest, (toSeconds - fromSeconds) / length);
        if (toSeconds === length) touchedEnd += 1;
      }
    }),
    { seed: 7 },
  );
  expect(narrowest).toBeLessThan(1e-4);
  expect(touchedEnd).toBeGreaterThan(10);
});

test("zooming keeps what is under the pointer where it is", () => {
  const { fromSeconds, toSeconds } = zoomed({ fromSeconds: 100, toSeconds: 300 }, 0.25, 150);
  expect({ fromSeconds, toSeconds }).toEqual({ fromSeconds: 137.5, toSeconds: 187.5 });
  expect((150 - fromSeconds) / (toSeconds - fromSeconds)).toBe(0.25);
});

test("an instant outside comes into the window with a tenth to spare, one inside moves nothing", () => {
  const window = { fromSeconds: 100, toSeconds: 200 };
  expect(showing(window, 150)).toEqual(window);
  expect(showing(window, 50)).toEqual({ fromSeconds: 40, toSeconds: 140 });
  expect(showing(window, 400)).toEqual({ fromSeconds: 310, toSeconds: 410 });
});

test("views are told of changes only, with the look before, until they stop", () => {
  const store = createStore(60, 10);
  const told: number[] = [];
  const stop = store.subscribe((before) => told.push(before.cursorSeconds));
  store.set({ cursorSeconds: 20 });
  store.set({ cursorSeconds: 20 });
  store.set({});
  stop();
  store.set({ cursorSeconds: 30 });
  expect(told).toEqual([10]);
});

test("cursor B is set, kept in the show and taken away, and views hear of each", () => {
  const store = createStore(60, 10);
  const seen: (number | null)[] = [];
  store.subscribe(() => seen.push(store.look().cursorBSeconds));
  expect(store.look().cursorBSeconds).toBeNull();
  store.set({ cursorBSeconds: 30 });
  store.set({ cursorSeconds: 20 });
  store.set({ cursorBSeconds: 99 });
  store.set({ cursorBSeconds: -1 });
  store.set({ cursorBSeconds: null });
  expect(seen).toEqual([30, 30, 60, 0, null]);
});
