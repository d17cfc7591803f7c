/**
 * Runs that share their past: the show as planned is played once, and each trial goes on from a moment of it. What a
 * trial finds is what it would find played from the beginning, row by row.
 */
import type { Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import type { Engine, Moment } from "../engine.ts";
import { startEngine } from "../engine.ts";
import { powerChanges } from "../lives.ts";
import { buildRig, portsListenedTo, type Rig } from "../rig.ts";
import { worldOf } from "../world.ts";

export class Past {
  private readonly rig: Rig;
  private engine: Engine;
  private playedNs = -1;
  private readonly moments = new Map<Ns, Moment>();
  private readonly power: readonly string[];
  private readonly ports: readonly string[];

  constructor(plan: Plan) {
    this.rig = buildRig(plan);
    this.engine = startEngine(this.rig);
    this.power = powerOf(plan);
    this.ports = portsOf(plan);
  }

  /** The rows of the show itself up to `untilNs`. */
  playedOn(atNs: Ns, untilNs: Ns): readonly Row[] {
    return startEngine(this.rig, this.momentBefore(atNs)).finish(untilNs);
  }

  /**
   * The rows of another plan, which differs from this one by events at `atNs` or later.
   *
   * Nothing but the events is set up anew, unless somebody loses power (another life of an oscillator begins) or listens
   * to a port that nobody listened to: then the rig is another one, and in the second case so is the past.
   */
  playOtherwise(plan: Plan, atNs: Ns, untilNs: Ns): readonly Row[] {
    if (!areSame(this.ports, portsOf(plan))) return startEngine(buildRig(plan)).finish(untilNs);
    const hasSameLives = areSame(this.power, powerOf(plan));
    const { slots, cables } = this.rig;
    const rig = hasSameLives ? { ...this.rig, world: worldOf(plan, slots, cables) } : buildRig(plan);
    return startEngine(rig, this.momentBefore(atNs)).finish(untilNs);
  }

  /** Everything up to the instant before. Played anew where somebody asks for an earlier moment than before. */
  private momentBefore(atNs: Ns): Moment {
    const known = this.moments.get(atNs);
    if (known !== undefined) return known;
    const before = (atNs - 1) as Ns;
    if (this.playedNs > before) {
      this.engine = startEngine(this.rig);
      this.playedNs = -1;
    }
    if (before >= 0) this.engine.playTo(before);
    this.playedNs = before;
    const moment = this.engine.moment();
    this.moments.set(atNs, moment);
    return moment;
  }
}

function powerOf(plan: Plan): string[] {
  return plan.devices.flatMap((device) =>
    powerChanges(plan, device).map(({ atNs, on }) => `${device.id} ${atNs} ${on}`),
  );
}

function portsOf(plan: Plan): string[] {
  return plan.devices.map((device) => [...portsListenedTo(plan, device)].sort((a, b) => a - b).join(","));
}

function areSame(one: readonly string[], other: readonly string[]): boolean {
  return one.length === other.length && one.every((each, index) => each === other[index]);
}
