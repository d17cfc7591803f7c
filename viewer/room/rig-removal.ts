/**
 * What goes when a device or a cable is taken out of a rig: whatever would be left naming it. The rest still reads, unless
 * somebody has to say what is meant (a feed that could now go two ways).
 */
import type { Path } from "../../shared/issues.ts";
import { EditError } from "../../shared/json-text.ts";
import { type Fields, fieldsOf, hasOwnSupply, itemsOf } from "../../shared/mentions.ts";
import { type Change, changed, entryOf, fieldOf, type RigFiles, rigFilesOf, textsIn } from "../../sim/rig-files.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { type AtPort, carriersOf, endsByPort, linksOf, socketText, type WrittenLink } from "./rig-ports.ts";
import { withoutGone } from "./rig-removal-names.ts";

export interface Removal {
  readonly files: ScenarioTexts;
  readonly goes: Goes;
}

/** What went besides what was asked for, by id; events, expectations and accepted findings are only counted. */
export interface Goes {
  readonly links: readonly string[];
  readonly spares: readonly string[];
  readonly feeds: readonly string[];
  readonly supplies: readonly string[];
  readonly events: number;
  readonly expectations: number;
  readonly accepted: number;
  /** Devices that no longer have a port to listen to that they had, and those that are left on their own clock. */
  readonly heardThere: readonly string[];
  readonly leftAlone: readonly string[];
}

/** @throws EditError where the rig has no such thing */
export function removed(files: ScenarioTexts, kind: "device" | "link", id: string): Removal {
  const rigFiles = rigFilesOf(files);
  if (entryOf(rigFiles, kind === "device" ? "devices" : "links", id) === null)
    throw new EditError(`There is no ${kind === "device" ? "device" : "cable"} "${id}" in the rig.`);
  const removal = new Taking(rigFiles, kind, id);
  return { files: changed(files, removal.changes), goes: removal.goes() };
}

/** One removal: what is left of the rig, found step by step, and the changes that leave it so. */
class Taking {
  readonly changes: Change[] = [];
  private readonly rigFiles: RigFiles;
  private readonly asked: string;
  private readonly device: string | null;
  private readonly goneLinks = new Set<string>();
  private readonly goneFeeds = new Set<string>();
  private readonly goneSpares = new Set<string>();
  private readonly goneSupplies = new Set<string>();
  private counts = { events: 0, expectations: 0, accepted: 0 };
  private readonly heardThere = new Set<string>();
  private readonly leftAlone = new Set<string>();
  /** Links as they are left, lines shortened. */
  private links: readonly WrittenLink[];
  private readonly ports: ReadonlyMap<string, AtPort[]>;
  private readonly events: readonly (readonly [Fields, number])[];

  constructor(rigFiles: RigFiles, kind: "device" | "link", id: string) {
    this.rigFiles = rigFiles;
    this.asked = id;
    this.device = kind === "device" ? id : null;
    this.links = linksOf(rigFiles);
    this.events = itemsOf(rigFiles.scenario.events);
    if (kind === "link") this.dropLinks((link) => link.id === id);
    else this.dropDevice(id);
    this.dropStreams();
    this.ports = this.portsNow();
    this.trimDevices();
    this.trimSpares();
    this.trimFeeds();
    this.trimSupplies();
    this.trimEvents();
    const named = withoutGone(rigFiles, (kind, name) => this.isGone(kind, name));
    this.changes.push(...named.changes);
    this.counts = { ...this.counts, expectations: named.expectations, accepted: named.accepted };
  }

  goes(): Goes {
    return {
      links: [...this.goneLinks].filter((id) => this.device !== null || id !== this.asked),
      spares: [...this.goneSpares],
      feeds: [...this.goneFeeds],
      supplies: [...this.goneSupplies],
      ...this.counts,
      heardThere: [...this.heardThere],
      leftAlone: [...this.leftAlone],
    };
  }

  private inRig(path: Path, value?: unknown): void {
    this.changes.push({ file: this.rigFiles.rigFile, path: [...this.rigFiles.rigPath, ...path], value });
  }

  private inScenario(path: Path, value?: unknown): void {
    this.changes.push({ file: this.rigFiles.files.main, path, value });
  }

  /** The items of a list of the rig. */
  private each(list: string, look: (entry: Fields, path: Path) => void): void {
    itemsOf(this.rigFiles.rig[list]).forEach(([entry, index]) => {
      look(entry, [list, index]);
    });
  }

  private isGone(kind: "device" | "link" | "feed", id: unknown): boolean {
    if (kind === "device") return this.device !== null && id === this.device;
    return typeof id === "string" && (kind === "link" ? this.goneLinks : this.goneFeeds).has(id);
  }

  private dropLinks(isGoing: (link: WrittenLink) => boolean): void {
    for (const { id, index } of this.links.filter(isGoing)) {
      this.goneLinks.add(id);
      this.inRig(["links", index]);
    }
    this.links = this.links.filter((link) => !isGoing(link));
  }

  private dropDevice(id: string): void {
    this.each("devices", (entry, path) => {
      if (entry.id === id) this.inRig(path);
    });
    textsIn(this.rigFiles.rig.leaders).forEach((leader, index) => {
      if (leader === id) this.inRig(["leaders", index]);
    });
    const isTapOf = ({ ends }: WrittenLink) => ends.length > 2 && ends[0]?.device !== id;
    this.dropLinks((link) => link.ends.some(({ device }) => device === id) && !isTapOf(link));
    this.links = this.links.map((link) =>
      link.ends.some(({ device }) => device === id) ? this.shortened(link) : link,
    );
  }

  /** A line without the device; with one receiver left it is a cable like any other. */
  private shortened(link: WrittenLink): WrittenLink {
    const ends = link.ends.filter(({ device }) => device !== this.device);
    const path: Path = ["links", link.index];
    if (ends.length === 2) {
      this.inRig([...path, "to"], socketText(ends[1]!));
      this.inRig([...path, "terminatedAt"]);
    } else
      for (const list of ["to", "terminatedAt"])
        textsIn(link.entry[list]).forEach((end, index) => {
          if (end.startsWith(`${this.device}.`)) this.inRig([...path, list, index]);
        });
    return { ...link, ends };
  }

  private portsNow(): ReadonlyMap<string, AtPort[]> {
    const events = this.events.map(([event]) => event).filter((event) => !this.isGone("device", event.end));
    return endsByPort(this.links, events);
  }

  /** A stream goes from one ethernet port to another. */
  private dropStreams(): void {
    const ports = this.portsNow();
    const isEthernet = (key: string) => ports.get(key)?.some(({ link }) => link.type === "ethernet") ?? false;
    this.dropLinks((link) => link.isStream && !link.ends.every((end) => isEthernet(socketText(end))));
  }

  private bringsClock(device: string, port: string): boolean {
    const at = this.ports.get(`${device}.${port}`) ?? [];
    return at.some(({ link, arrives }) => arrives && !link.isStream);
  }

  /** Sources and settings of ports that nothing arrives at any more. */
  private trimDevices(): void {
    const touched = new Set(
      linksOf(this.rigFiles).flatMap(({ id, ends }) =>
        this.goneLinks.has(id) || ends.some(({ device }) => device === this.device)
          ? ends.map(({ device }) => device)
          : [],
      ),
    );
    this.each("devices", (entry, path) => {
      const id = entry.id;
      if (typeof id !== "string" || !touched.has(id) || id === this.device) return;
      const sources = textsIn(fieldOf(this.rigFiles, entry, "clockSources"));
      const left = sources.filter((source) => source === "internal" || this.bringsClock(id, source));
      if (left.length < sources.length) {
        this.heardThere.add(id);
        if (left.length === 0) this.leftAlone.add(id);
        this.inRig([...path, "clockSources"], left.length === 0 ? ["internal"] : left);
      }
      const back = textsIn(fieldsOf(fieldOf(this.rigFiles, entry, "afterReboot")).clockSources);
      const backLeft = back.filter((source) => source === "internal" || this.bringsClock(id, source));
      if (backLeft.length < back.length)
        this.inRig([...path, "afterReboot"], { clockSources: backLeft.length === 0 ? ["internal"] : backLeft });
      for (const [port, use] of Object.entries(fieldsOf(entry.ports))) {
        const at = this.ports.get(`${id}.${port}`) ?? [];
        const hasAudio = at.some(({ link, arrives }) => arrives && carriersOf([link], ...sides(link, id)).length > 0);
        const kept = Object.entries(fieldsOf(use)).filter(([key]) => (key === "clock" ? at.length > 0 : hasAudio));
        if (kept.length === 0) this.inRig([...path, "ports", port]);
        else if (kept.length < Object.keys(fieldsOf(use)).length)
          this.inRig([...path, "ports", port], Object.fromEntries(kept));
      }
    });
  }

  private trimSpares(): void {
    this.each("spares", ({ id, links }, path) => {
      const all = textsIn(links);
      const gone = all.filter((link) => this.isGone("link", link));
      if (gone.length === 0) return;
      if (all.length - gone.length < 2) {
        this.goneSpares.add(String(id));
        this.inRig(path);
      } else
        all.forEach((link, index) => {
          if (this.isGone("link", link)) this.inRig([...path, "links", index]);
        });
    });
  }

  private trimFeeds(): void {
    this.each("feeds", ({ id, through, over }, path) => {
      const devices = textsIn(through);
      const isCut = devices.some((to, at) => at > 0 && carriersOf(this.links, devices[at - 1]!, to).length === 0);
      if (isCut) {
        this.goneFeeds.add(String(id));
        this.inRig(path);
        return;
      }
      const named = textsIn(over);
      const gone = named.filter((link) => this.isGone("link", link));
      const left = named.flatMap((link) => (gone.includes(link) ? this.standingIn(link) : [link]));
      if (gone.length > 0) this.inRig([...path, "over"], left.length === 0 ? undefined : left);
    });
  }

  /** What is left of its spare group, which is one way: the first of them. */
  private standingIn(link: string): readonly string[] {
    const groups = itemsOf(this.rigFiles.rig.spares).map(([{ links }]) => textsIn(links));
    const left = groups.find((group) => group.includes(link))?.filter((id) => !this.isGone("link", id)) ?? [];
    return left.slice(0, 1);
  }

  private trimSupplies(): void {
    const left = this.suppliesLeft();
    this.each("supplies", ({ id }, path) => {
      if (typeof id !== "string" || left.has(id)) return;
      this.goneSupplies.add(id);
      this.inRig(path);
    });
  }

  private suppliesLeft(): ReadonlySet<string> {
    const devices = itemsOf(this.rigFiles.rig.devices).map(([device]) => device);
    const left = devices.filter(({ id }) => !this.isGone("device", id));
    return new Set(left.flatMap((device) => (hasOwnSupply(device) ? [String(device.id)] : textsIn(device.power))));
  }

  private trimEvents(): void {
    const supplies = this.suppliesLeft();
    const paths = new Set(this.links.flatMap(({ entry }) => textsIn(entry.laidAlong)));
    const onNetwork = new Set(
      this.links.flatMap(({ type, ends }) => (type === "ethernet" ? ends.map(({ device }) => device) : [])),
    );
    for (const [event, index] of this.events) {
      const { device, link, end, supply, path, source, port } = event;
      const isGoing =
        this.isGone("device", device) ||
        this.isGone("link", link) ||
        this.isGone("device", end) ||
        (typeof supply === "string" && !supplies.has(supply)) ||
        (typeof path === "string" && !paths.has(path)) ||
        (event.do === "stop-sync" && !onNetwork.has(String(device))) ||
        (typeof source === "string" && source !== "internal" && !this.bringsClock(String(device), source)) ||
        (event.do === "set-port-clock" && !this.ports.has(`${device}.${port}`));
      if (isGoing) {
        this.counts.events++;
        this.inScenario(["events", index]);
        continue;
      }
      if (event.do === "set-clock-sources") this.trimOrder(event, index);
      // What is left of a line is a cable from one end to the other.
      const left = this.links.find(({ id }) => id === link);
      const wasLine = left !== undefined && textsIn(left.entry.to).length > 1 && left.ends.length === 2;
      if (wasLine && end === left.ends[1]?.device) this.inScenario(["events", index, "end"], "to");
    }
  }

  /** An order to listen to a port that nothing comes to any more. */
  private trimOrder({ device, clockSources }: Fields, index: number): void {
    const sources = textsIn(clockSources);
    const left = sources.filter((source) => source === "internal" || this.bringsClock(String(device), source));
    if (left.length === sources.length) return;
    if (left.length > 0) this.inScenario(["events", index, "clockSources"], left);
    else {
      this.counts.events++;
      this.inScenario(["events", index]);
    }
  }
}

/** From the other end of a link to this device. */
function sides({ ends }: WrittenLink, device: string): readonly [string, string] {
  const other = ends.find((end) => end.device !== device) ?? ends[0]!;
  return [other.device, device];
}
