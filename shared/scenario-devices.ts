/** Devices: types joined by `like`, defaults filled in. */
import { defaultOf, defaultRow } from "./defaults.ts";
import { oscillatorType } from "./oscillators.ts";
import type { DevicePlan, OscillatorPlan } from "./plan.ts";
import type { Draft, Filled, Item, Place, Report, Unknown } from "./scenario-draft.ts";
import { idsOf, reportDuplicates, sound } from "./scenario-draft.ts";
import type { DeviceFile, DeviceTypeFile } from "./scenario-schema.ts";

/** A device of the plan and what of it stands in its own entry of the file, rather than in a type. */
export interface DeviceFound {
  readonly item: Place;
  readonly own: DeviceFile;
  readonly plan: DevicePlan;
}

type TypeItem = Item<DeviceTypeFile> & { readonly id: string; readonly value: DeviceTypeFile };

/** Joined fields of a type; null where its chain of `like` leads nowhere or round in a circle. */
type Joined = DeviceTypeFile | null;

export function resolveDevices(
  draft: Draft,
  report: Report,
  unknown: Unknown,
  filled: Filled[],
): Map<string, DeviceFound> {
  reportDuplicates(draft.devices, "device", report);
  const types = joinTypes(draft, report, unknown);
  const found = new Map<string, DeviceFound>();
  for (const item of sound(draft.devices)) {
    const own = item.value;
    let base: Joined = {};
    if (own.like !== undefined) {
      const known = types.get(own.like);
      if (known === undefined && draft.typesAreWhole) reportUnknownType(item, own.like, draft, report, unknown);
      base = known ?? null;
    }
    if (base === null) continue;
    const plan = plannedDevice(own, join(base, own), draft.sampleRateHz ?? 48_000, filled);
    checkDevice(item, plan, report);
    found.set(item.id, { item, own, plan });
  }
  return found;
}

function reportUnknownType(place: Place, like: string, draft: Draft, report: Report, unknown: Unknown): void {
  report(place, ["like"], {
    expected: "the name of a device type",
    remedy: unknown(like, idsOf(draft.types), "device type"),
  });
}

/** Every type with what it is like joined in. Walks, never recurses: a chain may be as long as the file. */
function joinTypes(draft: Draft, report: Report, unknown: Unknown): Map<string, Joined> {
  const first = new Map<string, Item<DeviceTypeFile>>();
  for (const item of draft.types) {
    const id = item.id as string;
    if (first.has(id))
      report(item, [], {
        expected: "a device type that no other file names",
        received: JSON.stringify(id),
        remedy: "give one of the two another name",
      });
    else first.set(id, item);
  }
  const joined = new Map<string, Joined>();
  for (const start of first.values()) {
    const chain: TypeItem[] = [];
    const onChain = new Set<string>();
    let base: Joined = {};
    for (let item: Item<DeviceTypeFile> | undefined = start; item; ) {
      const id = item.id as string;
      const known = joined.get(id);
      if (known !== undefined) {
        base = known;
        break;
      }
      if (item.value === null) {
        joined.set(id, null);
        base = null;
        break;
      }
      if (onChain.has(id)) {
        const circle = [...chain.slice(chain.findIndex((one) => one.id === id)).map((one) => one.id), id];
        report(item, ["like"], {
          expected: "a type that does not lead back to itself",
          received: circle.slice(0, 8).join(" → "),
          remedy: "take one like away",
        });
        base = null;
        break;
      }
      onChain.add(id);
      chain.push(item as TypeItem);
      const like: string | undefined = item.value.like;
      if (like === undefined) break;
      const next: Item<DeviceTypeFile> | undefined = first.get(like);
      if (!next) {
        if (draft.typesAreWhole) reportUnknownType(item, like, draft, report, unknown);
        base = null;
      }
      item = next;
    }
    for (const item of chain.reverse()) {
      base = base === null ? null : join(base, item.value);
      joined.set(item.id, base);
    }
  }
  return joined;
}

/** `over` on top of `base`, field by field in oscillator and loop. Another oscillator type brings its own numbers. */
function join<T extends DeviceTypeFile>(base: DeviceTypeFile, over: T): T {
  const sameOscillator = over.oscillator?.type === undefined || over.oscillator.type === base.oscillator?.type;
  const joined = { ...base, ...over };
  const oscillator = sameOscillator ? { ...base.oscillator, ...over.oscillator } : over.oscillator;
  if (oscillator) joined.oscillator = oscillator;
  if (base.loop || over.loop) joined.loop = { ...base.loop, ...over.loop };
  if (base.ports || over.ports) joined.ports = { ...base.ports, ...over.ports };
  return joined;
}

/** Names of defaults whose row has one plain value. */
type Plain =
  | "capturePpm"
  | "lockWindowPercent"
  | "unlockWindowPercent"
  | "dwellSeconds"
  | "reactionSeconds"
  | "holdOffSeconds"
  | "holdoverSeconds"
  | "waitToRestoreSeconds"
  | "revertive"
  | "givesWhenUnlocked"
  | "bootSeconds"
  | "unmuteSeconds"
  | "unmuteRampSeconds";

function plannedDevice(own: DeviceFile, fields: DeviceFile, rigHz: number, filled: Filled[]): DevicePlan {
  const { id } = own;
  const note = (name: string, value: unknown, unit: string) => filled.push({ on: "device", id, name, value, unit });
  const plain = <N extends Plain>(name: N): NonNullable<DeviceFile[N]> => {
    const given = fields[name];
    if (given !== undefined) return given as NonNullable<DeviceFile[N]>;
    const value = defaultOf("device", name);
    note(name, value, defaultRow("device", name).unit);
    return value as NonNullable<DeviceFile[N]>;
  };
  const or = <T>(given: T | undefined, name: Parameters<typeof defaultRow>[1], value: T): T => {
    if (given === undefined) note(name, value, defaultRow("device", name).unit);
    return given ?? value;
  };
  const oscillator = plannedOscillator(fields, note);
  const capturePpm = plain("capturePpm");
  return {
    id,
    name: own.name ?? id,
    kind: fields.kind ?? "other",
    sampleRateHz: fields.sampleRateHz ?? rigHz,
    clockSources: or(fields.clockSources, "clockSources", [...defaultOf("device", "clockSources")]),
    ports: Object.fromEntries(Object.entries(fields.ports ?? {}).map(([port, { clock }]) => [port, clock])),
    oscillator,
    loop: {
      naturalFrequencyHz: or(
        fields.loop?.naturalFrequencyHz,
        "loop.naturalFrequencyHz",
        defaultOf("device", "loop.naturalFrequencyHz"),
      ),
      damping: or(fields.loop?.damping, "loop.damping", defaultOf("device", "loop.damping")),
    },
    capturePpm,
    steeringPpm: or(fields.steeringPpm, "steeringPpm", capturePpm + oscillator.tolerancePpm),
    lockWindowPercent: plain("lockWindowPercent"),
    unlockWindowPercent: plain("unlockWindowPercent"),
    dwellSeconds: plain("dwellSeconds"),
    reactionSeconds: plain("reactionSeconds"),
    holdOffSeconds: plain("holdOffSeconds"),
    holdoverSeconds: plain("holdoverSeconds"),
    waitToRestoreSeconds: plain("waitToRestoreSeconds"),
    revertive: plain("revertive"),
    givesWhenUnlocked: plain("givesWhenUnlocked"),
    whileBooting: or(fields.whileBooting, "whileBooting", defaultOf("device", "whileBooting")),
    bootSeconds: plain("bootSeconds"),
    muteWhile: or(fields.muteWhile, "muteWhile", [...defaultOf("device", "muteWhile")]),
    muteOutOfStep: or(fields.muteOutOfStep, "muteOutOfStep", defaultOf("device", "muteOutOfStep")),
    unmuteSeconds: plain("unmuteSeconds"),
    unmuteRampSeconds: plain("unmuteRampSeconds"),
    power: fields.power ?? [id],
    atStart: fields.atStart ?? defaultOf("device", "atStart"),
  };
}

function plannedOscillator(
  fields: DeviceFile,
  note: (name: string, value: unknown, unit: string) => void,
): OscillatorPlan {
  const given = fields.oscillator ?? {};
  const type = given.type ?? defaultOf("device", "oscillator.type");
  if (given.type === undefined) note("oscillator.type", type, "");
  const row = oscillatorType(type);
  type Numbered =
    | "tolerancePpm"
    | "ageingPpbPerDay"
    | "tempcoPpmPerCelsius"
    | "warmUpPpm"
    | "warmUpSeconds"
    | "coolDownSeconds";
  const number = (name: Numbered, unit: string): number => {
    const value = given[name];
    if (value !== undefined) return value;
    note(`oscillator.${name}`, row[name].value, unit);
    return row[name].value;
  };
  const offsetPpm = given.offsetPpm ?? null;
  if (offsetPpm === null) note("oscillator.offsetPpm", null, "");
  const wander = given.wander ?? defaultOf("device", "oscillator.wander");
  if (wander) note("oscillator.wander", wander, "");
  return {
    type,
    offsetPpm,
    tolerancePpm: number("tolerancePpm", "ppm"),
    ageingPpbPerDay: number("ageingPpbPerDay", "ppb/day"),
    tempcoPpmPerCelsius: number("tempcoPpmPerCelsius", "ppm/°C"),
    warmUpPpm: number("warmUpPpm", "ppm"),
    warmUpSeconds: number("warmUpSeconds", "s"),
    coolDownSeconds: number("coolDownSeconds", "s"),
    wander,
  };
}

/** Where a field of the joined device stands: in its own entry, or in the type that `like` names. */
export function placeOfField(
  device: Pick<DeviceFound, "own">,
  field: keyof DeviceFile,
  deeper: readonly (string | number)[] = [],
): (string | number)[] {
  return device.own[field] === undefined && device.own.like !== undefined ? ["like"] : [field, ...deeper];
}

function checkDevice(item: Item<DeviceFile> & { value: DeviceFile }, plan: DevicePlan, report: Report): void {
  const device = { own: item.value };
  if (plan.unlockWindowPercent < plan.lockWindowPercent)
    report(
      item,
      placeOfField(device, item.value.unlockWindowPercent === undefined ? "lockWindowPercent" : "unlockWindowPercent"),
      {
        expected: "an unlock window at least as wide as the lock window",
        received: `lock window ${plan.lockWindowPercent} %, unlock window ${plan.unlockWindowPercent} %`,
        remedy: "make unlockWindowPercent the larger of the two",
      },
    );
  const listed = new Set<string>();
  plan.clockSources.forEach((source, index) => {
    if (listed.has(source))
      report(item, placeOfField(device, "clockSources", [index]), {
        expected: "each clock source once",
        received: `${JSON.stringify(source)} again`,
        remedy: "keep the first",
      });
    listed.add(source);
  });
}
