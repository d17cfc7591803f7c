/**
 * A phase-locked loop with a sinusoidal detector, as an ordinary differential equation: model (15) of Kuznetsov et
 * al., arXiv:1705.05013:
 *
 *   θ' = ω − K·(x + (τ2/τ1)·sin θ),   x' = sin θ / τ1
 *
 * The devices of the rig have a phase-frequency detector, so nothing in the simulator can reproduce published rows
 * for this one. They judge the oracle's own way of integrating: for small θ the same loop is the rig's, with
 * ωn² = K/τ1 and 2ζωn = K·τ2/τ1.
 */

export interface SinusoidalLoop {
  readonly gain: number;
  readonly tau1: number;
  readonly tau2: number;
  /** Frequency step at time 0, rad/s. */
  readonly offset: number;
}

export interface LoopPoint {
  readonly at: number;
  readonly theta: number;
  readonly x: number;
}

/** Plays the loop from (θ, x) = (0, 0) by the classical Runge-Kutta rule; calls `look` after every step. */
export function playSinusoidalLoop(
  loop: SinusoidalLoop,
  run: { readonly until: number; readonly step: number },
  look: (point: LoopPoint) => void,
): void {
  const slopes = (theta: number, x: number): readonly [number, number] => [
    loop.offset - loop.gain * (x + (loop.tau2 / loop.tau1) * Math.sin(theta)),
    Math.sin(theta) / loop.tau1,
  ];
  const h = run.step;
  let theta = 0;
  let x = 0;
  for (let n = 1; n * h <= run.until + h / 2; n += 1) {
    const [theta1, x1] = slopes(theta, x);
    const [theta2, x2] = slopes(theta + (h / 2) * theta1, x + (h / 2) * x1);
    const [theta3, x3] = slopes(theta + (h / 2) * theta2, x + (h / 2) * x2);
    const [theta4, x4] = slopes(theta + h * theta3, x + h * x3);
    theta += (h / 6) * (theta1 + 2 * theta2 + 2 * theta3 + theta4);
    x += (h / 6) * (x1 + 2 * x2 + 2 * x3 + x4);
    look({ at: n * h, theta, x });
  }
}

/** The loop with ωn = 1 and the damping asked for. */
export function unitLoop(damping: number, offset: number): SinusoidalLoop {
  return { gain: 1, tau1: 1, tau2: 2 * damping, offset };
}

/** A slip: θ goes over the top of the sine, at π, 3π, 5π, ... Their instants. */
export function cycleSlips(
  loop: SinusoidalLoop,
  run: { readonly until: number; readonly step: number },
): readonly number[] {
  const slips: number[] = [];
  playSinusoidalLoop(loop, run, ({ at, theta }) => {
    if (theta > (2 * slips.length + 1) * Math.PI) slips.push(at);
  });
  return slips;
}

/** Largest frequency step (rad/s, ωn = 1) after which the loop comes back without a slip, by halving. */
export function pullOut(damping: number): number {
  let holds = 0;
  let slips = 10;
  while (slips - holds > 1e-6) {
    const offset = (holds + slips) / 2;
    if (cycleSlips(unitLoop(damping, offset), { until: 40, step: 0.005 }).length > 0) slips = offset;
    else holds = offset;
  }
  return holds;
}
