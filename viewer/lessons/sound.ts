/**
 * What a feed carries over a short stretch of the run, as sound: a loop of ours in place of the programme, with the drops
 * and repeats of the run at their sample, silence where it is silent, and the return with its fade or without one. Pure:
 * the same run gives the same samples. Nothing here is louder than {@link RMS_MOST} and {@link PEAK_MOST}.
 *
 * A receiver puts out one sample of what arrives for each of its own, so it plays the sender's samples one after the other
 * whatever the two clocks do; only at a slip does it go on elsewhere.
 */
import type { DevicePlan } from "../../shared/plan.ts";
import { type Ns, nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { feedById } from "../../sim/by-id.ts";
import { slipsHeard } from "../../sim/hear.ts";
import { carrierLine } from "../../sim/hearing/carriers.ts";
import { conditionsOf, mutedLine } from "../../sim/hearing/conditions.ts";
import { slipInstants } from "../../sim/slips.ts";
import { looksOf } from "../../sim/timeline.ts";
import type { Played } from "./figures.ts";

export interface Carried {
  readonly sampleRateHz: number;
  readonly fromSeconds: number;
  readonly seconds: number;
  /** Sorted. `samples`: left out (above 0) or played again (below 0). */
  readonly slips: readonly { readonly atSeconds: number; readonly samples: number }[];
  /** `fadeSeconds`: how long the sound takes to be at its level again; 0: at once. */
  readonly silences: readonly {
    readonly fromSeconds: number;
    readonly toSeconds: number;
    readonly fadeSeconds: number;
  }[];
  /** Instants at which a device on the way re-aligned. */
  readonly jumps: readonly number[];
}

/** As long as fits in the run, up to `seconds`, with the cursor in the middle where there is room. */
export function stretchAround(
  cursorSeconds: number,
  runSeconds: number,
  seconds = 8,
): { from: number; seconds: number } {
  const length = Math.min(seconds, runSeconds);
  return { from: Math.min(Math.max(cursorSeconds - length / 2, 0), runSeconds - length), seconds: length };
}

/** What the feed carries in [from, from + seconds). Throws if the plan has no such feed. */
export function carriedBy({ plan, record, summary }: Played, feedId: string, from: number, seconds: number): Carried {
  const feed = feedById(plan, feedId);
  const heard = summary.feeds.find(({ id }) => id === feedId);
  if (feed === undefined || heard === undefined) throw new Error(`There is no feed ${feedId}.`);
  const looks = looksOf(record);
  const hops = feed.hops.map((hop) => carrierLine(plan, hop, looks));
  const muted = new Map(plan.devices.map((device) => [device.id, mutedLine(device, looks)]));
  const conditions = conditionsOf(plan, feed, hops, looks, muted);
  const isSilent = (index: number): boolean => {
    const value = conditions[index]?.value;
    return value !== undefined && (value.silence !== null || !value.isCarried);
  };
  const [fromNs, toNs] = [nsFromSeconds(from), nsFromSeconds(from + seconds)];
  const silences = conditions.flatMap(({ fromNs: startNs, toNs: endNs, value }, index) => {
    // A fade may still be going on when its silence is over.
    const fadeSeconds = isSilent(index + 1) ? 0 : fadeOf(plan.devices, value.returnsBy);
    if (!isSilent(index) || startNs >= toNs || endNs + fadeSeconds * 1e9 <= fromNs) return [];
    return [{ fromSeconds: secondsFromNs(startNs), toSeconds: secondsFromNs(endNs), fadeSeconds }];
  });
  const slips = (slipsHeard(plan, record).get(feedId) ?? []).flatMap((part) => {
    const [firstNs, lastNs] = [Math.max(fromNs, part.fromNs) as Ns, Math.min(toNs - 1, part.toNs) as Ns];
    if (firstNs > lastNs) return [];
    const samples = part.train.sign * part.train.slipSamples;
    return slipInstants(part.train, firstNs, lastNs).map((at) => ({ atSeconds: secondsFromNs(at), samples }));
  });
  return {
    sampleRateHz: plan.sampleRateHz,
    fromSeconds: from,
    seconds,
    slips: slips.sort((one, other) => one.atSeconds - other.atSeconds),
    silences,
    jumps: heard.realignedAtSeconds.filter((at) => at >= from && at < from + seconds),
  };
}

/** A fade in any of the devices at which sound comes back softens the return of all. */
function fadeOf(devices: readonly DevicePlan[], returnsBy: readonly string[]): number {
  return Math.max(
    0,
    ...devices.filter(({ id }) => returnsBy.includes(id)).map(({ unmuteRampSeconds }) => unmuteRampSeconds),
  );
}

/** −20 dBFS RMS with 1 as full scale (a sine of full scale is then −3 dBFS): our own rule, the stricter reading of the two. */
export const RMS_MOST = 0.1;
/** −6 dBFS: our own rule. */
export const PEAK_MOST = 0.501;
/** At both ends of what is played or saved: our own rule. */
export const EDGE_SECONDS = 0.05;
/** How long a dropout of a re-aligned device is played. No plan says how long it is: common practice, no source. */
export const DROPOUT_SECONDS = 0.01;

/**
 * Near 1 kHz, and no part of it repeats after a whole number of milliseconds: at 1 kHz itself a packet of 48 samples is one
 * whole period, and nobody would hear that it is gone. 997 Hz is what AES17 measures with (from memory).
 */
export const TONE_HZ = 997;

/** A voice's lower range; its twelve harmonics weighed by two broad resonances, near those of an open vowel. */
const VOICE_HZ = 110;
const RESONANCES = [
  { hz: 650, widthHz: 220, weight: 1 },
  { hz: 1100, widthHz: 260, weight: 0.6 },
] as const;
/** Syllables a second. */
const SYLLABLE_HZ = 3;

export const LOOPS = ["tone", "voice"] as const;
export type Loop = (typeof LOOPS)[number];

const made = new Map<string, Float32Array>();

/** One second, after which it goes on from its beginning without a seam: all its frequencies are whole numbers of hertz. */
export function loopSamples(loop: Loop, sampleRateHz: number): Float32Array {
  const key = `${loop} ${sampleRateHz}`;
  const samples = made.get(key) ?? makeLoop(loop, sampleRateHz);
  made.set(key, samples);
  return samples;
}

function makeLoop(loop: Loop, sampleRateHz: number): Float32Array {
  const samples = new Float32Array(sampleRateHz);
  const partials = loop === "tone" ? [{ hz: TONE_HZ, weight: 1 }] : voicePartials();
  for (const { hz, weight } of partials) {
    if (hz >= sampleRateHz / 2) continue;
    for (let index = 0; index < sampleRateHz; index += 1)
      samples[index]! += weight * Math.sin((2 * Math.PI * hz * index) / sampleRateHz);
  }
  // The level is set where the sound is loudest, before the syllables, and low enough to hold over any 50 ms of it.
  const scale = (0.96 * RMS_MOST) / rms(samples);
  for (let index = 0; index < sampleRateHz; index += 1) {
    const swell = loop === "tone" ? 1 : 0.65 - 0.35 * Math.cos((2 * Math.PI * SYLLABLE_HZ * index) / sampleRateHz);
    samples[index]! *= scale * swell;
  }
  return samples;
}

function voicePartials(): readonly { hz: number; weight: number }[] {
  return Array.from({ length: 12 }, (_, index) => {
    const hz = VOICE_HZ * (index + 1);
    const bells = RESONANCES.map(({ hz: middle, widthHz, weight }) => weight / (1 + ((hz - middle) / widthHz) ** 2));
    return { hz, weight: 0.08 + bells.reduce((sum, each) => sum + each, 0) };
  });
}

export function rms(samples: Float32Array): number {
  let sum = 0;
  for (const sample of samples) sum += sample * sample;
  return Math.sqrt(sum / Math.max(samples.length, 1));
}

/** The sound of it, one channel at the rig's sample rate. */
export function rendered(carried: Carried, loop: Loop): Float32Array<ArrayBuffer> {
  const { sampleRateHz, fromSeconds, seconds, slips, silences, jumps } = carried;
  const count = Math.round(seconds * sampleRateHz);
  const source = loopSamples(loop, sampleRateHz);
  const samples = new Float32Array(count);
  /** The first sample at or after an instant. */
  const placeOf = (atSeconds: number) => Math.ceil((atSeconds - fromSeconds) * sampleRateHz - 1e-6);
  /** Where the sender's samples are read, from one slip to the next. */
  let at = 0;
  let index = 0;
  const readUpTo = (end: number) => {
    for (; index < end; index += 1) {
      samples[index] = source[at]!;
      at = at + 1 === sampleRateHz ? 0 : at + 1;
    }
  };
  for (const { atSeconds, samples: skipped } of slips) {
    readUpTo(Math.min(placeOf(atSeconds), count));
    at = (((at + skipped) % sampleRateHz) + sampleRateHz) % sampleRateHz;
  }
  readUpTo(count);
  const scale = (from: number, to: number, gainAt: (index: number) => number) => {
    for (let index = Math.max(0, from); index < Math.min(count, to); index += 1) samples[index]! *= gainAt(index);
  };
  for (const { fromSeconds: start, toSeconds: end, fadeSeconds } of silences) {
    scale(placeOf(start), placeOf(end), () => 0);
    const [first, fade] = [placeOf(end), Math.round(fadeSeconds * sampleRateHz)];
    scale(first, first + fade, (index) => (index - first) / fade);
  }
  for (const at of jumps) scale(placeOf(at), placeOf(at + DROPOUT_SECONDS), () => 0);
  const edge = Math.min(Math.round(EDGE_SECONDS * sampleRateHz), Math.floor(count / 2));
  scale(0, edge, (index) => index / edge);
  scale(count - edge, count, (index) => (count - 1 - index) / edge);
  return samples;
}
