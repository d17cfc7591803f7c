/**
 * Every single fault that a rig can have, each with its repair. A fault is known by its kind and what it happens to, so
 * its name does not hang on what else is in the plan, nor on the order of anything.
 */
import { cableOf, isWholeCable } from "../../shared/lines.ts";
import type { DevicePlan, EventDeed, EventPlan, LinkPlan, Plan } from "../../shared/plan.ts";
import { later, type Ns, nsFromSeconds } from "../../shared/time.ts";
import { INTERNAL } from "../choice.ts";

export const FAULT_KINDS = [
  "cable-out",
  "one-way-out",
  "bad-contact",
  "dead-spare",
  "path-cut",
  "power-out",
  "supply-out",
  "reboot",
  "engine-reboot",
  "surface-reboot",
  "hang",
  "setting-lost",
  "no-sync",
  "stuck",
] as const;
export type FaultKind = (typeof FAULT_KINDS)[number];

/** Something done, so many seconds after the fault began. */
interface Timed {
  readonly afterSeconds: number;
  readonly deed: EventDeed;
  /** It repairs what the deed at this place did. */
  readonly undoes?: number;
}

export interface Fault {
  /** "cable-out main", "one-way-out main back": no two faults of a plan have the same. */
  readonly id: string;
  readonly kind: FaultKind;
  /** Device, cable, path, supply or spare group, as the file names it. */
  readonly on: string;
  /** Devices that it happens to, and links. */
  readonly devices: readonly string[];
  readonly links: readonly string[];
  readonly course: readonly Timed[];
  /** When somebody has repaired it; what the rig does by itself (booting) comes on top. Null: nobody needs to. */
  readonly repairedAfterSeconds: number | null;
}

/**
 * How long people take, s. No source has them: all are *assumed*, of the order of a crew that knows where to go, and may
 * be given. A cable: walk and plug. A path: run what was laid in reserve. Power: find the plug or the switch. A supply:
 * call who may. A hang: notice, decide, reboot. A setting: find it and set it. Sync: notice that the leader is mute.
 */
export const REPAIR_SECONDS = {
  cable: 90,
  path: 600,
  power: 60,
  supply: 300,
  hang: 120,
  setting: 120,
  sync: 120,
} as const;
export type Repairs = { readonly [K in keyof typeof REPAIR_SECONDS]: number };
export type RepairName = keyof Repairs;

/** Null: it is over by itself. */
export const REPAIRED_BY: Readonly<Record<FaultKind, RepairName | null>> = {
  "cable-out": "cable",
  "one-way-out": "cable",
  "bad-contact": null,
  "dead-spare": "cable",
  "path-cut": "path",
  "power-out": "power",
  "supply-out": "supply",
  reboot: null,
  "engine-reboot": null,
  "surface-reboot": null,
  hang: "hang",
  "setting-lost": "setting",
  "no-sync": "sync",
  stuck: "setting",
};

/** A contact that is moved by somebody's step, six times: long enough to be noticed by the link, *assumed*. */
const CONTACT = { everySeconds: 10, outSeconds: 0.2, turns: 6 } as const;

/** In the order of kinds, then by what they happen to. */
export function faultsIn(plan: Plan, repairs: Repairs = REPAIR_SECONDS): Fault[] {
  const cables = plan.links.filter((link) => link.stream === undefined);
  const all = [
    ...cables.flatMap((link) => cableFaults(link, repairs)),
    ...plan.spares.flatMap((spare) => deadSpare(spare, plan, repairs)),
    ...pathsOf(cables).map((path): Fault => {
      const links = cables.filter(({ laidAlong }) => laidAlong.includes(path)).map(({ id }) => id);
      return fault("path-cut", path, { links, ends: repairs.path }, [
        { afterSeconds: 0, deed: { do: "cut", path } },
        { afterSeconds: repairs.path, deed: { do: "mend", path }, undoes: 0 },
      ]);
    }),
    ...suppliesOf(plan).map((supply): Fault => {
      const devices = plan.devices.filter(({ power }) => power.includes(supply)).map(({ id }) => id);
      const batterySeconds = plan.batteries?.[supply];
      const cut: EventDeed = { do: "power-cut", device: null, supply };
      const isEmpty = batterySeconds !== undefined && batterySeconds < repairs.supply;
      return fault("supply-out", supply, { devices, ends: repairs.supply }, [
        { afterSeconds: 0, deed: batterySeconds === undefined ? cut : { ...cut, batterySeconds } },
        { afterSeconds: repairs.supply, deed: { do: "power-back", device: null, supply }, undoes: 0 },
        ...(isEmpty ? [{ afterSeconds: batterySeconds, deed: { do: "battery-empty", supply } as const }] : []),
      ]);
    }),
    ...plan.devices.flatMap((device) => deviceFaults(device, plan, repairs)),
  ];
  return all.sort(
    (one, other) =>
      FAULT_KINDS.indexOf(one.kind) - FAULT_KINDS.indexOf(other.kind) ||
      (one.id < other.id ? -1 : one.id > other.id ? 1 : 0),
  );
}

/** The plan with faults in it, the first beginning at `atNs`, the others `apartSeconds` one after another. */
export function withFaults(plan: Plan, faults: readonly Fault[], atNs: Ns, apartSeconds = 0): Plan {
  const started = faults.map((fault, place) => ({ fault, atNs: later(atNs, nsFromSeconds(place * apartSeconds)) }));
  return withFaultsAt(plan, started);
}

export function withFaultsAt(plan: Plan, started: readonly { readonly fault: Fault; readonly atNs: Ns }[]): Plan {
  const events: { readonly event: EventPlan; readonly was: number }[] = plan.events.map((event, was) => ({
    event,
    was,
  }));
  let added = plan.events.length;
  for (const { fault, atNs } of started) {
    const first = added;
    for (const { afterSeconds, deed, undoes } of fault.course) {
      const at = later(atNs, nsFromSeconds(afterSeconds));
      const event = { atNs: at, undoes: undoes === undefined ? null : first + undoes, written: null, ...deed };
      events.push({ event, was: added });
      added += 1;
    }
  }
  const sorted = events.sort((one, other) => one.event.atNs - other.event.atNs || one.was - other.was);
  const now = new Map(sorted.map(({ was }, index) => [was, index]));
  return {
    ...plan,
    events: sorted.map(({ event }) =>
      event.undoes === null ? event : { ...event, undoes: now.get(event.undoes) ?? null },
    ),
  };
}

/** When the last of it has been done, s after its beginning. */
export function courseSeconds({ course }: Fault): number {
  return Math.max(0, ...course.map(({ afterSeconds }) => afterSeconds));
}

function fault(
  kind: FaultKind,
  on: string,
  about: { readonly devices?: readonly string[]; readonly links?: readonly string[]; readonly ends: number | null },
  course: readonly Timed[],
  suffix = "",
): Fault {
  const { devices = [], links = [], ends } = about;
  return { id: `${kind} ${on}${suffix}`, kind, on, devices, links, course, repairedAfterSeconds: ends };
}

/** At which end a cable comes out makes no difference, but on a line with taps: there one tap, or the whole line. */
function cableFaults(link: LinkPlan, { cable }: Repairs): Fault[] {
  const end = link.line === undefined ? null : "b";
  const out = (way: "there" | "back" | null): Timed[] => [
    { afterSeconds: 0, deed: { do: "unplug", link: link.id, end, way, into: null } },
    { afterSeconds: cable, deed: { do: "plug", link: link.id, end, way, into: null }, undoes: 0 },
  ];
  const about = { links: [link.id], ends: cable };
  const found = [fault("cable-out", link.id, about, out(null)), badContact(link, end)];
  if (link.hasReturn)
    for (const way of ["there", "back"] as const) found.push(fault("one-way-out", link.id, about, out(way), ` ${way}`));
  if (link.line !== undefined && isWholeCable(link)) {
    const id = cableOf(link);
    const whole: Timed[] = [
      { afterSeconds: 0, deed: { do: "unplug", link: id, end: "a", way: null, into: null } },
      { afterSeconds: cable, deed: { do: "plug", link: id, end: "a", way: null, into: null }, undoes: 0 },
    ];
    found.push(fault("cable-out", id, { links: [id], ends: cable }, whole, " whole"));
  }
  return found;
}

function badContact({ id }: LinkPlan, end: "b" | null): Fault {
  const { everySeconds, outSeconds, turns } = CONTACT;
  const course = Array.from({ length: turns }, (_, index): Timed[] => {
    const deed = { link: id, end, way: null, intermittent: { turn: index + 1, turns, everySeconds, outSeconds } };
    const afterSeconds = index * everySeconds;
    return [
      { afterSeconds, deed: { do: "lose-contact", ...deed } },
      { afterSeconds: afterSeconds + outSeconds, deed: { do: "make-contact", ...deed }, undoes: 2 * index },
    ];
  });
  return fault("bad-contact", id, { links: [id], ends: null }, course.flat());
}

/** Nobody had pulled it: the spare is found to be dead when the main goes. */
function deadSpare(spare: Plan["spares"][number], plan: Plan, { cable }: Repairs): Fault[] {
  const links = spare.links.filter((id) => plan.links.some((link) => link.id === id && link.stream === undefined));
  const [main, ...others] = links;
  if (main === undefined || others.length === 0 || links.length < spare.links.length) return [];
  const out = (link: string): EventDeed => ({ do: "unplug", link, end: null, way: null, into: null });
  const course = [...others, main].map((link): Timed => ({ afterSeconds: 0, deed: out(link) }));
  const repaired: Timed = {
    afterSeconds: cable,
    deed: { ...out(main), do: "plug" } as EventDeed,
    undoes: others.length,
  };
  return [fault("dead-spare", spare.id, { links, ends: cable }, [...course, repaired])];
}

function deviceFaults(device: DevicePlan, plan: Plan, repairs: Repairs): Fault[] {
  const { id } = device;
  const about = (ends: number | null) => ({ devices: [id], ends });
  const reboot = (part: "surface" | "engine" | "all"): Timed => ({
    afterSeconds: 0,
    deed: { do: "reboot", device: id, part },
  });
  const rebootedBy = (seconds: number): Timed => ({ ...reboot("all"), afterSeconds: seconds });
  const found = [
    fault("power-out", id, about(repairs.power), [
      { afterSeconds: 0, deed: { do: "power-cut", device: id, supply: null } },
      { afterSeconds: repairs.power, deed: { do: "power-back", device: id, supply: null }, undoes: 0 },
    ]),
    fault("reboot", id, about(null), [reboot("all")]),
    fault("hang", id, about(repairs.hang), [
      { afterSeconds: 0, deed: { do: "hang", device: id } },
      rebootedBy(repairs.hang),
    ]),
  ];
  // Only a desk has a surface that one works at apart from what makes the sound.
  if (device.kind === "desk") {
    found.push(fault("surface-reboot", id, about(null), [reboot("surface")]));
    found.push(fault("engine-reboot", id, about(null), [reboot("engine")]));
  }
  const follows = device.clockSources.filter((source) => source !== INTERNAL);
  if (device.clockSources[0] !== INTERNAL) {
    const set = (clockSources: readonly string[]): EventDeed => ({
      do: "set-clock-sources",
      device: id,
      clockSources,
    });
    const ends = device.bootSeconds + repairs.setting;
    found.push(
      fault("setting-lost", id, about(ends), [
        reboot("all"),
        { afterSeconds: 0, deed: set([INTERNAL]) },
        { afterSeconds: ends, deed: set(device.clockSources), undoes: 1 },
      ]),
    );
  }
  if (follows.length > 1 || (device.ptp !== undefined && device.clockSources[0] !== INTERNAL))
    found.push(
      fault("stuck", id, about(repairs.setting), [
        { afterSeconds: 0, deed: { do: "stick", device: id } },
        { afterSeconds: repairs.setting, deed: { do: "unstick", device: id }, undoes: 0 },
      ]),
    );
  const mayLead = device.ptp !== undefined && !device.ptp.followerOnly && (plan.networks ?? []).length > 0;
  if (mayLead)
    found.push(
      fault("no-sync", id, about(repairs.sync), [
        { afterSeconds: 0, deed: { do: "stop-sync", device: id } },
        { afterSeconds: repairs.sync, deed: { do: "start-sync", device: id }, undoes: 0 },
      ]),
    );
  return found;
}

function pathsOf(links: readonly LinkPlan[]): string[] {
  return [...new Set(links.flatMap(({ laidAlong }) => laidAlong))].sort();
}

/** A device that names no supply has one of its own, by its own id: that is its power alone. */
function suppliesOf({ devices }: Plan): string[] {
  const ids = new Set(devices.map(({ id }) => id));
  return [...new Set(devices.flatMap(({ power }) => power))].filter((supply) => !ids.has(supply)).sort();
}
