/**
 * A run as trace events, read back by what viewers ask for: events in order inside a thread, none over another, arrows
 * with both ends at an event. Instants are compared as whole nanoseconds with what the run says of itself.
 */
import { describe, expect, test } from "vitest";
import * as z from "zod";
import { traceText } from "../../sim/export/trace.ts";
import type { Run } from "../../sim/rehearse.ts";
import { buildRun, device, link, slippingRun } from "../browser/fixture.ts";
import { shippedRuns } from "./runs.ts";

const thread = { pid: z.int().positive(), tid: z.int().positive() };
const micros = z.number().nonnegative();
const named = { name: z.string().min(1), cat: z.string().min(1) };
const args = z.record(z.string(), z.unknown());
const meta = z.strictObject({
  ph: z.literal("M"),
  pid: thread.pid,
  tid: thread.tid.optional(),
  name: z.enum(["process_name", "process_sort_index", "thread_name", "thread_sort_index"]),
  args,
});
const complete = z.strictObject({ ph: z.literal("X"), ...thread, ...named, ts: micros, dur: micros, args });
const instant = z.strictObject({ ph: z.literal("i"), ...thread, ...named, s: z.enum(["g", "t"]), ts: micros, args });
const starts = z.strictObject({ ph: z.literal("s"), ...thread, ...named, id: z.int(), ts: micros });
const finishes = z.strictObject({
  ph: z.literal("f"),
  bp: z.literal("e"),
  ...thread,
  ...named,
  id: z.int(),
  ts: micros,
});
const file = z.strictObject({
  displayTimeUnit: z.literal("ms"),
  otherData: z.strictObject({
    generator: z.literal("Pulltest 1.2.3"),
    title: z.string(),
    seed: z.string(),
    scenarioSha256: z.string(),
    assumedNumbers: z.int(),
  }),
  traceEvents: z.array(z.discriminatedUnion("ph", [meta, complete, instant, starts, finishes])),
});

const ns = (microseconds: number) => {
  const nanoseconds = Math.round(microseconds * 1000);
  expect(Math.abs(microseconds * 1000 - nanoseconds)).toBeLessThan(0.01);
  return nanoseconds;
};

function traceOf(run: Run) {
  const events = file.parse(JSON.parse(traceText(run, "1.2.3"))).traceEvents;
  const of = <Phase extends (typeof events)[number]["ph"]>(phase: Phase) =>
    events.filter((event): event is Extract<(typeof events)[number], { ph: Phase }> => event.ph === phase);
  const titles = new Map(
    of("M").flatMap(({ tid, name, args: { name: title } }) =>
      name === "thread_name" ? [[tid, String(title)] as const] : [],
    ),
  );
  const slices = of("X").map(({ ts, dur, ...event }) => ({ ...event, from: ns(ts), to: ns(ts) + ns(dur) }));
  return { of, titles, slices };
}

const seconds = (value: number) => Math.round(value * 1e9);

describe.each(shippedRuns())("%s", (_, run) => {
  const { summary, record } = run;
  const { of, titles, slices } = traceOf(run);

  test("every process and thread has a name, and in none does one event lie over another", () => {
    const named = new Set(of("M").flatMap(({ pid, name }) => (name === "process_name" ? [pid] : [])));
    for (const { pid, tid } of [...slices, ...of("i")]) {
      expect(named.has(pid)).toBe(true);
      expect(titles.get(tid)).toMatch(/\S/);
    }
    const last = new Map<number, number>();
    for (const { tid, from, to, name } of slices) {
      expect(from, `${titles.get(tid)}: ${name}`).toBeGreaterThanOrEqual(last.get(tid) ?? 0);
      last.set(tid, to);
    }
  });

  test("every state of every device, link and feed is a complete event, from when to when", () => {
    const of = (cat: string, id: string, isMain = true) =>
      slices.filter(
        (slice) => slice.cat === cat && slice.args.id === id && /: /.test(titles.get(slice.tid) ?? "") !== isMain,
      );
    for (const { id, states } of summary.devices) {
      const own = of("device", id);
      expect(own[0]?.from).toBe(0);
      expect(own.at(-1)?.to).toBe(record.endNs);
      for (const { state, fromSeconds, toSeconds } of states) {
        const within = own.filter(({ from, to }) => from < seconds(toSeconds) && to > seconds(fromSeconds));
        expect(within[0]?.from).toBe(seconds(fromSeconds));
        expect(within.at(-1)?.to).toBe(seconds(toSeconds));
        for (const { args: about } of within)
          expect(STATES[String(about.state)] ?? about.state, `${id} ${fromSeconds}`).toBe(state);
      }
    }
    for (const { id, states } of summary.feeds) {
      const found = of("feed", id).map(({ from, to, args: about }) => [about.state, from, to]);
      expect(found).toEqual(
        states.map(({ state, silence, fromSeconds, toSeconds }) => [
          state === "silent" ? silence : state,
          seconds(fromSeconds),
          seconds(toSeconds),
        ]),
      );
    }
    for (const { id, states } of summary.links) {
      const borders = new Set([...of("link", id), ...of("stream", id)].map(({ from }) => from));
      for (const { fromSeconds } of states) expect(borders).toContain(seconds(fromSeconds));
    }
  });

  test("every event of the world is an instant, every slip in a train", () => {
    const world = of("i").filter(({ cat }) => cat === "world");
    expect(world.map(({ ts, args: { deed }, s }) => [ns(ts), deed, s])).toEqual(
      summary.events.map(({ atSeconds, do: deed }) => [seconds(atSeconds), deed, "g"]),
    );
    const inTrains = [...of("X"), ...of("i")].reduce(
      (sum, { cat, args: about }) => sum + (cat === "slips" ? Number(about.count) : 0),
      0,
    );
    expect(inTrains).toBe(record.rows.reduce((sum, { fact }) => sum + (fact.kind === "slips" ? fact.count : 0), 0));
  });

  test("an arrow goes from a state of one lane to one that begins in another, never back in time", () => {
    const ends = new Map(of("f").map((end) => [end.id, end]));
    expect(ends.size).toBe(of("s").length);
    for (const { id, tid, ts } of of("s")) {
      const end = ends.get(id)!;
      expect(end.tid).not.toBe(tid);
      expect(ns(end.ts)).toBeGreaterThanOrEqual(ns(ts));
      expect(slices.some((slice) => slice.tid === tid && slice.from <= ns(ts) && ns(ts) < slice.to)).toBe(true);
      expect(slices.some((slice) => slice.tid === end.tid && slice.from <= ns(end.ts) && ns(end.ts) < slice.to)).toBe(
        true,
      );
    }
  });
});

/** What the page calls a state of the file by where it stands. */
const STATES: Readonly<Record<string, string>> = { leading: "free-run", "locked-later": "locked", works: "free-run" };

test("shipped scenarios have arrows, strips beside a state, streams and networks", () => {
  const all = shippedRuns().map(([, run]) => traceOf(run));
  expect(all.filter(({ of }) => of("s").length > 0).length).toBeGreaterThan(15);
  const categories = new Set(all.flatMap(({ slices }) => slices.map(({ cat }) => cat)));
  expect([...categories].toSorted()).toEqual(["device", "feed", "link", "network", "slips", "stream"]);
  const titles = all.flatMap((trace) => [...trace.titles.values()]);
  for (const part of [": slips", ": network 1", ": Surface down", ": Decodes, out of step"])
    expect(
      titles.some((title) => title.includes(part)),
      part,
    ).toBe(true);
});

test("the same run gives the same bytes, an event a line, and no mark of running text", () => {
  const [[, run]] = shippedRuns() as [readonly [string, Run]];
  const text = traceText(run, "1.2.3");
  expect(text).toBe(traceText(structuredClone(run), "1.2.3"));
  expect(text).not.toMatch(/[\u2066-\u2069]/);
  for (const line of text.split("\n").slice(1, -2)) expect(JSON.parse(line.replace(/,$/, ""))).toHaveProperty("ph");
});

test("a hundred thousand slips are one event; names of any kind are texts", () => {
  const { of } = traceOf(slippingRun(100_000));
  expect(of("X").filter(({ cat }) => cat === "slips")).toMatchObject([{ name: "Drops", args: { count: 100_000 } }]);
  const name = '"},{"ph":"X"\u2028</script>';
  const run = buildRun({
    devices: [device("a", name, ["internal"]), device("b", "B", ["1"])],
    links: [link("tie", ["a", 1], ["b", 1])],
    leaders: ["a"],
  });
  expect([...traceOf(run).titles.values()]).toContain(`${name} (a), leads by plan`);
});
