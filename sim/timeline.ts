/** A value over show time, as the rows of a record tell it: what it is from each instant on. */
import type { Flow } from "../shared/flow.ts";
import type {
  ConverterState,
  DeviceState,
  Fact,
  FollowedPath,
  LinkState,
  PortRole,
  Row,
  RunRecord,
} from "../shared/record.ts";
import type { Ns } from "../shared/time.ts";
import { NEVER, ZERO } from "../shared/time.ts";

export interface Timeline<T> {
  readonly changes: readonly { readonly atNs: Ns; readonly value: T }[];
}

export function valueAt<T>(line: Timeline<T>, at: Ns): T | undefined {
  return line.changes[placeAfter(line, at) - 1]?.value;
}

/** The first change after an instant; NEVER if there is none. */
export function nextChangeAfter(line: Timeline<unknown>, at: Ns): Ns {
  return line.changes[placeAfter(line, at)]?.atNs ?? NEVER;
}

/** How many changes there are up to an instant. */
function placeAfter({ changes }: Timeline<unknown>, at: Ns): number {
  let low = 0;
  let high = changes.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((changes[middle] as { atNs: Ns }).atNs <= at) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Stretches of equal value up to the end, none of length 0. */
export function stretches<T>(
  line: Timeline<T>,
  endNs: Ns,
  isSame: (a: T, b: T) => boolean = Object.is,
): { fromNs: Ns; toNs: Ns; value: T }[] {
  const found: { fromNs: Ns; toNs: Ns; value: T }[] = [];
  for (const [index, { atNs, value }] of line.changes.entries()) {
    const next = line.changes[index + 1]?.atNs ?? endNs;
    const toNs = next < endNs ? next : endNs;
    if (atNs >= toNs) continue;
    const last = found[found.length - 1];
    if (last !== undefined && last.toNs === atNs && isSame(last.value, value)) last.toNs = toNs;
    else found.push({ fromNs: atNs, toNs, value });
  }
  return found;
}

export interface DeviceLook {
  readonly state: DeviceState;
  readonly source: string | null;
  readonly reason: string;
}

export interface LinkLook {
  readonly state: LinkState;
  readonly noticed: boolean;
  readonly clock: Extract<Fact, { kind: "link" }>["clock"];
}

export interface InputLook {
  readonly decodes: boolean;
  readonly inStep: boolean;
}

/** A device on a network, whatever number of ports it has in the election there. */
export interface NodeLook {
  /** "leads": with its own time; one that passes on a leader's time follows. */
  readonly role: PortRole;
  /** Whose time it has, or would take. */
  readonly leader: string | null;
  readonly parent: string | null;
  readonly steps: number;
  readonly path: FollowedPath | null;
  readonly reason: string;
}

/** What the bridges of a network, or of one part of it, make of the cables between them. */
export type BridgingLook = Pick<Extract<Fact, { kind: "bridging" }>, "forwards" | "blocked" | "storm">;

export type FlowLine = Timeline<Flow | null>;

/** The record by subject: what each device, cable and port was at any instant. */
export interface Looks {
  readonly endNs: Ns;
  readonly devices: ReadonlyMap<string, Timeline<DeviceLook>>;
  readonly hung: ReadonlyMap<string, Timeline<boolean>>;
  /** The clock that each device puts out; null: none. */
  readonly flows: ReadonlyMap<string, FlowLine>;
  /** Keyed by "main there", "main back": a two-way link stands under both. */
  readonly links: ReadonlyMap<string, Timeline<LinkLook>>;
  /** What is heard at the end of a cable, wherever it is plugged in: keyed by "main there". */
  readonly inputs: ReadonlyMap<string, Timeline<InputLook>>;
  /** The converter at the end of a cable, keyed likewise; none where there is no converter. */
  readonly converters: ReadonlyMap<string, Timeline<ConverterState>>;
  /** Trains of slips, keyed likewise. */
  readonly trains: ReadonlyMap<string, readonly Extract<Fact, { kind: "slips" }>[]>;
  readonly realigned: ReadonlyMap<string, readonly Ns[]>;
  /** Keyed by device and network: "foh red". */
  readonly nodes: ReadonlyMap<string, Timeline<NodeLook>>;
  /** Keyed by network, "red"; parts of one that no cable connects are numbered from the second on, "red 2". */
  readonly bridging: ReadonlyMap<string, Timeline<BridgingLook>>;
}

const folded = new WeakMap<RunRecord, Looks>();

/** Folds a record, once: many parts of a run's telling read it. */
export function looksOf(record: RunRecord): Looks {
  const known = folded.get(record);
  if (known !== undefined) return known;
  const looks = new Fold().add(record.rows).looks(record.endNs);
  folded.set(record, looks);
  return looks;
}

/** Lists by name. One that another fold has as well is copied before it grows. */
class Lists<T> {
  readonly byName = new Map<string, { readonly changes: T[] }>();
  private readonly own = new Set<string>();

  constructor(from: Lists<T> | undefined) {
    // An iterator would make an array of each entry.
    from?.byName.forEach((list, name) => {
      this.byName.set(name, list);
    });
  }

  of(name: string): T[] {
    const known = this.byName.get(name);
    if (known !== undefined && this.own.has(name)) return known.changes;
    const list = { changes: known === undefined ? [] : [...known.changes] };
    this.byName.set(name, list);
    this.own.add(name);
    return list.changes;
  }
}

type Changes<T> = Lists<{ atNs: Ns; value: T }>;

/**
 * Rows folded one after another, in one pass. It can go on from another fold, which stays as it is: runs that share their
 * past are folded from there on. Nothing is kept of it: a sweep folds thousands of runs, and looks at each once.
 */
export class Fold {
  private readonly devices: Changes<DeviceLook>;
  private readonly hung: Changes<boolean>;
  private readonly flows: Changes<Flow | null>;
  private readonly cables: Changes<LinkLook>;
  private readonly inputs: Changes<InputLook>;
  private readonly converters: Changes<ConverterState>;
  private readonly trains: Lists<Extract<Fact, { kind: "slips" }>>;
  private readonly realigned: Lists<Ns>;
  private readonly nodes: Changes<NodeLook>;
  private readonly nodePorts: Lists<ElectionFact>;
  private readonly bridging: Changes<BridgingLook>;

  constructor(from?: Fold) {
    this.devices = new Lists(from?.devices);
    this.hung = new Lists(from?.hung);
    this.flows = new Lists(from?.flows);
    this.cables = new Lists(from?.cables);
    this.inputs = new Lists(from?.inputs);
    this.converters = new Lists(from?.converters);
    this.trains = new Lists(from?.trains);
    this.realigned = new Lists(from?.realigned);
    this.nodes = new Lists(from?.nodes);
    this.nodePorts = new Lists(from?.nodePorts);
    this.bridging = new Lists(from?.bridging);
  }

  /** @param begin of the first row that is not in it yet */
  add(rows: readonly Row[], begin = 0): this {
    for (let index = begin; index < rows.length; index++) {
      const { atNs, subject, fact } = rows[index] as Row;
      switch (fact.kind) {
        case "clock":
          this.devices.of(nameOf(subject)).push({ atNs, value: fact });
          break;
        case "hung": {
          const changes = this.hung.of(nameOf(subject));
          if (changes.length === 0) changes.push({ atNs: ZERO, value: false });
          changes.push({ atNs, value: fact.hung });
          break;
        }
        case "flow":
          this.flows.of(nameOf(subject)).push({ atNs, value: fact.flow });
          break;
        case "link":
          this.cables.of(nameOf(subject)).push({ atNs, value: fact });
          break;
        case "input":
          if (fact.link !== null) this.inputs.of(`${fact.link} ${fact.way}`).push({ atNs, value: fact });
          break;
        case "converter":
          if (fact.link !== null) this.converters.of(`${fact.link} ${fact.way}`).push({ atNs, value: fact.state });
          break;
        case "slips":
          this.trains.of(`${fact.link} ${fact.way}`).push(fact);
          break;
        case "re-aligned":
          this.realigned.of(nameOf(subject)).push(atNs);
          break;
        case "election": {
          const ports = this.nodePorts.of(nameOf(subject));
          const place = ports.findIndex(({ port }) => port === fact.port);
          ports[place < 0 ? ports.length : place] = fact;
          this.nodes.of(nameOf(subject)).push({ atNs, value: nodeLook(ports) });
          break;
        }
        case "bridging":
          this.bridging.of(nameOf(subject)).push({ atNs, value: fact });
          break;
      }
    }
    return this;
  }

  looks(endNs: Ns): Looks {
    const links = new Map<string, Timeline<LinkLook>>();
    for (const [name, line] of this.cables.byName) {
      if (name.endsWith(" both")) {
        const id = name.slice(0, -" both".length);
        links.set(`${id} there`, line);
        links.set(`${id} back`, line);
      } else links.set(name, line);
    }
    return {
      endNs,
      devices: this.devices.byName,
      hung: this.hung.byName,
      flows: this.flows.byName,
      links,
      inputs: this.inputs.byName,
      converters: this.converters.byName,
      trains: listsOf(this.trains),
      realigned: listsOf(this.realigned),
      nodes: this.nodes.byName,
      bridging: this.bridging.byName,
    };
  }
}

function listsOf<T>({ byName }: Lists<T>): ReadonlyMap<string, readonly T[]> {
  return new Map([...byName].map(([name, { changes }]) => [name, changes]));
}

type ElectionFact = Extract<Fact, { kind: "election" }>;

/** What a device is on a network, of what its ports are: the first of these that any of them is. */
const ROLES_FIRST: readonly PortRole[] = ["follows", "leads", "about-to-lead", "passive", "listening", "down"];

function nodeLook(ports: readonly ElectionFact[]): NodeLook {
  for (const role of ROLES_FIRST) {
    // A port that passes on somebody else's time leads there, and its device follows.
    const found = ports.find((port) => port.role === role && (role !== "leads" || port.parent === null));
    if (found !== undefined) return found;
  }
  return { ...(ports[0] as ElectionFact), role: "passive" };
}

/** "device foh" → "foh"; "link main there" → "main there". */
function nameOf(subject: string): string {
  return subject.slice(subject.indexOf(" ") + 1);
}
