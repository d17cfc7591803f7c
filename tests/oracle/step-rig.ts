/**
 * The slow oracle: a whole rig in fixed steps.
 *
 * Each step: the world's events, then everything that follows at once (`rig.ts`), then all phases and integrators
 * together by the classical Runge-Kutta rule, with the oscillators' own phases in exact integrals. A step also ends at
 * an event, so that no event is late, and at a knot of wander, where slopes change; timers and windows are seen at the first step that finds them past. With the
 * fastest loop of live gear (10 Hz, ω = 63/s) a step of 1 ms is 0.06/ω: the rule's error is some 1e-7 of a transient.
 * The clip of a control makes a corner inside a step; what that costs is below the step times the rate's change in it.
 */
import type { Plan, PortRef } from "../../shared/plan.ts";
import type { DeviceState, LinkClock, LinkState } from "../../shared/record.ts";
import type { SlipSeen } from "./fifo.ts";
import { runFifo } from "./fifo.ts";
import { ownPhaseGained, passTime } from "./oscillator.ts";
import type { Rig, RigOptions } from "./rig.ts";
import {
  arriving,
  buildRig,
  clip,
  closedBy,
  naturalRadians,
  nextEventNs,
  noteSteering,
  playEvents,
  refreshRates,
  settleInstant,
} from "./rig.ts";

export interface StepOptions extends RigOptions {
  readonly stepSeconds: number;
  /** The plan's length if left out. */
  readonly untilSeconds?: number | undefined;
  /** Instants at which to look at all phases. Looking changes nothing. */
  readonly phasesAt?: readonly number[] | undefined;
}

export interface OracleRun {
  readonly untilSeconds: number;
  readonly devices: readonly OracleDevice[];
  readonly cables: readonly OracleCable[];
  readonly receivers: readonly OracleReceiver[];
  readonly looks: readonly OracleLook[];
}

export interface OracleDevice {
  readonly id: string;
  /** Equal neighbours merged, stretches of no length left out. */
  readonly states: readonly {
    readonly state: DeviceState;
    readonly source: string | null;
    readonly fromSeconds: number;
    readonly toSeconds: number;
  }[];
  readonly realigned: readonly { readonly atSeconds: number; readonly bySeconds: number }[];
  readonly wrapped: readonly { readonly atSeconds: number; readonly samples: number }[];
  /** How long a closed loop's control has been at a stop, in all. */
  readonly stoppedSeconds: number;
  /** At the end; null when off. */
  readonly phaseSeconds: number | null;
  /** Fractional frequency of what leaves at the end, against nominal; null when off. */
  readonly fractionalOffset: number | null;
}

export interface OracleCable {
  readonly link: string;
  readonly way: "there" | "back" | "both";
  readonly states: readonly {
    readonly state: LinkState;
    readonly clock: LinkClock;
    readonly fromSeconds: number;
    readonly toSeconds: number;
  }[];
}

/** One receiving port end of a link. */
export interface OracleReceiver {
  readonly link: string;
  readonly way: "there" | "back";
  readonly port: PortRef;
  readonly drops: number;
  readonly repeats: number;
  readonly slips: readonly SlipSeen[];
}

/** By device id; null while off. */
export interface OracleLook {
  readonly atSeconds: number;
  readonly phaseSeconds: ReadonlyMap<string, number | null>;
  readonly fractionalOffset: ReadonlyMap<string, number | null>;
}

/** Plays a plan in steps of `stepSeconds` (or shorter, up to an event or a knot). Throws on offsets not given. */
export function stepRig(plan: Plan, options: StepOptions): OracleRun {
  const rig = buildRig(plan, options);
  const endNs = options.untilSeconds === undefined ? plan.lengthNs : Math.round(options.untilSeconds * 1e9);
  const askedNs = (options.phasesAt ?? []).map((seconds) => Math.round(seconds * 1e9)).sort((a, b) => a - b);
  const looks: OracleLook[] = [];
  const lookUntil = (fromNs: number, beforeNs: number): void => {
    while (askedNs.length > looks.length && (askedNs[looks.length] as number) < beforeNs) {
      looks.push(look(rig, fromNs, askedNs[looks.length] as number));
    }
  };
  let nowNs = 0;
  for (let step = 1; ; ) {
    playEvents(rig, nowNs);
    settleInstant(rig, nowNs);
    if (nowNs >= endNs) break;
    const gridNs = Math.round(step * options.stepSeconds * 1e9);
    const nextNs = Math.min(gridNs, nextEventNs(rig), nextKnotNs(rig, nowNs), endNs);
    if (nextNs === gridNs) step += 1;
    lookUntil(nowNs, nextNs);
    goOn(rig, nowNs, nextNs);
    nowNs = nextNs;
  }
  lookUntil(nowNs, nowNs + 1);
  return tell(rig, endNs, looks);
}

function nextKnotNs({ plan }: Rig, nowNs: number): number {
  if (plan.devices.every(({ oscillator }) => oscillator.wander === null)) return Number.POSITIVE_INFINITY;
  const gridNs = Math.round(plan.wanderGridSeconds * 1e9);
  return (Math.floor(nowNs / gridNs) + 1) * gridNs;
}

interface Course {
  readonly phases: readonly number[];
  readonly integrators: readonly number[];
}

/** Phases and integrators of all devices at a later instant, no decision between. Changes nothing. */
function integrate(rig: Rig, fromNs: number, toNs: number): Course {
  const from = fromNs / 1e9;
  const seconds = (toNs - fromNs) / 1e9;
  const { devices } = rig;
  const loops = devices.map((device) => closedBy(device));

  /** Slopes of what the control adds to each phase, and of each integrator. */
  const slopes = (at: Course): Course => {
    const controls: number[] = [];
    const climbs: number[] = [];
    devices.forEach((device, n) => {
      const wire = loops[n];
      const integrator = at.integrators[n] as number;
      if (device.state === "off" || !wire) {
        controls.push(device.state === "off" ? 0 : integrator);
        climbs.push(0);
        return;
      }
      const sender = wire.sender.device;
      const arrivingPhase = (at.phases[sender.index] as number) - wire.delaySeconds * (1 + sender.rate);
      const error = arrivingPhase - (at.phases[n] as number) - device.periodsOff * device.periodSeconds;
      const omega = naturalRadians(device);
      const steering = device.plan.steeringPpm * 1e-6;
      controls.push(clip(2 * device.plan.loop.damping * omega * error + integrator, steering));
      const atStop = Math.abs(integrator) >= steering && Math.sign(integrator) === Math.sign(error);
      climbs.push(atStop ? 0 : omega * omega * error);
    });
    return { phases: controls, integrators: climbs };
  };

  const begin: Course = {
    phases: devices.map((device) => device.phaseSeconds),
    integrators: devices.map((device) => device.integrator),
  };
  /** The beginning, plus the oscillators' own exact gain, plus a stretch of the given slopes. */
  const after = (gone: number, slope: Course): Course => ({
    phases: devices.map((device, n) => {
      const own = device.state === "off" ? 0 : ownPhaseGained(device.oscillator, from, from + gone);
      return (begin.phases[n] as number) + own + gone * (slope.phases[n] as number);
    }),
    integrators: devices.map((_, n) => (begin.integrators[n] as number) + gone * (slope.integrators[n] as number)),
  });
  const k1 = slopes(begin);
  const k2 = slopes(after(seconds / 2, k1));
  const k3 = slopes(after(seconds / 2, k2));
  const k4 = slopes(after(seconds, k3));
  const mean = (kind: keyof Course): number[] =>
    devices.map(
      (_, n) =>
        ((k1[kind][n] as number) +
          2 * (k2[kind][n] as number) +
          2 * (k3[kind][n] as number) +
          (k4[kind][n] as number)) /
        6,
    );
  const end = after(seconds, { phases: mean("phases"), integrators: mean("integrators") });
  return {
    phases: end.phases,
    integrators: devices.map((device, n) => clip(end.integrators[n] as number, device.plan.steeringPpm * 1e-6)),
  };
}

function goOn(rig: Rig, fromNs: number, toNs: number): void {
  const seconds = (toNs - fromNs) / 1e9;
  const before = rig.wires.map((wire) => ({ sent: arriving(wire), own: wire.receiver.device.phaseSeconds }));
  const course = integrate(rig, fromNs, toNs);
  for (const device of rig.devices) {
    const gained = (course.phases[device.index] as number) - device.phaseSeconds;
    noteSteering(device, fromNs, toNs, gained - ownPhaseGained(device.oscillator, fromNs / 1e9, toNs / 1e9));
  }
  adopt(rig, course);
  for (const device of rig.devices) passTime(device.oscillator, seconds, device.state !== "off");
  refreshRates(rig, toNs);
  rig.wires.forEach((wire, n) => {
    if (!wire.fifo) return;
    const { sent, own } = before[n] as { sent: number; own: number };
    const receiver = wire.receiver.device;
    const { sampleRateHz } = receiver.plan;
    const stretch = {
      fromSeconds: fromNs / 1e9,
      seconds,
      writerCounts: sampleRateHz * (seconds + arriving(wire) - sent),
      readerCounts: sampleRateHz * (seconds + receiver.phaseSeconds - own),
    };
    runFifo(wire.fifo, stretch, ({ atSeconds, sign }) => {
      wire.slips.push({ atSeconds, sign: rig.mistake === "slip-sign" ? (sign === 1 ? -1 : 1) : sign });
    });
  });
}

function adopt(rig: Rig, course: Course): void {
  for (const device of rig.devices) {
    device.phaseSeconds = course.phases[device.index] as number;
    device.integrator = course.integrators[device.index] as number;
  }
}

/** Goes to the instant asked for, reads, and puts everything back. */
function look(rig: Rig, fromNs: number, atNs: number): OracleLook {
  const before = rig.devices.map((device) => ({
    phaseSeconds: device.phaseSeconds,
    integrator: device.integrator,
    rate: device.rate,
    warmUpLeft: device.oscillator.warmUpLeft,
  }));
  adopt(rig, integrate(rig, fromNs, atNs));
  for (const device of rig.devices) passTime(device.oscillator, (atNs - fromNs) / 1e9, device.state !== "off");
  refreshRates(rig, atNs);
  const read = (value: "phaseSeconds" | "rate"): Map<string, number | null> =>
    new Map(rig.devices.map((device) => [device.plan.id, device.state === "off" ? null : device[value]]));
  const seen = { atSeconds: atNs / 1e9, phaseSeconds: read("phaseSeconds"), fractionalOffset: read("rate") };
  rig.devices.forEach((device, n) => {
    const { warmUpLeft, ...rest } = before[n] as (typeof before)[number];
    Object.assign(device, rest);
    device.oscillator.warmUpLeft = warmUpLeft;
  });
  return seen;
}

function tell(rig: Rig, endNs: number, looks: readonly OracleLook[]): OracleRun {
  /** Turns "from now on" into stretches. */
  const stretches = <Kind extends { readonly atNs: number }>(rows: readonly Kind[]) =>
    rows
      .map(({ atNs, ...what }, n) => ({
        ...what,
        fromSeconds: atNs / 1e9,
        toSeconds: (rows[n + 1]?.atNs ?? endNs) / 1e9,
      }))
      .filter(({ fromSeconds, toSeconds }) => toSeconds > fromSeconds);
  return {
    untilSeconds: endNs / 1e9,
    devices: rig.devices.map((device) => ({
      id: device.plan.id,
      states: stretches(device.states),
      realigned: device.realigned.map(({ atNs, bySeconds }) => ({ atSeconds: atNs / 1e9, bySeconds })),
      stoppedSeconds: device.stoppedSeconds,
      wrapped: device.wrapped.map(({ atNs, samples }) => ({ atSeconds: atNs / 1e9, samples })),
      phaseSeconds: device.state === "off" ? null : device.phaseSeconds,
      fractionalOffset: device.state === "off" ? null : device.rate,
    })),
    cables: rig.cables.map((cable) => ({ link: cable.link.id, way: cable.way, states: stretches(cable.states) })),
    receivers: rig.wires.map((wire) => {
      const drops = wire.slips.filter((slip) => slip.sign === 1).length;
      return {
        link: wire.cable.link.id,
        way: wire.way,
        port: { device: wire.receiver.device.plan.id, port: wire.receiver.port },
        drops,
        repeats: wire.slips.length - drops,
        slips: wire.slips,
      };
    }),
    looks,
  };
}
