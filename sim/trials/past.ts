/**
 * Runs that share their past: the show as planned is played once, and each trial goes on from a moment of it. What a
 * trial finds is what it would find played from the beginning, row by row.
 */
import type { DevicePlan, Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import type { Engine, Moment } from "../engine.ts";
import { startEngine } from "../engine.ts";
import { powerChanges, sourcesChanges } from "../lives.ts";
import { buildRig, portsListenedTo, type Rig, refill, relived } from "../rig.ts";
import { Fold, type Looks } from "../timeline.ts";
import { worldOf } from "../world.ts";

export class Past {
  private readonly rig: Rig;
  private readonly timebases: readonly Timebase[];
  private engine: Engine;
  private playedNs = -1;
  private readonly moments = new Map<Ns, Moment>();
  private readonly folds = new Map<Ns, Fold>();
  private readonly power: readonly string[];
  /** Of each device the ports that it listens to at some time. */
  private readonly ports: readonly string[];
  /** Devices that go on with the sources that they begin with. */
  private readonly steady: ReadonlySet<string>;

  constructor(plan: Plan) {
    this.rig = buildRig(plan);
    this.timebases = [...this.rig.timebases];
    this.engine = startEngine(this.rig);
    this.power = powerOf(plan);
    this.ports = plan.devices.map((device) => portsOf(plan, device));
    this.steady = new Set(plan.devices.filter((device) => isSteady(plan, device)).map(({ id }) => id));
  }

  /** The rows of the show itself up to `untilNs`. */
  playedOn(atNs: Ns, untilNs: Ns): readonly Row[] {
    return startEngine(this.rig, this.momentBefore(atNs)).finish(untilNs);
  }

  /**
   * The rows of another plan, which differs from this one by events at `atNs` or later.
   *
   * Nothing but the events is set up anew, and the devices of those who lose power (another life of an oscillator begins);
   * unless somebody listens to a port that nobody listened to: then the rig is another one, and so is the past.
   */
  playOtherwise(plan: Plan, atNs: Ns, untilNs: Ns): readonly Row[] {
    if (!this.hasPortsOf(plan)) return startEngine(buildRig(plan)).finish(untilNs);
    const moment = this.momentBefore(atNs);
    const rig = areSame(this.power, powerOf(plan)) ? this.rig : relived(this.rig, plan, atNs);
    return startEngine({ ...rig, world: worldOf(plan, rig.slots, rig.cables) }, moment).finish(untilNs);
  }

  /** The same two, folded: what the runs share is folded once. */
  looksOn(atNs: Ns, untilNs: Ns): Looks {
    return this.folded(atNs, this.playedOn(atNs, untilNs), untilNs);
  }

  looksOtherwise(plan: Plan, atNs: Ns, untilNs: Ns): Looks {
    return this.folded(atNs, this.playOtherwise(plan, atNs, untilNs), untilNs);
  }

  private hasPortsOf(plan: Plan): boolean {
    return plan.devices.every(
      (device, index) =>
        (this.steady.has(device.id) && isSteady(plan, device)) || portsOf(plan, device) === this.ports[index],
    );
  }

  private folded(atNs: Ns, rows: readonly Row[], untilNs: Ns): Looks {
    const shared = this.moments.get(atNs)?.rows ?? [];
    const last = shared.length - 1;
    // A rig of its own has a past of its own.
    if (last < 0 || rows[last] !== shared[last]) return new Fold().add(rows).looks(untilNs);
    const known = this.folds.get(atNs) ?? new Fold().add(shared);
    this.folds.set(atNs, known);
    return new Fold(known).add(rows, shared.length).looks(untilNs);
  }

  /** Everything up to the instant before. Played anew where somebody asks for an earlier moment than before. */
  private momentBefore(atNs: Ns): Moment {
    // Whoever was played last may have left the list with other lives in it.
    refill(this.rig.timebases, this.timebases);
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

function portsOf(plan: Plan, device: DevicePlan): string {
  return [...portsListenedTo(plan, device)].sort((a, b) => a - b).join(",");
}

function isSteady(plan: Plan, device: DevicePlan): boolean {
  return sourcesChanges(plan, device).length === 0;
}

function areSame(one: readonly string[], other: readonly string[]): boolean {
  return one.length === other.length && one.every((each, index) => each === other[index]);
}
