/**
 * Sources and give or take of each device, in order of time; and what a source or a port setting may name at all.
 */
import { quote } from "./issues.ts";
import type { EventDeed } from "./plan.ts";
import { DevicePower } from "./power.ts";
import { portKey } from "./scenario-cables.ts";
import { placeOfField } from "./scenario-devices.ts";
import type { Place } from "./scenario-draft.ts";
import { bringsTo } from "./scenario-links.ts";
import type { LinkEnd, Names, Rig } from "./scenario-names.ts";
import { SIDES } from "./scenario-names.ts";
import type { Plugs } from "./scenario-plugs.ts";
import type { EventFile } from "./scenario-schema.ts";
import type { Ns } from "./time.ts";
import { formatShowTime } from "./units.ts";

export class Settings {
  private readonly rig: Rig;
  private readonly names: Names;
  private readonly plugs: Plugs;
  private readonly linksAt = new Map<string, LinkEnd[]>();
  private readonly portsOf = new Map<string, Set<number>>();
  private readonly sources = new Map<string, readonly string[]>();
  private readonly clocks = new Map<string, "give" | "take">();
  private readonly portWords = new Map<string, string>();
  private readonly before = new Map<EventFile, EventDeed>();
  /** Of devices that do not come back as they were. */
  private readonly power = new Map<string, DevicePower>();
  private readonly haveRun = new Set<string>();

  constructor(rig: Rig, names: Names, plugs: Plugs) {
    this.rig = rig;
    this.names = names;
    this.plugs = plugs;
    for (const { plan } of rig.links.values())
      for (const side of SIDES) {
        const { device, port } = plan[side];
        const there = this.linksAt.get(portKey(device, port)) ?? [];
        this.linksAt.set(portKey(device, port), [...there, { link: plan, side }]);
        const ports = this.portsOf.get(device) ?? new Set();
        this.portsOf.set(device, ports.add(port));
      }
    for (const device of rig.devices.values()) {
      const { plan, item } = device;
      this.sources.set(plan.id, plan.clockSources);
      this.checkSources(item, plan.id, plan.clockSources, (index) => placeOfField(device, "clockSources", [index]));
      if (plan.afterReboot !== undefined) {
        const stepsTo = (index: number) => placeOfField(device, "afterReboot", ["clockSources", index]);
        this.checkSources(item, plan.id, plan.afterReboot.clockSources, stepsTo);
        this.checkRepeats(item, plan.afterReboot.clockSources, stepsTo);
        this.power.set(plan.id, new DevicePower(plan));
      }
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

  /** Streams are ends of their ports as well. */
  private endsAt(device: string, port: number): LinkEnd[] {
    const key = portKey(device, port);
    return [...(this.linksAt.get(key) ?? []), ...(this.plugs.laterPorts.get(key) ?? [])];
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
      (port) => !brings || this.endsAt(device, port).some(bringsClock),
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
      const ends = this.endsAt(device, Number(source));
      const hasConverter = Object.hasOwn(this.rig.devices.get(device)?.plan.converters ?? {}, source);
      // On a network only streams go through it: the time comes in packets of its own.
      if (hasConverter && !ends.some(({ link }) => link.ethernet !== undefined)) {
        this.rig.report(item, steps(index), {
          expected: `a port of ${quote(device)} without a converter: what comes out of one is on the device's own clock, so there is nothing to follow`,
          received: `${quote(source)}, which has one`,
          remedy: `take ${quote(source)} off the clock sources, or the converter off the port`,
        });
        return;
      }
      if (ends.some(bringsClock)) return;
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
    const fixed = ends.find(({ link }) => !link.clockIsAgreed && link.stream === undefined);
    if (fixed)
      this.rig.report(item, steps, {
        expected: `no give or take on port ${port} of ${quote(device)}: ${quote(fixed.link.id)} is ${fixed.link.type}, where ${fixed.link.ethernet === undefined ? "the sender always gives" : "devices elect who leads"}`,
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

  private checkRepeats(item: Place, sources: readonly string[], steps: (index: number) => (string | number)[]): void {
    sources.forEach((source, index) => {
      if (sources.indexOf(source) < index)
        this.rig.report(item, steps(index), {
          expected: "each clock source once",
          received: `${quote(source)} again`,
          remedy: "keep the first",
        });
    });
  }

  /** What has come back runs with what it is left with after a reboot. To be told every deed, in order. */
  follow(deed: EventDeed): void {
    for (const [id, power] of this.power) {
      const wasOn = power.isOn;
      if (wasOn) this.haveRun.add(id);
      power.play(deed);
      const reboots = deed.do === "reboot" && deed.device === id && deed.part !== "surface";
      if (!power.isOn || !this.haveRun.has(id) || (wasOn && !reboots)) continue;
      this.sources.set(id, this.rig.devices.get(id)?.plan.afterReboot?.clockSources ?? []);
    }
  }

  play(
    item: Place,
    atNs: Ns,
    event: EventFile & { do: "set-clock-sources" | "choose-source" | "set-port-clock" },
  ): EventDeed {
    const { device } = event;
    const known = this.sources.get(device);
    if (event.do === "set-clock-sources") {
      if (known) {
        this.checkSources(item, device, event.clockSources, (index) => ["clockSources", index]);
        this.checkRepeats(item, event.clockSources, (index) => ["clockSources", index]);
        this.before.set(event, { do: "set-clock-sources", device, clockSources: known });
        this.sources.set(device, event.clockSources);
      }
      return { do: "set-clock-sources", device, clockSources: event.clockSources };
    }
    if (event.do === "choose-source") {
      if (known && !known.includes(event.source))
        this.rig.report(item, ["source"], {
          expected: `an entry of the clock sources that ${quote(device)} has at ${formatShowTime(atNs)}`,
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

/** A stream carries sound and no clock. */
function bringsClock({ link, side }: LinkEnd): boolean {
  return link.stream === undefined && bringsTo(link, side);
}
