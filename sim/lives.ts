/**
 * Power over the show, the oscillator lives that follow from it, and what devices come back with. All of it is known
 * before the run: who has power when is arithmetic on the events, and a timebase needs to know how warm it is born.
 */

import { exp } from "../shared/maths.ts";
import type { DevicePlan, Plan } from "../shared/plan.ts";
import { DevicePower } from "../shared/power.ts";
import { stream } from "../shared/random.ts";
import type { Ns } from "../shared/time.ts";
import { later, nsFromSeconds, secondsBetween, ZERO } from "../shared/time.ts";
import type { Bend, TemperatureCourse, Timebase } from "../shared/timebase.ts";
import { bendsOf, makeTimebase } from "../shared/timebase.ts";
import type { OwnWander } from "../shared/wander.ts";

const SECONDS_PER_DAY = 86400;

/** One change of a device's power, and the event (by index) that made it; null: as the show begins. */
export interface PowerChange {
  readonly atNs: Ns;
  readonly on: boolean;
  readonly event: number | null;
}

/** Power of each device over the show: two supplies are enough if one is there. */
export function powerChanges(plan: Plan, device: DevicePlan): PowerChange[] {
  const power = new DevicePower(device);
  const changes: PowerChange[] = [];
  let wasOn = power.isOn;
  if (wasOn) changes.push({ atNs: ZERO, on: true, event: null });
  for (const [event, happening] of plan.events.entries()) {
    power.play(happening);
    if (power.isOn === wasOn) continue;
    wasOn = !wasOn;
    changes.push({ atNs: happening.atNs, on: wasOn, event });
  }
  return changes;
}

/** Another list of clock sources, and the event (by index) that brought it. */
export interface SourcesChange {
  readonly atNs: Ns;
  readonly event: number;
  readonly clockSources: readonly string[];
  /** Nobody said so: the device has come back with it. */
  readonly isAfterReboot: boolean;
}

/** What a device is to listen to over the show, in order of time; what it begins with is left out. */
export function sourcesChanges(plan: Plan, device: DevicePlan): SourcesChange[] {
  const isTold = plan.events.some((event) => event.do === "set-clock-sources" && event.device === device.id);
  if (!isTold && device.afterReboot === undefined) return [];
  const power = new DevicePower(device);
  const changes: SourcesChange[] = [];
  let hasRun = power.isOn;
  for (const [event, happening] of plan.events.entries()) {
    const { atNs } = happening;
    const wasOn = power.isOn;
    power.play(happening);
    if (happening.do === "set-clock-sources" && happening.device === device.id)
      changes.push({ atNs, event, clockSources: happening.clockSources, isAfterReboot: false });
    // The first boot is none that it could come back from.
    const reboots = happening.do === "reboot" && happening.device === device.id && happening.part !== "surface";
    const isBack = power.isOn && ((reboots && wasOn) || (!wasOn && hasRun));
    if (isBack && device.afterReboot !== undefined)
      changes.push({ atNs, event, clockSources: device.afterReboot.clockSources, isAfterReboot: true });
    hasRun ||= power.isOn;
  }
  return changes;
}

/**
 * The timebases of a rig and which belong to whom. Numbered by birth, then by device id: what happens later renumbers
 * nothing that was born before, so a run can go on from a moment of another with the same past.
 */
export function makeTimebases(plan: Plan): { timebases: Timebase[]; livesOf: ReadonlyMap<string, readonly number[]> } {
  const livesOf = new Map<string, number[]>(plan.devices.map(({ id }) => [id, []]));
  const born = plan.devices.flatMap((device) => {
    const bends = oscillatorBends(plan, device);
    const wander = wanderOf(plan, device);
    return births(plan, device).map((birth) => ({ device, bends, wander, ...birth }));
  });
  // A stable sort: devices stand by id.
  born.sort((one, other) => one.bornNs - other.bornNs);
  const timebases = born.map(({ device, bends, wander, bornNs, coldness }, id) => {
    (livesOf.get(device.id) as number[]).push(id);
    const { warmUpPpm, warmUpSeconds } = device.oscillator;
    const warmUp = warmUpPpm * 1e-6 * coldness;
    return makeTimebase({ id, device: device.id, bornNs, bends, endNs: plan.lengthNs, warmUp, warmUpSeconds, wander });
  });
  return { timebases, livesOf };
}

/** One course for all lives of an oscillator: knots are counted in show time, so a power cut shifts no draw. */
function wanderOf(plan: Plan, device: DevicePlan): OwnWander | null {
  const { wander } = device.oscillator;
  if (wander === null) return null;
  const { sigma1, sigma2, sigma3, hMinus1 } = wander;
  if (sigma1 === 0 && sigma2 === 0 && sigma3 === 0 && hMinus1 === 0) return null;
  const gridNs = nsFromSeconds(plan.wanderGridSeconds);
  return { kind: "own", seed: plan.seed, device: device.id, gridNs, sigma1, sigma2, sigma3, hMinus1 };
}

const read = new WeakMap<Plan, readonly Timebase[]>();

/** The timebases of a run that was played, for those who read it: made once for a plan. */
export function timebasesOf(plan: Plan): readonly Timebase[] {
  const known = read.get(plan);
  if (known !== undefined) return known;
  const { timebases } = makeTimebases(plan);
  read.set(plan, timebases);
  return timebases;
}

function oscillatorBends(plan: Plan, device: DevicePlan): Bend[] {
  const { oscillator } = device;
  const drawn = (2 * stream(plan.seed, device.id, "offset", 0)() - 1) * oscillator.tolerancePpm;
  const offset = (oscillator.offsetPpm ?? drawn) * 1e-6;
  const steps: { atNs: Ns; offset: number }[] = [];
  // What is in force, the latest last: an undoing takes away its own step, not the latest.
  let inForce: { readonly event: number; readonly offset: number }[] = [];
  for (const [index, event] of plan.events.entries()) {
    if (event.do !== "step-frequency" || event.device !== device.id) continue;
    if (event.offsetPpm === null) inForce = inForce.filter((each) => each.event !== event.undoes);
    else inForce.push({ event: index, offset: event.offsetPpm * 1e-6 });
    steps.push({ atNs: event.atNs, offset: inForce[inForce.length - 1]?.offset ?? offset });
  }
  return bendsOf({
    offset,
    ageingPerSecond: (oscillator.ageingPpbPerDay * 1e-9) / SECONDS_PER_DAY,
    tempcoPerCelsius: oscillator.tempcoPpmPerCelsius * 1e-6,
    tempcoTable: oscillator.tempcoTable?.map(({ celsius, ppm }) => ({ celsius, offset: ppm * 1e-6 })) ?? null,
    steps,
    temperature: temperatureOf(plan, device),
  });
}

/** Each `temperature` event is a straight line from the value of that moment. */
function temperatureOf(plan: Plan, { id, oscillator }: DevicePlan): TemperatureCourse {
  const turns: { atNs: Ns; celsius: number; perSecond: number }[] = [
    { atNs: ZERO, celsius: oscillator.startCelsius, perSecond: 0 },
  ];
  const last = (): (typeof turns)[number] => turns[turns.length - 1] as (typeof turns)[number];
  for (const event of plan.events) {
    if (event.do !== "temperature" || (event.device !== null && event.device !== id)) continue;
    while (last().atNs > event.atNs) turns.pop(); // a line that had not ended yet
    const celsius = last().celsius + last().perSecond * secondsBetween(last().atNs, event.atNs);
    if (event.overSeconds <= 0) turns.push({ atNs: event.atNs, celsius: event.toCelsius, perSecond: 0 });
    else {
      turns.push({ atNs: event.atNs, celsius, perSecond: (event.toCelsius - celsius) / event.overSeconds });
      turns.push({ atNs: later(event.atNs, nsFromSeconds(event.overSeconds)), celsius: event.toCelsius, perSecond: 0 });
    }
  }
  return { turns };
}

/** When each life begins, and how much of the cold offset it is born with: 1 stone cold, 0 warm. */
function births(plan: Plan, device: DevicePlan): { bornNs: Ns; coldness: number }[] {
  const { warmUpSeconds, coolDownSeconds } = device.oscillator;
  const born: { bornNs: Ns; coldness: number }[] = [];
  let coldness = plan.begin === "settled" && device.atStart === "on" ? 0 : 1;
  let sinceNs = ZERO;
  for (const change of powerChanges(plan, device)) {
    const seconds = secondsBetween(sinceNs, change.atNs);
    // An exponential each way: what is left of the difference after so many time constants.
    if (change.on) {
      if (change.event !== null)
        coldness = 1 - (1 - coldness) * (coolDownSeconds > 0 ? exp(-seconds / coolDownSeconds) : 0);
      born.push({ bornNs: change.atNs, coldness });
    } else coldness *= warmUpSeconds > 0 ? exp(-seconds / warmUpSeconds) : 0;
    sinceNs = change.atNs;
  }
  return born;
}
