import { readFileSync } from "node:fs";
import fc from "fast-check";
import { beforeAll, describe, expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { type Ns, nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { lanesOf } from "../../sim/lanes/lane.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { fillAt } from "../../sim/slips.ts";
import { tell } from "../../sim/tell.ts";
import { looksOf } from "../../sim/timeline.ts";
import { atCursors, bWords } from "../../viewer/curves/at-cursors.ts";
import { flowsOf, frequencySpans, leadsOf, phaseSpans } from "../../viewer/curves/clocks.ts";
import { columnsSink } from "../../viewer/curves/columns.ts";
import {
  CHORD_SHARE,
  type Course,
  courseOf,
  KEPT_MOST,
  type Span,
  trace,
  valueAt,
} from "../../viewer/curves/course.ts";
import { extentOf } from "../../viewer/curves/extents.ts";
import { fedBuffers, fillSpans } from "../../viewer/curves/fills.ts";
import { decimalsOf, plain, signed } from "../../viewer/curves/words.ts";
import type { Run } from "../../viewer/run.ts";
import type { Point } from "../../viewer/slips.ts";

function played(file: string, bytes: Uint8Array): Run {
  const { plan, issues } = readScenario({ file, bytes }, (other) => ({
    bytes: readFileSync(`scenarios/${other.replace("./", "")}`),
  }));
  if (plan === null) throw new Error(JSON.stringify(issues));
  const run = rehearse(plan);
  return { format: 1, ...run, telling: tell(run) };
}

const shipped = (name: string): Run => played(`${name}.json`, readFileSync(`scenarios/${name}.json`));

/** Two desks on their own clocks, 10 ppm apart, a box that follows, and one that warms up and loses power. */
const rig = (wander: boolean) => ({
  format: 1,
  title: "Two desks and a cold box",
  run: { length: "01:00:00", seed: "quay-1", wander },
  rig: {
    sampleRateHz: 48000,
    leaders: ["foh"],
    devices: [
      { id: "foh", name: "FOH desk", clockSources: ["internal"], oscillator: { offsetPpm: 4.2 } },
      { id: "guest", name: "Guest desk", clockSources: ["internal"], oscillator: { offsetPpm: -5.8 } },
      { id: "mon", name: "Monitor desk", clockSources: ["1"], oscillator: { offsetPpm: 1.8 } },
      {
        id: "cold",
        name: "Cold box",
        clockSources: ["internal"],
        atStart: "off",
        oscillator: { offsetPpm: 2, ageingPpbPerDay: 500, warmUpPpm: 3, warmUpSeconds: 200 },
      },
    ],
    links: [
      { id: "main", type: "madi", from: "foh.1", to: "mon.1", lengthMetres: 100 },
      { id: "guest", type: "madi", from: "guest.1", to: "foh.2", lengthMetres: 20 },
    ],
    feeds: [{ id: "mix", name: "Guest mix", through: ["guest", "foh", "mon"], channels: 2, heardBy: ["in-ears"] }],
  },
  events: [
    { at: "00:05:00", do: "power-back", device: "cold" },
    { at: "00:10:00", do: "power-cut", device: "mon", forSeconds: 30 },
    { at: "00:40:00", do: "step-frequency", device: "guest", offsetPpm: 7, forSeconds: 60 },
  ],
});

const runs = new Map<string, Run>();
beforeAll(() => {
  for (const wander of [true, false]) {
    const text = JSON.stringify(rig(wander));
    runs.set(wander ? "wandering" : "steady", played("rig.json", new TextEncoder().encode(text)));
  }
  for (const name of ["leader-reboot", "festival-day", "house-clock", "two-clocks", "winter-truck"])
    runs.set(name, shipped(name));
});

interface Named {
  readonly name: string;
  readonly course: Course;
}

function coursesOf(run: Run, kept = KEPT_MOST): Named[] {
  const flows = flowsOf(run);
  const leads = leadsOf(run, lanesOf(run).followers);
  const budget = { left: kept };
  const named = (name: string, spans: readonly Span[]) => ({
    name,
    course: courseOf(spans, run.record.endNs, budget),
  });
  return [
    ...run.plan.devices.map(({ id }) => named(`frequency ${id}`, frequencySpans(flows, id))),
    ...run.plan.devices.map(({ id }) => named(`phase ${id}`, phaseSpans(flows, leads, id, run.plan.sampleRateHz))),
    ...fedBuffers(run).map((buffer) => named(`fill ${buffer.link} ${buffer.way}`, fillSpans(run, flows, buffer))),
  ].filter(({ course }) => course.spans.length > 0);
}

function traced(course: Course, from: number, to: number, columns: number): Point[] {
  const sink = columnsSink(from, to, columns);
  const steps = trace(course, nsFromSeconds(from), nsFromSeconds(to), columns, sink);
  while (steps.next().done !== true);
  return sink.finish();
}

function courseNamed(run: Run, name: string): Course {
  const found = coursesOf(run).find((each) => each.name === name);
  if (found === undefined) throw new Error(`no ${name}`);
  return found.course;
}

const COLUMNS = 200;

/** Least and greatest of a drawn line in each column, where it enters and leaves included. */
function drawnExtents(points: readonly Point[], from: number, to: number) {
  const width = (to - from) / COLUMNS;
  const least = new Float64Array(COLUMNS).fill(Number.POSITIVE_INFINITY);
  const most = new Float64Array(COLUMNS).fill(Number.NEGATIVE_INFINITY);
  const put = (column: number, y: number) => {
    if (column < 0 || column >= COLUMNS) return;
    least[column] = Math.min(least[column]!, y);
    most[column] = Math.max(most[column]!, y);
  };
  points.forEach(({ x, y }, index) => {
    if (Number.isNaN(y)) return;
    put(Math.min(COLUMNS - 1, Math.floor((x - from) / width)), y);
    const next = points[index + 1];
    if (next === undefined || Number.isNaN(next.y) || next.x <= x) return;
    for (let border = Math.floor((x - from) / width) + 1; from + border * width <= next.x; border++) {
      const y2 = y + ((next.y - y) * (from + border * width - x)) / (next.x - x);
      put(border - 1, y2);
      put(border, y2);
    }
  });
  return { least, most };
}

describe("columns", () => {
  test("keep first, least, greatest and last of each, in order, and gaps", () => {
    let crowded = 0;
    fc.assert(
      fc.property(
        fc.array(fc.tuple(fc.double({ min: 0, max: 1, noNaN: true }), fc.integer({ min: -50, max: 50 })), {
          minLength: 1,
          maxLength: 400,
          size: "max",
        }),
        fc.integer({ min: 1, max: 12 }),
        (raw, columns) => {
          const vertices = raw.map(([x, y]) => ({ x: 10 + 5 * x, y })).sort((one, other) => one.x - other.x);
          const sink = columnsSink(10, 15, columns);
          for (const { x, y } of vertices) sink.point(x, y);
          const points = sink.finish();
          const columnOf = ({ x }: Point) => Math.floor((x - 10) * (columns / 5));
          for (const column of new Set(vertices.map(columnOf))) {
            const all = vertices.filter((each) => columnOf(each) === column);
            const kept = points.filter((each) => columnOf(each) === column);
            expect(kept.length).toBeLessThanOrEqual(4);
            if (all.length > 4) crowded += 1;
            expect(Math.min(...kept.map(({ y }) => y))).toBe(Math.min(...all.map(({ y }) => y)));
            expect(Math.max(...kept.map(({ y }) => y))).toBe(Math.max(...all.map(({ y }) => y)));
            expect([kept[0], kept.at(-1)]).toEqual([all[0], all.at(-1)]);
          }
          for (const [index, { x }] of points.entries()) expect(x).toBeGreaterThanOrEqual(points[index - 1]?.x ?? 0);
        },
      ),
      { seed: 1, numRuns: 500 },
    );
    expect(crowded).toBeGreaterThan(500);
    const sink = columnsSink(0, 10, 10);
    sink.point(1, 1);
    sink.gap();
    sink.point(3, 2);
    expect(sink.finish()).toEqual([
      { x: 1, y: 1 },
      { x: 1, y: Number.NaN },
      { x: 3, y: 2 },
    ]);
  });
});

describe("a traced window against dense evaluation", () => {
  const names = ["steady", "wandering", "leader-reboot", "festival-day", "house-clock", "two-clocks", "winter-truck"];
  test.each(names)("%s: least and greatest of every column, in windows wide and narrow", (name) => {
    const run = runs.get(name)!;
    const end = secondsFromNs(run.record.endNs);
    const event = secondsFromNs(run.plan.events[0]?.atNs ?? (0 as Ns));
    const windows = [
      [0, end],
      [end * 0.3, end * 0.55],
      [Math.max(0, event - 5), Math.min(end, event + 95)],
      [Math.max(0, event - 0.02), event + 0.5],
    ] as const;
    let columnsSeen = 0;
    for (const { name, course } of coursesOf(run)) {
      for (const [from, to] of windows) {
        const points = traced(course, from, to, COLUMNS);
        for (const { x, y } of points) {
          // Each vertex is the truth itself.
          if (!Number.isNaN(y)) expect(Math.abs(valueAt(course, x)! - y), `${name} at ${x}`).toBeLessThan(1e-7);
        }
        const extent = extentOf(name, points);
        const { least, most } = drawnExtents(points, from, to);
        const slack = extent === null ? 0 : CHORD_SHARE * (extent.most.y - extent.least.y) + 2e-4;
        const perColumn = Math.max(4, Math.ceil(8000 / COLUMNS));
        for (let column = 0; column < COLUMNS; column++) {
          for (let each = 0; each < perColumn; each++) {
            const x = from + ((to - from) * (column + (each + 0.5) / perColumn)) / COLUMNS;
            const value = valueAt(course, x);
            if (value === null) continue;
            columnsSeen += 1;
            if (!(value >= least[column]! - slack && value <= most[column]! + slack))
              expect.fail(`${name} at ${x}: ${value} outside ${least[column]} … ${most[column]}`);
          }
        }
      }
    }
    expect(columnsSeen).toBeGreaterThan(10_000);
  });

  test("what is kept of knots changes nothing, and neither does a look at another window before", () => {
    const run = runs.get("wandering")!;
    const [keeping, forgetting] = [coursesOf(run), coursesOf(run, 0)];
    expect(keeping.length).toBeGreaterThan(7);
    keeping.forEach(({ course }, index) => {
      traced(course, 1000, 1200, COLUMNS);
      expect(traced(course, 0, 3600, COLUMNS)).toEqual(traced(forgetting[index]!.course, 0, 3600, COLUMNS));
      expect(forgetting[index]!.course.kept.values.size).toBe(0);
    });
    expect(keeping.some(({ course }) => course.kept.values.size > 0)).toBe(true);
  });

  test("wander shows at every knot: a frequency steps there, a phase bends there", () => {
    const run = runs.get("wandering")!;
    const frequency = traced(courseNamed(run, "frequency foh"), 100.5, 110.5, 1000);
    const steps = frequency.filter(({ x, y }, index) => {
      const before = frequency[index - 1];
      return before !== undefined && x - before.x < 1e-8 && y !== before.y;
    });
    expect(steps.map(({ x }) => Math.round(x * 1e6) / 1e6)).toEqual([101, 102, 103, 104, 105, 106, 107, 108, 109, 110]);
    const phase = traced(courseNamed(run, "phase guest"), 100.5, 110.5, 1000);
    expect(phase.map(({ x }) => x)).toEqual([100.5, 101, 102, 103, 104, 105, 106, 107, 108, 109, 110, 110.5]);
  });
});

describe("units", () => {
  test("a frequency is in ppm of nominal, and steps where the oscillator steps", () => {
    const course = courseNamed(runs.get("steady")!, "frequency guest");
    expect(valueAt(course, 100)).toBeCloseTo(-5.8, 9);
    expect(valueAt(course, 2400)).toBeCloseTo(7, 9);
    expect(valueAt(course, 2400 - 1e-9)).toBeCloseTo(-5.8, 9);
    const points = traced(course, 2300, 2500, COLUMNS);
    const near = points.filter(({ x }) => Math.abs(x - 2400) < 1e-6).map(({ y }) => Number(y.toFixed(6)));
    expect(near).toEqual([-5.8, 7]);
  });

  test("a phase is in samples ahead: 10 ppm slow for 100 s are 48 samples behind at 48 kHz", () => {
    const course = courseNamed(runs.get("steady")!, "phase guest");
    expect(valueAt(course, 200)! - valueAt(course, 100)!).toBeCloseTo(-48, 6);
    expect(Math.abs(valueAt(course, 0)!)).toBeLessThanOrEqual(0.5);
  });

  test("a follower is a cable's delay behind, and whole samples count anew after it was off", () => {
    const course = courseNamed(runs.get("steady")!, "phase mon");
    // 100 m of coax: 505 ns, 0.024 of a sample.
    expect(valueAt(course, 500)).toBeCloseTo(-0.0242, 3);
    expect(Math.abs(valueAt(course, 3000)!)).toBeLessThan(0.1);
  });

  test("nothing is measured of the leader against itself", () => {
    expect(coursesOf(runs.get("steady")!).map(({ name }) => name)).not.toContain("phase foh");
  });

  test("words have a true minus, no negative nought, and the decimals that the window wants", () => {
    expect([signed(4.2, 2), signed(-0.1, 2), signed(-0.001, 2)]).toEqual(["+4.20", "−0.10", "0.00"]);
    expect([plain(1.5, 1), plain(-1.5, 1)]).toEqual(["1.5", "−1.5"]);
    const line = { valueAt: (at: number) => (at < 10 ? at * at : null), missingAt: () => "leads" };
    const chart = {
      words: (value: number) => `${value} samples`,
      difference: (value: number, decimals: number) => `${signed(value, decimals)} samples`,
    };
    const words = (seconds: number, bSeconds: number | null) => bWords(atCursors(chart, line, seconds, bSeconds, 1));
    expect(words(3, null)).toEqual([]);
    expect(words(3, 5)).toEqual(["at cursor B 25 samples", "from there −16.0 samples"]);
    expect(words(5, 3)).toEqual(["at cursor B 9 samples", "from there +16.0 samples"]);
    expect([words(12, 5), words(5, 12)]).toEqual([["at cursor B 25 samples"], ["at cursor B leads"]]);
    expect([decimalsOf(2, 2), decimalsOf(20_000, 2), decimalsOf(0.001, 2), decimalsOf(0, 2)]).toEqual([3, 2, 6, 2]);
  });
});

describe("where there is no clock", () => {
  test("the line breaks: before a cold device has power, and while one is off", () => {
    const run = runs.get("steady")!;
    const cold = courseNamed(run, "frequency cold");
    expect(valueAt(cold, 299)).toBeNull();
    expect(traced(cold, 0, 3600, COLUMNS)[0]!.x).toBeGreaterThanOrEqual(300);
    const mon = courseNamed(run, "frequency mon");
    expect(valueAt(mon, 599)).not.toBeNull();
    expect(valueAt(mon, 600)).toBeNull();
    const points = traced(mon, 500, 1000, COLUMNS);
    const gap = points.findIndex(({ y }) => Number.isNaN(y));
    expect(points[gap - 1]!.x).toBeCloseTo(600, 6);
    expect(points[gap + 1]!.x).toBeGreaterThan(630);
  });
});

describe("fill", () => {
  test.each(["festival-day", "two-clocks", "winter-truck", "house-clock", "steady", "wandering"])(
    "%s: meets the level at each train of slips that the record has, though it was drawn from the flows",
    (name) => {
      const run = runs.get(name)!;
      const flows = flowsOf(run);
      let met = 0;
      for (const buffer of fedBuffers(run)) {
        const spans = fillSpans(run, flows, buffer);
        for (const train of looksOf(run.record).trains.get(`${buffer.link} ${buffer.way}`) ?? []) {
          const before = spans.find(({ toNs }) => toNs === train.fromNs);
          if (before === undefined) continue;
          met += 1;
          const recorded = fillAt(train.curve, train.fromNs) - train.slipSamples * train.netBefore;
          expect(Math.abs(before.at(train.fromNs) - recorded), `${buffer.link} at ${train.fromNs}`).toBeLessThan(1e-4);
        }
      }
      expect(met).toBeGreaterThan(0);
    },
  );

  test("stays between empty and full, and every slip is a jump of its size", () => {
    const run = runs.get("steady")!;
    const train = looksOf(run.record).trains.get("guest there")![0]!;
    const course = courseNamed(run, "fill guest there");
    const { depthSamples, slipSamples } = train;
    const from = secondsFromNs(train.fromNs) - 1;
    const points = traced(course, from, from + 60, 2000);
    const jumps = points.filter(({ x, y }, index) => {
      const before = points[index - 1];
      return before !== undefined && x - before.x < 1e-8 && Math.abs(y - before.y) > slipSamples / 2;
    });
    // 10 ppm at 48 kHz: a slip every 1/0.48 s.
    expect(jumps).toHaveLength(1 + Math.floor(59 * 0.48));
    for (const { y } of points) {
      expect(y).toBeGreaterThan(-1e-6);
      expect(y).toBeLessThan(depthSamples + 1e-6);
    }
  });

  test("with far more slips than columns each column still has the whole of the jump", () => {
    const run = runs.get("steady")!;
    const course = courseNamed(run, "fill guest there");
    const points = traced(course, 1000, 2000, 50);
    for (let column = 0; column < 50; column++) {
      const own = points.filter(({ x }) => Math.floor((x - 1000) / 20) === column);
      const { least, most } = extentOf("", own)!;
      expect(most.y - least.y).toBeGreaterThan(1 - 1e-4);
    }
  });
});
