/**
 * How far a device's clock may be from the truth, as a bound that is carried along.
 *
 * In a closed loop two things add up: what arrives may be off by a bound (the loop's L1 norm passes it on, as phase to
 * what leaves and as frequency to the integrator), and the loop may have begun off by something, which dies away as any
 * transient does. In an open loop the phase keeps what it was off by, and grows with what the kept control is off by:
 * that is what a holdover costs.
 */
import { ringShrink } from "../../shared/motion.ts";
import type { Ns } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import type { LoopShape } from "../loop.ts";
import { carriedTo, pointAt, startCourse, transientBounds } from "../loop.ts";
import { PIECE_SHARE } from "../quantum.ts";
import type { DeviceNumbers, Drive, LoopDrive } from "./state.ts";

/** Bounds of what phase (s) and control (fractional frequency) are off by as a drive begins. */
export interface Doubt {
  readonly phaseSeconds: number;
  readonly rate: number;
}

export const NO_DOUBT: Doubt = { phaseSeconds: 0, rate: 0 };

/**
 * L1 norm of the response of the integrator to the phase that arrives, per second: H_i(s) = ω²s/(s² + 2ζωs + ω²). Its
 * step response is ω² times the impulse response of the loop: up to one peak and back, in ever smaller rings if ζ < 1.
 */
export function integratorNorm(shape: LoopShape): number {
  const { zeta, omega2, impulsePeakSeconds } = shape;
  const shrink = ringShrink(zeta);
  return (2 * omega2 * impulsePeakSeconds) / (1 - shrink);
}

/** What the pieces of two timebases may leave out between them: nothing, unless one of them warms up. */
function leftOutByPieces(n: DeviceNumbers, life: number, drive: LoopDrive, now: Ns): number {
  const within = n.quantumSeconds * PIECE_SHARE;
  const isExact = [life, drive.reference.timebase].every((id) => {
    const timebase = n.timebases[id] as Timebase;
    return timebase.pieceAt(now, 0).untilNs === timebase.pieceAt(now, within).untilNs;
  });
  return isExact ? 0 : 2 * within;
}

/** Of a closed loop, now: the phase that leaves, and the integrator. */
export function doubtInLoop(n: DeviceNumbers, life: number, drive: LoopDrive, now: Ns): Doubt {
  const { shape } = n;
  const withinSeconds = drive.reference.withinSeconds + leftOutByPieces(n, life, drive, now);
  const phase = shape.l1Norm * withinSeconds;
  const rate = integratorNorm(shape) * withinSeconds;
  const { beganAtNs, began } = drive;
  if (began.phaseSeconds === 0 && began.rate === 0) return { phaseSeconds: phase, rate };
  if (began.phaseSeconds === Number.POSITIVE_INFINITY)
    return { phaseSeconds: Number.POSITIVE_INFINITY, rate: Number.POSITIVE_INFINITY };
  // The sign of neither is known: each dies away for itself.
  const stop = Number.POSITIVE_INFINITY;
  const ofPhase = carriedTo(
    shape,
    startCourse(shape, beganAtNs, { error: began.phaseSeconds, integrator: 0, need: 0, needPerSecond: 0, stop }),
    now,
  );
  const ofRate = carriedTo(
    shape,
    startCourse(shape, beganAtNs, { error: 0, integrator: began.rate, need: 0, needPerSecond: 0, stop }),
    now,
  );
  return {
    phaseSeconds: phase + transientBounds(shape, ofPhase).phase + transientBounds(shape, ofRate).phase,
    rate: rate + Math.abs(pointAt(shape, ofPhase, now).integrator) + Math.abs(pointAt(shape, ofRate, now).integrator),
  };
}

/** Of whatever drives a device now; what was told may add a quantum to it. */
export function doubtOf(n: DeviceNumbers, life: number, drive: Drive, now: Ns): Doubt {
  if (drive.kind === "loop") return doubtInLoop(n, life, drive, now);
  return drive.kind === "own" ? { phaseSeconds: drive.flow.withinSeconds, rate: drive.doubtRate } : NO_DOUBT;
}
