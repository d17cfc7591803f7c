/**
 * What goes on first: whoever leads, then outward, so that nobody boots onto a clock that is not there yet; amplifiers
 * and powered speakers last, and off first (common practice, no source). When each should be locked is rehearsed.
 */
import type { DevicePlan, EventPlan, Plan } from "../../shared/plan.ts";
import { type Ns, nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { startEngine } from "../engine.ts";
import { hopsOf } from "../map/hops.ts";
import { buildRig } from "../rig.ts";
import { deviceHead, duration, listed } from "../tell/words.ts";
import { looksOf } from "../timeline.ts";
import { recordOf } from "../trials/trial.ts";
import { type Sight, sightsAt } from "./rehearsed.ts";
import { row, type Sheet, type SheetColumn, type SheetSection } from "./sheet.ts";
import { walkedDevices } from "./walk.ts";
import { assumedMark, sightWords } from "./words.ts";

const COLUMNS: readonly SheetColumn[] = [
  { head: "Device", as: "name" },
  { head: "Supply", as: "text" },
  { head: "Boots in", as: "text" },
  { head: "Then you should see", as: "text" },
  { head: "Settled after", as: "text" },
  { head: "On", as: "tick" },
  { head: "Seen", as: "write" },
];

/** From what has booted to what is switched on next: to look at it and walk, *assumed*. */
const LOOK_SECONDS = 60;
/** For the last ones to settle. */
const SETTLE_SECONDS = 600;

/** Devices that go on together, by how far they stand from who leads. */
export function powerSteps(plan: Plan): readonly (readonly DevicePlan[])[] {
  const hops = hopsOf(plan);
  const far = (id: string) => hops.get(id) ?? 0;
  const order = walkedDevices(plan);
  const steps = [...new Set(order.map(({ id }) => far(id)))].sort((one, other) => one - other);
  return steps.map((step) => order.filter(({ id }) => far(id) === step));
}

export interface Settled {
  readonly sight: Sight;
  /** From its power to its last change before the next step; of the last step, to its last change. */
  readonly afterSeconds: number;
}

/** Everything off, then on step by step. */
export function poweredUp(plan: Plan): ReadonlyMap<string, Settled> {
  const steps = powerSteps(plan);
  const onAt = new Map<string, number>();
  let at = 1;
  for (const step of steps) {
    for (const { id } of step) onAt.set(id, at);
    at += step.reduce((most, { bootSeconds }) => Math.max(most, bootSeconds), 0) + LOOK_SECONDS;
  }
  const events = [...onAt]
    .map(([device, seconds]): EventPlan => {
      const atNs = nsFromSeconds(seconds);
      return { atNs, undoes: null, do: "power-back", device, supply: null };
    })
    .sort((one, other) => one.atNs - other.atNs);
  const endNs = nsFromSeconds(at + SETTLE_SECONDS);
  const cold: Plan = {
    ...plan,
    begin: "cold",
    devices: plan.devices.map((device) => ({ ...device, atStart: "off" })),
    links: plan.links.map((link) => ({ ...link, atStart: "plugged" })),
    events,
    lengthNs: endNs,
  };
  const record = recordOf(cold, startEngine(buildRig(cold)).finish(endNs), endNs);
  const looks = looksOf(record);
  const sights = sightsAt({ plan: cold, record, looks }, (endNs - 1) as Ns);
  return new Map(
    plan.devices.map(({ id }): [string, Settled] => {
      const changes = looks.devices.get(id)?.changes ?? [];
      const last = changes.at(-1)?.atNs ?? (0 as Ns);
      return [
        id,
        { sight: sights.get(id) as Sight, afterSeconds: Math.max(0, secondsFromNs(last) - (onAt.get(id) ?? 0)) },
      ];
    }),
  );
}

export function powerUpSheet(plan: Plan): Sheet {
  const settled = poweredUp(plan);
  const sections = powerSteps(plan).map(
    (step, place): SheetSection => ({
      title: `Step ${place + 1}${place === 0 ? ": whoever leads" : ""}`,
      rows: step.map((device) => {
        const { sight, afterSeconds } = settled.get(device.id) as Settled;
        const own = device.power.every((supply) => supply === device.id);
        return row(COLUMNS, [
          device.atStart === "off" ? `${deviceHead(device)}\noff as the show begins` : deviceHead(device),
          own ? "" : listed(device.power),
          `${duration(device.bootSeconds)}${assumedMark(plan, device.id, "bootSeconds")}`,
          sightWords(sight),
          duration(afterSeconds),
        ]);
      }),
    }),
  );
  return {
    name: "power-up",
    title: "Power-up order",
    lead: [
      "Amplifiers and powered speakers off, outputs down, before the first step. Go on only when all of a step show what they should.",
    ],
    columns: COLUMNS,
    sections: [
      ...sections,
      {
        title: `Step ${sections.length + 1}: last on, first off`,
        rows: [row(COLUMNS, ["Amplifiers and powered speakers"])],
      },
    ],
    after: [
      `Rehearsed from cold, each step ${duration(LOOK_SECONDS)} after the one before has booted; "settled after" counts from its power. The order is common practice, no source.`,
    ],
  };
}
