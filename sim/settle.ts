/**
 * How a rig stands when the show begins settled: on for ever, first usable source chosen, loops at rest.
 *
 * Each device takes the first source in its list that it could use; whoever is then led by a ring, by nobody, or from
 * further away than its steering reaches starts in free-run and chooses from there.
 */
import type { DevicePlan, LinkPlan, Plan } from "../shared/plan.ts";
import { ZERO } from "../shared/time.ts";
import type { Timebase } from "../shared/timebase.ts";
import { INTERNAL } from "./choice.ts";
import { converterAt } from "./converted.ts";
import type { DeviceBegin } from "./device/state.ts";
import { takingPorts } from "./device/tell.ts";

/** One way that a port can hear another device. */
export interface Hearing {
  readonly device: string;
  readonly port: number;
  readonly from: string;
  readonly fromPort: number;
  readonly link: LinkPlan;
  readonly way: "there" | "back";
}

/** What each port hears as the show begins, plugged or not; what comes over a network is for its election to say. */
function hearings(plan: Plan): Hearing[] {
  const found: Hearing[] = [];
  for (const link of plan.links) {
    if (link.ethernet !== undefined || link.stream !== undefined) continue;
    const { a, b } = link;
    found.push({ device: b.device, port: b.port, from: a.device, fromPort: a.port, link, way: "there" });
    if (link.twoWay || link.hasReturn) {
      found.push({ device: a.device, port: a.port, from: b.device, fromPort: b.port, link, way: "back" });
    }
  }
  return found;
}

/** True if the sender's port gives clock by its settings: always, where nothing has to be agreed. */
function givesBySettings(sender: DevicePlan | undefined, { link, fromPort }: Hearing): boolean {
  return (
    sender !== undefined && (!link.clockIsAgreed || !takingPorts(sender.clockSources, sender.ports).includes(fromPort))
  );
}

export interface Settled {
  readonly begins: ReadonlyMap<string, DeviceBegin>;
  /** Devices from the leaders outward: what a device hears comes before it. */
  readonly order: readonly string[];
}

/** A device at rest: how it begins, and what it puts out. */
interface AtRest {
  readonly begin: DeviceBegin;
  readonly rate: number;
  readonly gives: boolean;
}

/**
 * From the leaders outward: a device is judged once what its first usable source hangs from is at rest, so that nothing
 * is refused for a frequency that is not there. What waits for ever (a ring, and all that hangs from it) does not settle.
 */
export function settle(
  plan: Plan,
  hasPower: (device: string) => boolean,
  rateAtStart: (device: string) => number,
  overNetworks: readonly Hearing[] = [],
): Settled {
  const byId = new Map(plan.devices.map((device) => [device.id, device]));
  const heardAt = new Map<string, Hearing>();
  for (const hearing of hearings(plan)) {
    const key = `${hearing.device}.${hearing.port}`;
    const isHeard =
      hearing.link.atStart === "plugged" &&
      hasPower(hearing.from) &&
      hasPower(hearing.device) &&
      givesBySettings(byId.get(hearing.from), hearing) &&
      converterAt(byId.get(hearing.device), hearing.port) === null &&
      byId.get(hearing.from)?.sampleRateHz === byId.get(hearing.device)?.sampleRateHz;
    if (isHeard && !heardAt.has(key)) heardAt.set(key, hearing);
  }
  for (const hearing of overNetworks) heardAt.set(`${hearing.device}.${hearing.port}`, hearing);
  const atRest = new Map<string, AtRest>();

  function restOf(device: DevicePlan): AtRest | null {
    const own = rateAtStart(device.id);
    for (const source of device.clockSources) {
      if (source === INTERNAL) return { begin: { kind: "own", source }, rate: own, gives: true };
      const hearing = heardAt.get(`${device.id}.${source}`);
      if (hearing === undefined) continue;
      const sender = atRest.get(hearing.from);
      if (sender === undefined) return null;
      if (!sender.gives || Math.abs(sender.rate) > device.capturePpm * 1e-6) continue;
      if (Math.abs(sender.rate - own) > device.steeringPpm * 1e-6) return null;
      return { begin: { kind: "locked", source }, rate: sender.rate, gives: true };
    }
    return { begin: { kind: "own", source: null }, rate: own, gives: device.givesWhenUnlocked };
  }

  for (let isWaiting = true; isWaiting; ) {
    isWaiting = false;
    for (const device of plan.devices) {
      const rest = hasPower(device.id) && !atRest.has(device.id) ? restOf(device) : null;
      if (rest === null) continue;
      atRest.set(device.id, rest);
      isWaiting = true;
    }
  }
  const begins = new Map(
    plan.devices.map(({ id }): [string, DeviceBegin] => [
      id,
      hasPower(id) ? (atRest.get(id)?.begin ?? { kind: "own", source: null }) : { kind: "off" },
    ]),
  );
  return { begins, order: [...atRest.keys(), ...plan.devices.map(({ id }) => id).filter((id) => !atRest.has(id))] };
}

/** Frequency of a device's own oscillator as the show begins. */
export function ownRateAtStart(timebases: readonly Timebase[], lives: readonly number[] | undefined): number {
  const first = lives?.[0];
  return first === undefined ? 0 : (timebases[first] as Timebase).rateAt(ZERO);
}
