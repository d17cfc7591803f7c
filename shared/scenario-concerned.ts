/** Whom a number is about in a run: which devices follow, start, hold over, warm up, and which links break. */
import {
  DEFAULTS,
  ENGINE_REBOOTED,
  FED,
  FED_INTO,
  FOLLOWED,
  FOLLOWERS,
  HOLDING,
  REBOOTED,
  SEVERAL_SOURCES,
  SURFACE_REBOOTED,
} from "./defaults.ts";
import type { OscillatorTypeName } from "./oscillators.ts";
import type { Plan } from "./plan.ts";
import type { Filled } from "./scenario-draft.ts";
import { REFERENCE_CELSIUS } from "./timebase.ts";

export type Parts = Pick<Plan, "devices" | "links" | "feeds" | "events" | "begin">;

/** Rank and row of each default: the order of the lines is that of the table. */
export const ROWS = new Map(DEFAULTS.map((row, rank) => [`${row.on}.${row.name}`, { rank, ...row }]));

/** Ids of the devices for which a group of numbers is asked for in this run. */
export interface Concerned {
  readonly following: ReadonlySet<string>;
  readonly choosing: ReadonlySet<string>;
  readonly followed: ReadonlySet<string>;
  readonly starting: ReadonlySet<string>;
  /** Starts otherwise than by a reboot of its engine alone, which has a time of its own. */
  readonly bootingWhole: ReadonlySet<string>;
  readonly surfaceReboots: ReadonlySet<string>;
  readonly engineReboots: ReadonlySet<string>;
  readonly warming: ReadonlySet<string>;
  readonly drawn: ReadonlySet<string>;
  /** Wanders by the numbers of its type. */
  readonly noisyByType: ReadonlySet<string>;
  /** Feels heat, and is ever at another temperature than 25 °C. */
  readonly heated: ReadonlySet<string>;
  /** Feels heat, and an event moves its temperature. */
  readonly heatMoves: ReadonlySet<string>;
  readonly holding: ReadonlySet<string>;
  readonly fed: ReadonlySet<string>;
  readonly fedInto: ReadonlySet<string>;
  /** Passes on packets and offers no clock: nothing hangs from its own. */
  readonly clockless: ReadonlySet<string>;
  readonly linksBreak: boolean;
  /** Not everybody runs at one sample rate. */
  readonly ratesDiffer: boolean;
  /** So that a link may come up, or a clock jump, in the course of the show. */
  readonly somethingHappens: boolean;
  readonly oscillatorOf: ReadonlyMap<string, OscillatorTypeName>;
}

/** A number that nothing in this run asks for is not used. */
export function matters(who: Concerned, { on, id, name, value }: Filled): boolean {
  if (on === "spare" || on === "network") return true;
  if (on === "device" && who.clockless.has(id) && (name === "clockSources" || name.startsWith("oscillator.")))
    return false;
  if (name.startsWith("comingUpSeconds.")) return who.linksBreak;
  if (on === "link") return /(?:notice|comingUp)Seconds$/.test(name) ? who.linksBreak : true;
  switch (name) {
    case "oscillator.tolerancePpm":
      return who.following.has(id) || who.drawn.has(id);
    case "oscillator.type":
      return who.drawn.has(id) || who.noisyByType.has(id);
    case "oscillator.ageingPpbPerDay":
    case "oscillator.sigma1":
    case "oscillator.sigma2":
    case "oscillator.hMinus1":
      return value !== 0;
    case "oscillator.tempcoPpmPerCelsius":
      return who.heated.has(id);
    case "startCelsius":
      return who.heatMoves.has(id);
    case "bootSeconds":
      return who.bootingWhole.has(id);
    case "converter.ratioMax":
      return who.ratesDiffer;
    case "converter.lockSeconds":
      return who.somethingHappens;
    case "oscillator.warmUpPpm":
    case "oscillator.warmUpSeconds":
    case "oscillator.coolDownSeconds":
      return who.warming.has(id);
    default:
  }
  switch (ROWS.get(`device.${name}`)?.appliesTo) {
    case FOLLOWERS:
      return who.following.has(id);
    case SEVERAL_SOURCES:
      return who.choosing.has(id);
    case FOLLOWED:
      return who.following.has(id) && who.followed.has(id);
    case REBOOTED:
      return who.starting.has(id);
    case SURFACE_REBOOTED:
      return who.surfaceReboots.has(id);
    case ENGINE_REBOOTED:
      return who.engineReboots.has(id);
    case HOLDING:
      return who.following.has(id) && who.holding.has(id);
    case FED:
      return who.fed.has(id);
    case FED_INTO:
      return who.fedInto.has(id);
    default:
      return true;
  }
}

export function whoIsConcerned(plan: Parts, filled: readonly Filled[]): Concerned {
  const following = new Set<string>();
  const choosing = new Set<string>();
  const bootingWhole = new Set<string>();
  const surfaceReboots = new Set<string>();
  const engineReboots = new Set<string>();
  const warming = new Set<string>();
  const listens = (device: string, sources: readonly string[]) => {
    if (sources.some((source) => source !== "internal")) following.add(device);
    if (sources.length > 1) choosing.add(device);
  };
  const suppliedBy = new Map<string, string[]>();
  for (const { id, clockSources, atStart, power, afterReboot } of plan.devices) {
    listens(id, clockSources);
    if (afterReboot !== undefined) listens(id, afterReboot.clockSources);
    if (plan.begin === "cold" || atStart === "off") bootingWhole.add(id);
    for (const supply of power) {
      const others = suppliedBy.get(supply);
      if (others) others.push(id);
      else suppliedBy.set(supply, [id]);
    }
  }
  const cutSupplies = new Set<string>();
  for (const event of plan.events) {
    if (event.do === "set-clock-sources") listens(event.device, event.clockSources);
    if (event.do === "reboot")
      (event.part === "all" ? bootingWhole : event.part === "engine" ? engineReboots : surfaceReboots).add(
        event.device,
      );
    if (event.do !== "power-cut" && event.do !== "power-back") continue;
    if (event.supply !== null) cutSupplies.add(event.supply);
    if (event.device !== null) warming.add(event.device);
  }
  for (const supply of cutSupplies) for (const id of suppliedBy.get(supply) ?? []) warming.add(id);
  // A reboot keeps the oscillator warm; no power, and a start without it, do not.
  for (const { id, atStart } of plan.devices) if (plan.begin === "cold" || atStart === "off") warming.add(id);
  for (const id of warming) bootingWhole.add(id);
  const starting = new Set([...bootingWhole, ...engineReboots]);

  const followed = new Set<string>();
  const clockless = new Set(
    plan.devices.flatMap(({ id, ptp, bridge }) => (bridge !== undefined && ptp?.followerOnly === true ? [id] : [])),
  );
  for (const { a, b, twoWay, hasReturn, ethernet, stream } of plan.links) {
    if (ethernet === undefined) for (const { device } of [a, b]) clockless.delete(device);
    if (stream !== undefined) continue;
    followed.add(a.device);
    if (twoWay || hasReturn) followed.add(b.device);
  }
  const feelsHeat = new Set(
    plan.devices.flatMap(({ id, oscillator: { tempcoPpmPerCelsius, tempcoTable } }) =>
      tempcoPpmPerCelsius !== 0 || tempcoTable !== null ? [id] : [],
    ),
  );
  const heatMoves = new Set<string>();
  for (const event of plan.events) {
    if (event.do !== "temperature") continue;
    for (const id of event.device === null ? feelsHeat : [event.device]) if (feelsHeat.has(id)) heatMoves.add(id);
  }
  const heated = new Set(heatMoves);
  for (const { id, oscillator } of plan.devices)
    if (feelsHeat.has(id) && oscillator.startCelsius !== REFERENCE_CELSIUS) heated.add(id);
  return {
    following,
    choosing,
    followed,
    clockless,
    starting,
    bootingWhole,
    surfaceReboots,
    engineReboots,
    warming: new Set(
      plan.devices.flatMap(({ id, oscillator }) => (warming.has(id) && oscillator.warmUpPpm !== 0 ? [id] : [])),
    ),
    drawn: new Set(plan.devices.flatMap(({ id, oscillator }) => (oscillator.offsetPpm === null ? [id] : []))),
    noisyByType: new Set(filled.flatMap(({ id, name }) => (name === "oscillator.sigma1" ? [id] : []))),
    heated,
    heatMoves,
    holding: new Set(plan.devices.flatMap(({ id, holdoverSeconds }) => (holdoverSeconds > 0 ? [id] : []))),
    fed: new Set(plan.feeds.flatMap(({ through }) => through)),
    fedInto: new Set(plan.feeds.flatMap(({ through }) => through.slice(1))),
    linksBreak:
      starting.size > 0 || plan.events.some(({ do: what }) => ["unplug", "plug", "lose-contact", "cut"].includes(what)),
    ratesDiffer: new Set(plan.devices.map(({ sampleRateHz }) => sampleRateHz)).size > 1,
    somethingHappens: starting.size > 0 || plan.events.length > 0,
    oscillatorOf: new Map(plan.devices.map(({ id, oscillator }) => [id, oscillator.type as OscillatorTypeName])),
  };
}
