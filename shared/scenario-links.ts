/** Links and spare groups: ends, ports, what a port may give or take, buffers; the numbers of their types filled in. */
import { defaultOf } from "./defaults.ts";
import { quote } from "./issues.ts";
import type { MediumName } from "./link-types.ts";
import { channelsAt, linkType, NS_PER_METRE } from "./link-types.ts";
import type { LinkPlan, PortRef, SparePlan } from "./plan.ts";
import type { DeviceFound } from "./scenario-devices.ts";
import type { Draft, Filled, Item, Place, Report, Unknown } from "./scenario-draft.ts";
import { idsOf, reportDuplicates, sound } from "./scenario-draft.ts";
import type { LinkFile } from "./scenario-schema.ts";

export interface LinkFound {
  readonly item: Place;
  readonly plan: LinkPlan;
}

/** Propagation is never nothing: a circle of machines must take time. */
const DELAY_SECONDS_MIN = 1e-9;

export function resolveLinks(
  draft: Draft,
  found: ReadonlyMap<string, DeviceFound>,
  report: Report,
  unknown: Unknown,
  filled: Filled[],
): Map<string, LinkFound> {
  reportDuplicates(draft.links, "link", report);
  const devices = idsOf(draft.devices);
  const deviceSet = new Set(devices);
  const links = new Map<string, LinkFound>();
  const portTaken = new Map<string, string>();
  for (const item of sound(draft.links)) {
    const file = item.value;
    const ends = endsOf(file);
    let known = true;
    for (const { steps, ref } of ends) {
      if (!deviceSet.has(ref.device)) {
        known = false;
        report(item, steps, { expected: "a device and its port", remedy: unknown(ref.device, devices, "device") });
        continue;
      }
      const key = portKey(ref.device, ref.port);
      const other = portTaken.get(key);
      if (other !== undefined)
        report(item, steps, {
          expected: `a port that no other link uses (${quote(other)} has this one)`,
          remedy: "choose another port, or take one of the two links away",
        });
      else portTaken.set(key, item.id);
    }
    const [a, b] = ends;
    if (a.ref.device === b.ref.device) {
      known = false;
      report(item, b.steps, {
        expected: "another device than at the other end",
        remedy: "name the device that the cable goes to",
      });
    }
    const rigHz = draft.sampleRateHz ?? 48_000;
    // Where a converter joins two rates the cable runs at the sender's: the faster one leaves room for fewer channels.
    const ratesHz = [a, b].map(({ ref }) => found.get(ref.device)?.plan.sampleRateHz ?? rigHz);
    const plan = plannedLink(file, a.ref, b.ref, rigHz, Math.max(...ratesHz), filled);
    checkBuffer(item, file, plan, report);
    if (known) links.set(item.id, { item, plan });
  }
  return links;
}

export function portKey(device: string, port: number): string {
  return `${device}.${port}`;
}

interface End {
  readonly steps: readonly (string | number)[];
  readonly ref: PortRef;
}

function endsOf(file: LinkFile): readonly [End, End] {
  if ("ends" in file)
    return [
      { steps: ["ends", 0], ref: portRefOf(file.ends[0]) },
      { steps: ["ends", 1], ref: portRefOf(file.ends[1]) },
    ];
  return [
    { steps: ["from"], ref: portRefOf(file.from) },
    { steps: ["to"], ref: portRefOf(file.to) },
  ];
}

function portRefOf(text: string): PortRef {
  const dot = text.lastIndexOf(".");
  return { device: text.slice(0, dot), port: Number(text.slice(dot + 1)) };
}

function plannedLink(
  file: LinkFile,
  a: PortRef,
  b: PortRef,
  rigHz: number,
  fasterHz: number,
  filled: Filled[],
): LinkPlan {
  const { id } = file;
  const type = linkType(file.type);
  const note = (name: string, value: unknown, unit: string) => filled.push({ on: "link", id, name, value, unit });
  const byType = (name: "noticeSeconds" | "comingUpSeconds"): number => {
    const given = file[name];
    if (given !== undefined) return given;
    note(`${type.type}.${name}`, type[name].value, "s");
    return type[name].value;
  };
  const medium = (file.medium ?? type.media[0]?.name) as MediumName;
  const lengthMetres = file.lengthMetres ?? defaultOf("link", "lengthMetres");
  if (file.lengthMetres === undefined) note("lengthMetres", lengthMetres, "m");
  const channels = channelsAt(file.type, fasterHz);
  const slipSamples = file.buffer?.slipSamples ?? defaultOf("link", "buffer.slipSamples");
  const depthSamples = file.buffer?.depthSamples ?? 2 * slipSamples;
  const startSamples = file.buffer?.startSamples ?? depthSamples / 2;
  if (channels > 0) {
    if (file.buffer?.slipSamples === undefined) note("buffer.slipSamples", slipSamples, "samples");
    if (file.buffer?.depthSamples === undefined) note("buffer.depthSamples", depthSamples, "samples");
    if (file.buffer?.startSamples === undefined) note("buffer.startSamples", startSamples, "samples");
    note(`${type.type}.latencySeconds`, type.latencySamples.value / rigHz + type.latencySeconds.value, "s");
  }
  return {
    id,
    type: type.type,
    twoWay: type.twoWay,
    hasReturn: "return" in file && file.return === true,
    a,
    b,
    medium,
    lengthMetres,
    delaySeconds: Math.max(DELAY_SECONDS_MIN, lengthMetres * NS_PER_METRE[medium].value * 1e-9),
    laidAlong: file.laidAlong ?? [],
    noticeSeconds: byType("noticeSeconds"),
    comingUpSeconds: byType("comingUpSeconds"),
    clockIsAgreed: type.clockIsAgreed,
    channels,
    latencySeconds: type.latencySamples.value / rigHz + type.latencySeconds.value,
    buffer: { slipSamples, depthSamples, startSamples },
    atStart: file.atStart ?? defaultOf("link", "atStart"),
  };
}

/** `0 < slip < depth` and `slip ≤ start ≤ depth − slip`: room for one slip either way from the start. */
function checkBuffer(item: Item<LinkFile>, file: LinkFile, plan: LinkPlan, report: Report): void {
  const { slipSamples, depthSamples, startSamples } = plan.buffer;
  const received = `slip ${slipSamples}, depth ${depthSamples}, start ${startSamples}`;
  if (depthSamples < 2 * slipSamples)
    report(item, ["buffer", file.buffer?.depthSamples === undefined ? "slipSamples" : "depthSamples"], {
      expected: "a depth of at least twice slipSamples",
      received,
      remedy: `make depthSamples ${2 * slipSamples} or more, or slipSamples smaller`,
    });
  else if (startSamples < slipSamples || startSamples > depthSamples - slipSamples)
    report(item, ["buffer", "startSamples"], {
      expected: `a start from slipSamples to depthSamples − slipSamples, ${slipSamples} to ${depthSamples - slipSamples}`,
      received,
      remedy: `make startSamples ${depthSamples / 2}, for example`,
    });
}

/** Whether the link brings anything to its end `a` or `b`. */
export function bringsTo(link: LinkPlan, end: "a" | "b"): boolean {
  return end === "b" || link.twoWay || link.hasReturn;
}

export function resolveSpares(
  draft: Draft,
  links: ReadonlyMap<string, LinkFound>,
  report: Report,
  unknown: Unknown,
  filled: Filled[],
): SparePlan[] {
  reportDuplicates(draft.spares, "spare group", report);
  const known = idsOf(draft.links);
  const knownSet = new Set(known);
  const groupOf = new Map<string, string>();
  const spares: SparePlan[] = [];
  for (const item of sound(draft.spares)) {
    const file = item.value;
    file.links.forEach((link, index) => {
      const steps = ["links", index];
      if (!knownSet.has(link))
        report(item, steps, { expected: "the id of a link", remedy: unknown(link, known, "link") });
      else if (groupOf.has(link))
        report(item, steps, {
          expected: `a link that is in no other place of a spare group (it is in ${quote(groupOf.get(link))})`,
          remedy: "keep it in one place",
        });
      else groupOf.set(link, item.id);
    });
    checkSameWay(item, file.links, links, report);
    const or = <T>(given: T | undefined, name: string, value: T, unit: string): T => {
      if (given === undefined) filled.push({ on: "spare", id: item.id, name, value, unit });
      return given ?? value;
    };
    spares.push({
      id: item.id,
      links: file.links,
      mode: "standby",
      switchSeconds: or(file.switchSeconds, "switchSeconds", defaultOf("spare", "switchSeconds"), "s"),
      revertive: or(file.revertive, "revertive", defaultOf("spare", "revertive"), ""),
      waitToRestoreSeconds: or(
        file.waitToRestoreSeconds,
        "waitToRestoreSeconds",
        defaultOf("spare", "waitToRestoreSeconds"),
        "s",
      ),
    });
  }
  return spares;
}

/** Every link of a group must join the devices of the main, and bring something wherever the main does. */
function checkSameWay(
  item: Place,
  group: readonly string[],
  links: ReadonlyMap<string, LinkFound>,
  report: Report,
): void {
  const main = links.get(group[0] as string)?.plan;
  if (!main) return;
  group.slice(1).forEach((id, index) => {
    const spare = links.get(id)?.plan;
    if (!spare || id === main.id) return;
    const steps = ["links", index + 1];
    const joins = `${main.a.device} and ${main.b.device}`;
    const same = new Set([main.a.device, main.b.device, spare.a.device, spare.b.device]).size === 2;
    if (!same) {
      report(item, steps, {
        expected: `a link between ${joins}, as ${quote(main.id)} is`,
        received: `${quote(id)}, between ${spare.a.device} and ${spare.b.device}`,
        remedy: "keep links between the same two devices in one group",
      });
      return;
    }
    for (const [end, device] of [
      ["a", main.a.device],
      ["b", main.b.device],
    ] as const) {
      if (!bringsTo(main, end) || bringsTo(spare, spare.a.device === device ? "a" : "b")) continue;
      report(item, steps, {
        expected: `a link that brings something to ${device}, as ${quote(main.id)} does`,
        received: `${quote(id)}, which brings nothing there`,
        remedy: 'set "return": true on it, or turn it round',
      });
    }
  });
}
