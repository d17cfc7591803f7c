/**
 * Events: what each is about must be there, and make sense at its instant. They are played through in order of time,
 * so far as the file alone decides: which plug is in which port, which sources a device listens to, what a port gives.
 * `forSeconds` becomes a second event, with what was in force before.
 */
import { quote } from "./issues.ts";
import type { EventDeed, EventPlan, LinkPlan } from "./plan.ts";
import type { DeviceFound } from "./scenario-devices.ts";
import { placeOfField } from "./scenario-devices.ts";
import type { Draft, Place, Report, Unknown } from "./scenario-draft.ts";
import { idsOf } from "./scenario-draft.ts";
import type { LinkFound } from "./scenario-links.ts";
import { bringsTo, portKey } from "./scenario-links.ts";
import type { EventFile } from "./scenario-schema.ts";
import type { Ns } from "./time.ts";
import { later, nsFromSeconds } from "./time.ts";
import { formatShowTime, parseShowTime } from "./units.ts";

export interface Rig {
  readonly draft: Draft;
  readonly devices: ReadonlyMap<string, DeviceFound>;
  readonly links: ReadonlyMap<string, LinkFound>;
  readonly report: Report;
  readonly unknown: Unknown;
}

/** A written event at its instant, or the second half of one. */
interface Happening {
  readonly atNs: Ns;
  readonly item: Place;
  readonly event: EventFile;
  readonly undoes: Happening | null;
  deed: EventDeed | null;
}

export function resolveEvents(rig: Rig): EventPlan[] {
  const { draft } = rig;
  const names = namesIn(rig);
  const plugs = new Plugs(rig);
  const settings = new Settings(rig, names, plugs);
  const happenings: Happening[] = [];
  for (const item of draft.events) {
    if (item.value === null) continue;
    const event = item.value;
    const atNs = parseShowTime(event.at) as Ns;
    checkThings(rig, names, item, event);
    if (draft.lengthNs !== null && atNs > draft.lengthNs)
      rig.report(item, ["at"], {
        expected: `an instant within the run, up to ${formatShowTime(draft.lengthNs)}`,
        remedy: "make run.length longer, or the event earlier",
      });
    const first: Happening = { atNs, item, event, undoes: null, deed: null };
    happenings.push(first);
    if (!("forSeconds" in event) || event.forSeconds === undefined) continue;
    const backNs = later(atNs, Math.max(1, nsFromSeconds(event.forSeconds)) as Ns);
    if (draft.lengthNs !== null && backNs > draft.lengthNs) continue;
    happenings.push({ atNs: backNs, item, event, undoes: first, deed: null });
  }
  // Sorting is stable: at one instant, as written.
  happenings.sort((a, b) => a.atNs - b.atNs);
  for (const happening of happenings)
    happening.deed = happening.undoes
      ? undo(happening.undoes, happening.atNs, plugs, settings)
      : play(happening, plugs, settings);

  const index = new Map(happenings.map((happening, position) => [happening, position]));
  return happenings.flatMap(({ atNs, deed, undoes }) =>
    deed === null ? [] : [{ atNs, undoes: undoes === null ? null : (index.get(undoes) ?? null), ...deed }],
  );
}

// ---- what there is

interface Names {
  readonly devices: readonly string[];
  readonly links: readonly string[];
  readonly supplies: readonly string[];
  readonly paths: readonly string[];
  /** True where no device, no link is broken, so that a missing name is missing. */
  readonly devicesAreWhole: boolean;
  readonly linksAreWhole: boolean;
  readonly sets: Readonly<Record<"device" | "link" | "supply" | "path", ReadonlySet<string>>>;
}

function namesIn({ draft, devices, links }: Rig): Names {
  const supplies = [...new Set([...devices.values()].flatMap(({ plan }) => plan.power))];
  const paths = [...new Set([...links.values()].flatMap(({ plan }) => plan.laidAlong))];
  const names = { devices: idsOf(draft.devices), links: idsOf(draft.links), supplies, paths };
  return {
    ...names,
    devicesAreWhole: devices.size === draft.devices.length,
    linksAreWhole: links.size === draft.links.length,
    sets: {
      device: new Set(names.devices),
      link: new Set(names.links),
      supply: new Set(supplies),
      path: new Set(paths),
    },
  };
}

function checkThings(rig: Rig, names: Names, item: Place, event: EventFile): void {
  const { report, unknown } = rig;
  if ("device" in event && event.device !== undefined && !names.sets.device.has(event.device))
    report(item, ["device"], {
      expected: "the id of a device",
      remedy: unknown(event.device, names.devices, "device"),
    });
  if ("link" in event && !names.sets.link.has(event.link))
    report(item, ["link"], { expected: "the id of a link", remedy: unknown(event.link, names.links, "link") });
  if (event.do === "cut" && names.linksAreWhole && !names.sets.path.has(event.path))
    report(item, ["path"], {
      expected: "something that a link is laid along",
      remedy: unknown(event.path, names.paths, "laidAlong"),
    });
  if (event.do === "power-cut" || event.do === "power-back") {
    const { device, supply } = event;
    if (supply !== undefined && names.devicesAreWhole && !names.sets.supply.has(supply))
      report(item, ["supply"], { expected: "a supply of a device", remedy: unknown(supply, names.supplies, "supply") });
    if ((device === undefined) === (supply === undefined))
      report(item, [], {
        expected: "a device or a supply",
        received: device === undefined ? "neither" : "both",
        remedy: device === undefined ? 'add "device" or "supply"' : "keep one of the two",
      });
  }
}

// ---- plugs

type Side = "a" | "b";
const SIDES: readonly Side[] = ["a", "b"];

/** Where the ends of each link are, in order of time. A port holds the plugs of one link. */
class Plugs {
  private readonly rig: Rig;
  /** Link and side to the port it is in, or was in last. */
  private readonly portOf = new Map<string, number>();
  private readonly out = new Set<string>();
  private readonly holder = new Map<string, string>();
  /** Ports that an event plugs something into: these are in use, if later. */
  readonly laterPorts = new Map<string, { link: LinkPlan; side: Side }[]>();

  constructor(rig: Rig) {
    this.rig = rig;
    for (const { plan } of rig.links.values()) {
      for (const side of SIDES) {
        this.portOf.set(`${plan.id} ${side}`, plan[side].port);
        if (plan.atStart === "unplugged") this.out.add(`${plan.id} ${side}`);
        else this.holder.set(portKey(plan[side].device, plan[side].port), plan.id);
      }
    }
    for (const { value } of rig.draft.events) {
      if (value?.do !== "plug" || value.into === undefined) continue;
      const link = rig.links.get(value.link)?.plan;
      const side = link && value.end !== undefined ? sideNamed(link, value.end) : null;
      if (!link || !side) continue;
      const key = portKey(link[side].device, value.into);
      const there = this.laterPorts.get(key) ?? [];
      if (there.some((one) => one.link === link && one.side === side)) continue;
      this.laterPorts.set(key, [...there, { link, side }]);
    }
  }

  /** Checks `end`, `way` and `into` of a written event. Null where they name nothing. */
  named(item: Place, event: EventFile & { do: "plug" | "unplug" }): { link: LinkPlan; side: Side | null } | null {
    const { report } = this.rig;
    const link = this.rig.links.get(event.link)?.plan;
    if (!link) return null;
    const side = event.end === undefined ? null : sideNamed(link, event.end);
    let makesSense = true;
    if (event.end !== undefined && side === null) {
      makesSense = false;
      const choice = link.twoWay
        ? `${quote(link.a.device)} or ${quote(link.b.device)}, the ends of ${quote(link.id)}`
        : '"from" or "to"';
      report(item, ["end"], { expected: choice, remedy: "name one of these, or leave end out for both" });
    }
    if (event.way !== undefined && link.twoWay) {
      makesSense = false;
      report(item, ["way"], {
        expected: `no way: ${quote(link.id)} carries both ways in one cable`,
        remedy: "leave way out",
      });
    } else if (event.way === "back" && !link.hasReturn) {
      makesSense = false;
      report(item, ["way"], {
        expected: `"there": ${quote(link.id)} has no cable back`,
        remedy: 'leave way out, or set "return": true on the link',
      });
    }
    if (event.do === "plug" && event.into !== undefined && event.end === undefined) {
      makesSense = false;
      report(item, ["into"], {
        expected: "an end as well, for into says another port at one end",
        remedy: 'add "end"',
      });
    }
    return makesSense ? { link, side } : null;
  }

  pull(link: LinkPlan, side: Side | null): void {
    for (const each of side === null ? SIDES : [side]) {
      const key = `${link.id} ${each}`;
      this.out.add(key);
      const port = portKey(link[each].device, this.portOf.get(key) as number);
      if (this.holder.get(port) === link.id) this.holder.delete(port);
    }
  }

  /** `item` null: the second half of an event, which may find the plug in already. */
  push(
    link: LinkPlan,
    side: Side | null,
    into: number | null,
    item: Place,
    steps: readonly string[],
    atNs: Ns,
    isSecond: boolean,
  ): void {
    for (const each of side === null ? SIDES : [side]) {
      const key = `${link.id} ${each}`;
      const isOut = this.out.has(key);
      if (!isOut && into === null) continue;
      const port = into ?? (this.portOf.get(key) as number);
      const { device } = link[each];
      if (!isOut) {
        this.rig.report(item, steps, {
          expected: `${quote(link.id)} to be out at ${quote(device)} at ${formatShowTime(atNs)}`,
          received: `plugged into port ${this.portOf.get(key)}`,
          remedy: "unplug it there first",
        });
        continue;
      }
      const holder = this.holder.get(portKey(device, port));
      if (holder !== undefined && holder !== link.id) {
        this.rig.report(item, steps, {
          expected: `a port of ${quote(device)} that is free at ${formatShowTime(atNs)}`,
          received: `port ${port}, which ${quote(holder)} is in`,
          remedy: isSecond
            ? `unplug ${quote(holder)} first, or leave forSeconds out`
            : `unplug ${quote(holder)} first, or choose another port`,
        });
        continue;
      }
      this.out.delete(key);
      this.portOf.set(key, port);
      this.holder.set(portKey(device, port), link.id);
    }
  }
}

function sideNamed(link: LinkPlan, end: string): Side | null {
  if (link.twoWay) return end === link.a.device ? "a" : end === link.b.device ? "b" : null;
  return end === "from" ? "a" : end === "to" ? "b" : null;
}

// ---- sources and ports

/** Sources and give or take of each device, in order of time; and what a source or a port setting may name at all. */
class Settings {
  private readonly rig: Rig;
  private readonly names: Names;
  private readonly plugs: Plugs;
  private readonly linkAt = new Map<string, { link: LinkPlan; side: Side }>();
  private readonly portsOf = new Map<string, Set<number>>();
  private readonly sources = new Map<string, readonly string[]>();
  private readonly clocks = new Map<string, "give" | "take">();
  private readonly portWords = new Map<string, string>();
  private readonly before = new Map<EventFile, EventDeed>();

  constructor(rig: Rig, names: Names, plugs: Plugs) {
    this.rig = rig;
    this.names = names;
    this.plugs = plugs;
    for (const { plan } of rig.links.values())
      for (const side of SIDES) {
        const { device, port } = plan[side];
        this.linkAt.set(portKey(device, port), { link: plan, side });
        const ports = this.portsOf.get(device) ?? new Set();
        this.portsOf.set(device, ports.add(port));
      }
    for (const device of rig.devices.values()) {
      const { plan, item } = device;
      this.sources.set(plan.id, plan.clockSources);
      this.checkSources(item, plan.id, plan.clockSources, (index) => placeOfField(device, "clockSources", [index]));
      for (const [port, clock] of Object.entries(plan.ports)) {
        const isOwn = device.own.ports !== undefined && Object.hasOwn(device.own.ports, port);
        this.checkPort(item, plan.id, Number(port), isOwn ? ["ports", port] : ["like"], isOwn);
        this.clocks.set(portKey(plan.id, Number(port)), clock);
      }
      for (const port of Object.keys(plan.converters ?? {})) {
        const isOwn = device.own.ports !== undefined && Object.hasOwn(device.own.ports, port);
        this.checkConverter(item, plan.id, Number(port), isOwn ? ["ports", port] : ["like"], isOwn);
      }
    }
  }

  private endsAt(device: string, port: number): { link: LinkPlan; side: Side }[] {
    const now = this.linkAt.get(portKey(device, port));
    return [...(now ? [now] : []), ...(this.plugs.laterPorts.get(portKey(device, port)) ?? [])];
  }

  /** For remedies: the ports of a device, or those that something arrives at, in words. */
  private portsWith(device: string, brings: boolean): string {
    const key = `${device} ${brings}`;
    const known = this.portWords.get(key) ?? this.portWordsOf(device, brings);
    this.portWords.set(key, known);
    return known;
  }

  private portWordsOf(device: string, brings: boolean): string {
    const ports = [...(this.portsOf.get(device) ?? [])].filter(
      (port) => !brings || this.endsAt(device, port).some(({ link, side }) => bringsTo(link, side)),
    );
    const sorted = [...ports].sort((a, b) => a - b).slice(0, 12);
    return sorted.map((port) => `"${port}"`).join(", ");
  }

  private checkSources(
    item: Place,
    device: string,
    sources: readonly string[],
    steps: (index: number) => (string | number)[],
  ): void {
    sources.forEach((source, index) => {
      if (source === "internal") return;
      if (Object.hasOwn(this.rig.devices.get(device)?.plan.converters ?? {}, source)) {
        this.rig.report(item, steps(index), {
          expected: `a port of ${quote(device)} without a converter: what comes out of one is on the device's own clock, so there is nothing to follow`,
          received: `${quote(source)}, which has one`,
          remedy: `take ${quote(source)} off the clock sources, or the converter off the port`,
        });
        return;
      }
      const ends = this.endsAt(device, Number(source));
      if (ends.some(({ link, side }) => bringsTo(link, side))) return;
      // A broken link might be the one that ends here.
      if (ends.length === 0 && !this.names.linksAreWhole) return;
      const usable = this.portsWith(device, true);
      const name = quote(ends[0]?.link.id);
      this.rig.report(item, steps(index), {
        expected: `a port of ${quote(device)} that a link brings clock to`,
        received:
          ends.length === 0 ? `${quote(source)}, where no link ends` : `${quote(source)}, where ${name} only leaves`,
        remedy:
          usable === ""
            ? 'add the link, or write ["internal"]'
            : `choose from ${usable} and "internal", or add the link`,
      });
    });
  }

  /** A converter stands at an input: where nothing arrives, or only a clock, it has nothing to convert. */
  private checkConverter(
    item: Place,
    device: string,
    port: number,
    steps: readonly (string | number)[],
    mustExist: boolean,
  ): void {
    const ends = this.endsAt(device, port);
    if (ends.some(({ link, side }) => bringsTo(link, side) && link.channels > 0)) return;
    if (ends.length === 0 && (!mustExist || !this.names.linksAreWhole)) return;
    const [first] = ends;
    const name = quote(first?.link.id);
    this.rig.report(item, steps, {
      expected: `a converter at a port of ${quote(device)} where audio arrives`,
      received:
        first === undefined
          ? `port ${port}, where no link ends`
          : bringsTo(first.link, first.side)
            ? `port ${port}, where ${name} brings a clock and no audio`
            : `port ${port}, where ${name} only leaves`,
      remedy: "move it to the input that is meant, or take it away",
    });
  }

  /** Give and take can be set only where the two ends of a link must agree. */
  private checkPort(
    item: Place,
    device: string,
    port: number,
    steps: readonly (string | number)[],
    mustExist: boolean,
  ): void {
    const ends = this.endsAt(device, port);
    const fixed = ends.find(({ link }) => !link.clockIsAgreed);
    if (fixed)
      this.rig.report(item, steps, {
        expected: `no give or take on port ${port} of ${quote(device)}: ${quote(fixed.link.id)} is ${fixed.link.type}, where the sender always gives`,
        received: "a setting",
        remedy: "take it away; what the device listens to stands in clockSources",
      });
    else if (ends.length === 0 && mustExist && this.names.linksAreWhole) {
      const ports = this.portsWith(device, false);
      this.rig.report(item, steps, {
        expected: `a port of ${quote(device)} where a link ends`,
        received: `port ${port}`,
        remedy:
          ports === "" ? "add the link, or take the setting away" : `choose one of ${ports}, or take the setting away`,
      });
    }
  }

  play(
    happening: Happening,
    event: EventFile & { do: "set-clock-sources" | "choose-source" | "set-port-clock" },
  ): EventDeed {
    const { item } = happening;
    const { device } = event;
    const known = this.sources.get(device);
    if (event.do === "set-clock-sources") {
      if (known) {
        this.checkSources(item, device, event.clockSources, (index) => ["clockSources", index]);
        checkRepeats(this.rig, item, event.clockSources);
        this.before.set(event, { do: "set-clock-sources", device, clockSources: known });
        this.sources.set(device, event.clockSources);
      }
      return { do: "set-clock-sources", device, clockSources: event.clockSources };
    }
    if (event.do === "choose-source") {
      if (known && !known.includes(event.source))
        this.rig.report(item, ["source"], {
          expected: `an entry of the clock sources that ${quote(device)} has at ${formatShowTime(happening.atNs)}`,
          remedy: `choose one of ${known.slice(0, 12).map(quote).join(", ")}, or put a set-clock-sources before`,
        });
      return { do: "choose-source", device, source: event.source };
    }
    const { port, clock } = event;
    const key = portKey(device, port);
    if (known) {
      this.checkPort(item, device, port, ["port"], true);
      const now = this.clocks.get(key) ?? (known.includes(String(port)) ? "take" : "give");
      this.before.set(event, { do: "set-port-clock", device, port, clock: now });
    }
    this.clocks.set(key, clock);
    return { do: "set-port-clock", device, port, clock };
  }

  /** Back to what was in force before the event. */
  undo(event: EventFile): EventDeed | null {
    const before = this.before.get(event) ?? null;
    if (before?.do === "set-clock-sources") this.sources.set(before.device, before.clockSources);
    if (before?.do === "set-port-clock") this.clocks.set(portKey(before.device, before.port), before.clock);
    return before;
  }
}

function checkRepeats(rig: Rig, item: Place, sources: readonly string[]): void {
  sources.forEach((source, index) => {
    if (sources.indexOf(source) < index)
      rig.report(item, ["clockSources", index], {
        expected: "each clock source once",
        received: `${quote(source)} again`,
        remedy: "keep the first",
      });
  });
}

// ---- deeds

function play(happening: Happening, plugs: Plugs, settings: Settings): EventDeed | null {
  const { event, item, atNs } = happening;
  switch (event.do) {
    case "unplug":
    case "plug": {
      const named = plugs.named(item, event);
      if (!named) return null;
      const into = event.do === "plug" ? (event.into ?? null) : null;
      if (event.do === "unplug") plugs.pull(named.link, named.side);
      else plugs.push(named.link, named.side, into, item, into === null ? ["link"] : ["into"], atNs, false);
      return { do: event.do, link: event.link, end: named.side, way: event.way ?? null, into };
    }
    case "cut":
      return { do: "cut", path: event.path };
    case "reboot":
      return { do: "reboot", device: event.device, part: event.part ?? "all" };
    case "power-cut":
    case "power-back":
      return { do: event.do, device: event.device ?? null, supply: event.supply ?? null };
    case "hang":
      return { do: "hang", device: event.device };
    case "step-frequency":
      return { do: "step-frequency", device: event.device, offsetPpm: event.offsetPpm };
    case "temperature":
      return {
        do: "temperature",
        device: event.device ?? null,
        toCelsius: event.toCelsius,
        overSeconds: event.overSeconds,
      };
    default:
      return settings.play(happening, event);
  }
}

function undo({ event, item, deed }: Happening, backNs: Ns, plugs: Plugs, settings: Settings): EventDeed | null {
  if (deed === null) return null;
  switch (deed.do) {
    case "unplug": {
      const named = plugs.named(item, event as EventFile & { do: "unplug" });
      if (named) plugs.push(named.link, named.side, null, item, ["forSeconds"], backNs, true);
      return { ...deed, do: "plug" };
    }
    case "cut":
      return { ...deed, do: "mend" };
    case "power-cut":
      return { ...deed, do: "power-back" };
    case "hang":
      return { ...deed, do: "unhang" };
    case "step-frequency":
      return { ...deed, offsetPpm: null };
    default:
      return settings.undo(event);
  }
}
