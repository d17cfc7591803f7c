/** What a feed carries, as sound: never louder than our own rule, and each slip of the run at its sample. */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { beforeAll, expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import type { FeedSummary } from "../../shared/summary.ts";
import { type Run, rehearse } from "../../sim/rehearse.ts";
import {
  type Carried,
  carriedBy,
  DROPOUT_SECONDS,
  EDGE_SECONDS,
  LOOPS,
  loopSamples,
  PEAK_MOST,
  RMS_MOST,
  rendered,
  rms,
  stretchAround,
  TONE_HZ,
} from "../../viewer/lessons/sound.ts";
import { soundWords } from "../../viewer/lessons/sound-panel.ts";
import { HEADER_BYTES, wavBytes } from "../../viewer/lessons/wav.ts";
import type { Run as ViewedRun } from "../../viewer/run.ts";
import { slipsOf } from "../../viewer/slips.ts";
import { SHIPPED } from "../helpers/shipped.ts";

const SECONDS = 8;

/** Every shipped scenario by its file's name, played; nothing has to be told here. */
const runs = new Map<string, Run>();
beforeAll(() => {
  for (const name of SHIPPED) {
    const { plan } = readScenario({ file: name, bytes: readFileSync(`scenarios/${name}`) }, (wanted) => ({
      bytes: readFileSync(`scenarios/${wanted}`),
    }));
    if (plan === null) throw new Error(`${name} cannot be read`);
    runs.set(name, rehearse(plan));
  }
});

/** Stretches in which something is to be heard, for every feed of a run. */
function stretchesOf(run: Run): { feed: FeedSummary; carried: Carried }[] {
  const { summary } = run;
  return summary.feeds.flatMap((feed) => {
    const silences = feed.states
      .filter(({ state }) => state === "silent")
      .flatMap((one) => [one.fromSeconds, one.toSeconds]);
    const cursors = [
      0,
      feed.firstAudibleAtSeconds,
      feed.cleanAgainAtSeconds,
      ...silences.slice(0, 3),
      summary.runSeconds,
    ];
    return [...new Set(cursors.filter((at) => at !== null))].map((at) => {
      const { from, seconds } = stretchAround(at, summary.runSeconds, SECONDS);
      return { feed, carried: carriedBy(run, feed.id, from, seconds) };
    });
  });
}

test("is at or below −20 dBFS RMS and −6 dBFS peak in every scenario, over all of it and over any 50 ms", () => {
  let loudest = 0;
  let stretches = 0;
  for (const run of runs.values()) {
    for (const { carried } of stretchesOf(run)) {
      for (const loop of LOOPS) {
        const samples = rendered(carried, loop);
        stretches += 1;
        expect(samples.length).toBe(Math.round(carried.seconds * carried.sampleRateHz));
        expect(rms(samples)).toBeLessThanOrEqual(RMS_MOST);
        const short = Math.round(0.05 * carried.sampleRateHz);
        for (let from = 0; from + short <= samples.length; from += short) {
          const part = rms(samples.subarray(from, from + short));
          if (part > loudest) loudest = part;
        }
        let peak = 0;
        for (const sample of samples) if (Math.abs(sample) > peak) peak = Math.abs(sample);
        expect(peak).toBeLessThanOrEqual(PEAK_MOST);
        expect(samples[0] === 0 && samples.at(-1) === 0).toBe(true);
      }
    }
  }
  expect(stretches).toBeGreaterThan(200);
  expect(loudest).toBeLessThanOrEqual(RMS_MOST);
  // It looked at sound, not at silence.
  expect(20 * Math.log10(loudest)).toBeGreaterThan(-21);
}, 300_000);

test("the limits are what they are called", () => {
  expect(20 * Math.log10(RMS_MOST)).toBeCloseTo(-20, 12);
  expect(20 * Math.log10(PEAK_MOST)).toBeLessThan(-6);
  expect(EDGE_SECONDS).toBe(0.05);
});

// ---- a judge of its own: it knows the tone's frequency, and nothing of the run

const HOP_SECONDS = 0.005;
const WINDOW_SECONDS = 0.02;

interface Window {
  readonly atSeconds: number;
  readonly amplitude: number;
  /** Against an unbroken tone, in turns. */
  readonly phase: number;
}

/** Quadrature demodulation in windows with a raised cosine, so that twice the frequency does not leak in. */
function demodulated(samples: Float32Array, sampleRateHz: number): Window[] {
  const [hop, length] = [HOP_SECONDS * sampleRateHz, WINDOW_SECONDS * sampleRateHz];
  const windows: Window[] = [];
  for (let from = 0; from + length <= samples.length; from += hop) {
    let inPhase = 0;
    let quadrature = 0;
    for (let index = 0; index < length; index += 1) {
      const weight = 0.5 - 0.5 * Math.cos((2 * Math.PI * (index + 0.5)) / length);
      const angle = (2 * Math.PI * TONE_HZ * (from + index)) / sampleRateHz;
      inPhase += weight * samples[from + index]! * Math.sin(angle);
      quadrature += weight * samples[from + index]! * Math.cos(angle);
    }
    windows.push({
      atSeconds: (from + length / 2) / sampleRateHz,
      amplitude: (4 * Math.hypot(inPhase, quadrature)) / length,
      phase: Math.atan2(quadrature, inPhase) / (2 * Math.PI),
    });
  }
  return windows;
}

const wrapped = (turns: number) => turns - Math.round(turns);

interface Step {
  readonly atSeconds: number;
  readonly turns: number;
}

/** A thousandth of a turn: a slip of one sample is twenty of them, one of 48 samples is three. */
const LEAST_TURNS = 0.001;

/** Neighbouring windows whose phase moves are one step; where there is little sound there is no phase. */
function stepsIn(windows: readonly Window[]): Step[] {
  const steps: { atSeconds: number; turns: number; weight: number; last: number }[] = [];
  for (let index = 1; index < windows.length; index += 1) {
    const [before, now] = [windows[index - 1]!, windows[index]!];
    if (Math.min(before.amplitude, now.amplitude) < 0.02) continue;
    const turns = wrapped(now.phase - before.phase);
    if (Math.abs(turns) < LEAST_TURNS / 20) continue;
    const at = (before.atSeconds + now.atSeconds) / 2;
    const last = steps.at(-1);
    if (last !== undefined && index - last.last <= 1) {
      last.turns += turns;
      last.atSeconds += at * Math.abs(turns);
      last.weight += Math.abs(turns);
      last.last = index;
    } else steps.push({ atSeconds: at * Math.abs(turns), turns, weight: Math.abs(turns), last: index });
  }
  return steps
    .map(({ atSeconds, turns, weight }) => ({ atSeconds: atSeconds / weight, turns }))
    .filter(({ turns }) => Math.abs(turns) >= LEAST_TURNS);
}

test("an untouched tone has no step", () => {
  const loop = loopSamples("tone", 48_000);
  const samples = Float32Array.from({ length: 96_000 }, (_, index) => loop[index % 48_000]!);
  expect(stepsIn(demodulated(samples, 48_000))).toEqual([]);
});

test("a judge finds in the tone exactly the slips of the run: when, which way, and how many samples", () => {
  let found = 0;
  const sizes = new Set<number>();
  for (const [name, run] of runs) {
    const curves = slipsOf({ ...run, format: 1 } as ViewedRun);
    for (const { feed, carried } of stretchesOf(run)) {
      const { slips, silences, jumps, sampleRateHz, fromSeconds, seconds } = carried;
      // As the curve of the page has them, and one way only where the summary counts one way only.
      const instants = curves.get(feed.id)?.instants(fromSeconds, fromSeconds + seconds - 1e-9, 1e6);
      expect(slips.map(({ atSeconds }) => atSeconds)).toEqual(instants);
      if (feed.drops === 0) expect(slips.filter(({ samples }) => samples > 0)).toEqual([]);
      if (feed.repeats === 0) expect(slips.filter(({ samples }) => samples < 0)).toEqual([]);
      const times = slips.map(({ atSeconds }) => atSeconds - fromSeconds);
      const isDense = times.some((at, index) => index > 0 && at - times[index - 1]! < 0.06);
      if (isDense || slips.length === 0 || silences.length > 0 || jumps.length > 0) continue;
      const isInside = (at: number) => at > 0.1 && at < seconds - 0.1;
      const expected = slips.filter((_, index) => isInside(times[index]!));
      const steps = stepsIn(demodulated(rendered(carried, "tone"), sampleRateHz)).filter((step) =>
        isInside(step.atSeconds),
      );
      expect(steps.length, `${name} at ${fromSeconds} s`).toBe(expected.length);
      for (const [index, step] of steps.entries()) {
        const { atSeconds, samples } = expected[index]!;
        expect(Math.abs(step.atSeconds + fromSeconds - atSeconds)).toBeLessThan(HOP_SECONDS);
        const turns = (samples * TONE_HZ) / sampleRateHz;
        expect(Math.abs(wrapped(step.turns - turns))).toBeLessThan(0.0005);
        sizes.add(samples);
        found += 1;
      }
    }
  }
  expect(found).toBeGreaterThan(50);
  // Samples left out and samples played again are both among them.
  expect(Math.min(...sizes)).toBeLessThan(0);
  expect(Math.max(...sizes)).toBeGreaterThan(0);
});

test("a slip falls on the first sample at or after its instant, and the sample is the one that follows", () => {
  const carried: Carried = {
    sampleRateHz: 48_000,
    fromSeconds: 10,
    seconds: 1,
    slips: [
      { atSeconds: 10.3, samples: 1 },
      { atSeconds: 10.600_001, samples: -48 },
    ],
    silences: [],
    jumps: [],
  };
  const loop = loopSamples("tone", 48_000);
  const samples = rendered(carried, "tone");
  expect(samples[14_399]).toBe(loop[14_399]);
  expect(samples[14_400]).toBe(loop[14_401]);
  expect(samples[28_800]).toBe(loop[28_801]);
  expect(samples[28_801]).toBe(loop[28_801 + 1 - 48]);
});

test("is silent where the feed is silent, and returns at its level or with its fade, as the plan has it", () => {
  const silenceOf = (name: string, feed: string) => {
    const run = runs.get(name)!;
    const end = run.summary.feeds
      .find(({ id }) => id === feed)!
      .states.findLast(({ state }) => state === "silent")!.toSeconds;
    const { from, seconds } = stretchAround(end, run.summary.runSeconds, SECONDS);
    const carried = carriedBy(run, feed, from, seconds);
    const samples = rendered(carried, "tone");
    const place = Math.ceil((end - from) * carried.sampleRateHz);
    return { carried, samples, place };
  };
  const hard = silenceOf("leader-reboot.json", "pa-mix");
  expect(hard.carried.silences.at(-1)!.fadeSeconds).toBe(0);
  expect(rms(hard.samples.subarray(0, hard.place))).toBe(0);
  // The PA processor re-aligns within these 50 ms: a fifth of them is its dropout.
  expect(rms(hard.samples.subarray(hard.place, hard.place + 2400))).toBeGreaterThan(0.8 * RMS_MOST);

  const soft = silenceOf("ring-after-failure.json", "ears-mix");
  const { fadeSeconds } = soft.carried.silences.at(-1)!;
  expect(fadeSeconds).toBe(1);
  const level = (at: number) => rms(soft.samples.subarray(soft.place + at, soft.place + at + 2400));
  expect(level(0)).toBeLessThan(0.1 * RMS_MOST);
  expect(level(24_000)).toBeGreaterThan(0.4 * RMS_MOST);
  expect(level(24_000)).toBeLessThan(0.6 * RMS_MOST);
  expect(level(50_000)).toBeGreaterThan(0.9 * RMS_MOST);
});

test("a device that re-aligns is a short dropout at that instant", () => {
  const run = runs.get("leader-reboot.json")!;
  const [at = 0] = run.summary.feeds.find(({ id }) => id === "ears-mix")!.realignedAtSeconds;
  expect(at).toBeGreaterThan(1200);
  const carried = carriedBy(run, "ears-mix", at - 1, 4);
  const samples = rendered(carried, "voice");
  const place = 48_000;
  expect(rms(samples.subarray(place, place + 0.9 * DROPOUT_SECONDS * 48_000))).toBe(0);
  expect(rms(samples.subarray(place - 4800, place))).toBeGreaterThan(0);
  expect(soundWords(carried)).toMatch(/: one dropout|dropouts/);
});

test("words say what is in a stretch, and count only what is heard", () => {
  const carried: Carried = {
    sampleRateHz: 48_000,
    fromSeconds: 60,
    seconds: 8,
    slips: [61, 62, 66].map((atSeconds) => ({ atSeconds, samples: 1 })),
    silences: [{ fromSeconds: 50, toSeconds: 61.5, fadeSeconds: 0 }],
    jumps: [63],
  };
  expect(soundWords(carried)).toBe(
    "From 00:01:00 to 00:01:08: two clicks, one dropout and 1.5 s of silence. No plan says how long a dropout is: 10 ms are played.",
  );
  expect(soundWords({ ...carried, silences: [{ fromSeconds: 0, toSeconds: 90, fadeSeconds: 0 }] })).toBe(
    "From 00:01:00 to 00:01:08: silence.",
  );
  expect(soundWords({ ...carried, slips: [], silences: [], jumps: [] })).toBe(
    "From 00:01:00 to 00:01:08: nothing but the sound itself.",
  );
});

test("the stretch lies around the cursor, inside the run", () => {
  expect(stretchAround(100, 1000)).toEqual({ from: 96, seconds: 8 });
  expect(stretchAround(1, 1000)).toEqual({ from: 0, seconds: 8 });
  expect(stretchAround(999, 1000)).toEqual({ from: 992, seconds: 8 });
  expect(stretchAround(2, 5)).toEqual({ from: 0, seconds: 5 });
});

// ---- WAV

const second = () => loopSamples("voice", 48_000);

test("a WAV file has its 44 bytes of header and every sample", () => {
  const bytes = wavBytes(Float32Array.of(0, 0.5, -0.5, 1, -1, 2), 48_000);
  expect(HEADER_BYTES).toBe(44);
  expect([...bytes.subarray(0, 44)]).toEqual([
    ...[0x52, 0x49, 0x46, 0x46, 48, 0, 0, 0, 0x57, 0x41, 0x56, 0x45],
    ...[0x66, 0x6d, 0x74, 0x20, 16, 0, 0, 0, 1, 0, 1, 0, 0x80, 0xbb, 0, 0, 0x00, 0x77, 0x01, 0x00, 2, 0, 16, 0],
    ...[0x64, 0x61, 0x74, 0x61, 12, 0, 0, 0],
  ]);
  const view = new DataView(bytes.buffer);
  const read = Array.from({ length: 6 }, (_, index) => view.getInt16(44 + 2 * index, true));
  expect(read).toEqual([0, 16384, -16383, 32767, -32767, 32767]);
});

const has = (program: string) => spawnSync(program, ["--version"]).status === 0;
const PYTHON = `import sys, wave, struct
w = wave.open(sys.argv[1]); n = w.getnframes(); d = struct.unpack("<%dh" % n, w.readframes(n))
print(w.getnchannels(), w.getsampwidth(), w.getframerate(), n, (sum(x * x for x in d) / n) ** 0.5 / 32768)`;

/** Reads a file with a program that is not ours: channels, bytes a sample, hertz, samples, RMS. */
function readElsewhere(program: string, file: string): number[] {
  if (program === "python3")
    return spawnSync(program, ["-c", PYTHON, file], { encoding: "utf8" }).stdout.trim().split(" ").map(Number);
  const info = (flag: string) => Number(spawnSync(program, ["--info", flag, file], { encoding: "utf8" }).stdout);
  const { stderr } = spawnSync(program, [file, "-n", "stat"], { encoding: "utf8" });
  return [info("-c"), info("-b") / 8, info("-r"), info("-s"), Number(/RMS\s+amplitude:\s+([\d.]+)/.exec(stderr)?.[1])];
}

for (const program of ["sox", "python3"]) {
  test.skipIf(!has(program))(`${program} reads the file as what it is; left out where there is no ${program}`, () => {
    const folder = mkdtempSync(join(tmpdir(), "pulltest-wav-"));
    const samples = second();
    writeFileSync(join(folder, "voice.wav"), wavBytes(samples, 48_000));
    const [channels, bytes, hertz, count, level] = readElsewhere(program, join(folder, "voice.wav"));
    rmSync(folder, { recursive: true });
    expect([channels, bytes, hertz, count]).toEqual([1, 2, 48_000, 48_000]);
    expect(level).toBeCloseTo(rms(samples), 4);
    expect(level).toBeLessThanOrEqual(RMS_MOST);
  });
}
