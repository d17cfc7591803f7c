/** The record as a table, read back by another reader than the writer's. */
import { csvParse } from "d3";
import { describe, expect, test } from "vitest";
import { COLUMNS } from "../../sim/export/record-rows.ts";
import { lanesOf } from "../../sim/lanes/lane.ts";
import type { Run } from "../../viewer/run.ts";
import { recordCsv } from "../../viewer/takeaway/csv.ts";
import { buildRun, busyRun, device, feed, link, slippingRun, train } from "../browser/fixture.ts";

/** RFC 4180, section 2, to the letter; throws where a text is not of it. */
function rfc4180(text: string): string[][] {
  const rows: string[][] = [];
  let [row, at]: [string[], number] = [[], 0];
  while (at < text.length) {
    const field = /"((?:[^"]|"")*)"|([^",\r\n]*)/y;
    field.lastIndex = at;
    const found = field.exec(text)!;
    row.push(found[1]?.replaceAll('""', '"') ?? found[2] ?? "");
    at = field.lastIndex;
    if (text[at] === ",") at += 1;
    else if (text.startsWith("\r\n", at)) {
      rows.push(row);
      [row, at] = [[], at + 2];
    } else throw new Error(`at ${at}: ${JSON.stringify(text.slice(at, at + 20))}`);
  }
  expect(row).toEqual([]);
  return rows;
}

const csvOf = (run: Run) => recordCsv(run, lanesOf(run).all);
const rowsOf = (run: Run) => csvParse(csvOf(run).replace(/^\ufeff/, ""));

describe("the record as CSV", () => {
  test("has a header with units, and as many cells in each row", () => {
    const text = csvOf(busyRun());
    expect(text.startsWith("\ufeffrow,id,way,name,state,from_s,to_s,samples,words\r\n")).toBe(true);
    const rows = rfc4180(text.slice(1));
    expect(new Set(rows.map((row) => row.length))).toEqual(new Set([COLUMNS.length]));
    // The same as a reader of another hand finds.
    const others = csvParse(text.slice(1));
    expect(others.map((row) => COLUMNS.map((column) => row[column]))).toEqual(rows.slice(1));
    for (const [, , , , , from, to, samples] of rows.slice(1))
      for (const number of [from, to, samples]) expect(number).toMatch(/^(\d+(\.\d{1,9})?)?$/);
  });

  test("has every state of every lane, each lane without a gap, and every event", () => {
    const run = busyRun();
    const rows = rowsOf(run);
    expect(rows[0]).toMatchObject({
      row: "plan",
      id: run.summary.scenario.sha256,
      to_s: String(run.summary.runSeconds),
    });
    for (const { id, states } of run.summary.devices) {
      const own = rows.filter(({ row, id: of }) => row === "device" && of === id);
      for (const { fromSeconds, toSeconds } of states) {
        expect(own.some(({ from_s }) => Number(from_s) === fromSeconds)).toBe(true);
        expect(own.some(({ to_s }) => Number(to_s) === toSeconds)).toBe(true);
      }
    }
    for (const { id, way, states } of run.summary.links) {
      const own = rows.filter((row) => row.row === "link" && row.id === id && row.way === way);
      for (const { fromSeconds } of states) expect(own.map(({ from_s }) => Number(from_s))).toContain(fromSeconds);
    }
    for (const { id, states } of run.summary.feeds) {
      const own = rows.filter(({ row, id: of }) => row === "feed" && of === id);
      expect(own.length).toBeGreaterThanOrEqual(states.length);
    }
    const events = rows.filter(({ row }) => row === "event");
    expect(events.map(({ state }) => state)).toEqual(run.plan.events.map(({ do: deed }) => deed));
    expect(events.map(({ from_s }) => Number(from_s))).toEqual(run.summary.events.map(({ atSeconds }) => atSeconds));
  });

  test("has every slip by itself, in order, up to 100,000", () => {
    const run = slippingRun(2000);
    const slips = rowsOf(run).filter(({ row }) => row === "slip");
    expect(slips).toHaveLength(2000);
    expect(slips[0]).toMatchObject({ id: "tie", way: "there", state: "drop", from_s: "1", samples: "1", to_s: "" });
    const instants = slips.map(({ from_s }) => Number(from_s));
    expect(instants).toEqual([...instants].sort((one, other) => one - other));
    expect(rowsOf(slippingRun(100_000)).filter(({ row }) => row === "slip" || row === "note")).toHaveLength(100_000);
  });

  test("says so where slips are left out: the first are there, whichever link they are on", () => {
    // Two links, one of which begins to slip when the other is half way.
    const run = buildRun({
      devices: [device("foh", "FOH desk", ["internal"]), device("mon", "Monitor desk", ["internal"])],
      links: [link("tie", ["foh", 1], ["mon", 1]), link("two", ["foh", 2], ["mon", 2])],
      feeds: [feed("mix", "Mix", ["foh", "mon"], [{ link: "tie", way: "there" }], ["wedges"])],
      facts: [
        { atSeconds: 1, subject: "port mon.1", fact: train("tie", "there", 1, 0.02, 90_000) },
        { atSeconds: 901, subject: "port mon.2", fact: train("two", "there", 901, 0.02, 90_000) },
      ],
    });
    const rows = rowsOf(run);
    const slips = rows.filter(({ row }) => row === "slip");
    expect(slips.length).toBeGreaterThan(99_990);
    expect(slips.length).toBeLessThanOrEqual(100_000);
    const counts = ["tie", "two"].map((id) => slips.filter((slip) => slip.id === id).length);
    // 45,000 alone, then turn and turn about.
    expect(Math.abs(counts[0]! - counts[1]! - 45_000)).toBeLessThan(5);
    const [note, ...others] = rows.filter(({ row }) => row === "note");
    expect(others).toEqual([]);
    expect(note?.words).toContain("of 180,000 slips are listed");
    expect(note?.words).toContain("up to 00:24:");
  });

  test("a name that a spreadsheet would run is a text, and every other name is as it was", () => {
    const names = [
      '=HYPERLINK("http://quay.example")',
      "+1",
      "-1",
      "@SUM(A1)",
      "\t=1",
      "  =1",
      "＝1",
      'A "good", long\nname',
      "Desk=1",
      "שולחן",
    ];
    const run = buildRun({
      leaders: ["d0"],
      devices: names.map((name, index) => device(`d${index}`, name, ["internal"])),
    });
    const rows = rowsOf(run).filter(({ row }) => row === "device");
    const found = names.map((_, index) => rows.find(({ id }) => id === `d${index}`)?.name);
    expect(found).toEqual([...names.slice(0, 7).map((name) => `'${name}`), ...names.slice(7)]);
  });
});
