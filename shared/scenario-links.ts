/** Links: ends, ports, what a port may give or take, buffers; the numbers of their types filled in. */
import { quote } from "./issues.ts";
import { linkType } from "./link-types.ts";
import type { LinkPlan, PortRef } from "./plan.ts";
import type { CableFile, NoteOfLink } from "./scenario-cables.ts";
import { plannedCable, portKey } from "./scenario-cables.ts";
import type { DeviceFound } from "./scenario-devices.ts";
import type { Draft, Filled, Item, Place, Report, Unknown } from "./scenario-draft.ts";
import { idsOf, reportDuplicates, sound } from "./scenario-draft.ts";
import { tapsOf } from "./scenario-lines.ts";
import type { NetworksFound } from "./scenario-networks.ts";
import { ethernetPorts, plannedEthernet } from "./scenario-networks.ts";
import type { LinkFile } from "./scenario-schema.ts";
import type { StreamFile } from "./scenario-streams.ts";
import { isStream, plannedStream } from "./scenario-streams.ts";

export interface LinkFound {
  readonly item: Place;
  readonly plan: LinkPlan;
}

type LinkItem<T extends LinkFile = LinkFile> = Item<T> & { readonly id: string; readonly value: T };

/** Cables first: a stream is judged by the cables that end at its ports. */
export function resolveLinks(
  draft: Draft,
  found: ReadonlyMap<string, DeviceFound>,
  networks: NetworksFound,
  report: Report,
  unknown: Unknown,
  filled: Filled[],
): Map<string, LinkFound> {
  reportDuplicates(draft.links, "link", report);
  const devices = idsOf(draft.devices);
  const deviceSet = new Set(devices);
  const links = new Map<string, LinkFound>();
  const portTaken = new Map<string, string>();
  const rigHz = draft.sampleRateHz ?? 48_000;
  const hzOf = (device: string) => found.get(device)?.plan.sampleRateHz ?? rigHz;
  const noteFor =
    (id: string): NoteOfLink =>
    (name, value, unit) =>
      filled.push({ on: "link", id, name, value, unit });

  const endsOf = (item: LinkItem, holdsPort: boolean): Ends<PortRef> | null => {
    const ends = writtenEnds(item.value);
    const [a, first, ...more] = ends;
    let known = true;
    for (const { steps, ref } of ends) {
      if (!deviceSet.has(ref.device)) {
        known = false;
        report(item, steps, { expected: "a device and its port", remedy: unknown(ref.device, devices, "device") });
        continue;
      }
      if (!holdsPort) continue;
      const key = portKey(ref.device, ref.port);
      const other = portTaken.get(key);
      if (other !== undefined)
        report(item, steps, {
          expected: `a port that no other link uses (${quote(other)} has this one)`,
          remedy: "choose another port, or take one of the two links away",
        });
      else portTaken.set(key, item.id);
    }
    for (const b of [first, ...more]) {
      if (a.ref.device !== b.ref.device) continue;
      known = false;
      report(item, b.steps, {
        expected: "another device than at the other end",
        remedy: `name the device that the ${holdsPort ? "cable" : "stream"} goes to`,
      });
    }
    return known ? [a.ref, first.ref, ...more.map(({ ref }) => ref)] : null;
  };

  const streams: LinkItem<StreamFile>[] = [];
  // A broken link might be the ethernet cable that is missing at a port.
  let areWhole = sound(draft.links).length === draft.links.length;
  for (const item of sound(draft.links)) {
    if (isStream(item.value)) {
      streams.push(item as LinkItem<StreamFile>);
      continue;
    }
    const cable = item as LinkItem<CableFile>;
    const ends = endsOf(cable, true);
    areWhole &&= ends !== null;
    if (ends === null) continue;
    // Where a converter joins two rates the cable runs at the sender's: the faster one leaves room for fewer channels.
    const fasterHz = Math.max(...ends.map(({ device }) => hzOf(device)));
    const plan = plannedCable(
      cable.value,
      [ends[0], ends[1]],
      rigHz,
      fasterHz,
      comingUpOf(cable.value, ends, found),
      noteFor(item.id),
    );
    checkBuffer(item, plan, report);
    if (cable.value.type === "word-clock") {
      const { to, terminatedAt, return: hasReturn = false } = cable.value;
      const taps = tapsOf({ item, to, terminatedAt, return: hasReturn }, plan, ends.slice(1), report);
      for (const tap of taps) links.set(tap.id, { item, plan: tap });
    } else if (cable.value.type !== "ethernet") links.set(item.id, { item, plan });
    else {
      const ethernet = plannedEthernet(cable, cable.value, plan, networks, report, unknown, noteFor(item.id));
      areWhole &&= ethernet !== null;
      if (ethernet !== null) links.set(item.id, { item, plan: { ...plan, ethernet } });
    }
  }

  const ports = ethernetPorts(draft, links);
  for (const item of streams) {
    const ends = endsOf(item, false);
    if (ends === null) continue;
    const plan = plannedStream({
      item,
      file: item.value,
      ends: [ends[0], ends[1]],
      byDevices: comingUpOf(item.value, ends, found),
      sampleRateHz: hzOf(ends[0].device),
      ports,
      cablesAreWhole: areWhole,
      cableAt: (key) => links.get(portTaken.get(key) ?? "")?.plan,
      report,
      note: noteFor(item.id),
    });
    if (plan === null) continue;
    checkBuffer(item, plan, report);
    links.set(item.id, { item, plan });
  }
  return links;
}

/** By what devices at its ends say of links of its type: the slowest input; undefined where the link says itself, or nobody. */
function comingUpOf(
  file: LinkFile,
  [a, ...others]: readonly PortRef[],
  devices: ReadonlyMap<string, DeviceFound>,
): number | undefined {
  if (file.comingUpSeconds !== undefined) return undefined;
  const hears = linkType(file.type).twoWay || ("return" in file && file.return === true) ? [a, ...others] : others;
  const said = hears.flatMap((end) => devices.get(end?.device ?? "")?.fields.comingUpSeconds?.[file.type] ?? []);
  return said.length === 0 ? undefined : Math.max(...said);
}

interface End {
  readonly steps: readonly (string | number)[];
  readonly ref: PortRef;
}

/** Two; more only on a line with several receivers. */
type Ends<T> = readonly [T, T, ...T[]];

function writtenEnds(file: LinkFile): Ends<End> {
  if ("ends" in file)
    return [
      { steps: ["ends", 0], ref: portRefOf(file.ends[0]) },
      { steps: ["ends", 1], ref: portRefOf(file.ends[1]) },
    ];
  const from: End = { steps: ["from"], ref: portRefOf(file.from) };
  if (typeof file.to === "string") return [from, { steps: ["to"], ref: portRefOf(file.to) }];
  const [first = "", ...more] = file.to;
  const at = (text: string, index: number): End => ({ steps: ["to", index], ref: portRefOf(text) });
  return [from, at(first, 0), ...more.map((text, index) => at(text, index + 1))];
}

function portRefOf(text: string): PortRef {
  const dot = text.lastIndexOf(".");
  return { device: text.slice(0, dot), port: Number(text.slice(dot + 1)) };
}

/** `0 < slip < depth` and `slip ≤ start ≤ depth − slip`: room for one slip either way from the start. */
function checkBuffer(item: Item<LinkFile>, plan: LinkPlan, report: Report): void {
  const { slipSamples, depthSamples, startSamples } = plan.buffer;
  const given = item.value !== null && "buffer" in item.value ? item.value.buffer : undefined;
  const received = `slip ${slipSamples}, depth ${depthSamples}, start ${startSamples}`;
  if (depthSamples < 2 * slipSamples)
    report(item, ["buffer", given?.depthSamples === undefined ? "slipSamples" : "depthSamples"], {
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
