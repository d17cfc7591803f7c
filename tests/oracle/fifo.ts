/**
 * A buffer that counts whole samples with two pointers. It knows no formula for its fill.
 *
 * The sender's clock writes one sample whenever its count passes a whole number, the receiver's clock reads one
 * whenever its own does; both counts begin at 0 when the buffer starts, with `startSamples` in it. A write that finds
 * no room makes the reader skip `slipSamples` (a drop); a read that finds nothing makes it go back by as many (a
 * repeat). Looked at that way, and only that way, whole samples tell the truth about fractions: between a write and
 * the next read the number inside is up to one higher than the real fill, after the read up to one lower, but a *full*
 * buffer at a write means that the sender has gained more than `depth − start` samples, an *empty* one at a read that
 * it has lost more than `start`. A slip is therefore seen at the first tick after the crossing: at most one sample
 * period late, never early.
 */

export interface BufferSizes {
  readonly slipSamples: number;
  readonly depthSamples: number;
  readonly startSamples: number;
}

/** sign 1: a drop, −1: a repeat. */
export interface SlipSeen {
  readonly atSeconds: number;
  readonly sign: 1 | -1;
}

export interface Fifo {
  readonly sizes: BufferSizes;
  /** Pointers: whole samples since the buffer started. Inside are `written − read`. */
  written: number;
  read: number;
  /** Parts of a sample that the two clocks have counted since their last tick. */
  writerPart: number;
  readerPart: number;
}

export function startFifo(sizes: BufferSizes): Fifo {
  return { sizes, written: sizes.startSamples, read: 0, writerPart: 0, readerPart: 0 };
}

/**
 * Lets both clocks count on: `writerCounts` and `readerCounts` are samples (with fractions) over the stretch, each
 * clock even within it. Ticks are served in the order in which they fall.
 */
export function runFifo(
  fifo: Fifo,
  stretch: {
    readonly fromSeconds: number;
    readonly seconds: number;
    readonly writerCounts: number;
    readonly readerCounts: number;
  },
  slipped: (slip: SlipSeen) => void,
): void {
  const { slipSamples, depthSamples } = fifo.sizes;
  const { writerCounts, readerCounts } = stretch;
  fifo.writerPart += writerCounts;
  fifo.readerPart += readerCounts;
  while (fifo.writerPart >= 1 || fifo.readerPart >= 1) {
    // How long ago a clock passed its next whole number, as a share of the stretch: the longer ago comes first.
    const sinceWrite = (fifo.writerPart - 1) / writerCounts;
    const sinceRead = (fifo.readerPart - 1) / readerCounts;
    if (sinceWrite >= sinceRead) {
      fifo.writerPart -= 1;
      if (fifo.written - fifo.read >= depthSamples) {
        fifo.read += slipSamples;
        slipped({ atSeconds: stretch.fromSeconds + (1 - sinceWrite) * stretch.seconds, sign: 1 });
      }
      fifo.written += 1;
    } else {
      fifo.readerPart -= 1;
      if (fifo.written - fifo.read <= 0) {
        fifo.read -= slipSamples;
        slipped({ atSeconds: stretch.fromSeconds + (1 - sinceRead) * stretch.seconds, sign: -1 });
      }
      fifo.read += 1;
    }
  }
}

export interface SlipCount {
  readonly drops: number;
  readonly repeats: number;
  readonly slips: readonly SlipSeen[];
  /** Whole samples inside at the end; the real fill is less than one sample away. */
  readonly insideSamples: number;
}

/**
 * Slips between two clocks given as phase functions x(t), seconds ahead of true time: law 7's witness. The buffer
 * starts at `fromSeconds`. One step is one nominal sample period.
 *
 * @example
 * // 10 ppm at 48 kHz gain 0.48 samples a second: a drop every 2.0833 s
 * countSlips((t) => 10e-6 * t, () => 0, { sampleRateHz: 48_000, delaySeconds: 0, slipSamples: 1, depthSamples: 2,
 *   startSamples: 1, fromSeconds: 0, untilSeconds: 7 }).drops // => 3
 */
export function countSlips(
  senderPhaseSeconds: (atSeconds: number) => number,
  receiverPhaseSeconds: (atSeconds: number) => number,
  setting: BufferSizes & {
    readonly sampleRateHz: number;
    readonly delaySeconds: number;
    readonly fromSeconds: number;
    readonly untilSeconds: number;
  },
): SlipCount {
  const { sampleRateHz, delaySeconds, fromSeconds, untilSeconds } = setting;
  const fifo = startFifo(setting);
  const slips: SlipSeen[] = [];
  const steps = Math.ceil((untilSeconds - fromSeconds) * sampleRateHz);
  let before = fromSeconds;
  let sentBefore = senderPhaseSeconds(before - delaySeconds);
  let ownBefore = receiverPhaseSeconds(before);
  for (let step = 1; step <= steps; step += 1) {
    const now = Math.min(fromSeconds + step / sampleRateHz, untilSeconds);
    const sent = senderPhaseSeconds(now - delaySeconds);
    const own = receiverPhaseSeconds(now);
    const seconds = now - before;
    runFifo(
      fifo,
      {
        fromSeconds: before,
        seconds,
        writerCounts: sampleRateHz * (seconds + sent - sentBefore),
        readerCounts: sampleRateHz * (seconds + own - ownBefore),
      },
      (slip) => slips.push(slip),
    );
    [before, sentBefore, ownBefore] = [now, sent, own];
  }
  const drops = slips.filter((slip) => slip.sign === 1).length;
  return { drops, repeats: slips.length - drops, slips, insideSamples: fifo.written - fifo.read };
}
