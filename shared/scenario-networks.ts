/**
 * Networks: what the ethernet cables of a rig belong to, which ports are on which network, and what a device is there: its
 * part in elections, and whether it passes packets on.
 */
import { defaultOf, defaultRow } from "./defaults.ts";
import { quote } from "./issues.ts";
import type { BridgePlan, EthernetPlan, LinkPlan, NetworkPlan, PtpPlan, PtpProfileName, RecoveryName } from "./plan.ts";
import { ptpProfile } from "./ptp-profiles.ts";
import { clockAccuracyCode } from "./ptp-words.ts";
import type { NoteOfLink } from "./scenario-cables.ts";
import { portKey } from "./scenario-cables.ts";
import type { DeviceFound } from "./scenario-devices.ts";
import { placeOfField } from "./scenario-devices.ts";
import type { Draft, Filled, Place, Report, Unknown } from "./scenario-draft.ts";
import { idsOf, reportDuplicates, sound } from "./scenario-draft.ts";
import type { LinkFound } from "./scenario-links.ts";
import type { DeviceFile, LinkFile, NetworkFile } from "./scenario-schema.ts";
import { sha256 } from "./sha256.ts";

export interface NetworksFound {
  /** As they stand in the file; or the one that is assumed. */
  readonly plans: readonly NetworkPlan[];
  /** Of all that stand in the file, sound or not. */
  readonly ids: ReadonlySet<string>;
}

/** Where a rig with ethernet links names no network. */
const ONLY_NETWORK = "network";

export function resolveNetworks(draft: Draft, report: Report, filled: Filled[]): NetworksFound {
  reportDuplicates(draft.networks, "network", report);
  const ids = new Set(idsOf(draft.networks));
  const plans = sound(draft.networks).map(({ value }) => plannedNetwork(value, filled));
  if (draft.networks.length > 0) return { plans, ids };
  if (!draft.links.some(({ value }) => value?.type === "ethernet")) return { plans: [], ids };
  return { plans: [plannedNetwork({ id: ONLY_NETWORK }, filled)], ids: new Set([ONLY_NETWORK]) };
}

function plannedNetwork(file: NetworkFile, filled: Filled[]): NetworkPlan {
  const or = <T>(given: T | undefined, name: "profile" | "recovery", value: T): T => {
    if (given === undefined) filled.push({ on: "network", id: file.id, name, value, unit: "" });
    return given ?? value;
  };
  const profile = or<PtpProfileName>(file.profile, "profile", defaultOf("network", "profile"));
  return {
    id: file.id,
    name: file.name ?? file.id,
    profile,
    domain: file.domain ?? ptpProfile(profile).domain.value,
    recovery: or<RecoveryName>(file.recovery, "recovery", defaultOf("network", "recovery")),
  };
}

// ---- cables and ports

type EthernetFile = Extract<LinkFile, { type: "ethernet" }>;

/** Null where its network is not known; that is reported. */
export function plannedEthernet(
  item: Place,
  file: EthernetFile,
  { delaySeconds }: LinkPlan,
  networks: NetworksFound,
  report: Report,
  unknown: Unknown,
  note: NoteOfLink,
): EthernetPlan | null {
  const { ids } = networks;
  const [only, ...others] = ids;
  const network = file.network ?? (others.length === 0 ? (only as string) : null);
  const isKnown = network !== null && ids.has(network);
  if (network === null)
    report(item, ["network"], {
      expected: "the network it belongs to, for this rig has several",
      remedy: `add "network", one of ${[...ids].slice(0, 12).map(quote).join(", ")}`,
    });
  else if (!isKnown)
    report(item, ["network"], { expected: "the id of a network", remedy: unknown(network, [...ids], "network") });
  const asymmetryNanoseconds = file.asymmetryNanoseconds ?? defaultOf("link", "asymmetryNanoseconds");
  if (file.asymmetryNanoseconds === undefined)
    note("asymmetryNanoseconds", asymmetryNanoseconds, defaultRow("link", "asymmetryNanoseconds").unit);
  const bothWaysNanoseconds = 2e9 * delaySeconds;
  if (Math.abs(asymmetryNanoseconds) >= bothWaysNanoseconds)
    report(item, ["asymmetryNanoseconds"], {
      expected: `less than the cable takes there and back, ${Number(bothWaysNanoseconds.toPrecision(3))} ns`,
      remedy: "make it smaller, or lengthMetres longer by what else lies in the way",
    });
  const megabitsPerSecond = file.megabitsPerSecond ?? defaultOf("link", "megabitsPerSecond");
  if (!isKnown) return null;
  return { network, asymmetrySeconds: asymmetryNanoseconds / 1e9, bitsPerSecond: megabitsPerSecond * 1e6 };
}

/** Where ethernet cables end, now or when an event plugs one in. */
export interface EthernetPorts {
  /** By port, as {@link portKey} writes it: the networks of the cables that are in it at any time. */
  readonly networksAt: ReadonlyMap<string, ReadonlySet<string>>;
  /** By device, the lowest first. */
  readonly portsOf: ReadonlyMap<string, readonly number[]>;
}

export function ethernetPorts(draft: Draft, links: ReadonlyMap<string, LinkFound>): EthernetPorts {
  const networksAt = new Map<string, Set<string>>();
  const portsOf = new Map<string, number[]>();
  const add = (device: string, port: number, network: string) => {
    const key = portKey(device, port);
    const known = networksAt.get(key);
    if (known !== undefined) {
      known.add(network);
      return;
    }
    networksAt.set(key, new Set([network]));
    const ports = portsOf.get(device);
    if (ports === undefined) portsOf.set(device, [port]);
    else ports.push(port);
  };
  for (const { plan } of links.values()) {
    if (plan.ethernet === undefined) continue;
    for (const { device, port } of [plan.a, plan.b]) add(device, port, plan.ethernet.network);
  }
  for (const { value } of draft.events) {
    if (value?.do !== "plug" || value.into === undefined || value.end === undefined) continue;
    const plan = links.get(value.link)?.plan;
    if (plan?.ethernet && (value.end === plan.a.device || value.end === plan.b.device))
      add(value.end, value.into, plan.ethernet.network);
  }
  for (const ports of portsOf.values()) ports.sort((a, b) => a - b);
  return { networksAt, portsOf };
}

// ---- devices

/** Devices with ethernet ports get their part in elections and their bridge; the others stay as they are. */
export function onNetworks(
  draft: Draft,
  devices: ReadonlyMap<string, DeviceFound>,
  links: ReadonlyMap<string, LinkFound>,
  networks: NetworksFound,
  report: Report,
  filled: Filled[],
): Map<string, DeviceFound> {
  const profileOf = new Map(networks.plans.map(({ id, profile }) => [id, profile]));
  const { networksAt, portsOf } = ethernetPorts(draft, links);
  const slowest = slowestCables(links);
  const identityOf = new Map<string, string>();
  // A boundary bridge listens to its network unless the file says otherwise: that, and not "internal", is filled in.
  const filledAt = new Map(
    filled.flatMap(({ on, id, name }, index) => (on === "device" && name === "clockSources" ? [[id, index]] : [])),
  );
  const joined = new Map<string, DeviceFound>();
  for (const [id, device] of devices) {
    const ports = portsOf.get(id);
    if (ports === undefined) {
      joined.set(id, device);
      continue;
    }
    const lowest = ports[0] as number;
    const on = [...new Set(ports.flatMap((port) => [...(networksAt.get(portKey(id, port)) ?? [])]))];
    const note: NoteOfLink = (name, value, unit) => filled.push({ on: "device", id, name, value, unit });
    const bridge = plannedBridge(device, slowest.get(id) ?? BITS_PER_SECOND, note);
    const ptp = plannedPtp(device, profileOf.get(on[0] as string) ?? "default", bridge);
    checkPtp(device, ptp, identityOf, report);
    if (bridge !== null && on.length > 1)
      report(device.item, placeOfField(device, "bridge"), {
        expected: "cables of one network at a device that passes packets on: it joins what it connects",
        received: `${quote(id)}, with cables of ${on.slice(0, 12).map(quote).join(", ")}`,
        remedy: 'give all of them one network, or set "bridge": false',
      });
    const isTold = device.fields.clockSources !== undefined;
    const followsOwn = bridge?.timing === "boundary" && !isTold;
    const clockSources = followsOwn ? [String(lowest), "internal"] : device.plan.clockSources;
    const noted = filledAt.get(id);
    if (followsOwn && noted !== undefined) filled[noted] = { ...(filled[noted] as Filled), value: clockSources };
    joined.set(id, {
      ...device,
      plan: { ...device.plan, clockSources, ptp, ...(bridge === null ? {} : { bridge }) },
    });
  }
  return joined;
}

const BITS_PER_SECOND = defaultOf("link", "megabitsPerSecond") * 1e6;

function slowestCables(links: ReadonlyMap<string, LinkFound>): Map<string, number> {
  const slowest = new Map<string, number>();
  for (const { plan } of links.values())
    if (plan.ethernet)
      for (const { device } of [plan.a, plan.b])
        slowest.set(device, Math.min(plan.ethernet.bitsPerSecond, slowest.get(device) ?? Number.POSITIVE_INFINITY));
  return slowest;
}

/** The longest frame of IEEE 802.3 with preamble and gap, from memory: 1,518 + 8 + 12 bytes. */
const FRAME_BYTES_MAX = 1538;

function plannedBridge({ fields }: DeviceFound, slowestBitsPerSecond: number, note: NoteOfLink): BridgePlan | null {
  const given = fields.bridge ?? fields.kind === "switch";
  if (given === false) return null;
  const words = given === true ? {} : given;
  const timing = words.timing ?? (defaultOf("device", "bridge.timing") as BridgePlan["timing"]);
  if (words.timing === undefined) note("bridge.timing", timing, "");
  const micros = (name: "residenceMicroseconds" | "delayVariationMicroseconds", byDefault: number): number => {
    const full = `bridge.${name}` as const;
    // Where the bridge accounts for the wait itself, no clock feels it.
    if (words[name] === undefined && timing === "plain") note(full, byDefault, defaultRow("device", full).unit);
    return words[name] ?? byDefault;
  };
  const residence = micros("residenceMicroseconds", defaultOf("device", "bridge.residenceMicroseconds"));
  const variation = micros("delayVariationMicroseconds", (8e6 * FRAME_BYTES_MAX) / slowestBitsPerSecond);
  return {
    timing,
    residenceSeconds: residence / 1e6,
    delayVariationSeconds: variation / 1e6,
    priority: words.priority ?? defaultOf("device", "bridge.priority"),
  };
}

declare const TextEncoder: { new (): { encode(text: string): Uint8Array } };

const IDENTITY_DIGITS = 16;

function plannedPtp({ fields, plan }: DeviceFound, profile: PtpProfileName, bridge: BridgePlan | null): PtpPlan {
  const given: NonNullable<DeviceFile["ptp"]> = fields.ptp ?? {};
  const byProfile = ptpProfile(profile);
  return {
    priority1: given.priority1 ?? byProfile.priority1.value,
    priority2: given.priority2 ?? byProfile.priority2.value,
    clockClass: given.clockClass ?? byProfile.clockClass.value,
    clockAccuracy:
      given.clockAccuracy === undefined ? byProfile.clockAccuracy.value : clockAccuracyCode(given.clockAccuracy),
    offsetScaledLogVariance: given.offsetScaledLogVariance ?? byProfile.offsetScaledLogVariance.value,
    identity: given.identity?.toLowerCase() ?? sha256(new TextEncoder().encode(plan.id)).slice(0, IDENTITY_DIGITS),
    followerOnly: given.followerOnly ?? (plan.kind === "switch" && bridge?.timing !== "boundary"),
  };
}

function checkPtp(device: DeviceFound, ptp: PtpPlan, identityOf: Map<string, string>, report: Report): void {
  const { id } = device.plan;
  const given = device.fields.ptp;
  const place = (field: string) =>
    device.own.ptp !== undefined && field in device.own.ptp ? ["ptp", field] : placeOfField(device, "ptp");
  if (given?.followerOnly === true && given.clockClass !== undefined)
    report(device.item, place("clockClass"), {
      expected: "no clockClass beside followerOnly: such a device never leads, and says 255",
      received: String(given.clockClass),
      remedy: "take one of the two away",
    });
  const other = identityOf.get(ptp.identity);
  if (other !== undefined)
    report(device.item, place("identity"), {
      expected: `an identity that no other device has (${quote(other)} has this one)`,
      received: quote(ptp.identity),
      remedy: "give one of the two another identity, or leave it out",
    });
  else identityOf.set(ptp.identity, id);
}
