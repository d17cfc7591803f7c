/**
 * Published slip intervals, each by a real run of two free-running clocks: as often as the source says, at the instant
 * that the arithmetic gives.
 *
 * Law (G.822's and everybody's): seconds between slips = size of a slip in seconds / |fractional frequency difference|.
 * Status: READ, seen in the document itself or in a public text that carries its numbers; CALC, worked out from the law.
 */
import { describe, expect, test } from "vitest";
import type { DevicePlan } from "../../shared/plan.ts";
import type { Ns } from "../../shared/time.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { device, feed, link, planOf } from "../helpers/plan.ts";
import { play } from "../helpers/play.ts";
import { readClocks, readSlips } from "../helpers/reading.ts";

const SAMPLE_SECONDS = 1 / 48_000;
const DAY = 86_400;
const singleSample = { slipSamples: 1, depthSamples: 2, startSamples: 1 };
/** A telephone frame of 125 µs is 6 samples at 48 kHz: so many are dropped or repeated at a time. */
const telephoneFrame = { slipSamples: 6, depthSamples: 12, startSamples: 6 };

/** Two devices on their own clocks and one cable; the sender is `aheadPpm` faster. */
function apart(words: { seconds: number; senderPpm: number; receiverPpm: number; buffer: typeof singleSample }) {
  const rig = planOf({
    seconds: words.seconds,
    devices: [
      device("foh", ["internal"], { offsetPpm: words.senderPpm }),
      device("truck", ["internal"], { offsetPpm: words.receiverPpm }),
    ],
    links: [link("foh.1", "truck.1", { id: "main", buffer: words.buffer })],
  });
  const { rows, timebases } = play(rig);
  return { rows, clocks: readClocks(rows, timebases), slips: readSlips(rows).get("main there") ?? [] };
}

describe("samples that two clocks at 48 kHz slip against each other", () => {
  // CALC: rate = fs·Δ. The counts per hour at 1 and 10 ppm also stand in a public requirements file for AES11-2009
  // (machine-assisted: weak). Grades 1 and 2 of AES11 are ±1 and ±10 ppm (as quoted in that file).
  test.each([
    { what: "1 ppm apart", senderPpm: 1, receiverPpm: 0, everySeconds: "20.833", perSecond: 0.048, perHour: 172.8 },
    { what: "10 ppm apart", senderPpm: 10, receiverPpm: 0, everySeconds: "2.0833", perSecond: 0.48, perHour: 1728 },
    {
      what: "two grade-2 clocks at opposite limits",
      senderPpm: 10,
      receiverPpm: -10,
      everySeconds: "1.04167",
      perSecond: 0.96,
      perHour: 3456,
    },
    {
      what: "two grade-1 clocks at opposite limits",
      senderPpm: 1,
      receiverPpm: -1,
      everySeconds: "10.4167",
      perSecond: 0.096,
      perHour: 345.6,
    },
    { what: "50 ppm apart", senderPpm: 50, receiverPpm: 0, everySeconds: "0.41667", perSecond: 2.4, perHour: 8640 },
    // Not printed anywhere: the same law at a difference of no round number, and the other way about.
    {
      what: "7.3 ppm apart",
      senderPpm: 2.9,
      receiverPpm: -4.4,
      everySeconds: "2.85388",
      perSecond: 0.3504,
      perHour: 1261.44,
    },
    {
      what: "33 ppm apart, the receiver ahead",
      senderPpm: -13,
      receiverPpm: 20,
      everySeconds: "0.631313",
      perSecond: 1.584,
      perHour: 5702.4,
    },
  ])("$what: one per $everySeconds s", ({ senderPpm, receiverPpm, everySeconds, perSecond, perHour }) => {
    const hours = 5;
    const { slips } = apart({ seconds: 3600 * hours, senderPpm, receiverPpm, buffer: singleSample });
    expect(slips.every(({ sign }) => sign === Math.sign(senderPpm - receiverPpm))).toBe(true);
    const gaps = slips.slice(1).map(({ atNs }, n) => (atNs - (slips[n]?.atNs as Ns)) / 1e9);
    const [shortest, longest] = [Math.min(...gaps), Math.max(...gaps)];
    // Rounded up to whole nanoseconds, each.
    expect(longest - shortest).toBeLessThan(2.1e-9);
    expect(shortest.toPrecision(everySeconds.replace(".", "").replace(/^0+/, "").length)).toBe(everySeconds);
    expect(1 / shortest).toBeCloseTo(perSecond, 6);
    // In five hours 5·172.8 = 864 and so on: the last falls on the end but for a nanosecond.
    expect(Math.abs(slips.length - hours * perHour)).toBeLessThanOrEqual(1);
  });

  test("with a sample-rate converter at the input the 1,728 an hour at 10 ppm are none", () => {
    // Common practice, no source: a converter joins two domains cleanly. The count without it is the one above.
    const run = (converters: DevicePlan["converters"]) =>
      rehearse(
        planOf({
          seconds: 3600,
          devices: [
            device("foh", ["internal"], { offsetPpm: 10 }),
            device("truck", ["internal"], converters === undefined ? {} : { converters }),
          ],
          links: [link("foh.1", "truck.1", { id: "main", buffer: singleSample })],
        }),
      );
    const slipsIn = ({ record }: ReturnType<typeof run>) => readSlips(record.rows).get("main there") ?? [];
    expect(Math.abs(slipsIn(run(undefined)).length - 1728)).toBeLessThanOrEqual(1);
    const converted = run({ 1: { delaySeconds: 0.001, lockSeconds: 0.1, ratioMax: 8 } });
    expect(slipsIn(converted)).toEqual([]);
    // That the clocks are as far apart as ever is what the run says of it.
    expect(converted.summary.converters[0]?.aheadPpm).toBeCloseTo(10, 9);
  });

  test("1 ppm apart, phase moves 5 % of a sample period in 1.0417 s and 25 % in 5.2083 s", () => {
    // CALC; the shares are AES11-2009's output and input allowances (as quoted in a public requirements file).
    const { rows, clocks } = apart({ seconds: 10, senderPpm: 1, receiverPpm: 0, buffer: singleSample });
    const moved = (seconds: number) => {
      const at = Math.round(seconds * 1e9) as Ns;
      return ((clocks.phaseSecondsAt("foh", at) ?? 0) - (clocks.phaseSecondsAt("truck", at) ?? 0)) / SAMPLE_SECONDS;
    };
    expect(moved(1.0417)).toBeCloseTo(0.05, 5);
    expect(moved(5.2083)).toBeCloseTo(0.25, 5);
    // At 25 % the two are not in step any more, and the record says so at that instant.
    const lost = rows.find(
      ({ subject, fact }) => subject === "port truck.1" && fact.kind === "input" && !fact.inStep && fact.decodes,
    );
    expect(((lost?.atNs ?? 0) / 1e9).toFixed(4)).toBe("5.2083");
  });

  test("a buffer of 48 samples lasts 50 s from end to end at 20 ppm", () => {
    // CALC: 48 / 0.96. It starts one sample above the bottom, so the top is 48 higher.
    const { slips } = apart({
      seconds: 60,
      senderPpm: 10,
      receiverPpm: -10,
      buffer: { slipSamples: 1, depthSamples: 49, startSamples: 1 },
    });
    expect(((slips[0]?.atNs ?? 0) / 1e9).toFixed(6)).toBe("50.000000");
  });
});

describe("telephone frames of 125 µs", () => {
  // What a table prints, and what the law gives. The manual: of a telephone exchange, READ, rounded. The table:
  // "Table 20.1, Standards for stratum levels", in a public text on time and frequency, READ. Each of these is on the basis of one clock's error.
  test.each([
    { source: "the manual prints 2.4 s", offset: 50e-6, everySeconds: 2.5 },
    { source: "the manual: 12.5 s", offset: 10e-6, everySeconds: 12.5 },
    { source: "the manual: 2 min", offset: 1e-6, everySeconds: 125 },
    { source: "the table, stratum 3E: 3.5 hours", offset: 1e-8, everySeconds: 3.472_222 * 3600 },
    { source: "the manual: 1 day", offset: 1e-9, everySeconds: 34.722_222 * 3600 },
    // Not printed: stratum 3's 4.6 ppm as a plain difference.
    { source: "CALC", offset: 4.6e-6, everySeconds: 27.173_913 },
  ])("$offset off: every $everySeconds s ($source)", ({ offset, everySeconds }) => {
    const { slips } = apart({
      seconds: 3.5 * everySeconds,
      senderPpm: offset * 1e6,
      receiverPpm: 0,
      buffer: telephoneFrame,
    });
    expect(slips).toHaveLength(3);
    for (const [n, { atNs }] of slips.entries()) expect(atNs / 1e9 / (n + 1) / everySeconds).toBeCloseTo(1, 6);
  });

  test("two clocks of 1e-11 at opposite limits: one slip in 70 days (G.822 (11/88), scope, READ); 72.338 days exactly", () => {
    const { slips } = apart({ seconds: 100 * DAY, senderPpm: 1e-5, receiverPpm: -1e-5, buffer: telephoneFrame });
    expect(slips).toHaveLength(1);
    const days = (slips[0]?.atNs ?? 0) / 1e9 / DAY;
    expect(days).toBeGreaterThan(70);
    // "72 days" for stratum 1 in the table (READ): 125 µs / 2e-11 = 6.25e6 s.
    expect(days.toFixed(3)).toBe("72.338");
  });

  test("one such clock against a perfect one: not within 104 days of show; every four to five months (the table's text, READ)", () => {
    const days = 125e-6 / 1e-11 / DAY;
    expect(days / (365.25 / 12)).toBeGreaterThan(4);
    expect(days / (365.25 / 12)).toBeLessThan(5);
    const { slips, clocks } = apart({ seconds: 104 * DAY, senderPpm: 1e-5, receiverPpm: 0, buffer: telephoneFrame });
    expect(slips).toEqual([]);
    // On its way there: 104 of 144.68 days, of six samples.
    const moved = clocks.phaseSecondsAt("foh", (104 * DAY * 1e9) as Ns) ?? 0;
    expect(moved / 125e-6).toBeCloseTo(104 / days, 9);
    expect(days.toFixed(2)).toBe("144.68");
  });

  test("four such links in a row: one slip in 17.5 days (G.822, READ): four in the 72 days of one link", () => {
    const links = [0, 1, 2, 3].map((n) =>
      link(`office-${n}.1`, `office-${n + 1}.2`, { id: `trunk-${n}`, buffer: telephoneFrame }),
    );
    const ids = [0, 1, 2, 3, 4].map((n) => `office-${n}`);
    const chain = planOf({
      seconds: 73 * DAY,
      devices: ids.map((id, n) => device(id, ["internal"], { offsetPpm: n % 2 === 0 ? 1e-5 : -1e-5 })),
      links,
      feeds: [feed("call", ids, links)],
    });
    const { summary } = rehearse(chain);
    expect(summary.feeds[0]).toMatchObject({ slips: 4, drops: 2, repeats: 2 });
    // Their 70 days are a rounded 72.3, so their 17.5 are 18.1 here.
    expect(6.25e6 / DAY / 4).toBeCloseTo(18.08, 2);
    expect(70 / 4).toBe(17.5);
  });
});
