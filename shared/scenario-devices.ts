/** Devices: types joined by `like`, defaults filled in. */
import { defaultOf, defaultRow } from "./defaults.ts";
import type { ConverterPlan, DevicePlan } from "./plan.ts";
import type { Draft, Filled, Item, Place, Report, Unknown } from "./scenario-draft.ts";
import { idsOf, reportDuplicates, sound } from "./scenario-draft.ts";
import { joinOrigins, WITHIN } from "./scenario-origins.ts";
import type { RunWords } from "./scenario-oscillator.ts";
import { checkOscillator, joinOscillators, plannedOscillator } from "./scenario-oscillator.ts";
import type { DeviceFile, DeviceTypeFile } from "./scenario-schema.ts";

/** A device of the plan and what of it stands in its own entry of the file, rather than in a type. */
export interface DeviceFound {
  readonly item: Place;
  readonly own: DeviceFile;
  /** Its own entry with its type joined in. */
  readonly fields: DeviceFile;
  readonly plan: DevicePlan;
}

type TypeItem = Item<DeviceTypeFile> & { readonly id: string; readonly value: DeviceTypeFile };

/** Joined fields of a type; null where its chain of `like` leads nowhere or round in a circle. */
export type Joined = DeviceTypeFile | null;

export function resolveDevices(
  draft: Draft,
  report: Report,
  unknown: Unknown,
  filled: Filled[],
): Map<string, DeviceFound> {
  reportDuplicates(draft.devices, "device", report);
  const types = joinTypes(draft, report, unknown);
  for (const item of draft.types) checkOscillator(item, item.value?.oscillator, report);
  const run = {
    lengthNs: draft.lengthNs,
    wander: draft.run?.wander,
    startCelsius: draft.run?.startCelsius,
  };
  const found = new Map<string, DeviceFound>();
  for (const item of sound(draft.devices)) {
    const own = item.value;
    checkOscillator(item, own.oscillator, report);
    let base: Joined = {};
    if (own.like !== undefined) {
      const known = types.get(own.like);
      if (known === undefined && draft.typesAreWhole) reportUnknownType(item, own.like, draft, report, unknown);
      base = known ?? null;
    }
    if (base === null) continue;
    const fields = join(base, own);
    const plan = plannedDevice(own, fields, draft.sampleRateHz ?? 48_000, run, filled);
    checkDevice(item, plan, report);
    found.set(item.id, { item, own, fields, plan });
  }
  return found;
}

function reportUnknownType(
  place: Place,
  like: string,
  draft: Pick<Draft, "types">,
  report: Report,
  unknown: Unknown,
): void {
  report(place, ["like"], {
    expected: "the name of a device type",
    remedy: unknown(like, idsOf(draft.types), "device type"),
  });
}

/** Every type with what it is like joined in. Walks, never recurses: a chain may be as long as the file. */
export function joinTypes(
  draft: Pick<Draft, "types" | "typesAreWhole">,
  report: Report,
  unknown: Unknown,
): Map<string, Joined> {
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

/** `over` on top of `base`, field by field in oscillator, loop, comingUpSeconds, ports, ptp and bridge. */
function join<T extends DeviceTypeFile>(base: DeviceTypeFile, over: T): T {
  const joined = { ...base, ...over };
  const oscillator = joinOscillators(base.oscillator, over.oscillator);
  if (oscillator) joined.oscillator = oscillator;
  if (base.loop || over.loop) joined.loop = { ...base.loop, ...over.loop };
  if (base.comingUpSeconds || over.comingUpSeconds)
    joined.comingUpSeconds = { ...base.comingUpSeconds, ...over.comingUpSeconds };
  if (base.ptp || over.ptp) joined.ptp = { ...base.ptp, ...over.ptp };
  const bridge = joinWords(base.bridge, over.bridge);
  if (bridge !== undefined) joined.bridge = bridge;
  const origins = joinOrigins(base, over);
  if (origins !== undefined) joined.origins = origins;
  if (base.ports || over.ports) joined.ports = joinPorts(base.ports ?? {}, over.ports ?? {});
  return joined;
}

type PortsFile = NonNullable<DeviceTypeFile["ports"]>;

/** Word by word; `true` over a type's own numbers leaves these as they are. */
function joinWords<T extends object>(
  was: T | boolean | undefined,
  is: T | boolean | undefined,
): T | boolean | undefined {
  if (typeof was === "object" && (is === true || typeof is === "object")) return { ...was, ...(is === true ? {} : is) };
  return is ?? was;
}

/** Port by port, and word by word. */
function joinPorts(base: PortsFile, over: PortsFile): PortsFile {
  const joined: PortsFile = { ...base };
  for (const [port, use] of Object.entries(over)) {
    const converter = joinWords(base[port]?.converter, use.converter);
    joined[port] = { ...base[port], ...use, ...(converter === undefined ? {} : { converter }) };
  }
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
  | "holdoverAverageSeconds"
  | "holdoverErrorPpb"
  | "waitToRestoreSeconds"
  | "revertive"
  | "givesWhenUnlocked"
  | "bootSeconds"
  | "unmuteSeconds"
  | "unmuteRampSeconds";

function plannedDevice(
  own: DeviceFile,
  fields: DeviceFile,
  rigHz: number,
  run: RunWords,
  filled: Filled[],
): DevicePlan {
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
  const oscillator = plannedOscillator(fields, run, note);
  const capturePpm = plain("capturePpm");
  const bootSeconds = plain("bootSeconds");
  return {
    id,
    name: own.name ?? id,
    kind: fields.kind ?? "other",
    sampleRateHz: fields.sampleRateHz ?? rigHz,
    clockSources: or(fields.clockSources, "clockSources", [...defaultOf("device", "clockSources")]),
    ports: Object.fromEntries(
      Object.entries(fields.ports ?? {}).flatMap(([port, { clock }]) => (clock === undefined ? [] : [[port, clock]])),
    ),
    converters: plannedConverters(fields, note),
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
    holdoverAverageSeconds: plain("holdoverAverageSeconds"),
    holdoverErrorPpb: plain("holdoverErrorPpb"),
    waitToRestoreSeconds: plain("waitToRestoreSeconds"),
    revertive: plain("revertive"),
    givesWhenUnlocked: plain("givesWhenUnlocked"),
    whileBooting: or(fields.whileBooting, "whileBooting", defaultOf("device", "whileBooting")),
    bootSeconds,
    surfaceBootSeconds: or(fields.surfaceBootSeconds, "surfaceBootSeconds", bootSeconds),
    engineBootSeconds: or(fields.engineBootSeconds, "engineBootSeconds", bootSeconds),
    muteWhile: or(fields.muteWhile, "muteWhile", [...defaultOf("device", "muteWhile")]),
    muteOutOfStep: or(fields.muteOutOfStep, "muteOutOfStep", defaultOf("device", "muteOutOfStep")),
    unmuteSeconds: plain("unmuteSeconds"),
    unmuteRampSeconds: plain("unmuteRampSeconds"),
    power: fields.power ?? [id],
    atStart: fields.atStart ?? defaultOf("device", "atStart"),
    ...(fields.afterReboot === undefined ? {} : { afterReboot: fields.afterReboot }),
  };
}

/** Each number that is filled in is noted once, however many ports of the device have a converter. */
function plannedConverters(
  { ports = {} }: DeviceFile,
  note: (name: string, value: unknown, unit: string) => void,
): Record<string, ConverterPlan> {
  const noted = new Set<string>();
  const or = (given: number | undefined, name: keyof ConverterPlan): number => {
    const full = `converter.${name}` as const;
    const value = given ?? defaultOf("device", full);
    if (given === undefined && !noted.has(full)) note(full, value, defaultRow("device", full).unit);
    if (given === undefined) noted.add(full);
    return value;
  };
  return Object.fromEntries(
    Object.entries(ports).flatMap(([port, { converter }]) => {
      if (converter === undefined || converter === false) return [];
      const words = converter === true ? {} : converter;
      const plan = {
        delaySeconds: or(words.delaySeconds, "delaySeconds"),
        lockSeconds: or(words.lockSeconds, "lockSeconds"),
        ratioMax: or(words.ratioMax, "ratioMax"),
      };
      return [[port, plan]];
    }),
  );
}

/** What a device has from its type, by the names of defaults: "holdoverSeconds", "loop.damping". */
export function namesFromType({ own, fields }: Pick<DeviceFound, "own" | "fields">): readonly string[] {
  if (own.like === undefined) return [];
  return Object.entries(fields).flatMap(([key, value]) => {
    if (key === "origins") return [];
    const given = own[key as keyof DeviceFile];
    if (!WITHIN.has(key)) return given === undefined ? [key] : [];
    const inner = Object.keys(value as object).filter(
      (name) => given === undefined || !Object.hasOwn(given as object, name),
    );
    return inner.map((name) => `${key}.${name}`);
  });
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
