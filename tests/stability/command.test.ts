/** The verb and its reader, with a terminal made of strings. */
import { mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { Readable } from "node:stream";
import { afterAll, describe, expect, test } from "vitest";
import { plainInk } from "../../cli/print/ink.ts";
import { readSamplesCsv } from "../../cli/samples-csv.ts";
import { type StabilityReport, stabilityOfFile } from "../../cli/verbs/stability.ts";
import type { StabilityRequest } from "../../cli/verbs/stability-options.ts";
import type { Samples } from "../../sim/stability/index.ts";
import { stabilityBench } from "../bench/mtie.ts";
import { thousandFrequencies } from "./data.ts";

const folder = mkdtempSync(join(tmpdir(), "pulltest-stability-"));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

async function run(content: string | null, options: Partial<StabilityRequest> = {}) {
  const file = "clock.csv";
  if (content === null) rmSync(join(folder, file), { force: true });
  else writeFileSync(join(folder, file), content);
  let out = "";
  let err = "";
  const status = await stabilityOfFile(
    {
      ...{ file, column: null, tau0: null, rateHz: null, taus: null, noise: null, confidence: null, statistics: null },
      ...{ device: null, against: null, step: null, from: null, to: null, seed: null },
      ...{ masks: [], json: false },
      ...options,
    },
    {
      out: (text) => {
        out += text;
      },
      err: (text) => {
        err += text;
      },
      ink: { out: plainInk, err: plainInk },
      columns: null,
      isWatched: false,
      workingFolder: folder,
      input: Readable.from([new TextEncoder().encode(content ?? "")]),
    },
  );
  return { status, out, err };
}

const read = (text: string, column: string | null = null, tau0Seconds: number | null = null) =>
  readSamplesCsv(text, { file: "x.csv", column, tau0Seconds });
const valuesOf = (samples: Samples | null) => {
  if (samples === null) throw new Error("not read");
  return [...("phaseSeconds" in samples ? samples.phaseSeconds : samples.fractionalFrequency)];
};
const { NaN: gap } = Number;

describe("columns", () => {
  test.each([
    ["phase_s", 2.5, "phaseSeconds", 2.5],
    ["phase_ms", 2.5, "phaseSeconds", 2.5e-3],
    ["phase_us", 2.5, "phaseSeconds", 2.5e-6],
    ["phase_ns", 2.5, "phaseSeconds", 2.5e-9],
    ["phase_ps", 2.5, "phaseSeconds", 2.5e-12],
    ["frequency", 2.5, "fractionalFrequency", 2.5],
    ["frequency_ppm", 2.5, "fractionalFrequency", 2.5e-6],
    ["frequency_ppb", 2.5, "fractionalFrequency", 2.5e-9],
    ["FOH desk Phase_NS", 2.5, "phaseSeconds", 2.5e-9],
  ] as const)("%s of %d is %s %d", (name, value, kind, expected) => {
    const { samples, issues, column } = read(`${name}\n${value}\n`, null, 1);
    expect(issues).toEqual([]);
    expect(column).toBe(name);
    expect(samples).toHaveProperty(kind);
    expect(valuesOf(samples)).toEqual([expected]);
  });

  test("semicolons, a byte order mark, comments, blank lines, quotes and line ends of any kind", () => {
    const text = '\ufeff# counter 2\r\n\r\n"time_s";"phase_ns"\r\n0;1\r\n# pause\r\n1;"2"\r\n2;-3e0\r\n';
    const { samples, issues } = read(text);
    expect(issues).toEqual([]);
    expect(samples).toMatchObject({ tau0Seconds: 1 });
    expect(valuesOf(samples)).toEqual([1e-9, 2e-9, -3e-9]);
    expect(valuesOf(read("time\tphase_s\r0\t1\r5\t2").samples)).toEqual([1, 2]);
  });

  test("empty cells, NaN, and rows that are missing by their time are gaps", () => {
    const { samples } = read("time_s,phase_s\n10,1\n10.5,\n11,nan\n12.5,4\n");
    expect(samples).toMatchObject({ tau0Seconds: 0.5 });
    expect(valuesOf(samples)).toEqual([1, gap, gap, gap, gap, 4]);
  });

  test("times that jitter or are rounded are put on the even spacing", () => {
    const rows = Array.from({ length: 3001 }, (_, i) => `${(i / 3 + (i % 2) * 0.001).toFixed(3)},${i}`);
    const { samples, issues } = read(`time_s,phase_s\n${rows.join("\n")}`);
    expect(issues).toEqual([]);
    expect(samples!.tau0Seconds).toBeCloseTo(1 / 3, 6);
    expect(valuesOf(samples)).toEqual(Array.from({ length: 3001 }, (_, i) => i));
  });

  test("two that could be meant: one has to be named", () => {
    const text = "time_s,foh_phase_ns,stage_phase_ns\n0,1,2\n1,3,4\n";
    expect(read(text).issues).toEqual([
      {
        ...{ file: "x.csv", line: 1, column: 21, path: [], expected: "one column of phase or frequency" },
        ...{ received: "foh_phase_ns, stage_phase_ns", remedy: "choose one with --column foh_phase_ns" },
      },
    ]);
    expect(valuesOf(read(text, "stage_phase_ns").samples)).toEqual([2e-9, 4e-9]);
    expect(read(text, "stag_phase_ns").issues[0]!.remedy).toBe('did you mean "stage_phase_ns"');
  });

  test("a column is named without its unit as well", () => {
    const text = "seconds,foh_phase_s,Stage phase_ns,foh,x_phase_s\n0,1,2,7,4\n1,3,4,7,5\n";
    expect(valuesOf(read(text, "foh").samples)).toEqual([1, 3]);
    expect(read(text, "foh").column).toBe("foh_phase_s");
    expect(valuesOf(read(text, "stage").samples)).toEqual([2e-9, 4e-9]);
    expect(valuesOf(read(text, "X").samples)).toEqual([4, 5]);
    expect(read(text, "stagr").issues[0]!.remedy).toBe('did you mean "Stage"');
    expect(read(text, "nobody").issues[0]!.remedy).toContain("choose one of the file's: foh_phase_s, Stage phase_ns");
    // The whole name goes before a part of another.
    const twins = "seconds,a_phase_s,a_phase_s_phase_s\n0,1,2\n1,1,2\n";
    expect(valuesOf(read(twins, "a_phase_s").samples)).toEqual([1, 1]);
    expect(valuesOf(read(twins, "a_phase_s_phase_s").samples)).toEqual([2, 2]);
  });

  test.each([
    ["phase\n1\n", "put what it is and its unit into the name of the column"],
    ["1\n2\n3\n", "write the column names into the first line"],
    ["", "name the column of values"],
    ["# nothing\n", "name the column of values"],
  ])("none that is known in %j", (text, remedy) => {
    const { samples, issues } = read(text, null, 1);
    expect(samples).toBeNull();
    expect(issues).toHaveLength(1);
    expect(issues[0]!.remedy).toContain(remedy);
  });
});

describe("bad input: all problems at once, each with row and column, status 2", () => {
  test("cells that are no numbers, short rows, times without order", async () => {
    const { status, out, err } = await run('time_s;phase_ns\n0;1\nsoon;2\n2;"1,5"\n# fine\n3;inf\n4\n5;0x10\n;7\n');
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err.split("\n").slice(0, -1)).toEqual([
      "pulltest: six problems in the input; nothing was computed.",
      'clock.csv:3:1 › time_s: expected a time in seconds, received "soon"; write a plain number like 1.5e-9, or leave the cell empty',
      'clock.csv:4:3 › phase_ns: expected a number, or nothing for a gap, received "1,5"; write a decimal point, not a comma',
      'clock.csv:6:3 › phase_ns: expected a number, or nothing for a gap, received "inf"; write a plain number like 1.5e-9, or leave the cell empty',
      "clock.csv:7:2 › phase_ns: expected a number, or nothing for a gap, received nothing; give every row as many cells as there are columns",
      'clock.csv:8:3 › phase_ns: expected a number, or nothing for a gap, received "0x10"; write a plain number like 1.5e-9, or leave the cell empty',
      'clock.csv:9:1 › time_s: expected a time in seconds, received ""; give every row its time, or leave the row out',
    ]);
  });

  test("times that go back or fall between", () => {
    const { issues } = read("time_s,phase_s\n0,1\n1,1\n2,1\n1.5,1\n2.5,1\n3.1,1\n");
    expect(issues.map(({ line, column, expected }) => [line, column, expected])).toEqual([
      [5, 1, "a time after 2 s"],
      [7, 1, "a whole number of steps of 1 s after 2.5 s"],
    ]);
  });

  test("no spacing, or one that the times contradict", () => {
    expect(read("phase_s\n1\n").issues[0]).toMatchObject({
      line: 1,
      remedy: "give the spacing in seconds with --tau0",
    });
    expect(read("time_s,phase_s\n0,1\n2,1\n4,1\n", null, 3).issues[0]).toMatchObject({
      ...{ expected: "times 3 s apart, as --tau0 says", received: "2 s apart" },
    });
    expect(read("time_s,phase_s\n0,1\n").issues[0]).toMatchObject({ received: "one row" });
    expect(read("time_s,phase_s\n0,1\n1,1\n2,1\n1e12,1\n").issues[0]).toMatchObject({
      line: 5,
      received: "1000000000000 steps",
    });
  });

  test("options and the file together", async () => {
    const { status, err } = await run(null, {
      ...{ tau0: "0", rateHz: "fast", taus: "1,,x", noise: "pink", confidence: "95", statistics: "adev,oadv" },
      masks: ["g811-mtei"],
    });
    expect(status).toBe(2);
    expect(err.split("\n").map((line) => line.split(":")[0])).toEqual([
      ...["pulltest", "--tau0", "--rate-hz", "--taus", "--taus", "--noise", "--confidence", "--statistics", "--mask"],
      ...["clock.csv", ""],
    ]);
    expect(err).toContain("did you mean oadev");
    expect(err).toContain("did you mean g811-mtie");
    expect((await run("phase_s\n1\n2\n", { tau0: "1", masks: ["aes11-input-phase"] })).err).toContain(
      "add --rate-hz 48000",
    );
  });

  test("nothing but gaps", async () => {
    const { status, err } = await run("phase_s\nNaN\nNaN\n", { tau0: "1" });
    expect(status).toBe(2);
    expect(err).toContain("expected at least one value, received 2 values, all NaN");
  });
});

describe("what it prints", () => {
  const { y } = thousandFrequencies();
  const thousand = `frequency\n${[...y].join("\n")}\n`;

  test("the handbook's values, with intervals", async () => {
    const { status, out, err } = await run(thousand, {
      tau0: "1",
      taus: "1,10,100",
      statistics: "oadev,totdev,mtie",
      noise: "white-fm",
      confidence: "0.683",
    });
    expect({ status, err }).toEqual({ status: 0, err: "" });
    expect(out).toMatchInlineSnapshot(`
      "clock.csv, column frequency: 1,001 points of phase summed from frequency, 1 s apart, 1000 s long, no gaps.
      Intervals hold the true value with a probability of 68.3 %, if the noise is of the type named.

      Overlapping Allan deviation (OADEV), fractional frequency
        tau s  value      from       to         noise
        1      2.9223e-1  2.8454e-1  3.0058e-1  white FM
        10     9.1600e-2  8.6676e-2  9.7469e-2  white FM
        100    3.2413e-2  2.7540e-2  4.1324e-2  white FM

      Total deviation (TOTDEV), fractional frequency
        tau s  value      from       to         noise
        1      2.9223e-1  2.8704e-1  2.9772e-1  white FM
        10     9.1347e-2  8.6497e-2  9.7117e-2  white FM
        100    3.4065e-2  2.9238e-2  4.2484e-2  white FM

      Maximum time interval error (MTIE), seconds
        tau s  seconds    terms
        1      9.9575e-1  1,000
        10     7.5966e+0  991
        100    5.5382e+1  901

      Masks
        exceeded  Primary reference clock, MTIE (g811-mtie, ITU-T G.811 (1997) Amendment 1 (2016)). First at 1 s (996 ms, limit 25.3 ns), by most at 100 s (55.4 s, limit 52.5 ns). Compared at three intervals from 1 to 100 s.
        exceeded  Primary reference clock, TDEV (g811-tdev, ITU-T G.811 (1997) Amendment 1 (2016)). First at 1 s (169 ms, limit 3 ns), by most at 100 s (1.25 s, limit 3 ns). Compared at three intervals from 1 to 100 s.
        exceeded  Primary reference time clock A, MTIE (g8272-prtc-a-mtie, ITU-T G.8272, table 1). First at 1 s (996 ms, limit 25.3 ns), by most at 100 s (55.4 s, limit 52.5 ns). Compared at three intervals from 1 to 100 s.
        exceeded  Equipment clock option 1, locked: wander it makes, MTIE (sec1-generation-mtie, ITU-T G.8262 (2010) table 1, constant temperature; G.813 option 1). First at 1 s (996 ms, limit 40 ns), by most at 100 s (55.4 s, limit 63.4 ns). Compared at three intervals from 1 to 100 s.
        exceeded  Equipment clock option 1, locked: wander it makes, TDEV (sec1-generation-tdev, ITU-T G.8262 (2010) table 3, constant temperature; G.813 option 1). First at 1 s (169 ms, limit 3.2 ns), by most at 100 s (1.25 s, limit 6.4 ns). Compared at three intervals from 1 to 100 s.
        exceeded  Equipment clock option 1: wander at its input that it has to bear, MTIE (sec1-tolerance-mtie, ITU-T G.8262 (2010) table 7; G.813 option 1). First at 1 s (996 ms, limit 250 ns), by most at 100 s (55.4 s, limit 2 µs). Compared at three intervals from 1 to 100 s.
      Compared only at the times listed above, for this record alone. The standards were not read: where their numbers come from is in --json.
      "
    `);
  });

  test("as JSON: the same numbers whole, and every mask with its source", async () => {
    const { out } = await run(thousand, { tau0: "1", json: true, rateHz: "48000" });
    const report = JSON.parse(out) as StabilityReport;
    expect(report).toMatchObject({ schemaVersion: 1, kind: "frequency", tau0Seconds: 1, points: 1001, missing: 0 });
    expect(report.rows).toHaveLength(10);
    expect(report.rows[0]!.cells.oadev).toMatchObject({ terms: 999 });
    expect(report.masks).toHaveLength(8);
    for (const mask of report.masks) expect(mask.status).toMatch(/read in/);
    // The record is a clock half a second a second off.
    expect(report.masks.map(({ outcome }) => outcome)).toEqual(new Array(8).fill("exceeded"));
  });

  test("ends with 1 where a mask that was named is exceeded or cannot be judged, else with 0", async () => {
    const quiet = `phase_ns\n${Array.from({ length: 300 }, (_, i) => (i * 7) % 5).join("\n")}\n`;
    const outcomes = async (content: string, tau0: string, masks: string[]) =>
      (await run(content, { tau0, masks })).status;
    expect(await outcomes(quiet, "1", ["g811-mtie", "sec1-generation-mtie"])).toBe(0);
    expect(await outcomes(thousand, "1", ["g811-mtie"])).toBe(1);
    expect(await outcomes(quiet, "1e-6", ["g811-mtie"])).toBe(1);
    expect(await outcomes(thousand, "1", [])).toBe(0);
    const { out } = await run(quiet, { tau0: "1", masks: ["sec1-generation-mtie"], statistics: "mtie" });
    expect(out).toMatch(/below {2}Equipment clock option 1/);
    expect(out).not.toContain("g811");
  });

  test("reads standard input, and says nothing that a terminal would obey", async () => {
    const { status, out } = await run("\u001b[2J_phase_s\n1\n2\n4\n", { file: "-", tau0: "1" });
    expect(status).toBe(0);
    expect(out).not.toMatch(/(?!\n)\p{Cc}/u);
  });
});

test("the bench measures what it says", () => {
  const { windows, mtieMs, sortsMs } = stabilityBench({ points: 5000, rounds: 1 });
  expect(windows).toBe(13); // 1, 2, 4 … 4,096 of 5,000 points
  expect(mtieMs).toBeGreaterThan(0);
  expect(sortsMs).toBeGreaterThan(0);
});
