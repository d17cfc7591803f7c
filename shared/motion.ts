/**
 * The free motion of a damped second-order system, z'' + 2ζω·z' + ω²·z = 0: what is left to itself in a loop, and what
 * carries wander through it from knot to knot.
 */
import { cos, exp, PI, sin } from "./maths.ts";

export interface Ringing {
  /** Natural frequency, rad/s. */
  readonly omega: number;
  readonly zeta: number;
  readonly omega2: number;
  readonly twoZetaOmega: number;
  /** ω·√|1 − ζ²|, rad/s: of the ringing (ζ < 1) or of the split (ζ > 1). */
  readonly split: number;
}

/** Below this, sin x / x and sinh x / x come from their series: the two roots are as good as one. */
export const NEARLY_CRITICAL = 1e-3;

/** How much smaller each half ring is than the one before: e^(−ζπ/√(1 − ζ²)); 0 where nothing rings. */
export function ringShrink(zeta: number): number {
  return zeta < 1 ? exp((-zeta * PI) / Math.sqrt(1 - zeta * zeta)) : 0;
}

/** z and z' after τ seconds. */
export function motionAt(shape: Ringing, z0: number, v0: number, tau: number): { z: number; v: number } {
  const { omega, zeta, split } = shape;
  const decay = zeta * omega;
  const angle = split * tau;
  let even: number; // e^(−ζωτ)·cos or cosh
  let odd: number; // e^(−ζωτ)·sin or sinh, over the split
  if (angle < NEARLY_CRITICAL) {
    const fading = exp(-decay * tau);
    const sign = zeta < 1 ? -1 : 1;
    const square = sign * angle * angle;
    even = fading * (1 + square / 2);
    odd = fading * tau * (1 + square / 6);
  } else if (zeta < 1) {
    const fading = exp(-decay * tau);
    even = fading * cos(angle);
    odd = (fading * sin(angle)) / split;
  } else {
    const slow = exp((split - decay) * tau);
    const fast = exp(-(split + decay) * tau);
    even = 0.5 * (slow + fast);
    odd = (0.5 * (slow - fast)) / split;
  }
  return {
    z: z0 * even + (v0 + decay * z0) * odd,
    v: v0 * even - (shape.omega2 * z0 + decay * v0) * odd,
  };
}
