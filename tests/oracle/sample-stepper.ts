/**
 * The same rig, stepped sample by sample: the yardstick of the bench, and a second witness for the oracle.
 *
 * Plain loops over typed arrays, as one would write them if one wanted every sample: each sample period every device's
 * loop and phase moves on, and every buffer's fill moves by what its two clocks counted and is held against both ends
 * (not with two pointers: that costs three times as much, and the yardstick should not be slower than it need be).
 * What a device *decides* (`rig.ts`) is looked at every 5 ms, not every sample: that favours this stepper as well, so
 * a ratio against it claims too little rather than too much. Between two looks an oscillator's own frequency is that
 * of their middle, wander's slope included. Slips are counted, not listed. All devices must run at the rig's
 * rate, since there is one sample to step by.
 */
import type { Plan } from "../../shared/plan.ts";
import { ownRateAt, passTime } from "./oscillator.ts";
import type { Rig, RigOptions, Wire } from "./rig.ts";
import { buildRig, closedBy, naturalRadians, playEvents, refreshRates, settleInstant } from "./rig.ts";

export interface SampleStepper {
  /** Goes on by so many samples of the rig's rate. */
  run(samples: number): void;
  readonly samplesDone: number;
  /** Slips so far; one entry per wire with a way, in the order of the plan's links. */
  slips(): readonly {
    readonly link: string;
    readonly way: "there" | "back";
    readonly drops: number;
    readonly repeats: number;
  }[];
  /** Every device: phase now, state as of the last look. */
  devices(): readonly { readonly id: string; readonly state: string; readonly phaseSeconds: number }[];
}

/** Half a usual reaction time between looks; looking each millisecond costs half as much again. */
const LOOKS_PER_SECOND = 200;
const NO_BUFFER = { startSamples: 1, depthSamples: 2, slipSamples: 1 };

export function makeSampleStepper(plan: Plan, options: RigOptions = {}): SampleStepper {
  const rig = buildRig(plan, options);
  const { sampleRateHz } = plan;
  const odd = plan.devices.find((device) => device.sampleRateHz !== sampleRateHz);
  if (odd) throw new Error(`${odd.id}: runs at ${odd.sampleRateHz} Hz; the stepper has one rate, ${sampleRateHz} Hz`);
  const samplesPerLook = Math.round(sampleRateHz / LOOKS_PER_SECOND);
  const lanes = makeLanes(rig);
  let done = 0;
  const atNs = (samples: number): number => Math.round((samples * 1e9) / sampleRateHz);
  const lookAround = (): void => {
    const nowNs = atNs(done);
    if (done > 0) {
      bringBack(rig, lanes);
      for (const device of rig.devices) {
        passTime(device.oscillator, samplesPerLook / sampleRateHz, device.state !== "off");
      }
      refreshRates(rig, nowNs);
    }
    playEvents(rig, nowNs);
    settleInstant(rig, nowNs);
    takeOut(rig, lanes, (done + samplesPerLook / 2) / sampleRateHz);
  };
  return {
    run(samples) {
      for (let left = samples; left > 0; ) {
        const intoLook = done % samplesPerLook;
        if (intoLook === 0) lookAround();
        const now = Math.min(left, samplesPerLook - intoLook);
        stepSamples(lanes, now, 1 / sampleRateHz);
        done += now;
        left -= now;
      }
    },
    get samplesDone() {
      return done;
    },
    slips: () =>
      rig.wires.map(({ cable, way }, n) => ({
        link: cable.link.id,
        way,
        drops: lanes.drops[n] as number,
        repeats: lanes.repeats[n] as number,
      })),
    devices: () =>
      rig.devices.map(({ plan: { id }, state, index }) => ({ id, state, phaseSeconds: lanes.phase[index] as number })),
  };
}

/** One number per device, and one per wire. */
type Lanes = ReturnType<typeof makeLanes>;

function makeLanes(rig: Rig) {
  const numbers = (count: number) => new Float64Array(count);
  const devices = rig.devices.length;
  const wires = rig.wires.length;
  return {
    phase: numbers(devices),
    rate: numbers(devices),
    own: numbers(devices),
    integrator: numbers(devices),
    runs: new Uint8Array(devices),
    /** Index of the device followed, −1 in an open loop. */
    follows: new Int32Array(devices),
    delay: numbers(devices),
    leftOut: numbers(devices),
    proportionalGain: numbers(devices),
    integralGain: numbers(devices),
    steering: numbers(devices),
    /** The buffer that each wire's numbers were taken from; another one means that it started anew. */
    fifos: rig.wires.map((): Wire["fifo"] | undefined => undefined),
    writer: new Int32Array(wires),
    reader: new Int32Array(wires),
    fill: numbers(wires),
    depth: numbers(wires),
    slip: numbers(wires),
    drops: new Int32Array(wires),
    repeats: new Int32Array(wires),
  };
}

/** From the rig's objects to the arrays, after what was decided. */
function takeOut(rig: Rig, lanes: Lanes, middleSeconds: number): void {
  for (const device of rig.devices) {
    const n = device.index;
    const wire = closedBy(device);
    const omega = naturalRadians(device);
    lanes.runs[n] = device.state === "off" ? 0 : 1;
    lanes.phase[n] = device.phaseSeconds;
    lanes.rate[n] = device.rate;
    lanes.own[n] = ownRateAt(device.oscillator, middleSeconds);
    lanes.integrator[n] = device.integrator;
    lanes.follows[n] = wire ? wire.sender.device.index : -1;
    lanes.delay[n] = wire ? wire.delaySeconds : 0;
    lanes.leftOut[n] = device.periodsOff * device.periodSeconds;
    lanes.proportionalGain[n] = 2 * device.plan.loop.damping * omega;
    lanes.integralGain[n] = omega * omega;
    lanes.steering[n] = device.plan.steeringPpm * 1e-6;
  }
  rig.wires.forEach((wire, n) => {
    if (lanes.fifos[n] === wire.fifo) return;
    lanes.fifos[n] = wire.fifo;
    // No buffer: one that cannot move, between one clock and itself.
    const { startSamples, depthSamples, slipSamples } = wire.fifo?.sizes ?? NO_BUFFER;
    lanes.writer[n] = wire.sender.device.index;
    lanes.reader[n] = wire.fifo ? wire.receiver.device.index : wire.sender.device.index;
    lanes.fill[n] = startSamples;
    lanes.depth[n] = depthSamples;
    lanes.slip[n] = slipSamples;
  });
}

/** Back to the rig's objects, before deciding. Buffers stay in the arrays. */
function bringBack(rig: Rig, lanes: Lanes): void {
  for (const device of rig.devices) {
    device.phaseSeconds = lanes.phase[device.index] as number;
    device.integrator = lanes.integrator[device.index] as number;
  }
}

/** The loop that takes the time. `sampleSeconds`: one nominal sample period. */
function stepSamples(lanes: Lanes, samples: number, sampleSeconds: number): void {
  const { phase, rate, own, integrator, runs, follows, delay, leftOut, proportionalGain, integralGain, steering } =
    lanes;
  const { writer, reader, fill, depth, slip, drops, repeats } = lanes;
  const devices = phase.length;
  const buffers = fill.length;
  for (let sample = 0; sample < samples; sample += 1) {
    for (let n = 0; n < devices; n += 1) {
      if (runs[n] === 0) continue;
      const sender = follows[n]!;
      let control = integrator[n]!;
      if (sender >= 0) {
        const limit = steering[n]!;
        const error = phase[sender]! - delay[n]! * (1 + rate[sender]!) - phase[n]! - leftOut[n]!;
        integrator[n] = Math.min(Math.max(control + integralGain[n]! * error * sampleSeconds, -limit), limit);
        control = Math.min(Math.max(control + proportionalGain[n]! * error, -limit), limit);
      }
      rate[n] = own[n]! + control;
      phase[n] = phase[n]! + rate[n]! * sampleSeconds;
    }
    for (let n = 0; n < buffers; n += 1) {
      // In one sample period of true time the sender counts 1 + y samples, and the receiver as well.
      const inside = fill[n]! + rate[writer[n]!]! - rate[reader[n]!]!;
      fill[n] = inside;
      if (inside >= depth[n]!) {
        fill[n] = inside - slip[n]!;
        drops[n] = drops[n]! + 1;
      } else if (inside <= 0) {
        fill[n] = inside + slip[n]!;
        repeats[n] = repeats[n]! + 1;
      }
    }
  }
}
