import { expect, test } from "vitest";
import { curvePoints, slipsOf } from "../../viewer/slips.ts";
import { buildRun, busyRun, device, link, longRun, RUN_SECONDS, slippingRun, train } from "../browser/fixture.ts";

test("counts and instants of the same trains agree, at every slip and just before it", () => {
  const run = busyRun();
  const slips = slipsOf(run).get("guest-mix")!;
  expect(slips.total).toBe(348 + 1198);
  const all = slips.instants(0, RUN_SECONDS, 10_000)!;
  expect(all).toHaveLength(slips.total);
  for (const [index, at] of all.entries()) {
    expect(slips.countBy(at)).toBe(index + 1);
    expect(slips.countBy(at - 1e-8)).toBe(index);
  }
});

test("a curve of few slips steps at each of them", () => {
  const slips = slipsOf(busyRun()).get("guest-mix")!;
  const { points, isStepped } = curvePoints(slips, 100, 200, 800);
  expect(isStepped).toBe(true);
  expect(points.slice(1, -1).map(({ x }) => x)).toEqual(slips.instants(100, 200, 1000));
  expect(points[0]!.y).toBe(slips.countBy(100 - 1e-9));
  expect(points.at(-1)!.y).toBe(slips.countBy(200));
});

test("a curve of a hundred thousand slips keeps its value at each pixel border, and every slip when looked at closely", () => {
  const slips = slipsOf(slippingRun(100_000)).get("split")!;
  const { points, isStepped } = curvePoints(slips, 0, RUN_SECONDS, 800);
  expect(isStepped).toBe(false);
  expect(points).toHaveLength(801);
  for (const { x, y } of points) expect(y).toBe(slips.countBy(x));
  expect(points.at(-1)!.y).toBe(100_000);

  let seen = 0;
  for (let from = 1000; from < 1060; from += 1) {
    const close = curvePoints(slips, from, from + 1 - 1e-9, 800);
    expect(close.isStepped).toBe(true);
    seen += close.points.length - 2;
  }
  expect(seen).toBe(slips.countBy(1060 - 1e-9) - slips.countBy(1000 - 1e-9));
  expect(seen).toBeGreaterThan(1000);
});

test("one slip in seventy days is there", () => {
  const slips = slipsOf(longRun()).get("split")!;
  const { points } = curvePoints(slips, 0, 70 * 86_400, 800);
  expect(points.map(({ y }) => y)).toEqual([0, 1, 1]);
});

test("a spare that slips all the time is counted only while it carries the feed", () => {
  const linkIs = (id: string, state: "up" | "down", atSeconds: number) => ({
    atSeconds,
    subject: `link ${id} there`,
    fact: { kind: "link", state, noticed: true, clock: "given" } as const,
  });
  const run = buildRun({
    devices: [device("foh", "FOH desk", ["internal"]), device("mon", "Monitor desk", ["internal"])],
    links: [link("main", ["foh", 1], ["mon", 1]), link("spare", ["foh", 2], ["mon", 2])],
    spares: [
      {
        id: "pair",
        links: ["main", "spare"],
        mode: "standby",
        switchSeconds: 0.3,
        revertive: true,
        waitToRestoreSeconds: 0,
      },
    ],
    feeds: [
      {
        id: "split",
        name: "Split",
        through: ["foh", "mon"],
        hops: [
          {
            from: "foh",
            to: "mon",
            channels: 2,
            over: [
              { link: "main", way: "there" },
              { link: "spare", way: "there" },
            ],
            spare: "pair",
          },
        ],
        heardBy: ["wedges"],
      },
    ],
    facts: [
      linkIs("main", "up", 0),
      linkIs("spare", "up", 0),
      { atSeconds: 1, subject: "port mon.2", fact: train("spare", "there", 1, 2, 1000) },
      linkIs("main", "down", 100),
      linkIs("main", "up", 200),
    ],
  });
  const slips = slipsOf(run).get("split")!;
  // It carries from 100.3 s to 200.3 s; slips fall at 101, 103, … 199.
  const expected = Array.from({ length: 50 }, (_, index) => 101 + 2 * index);
  expect(slips.instants(0, RUN_SECONDS, 1000)).toEqual(expected);
  expect(slips.total).toBe(50);
  for (const [index, at] of expected.entries()) {
    expect(slips.countBy(at)).toBe(index + 1);
    expect(slips.countBy(at - 1e-6)).toBe(index);
  }
});
