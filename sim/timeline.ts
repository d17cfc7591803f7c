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

/** Rows of one kind by subject, in order. */
function bySubject<K extends Fact["kind"]>(
  record: RunRecord,
  kind: K,
): Map<string, { row: Row; fact: Extract<Fact, { kind: K }> }[]> {
  const found = new Map<string, { row: Row; fact: Extract<Fact, { kind: K }> }[]>();
  for (const row of record.rows) {
    if (row.fact.kind !== kind) continue;
    const list = found.get(row.subject);
    const entry = { row, fact: row.fact as Extract<Fact, { kind: K }> };
    if (list === undefined) found.set(row.subject, [entry]);
    else list.push(entry);
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
  const looks = fold(record);
  folded.set(record, looks);
  return looks;
}

function fold(record: RunRecord): Looks {
  const devices = new Map<string, Timeline<DeviceLook>>();
  for (const [subject, rows] of bySubject(record, "clock")) {
    devices.set(nameOf(subject), { changes: rows.map(({ row, fact }) => ({ atNs: row.atNs, value: fact })) });
  }
  const hung = new Map<string, Timeline<boolean>>();
  for (const [subject, rows] of bySubject(record, "hung")) {
    hung.set(nameOf(subject), {
      changes: [{ atNs: ZERO, value: false }, ...rows.map(({ row, fact }) => ({ atNs: row.atNs, value: fact.hung }))],
    });
  }
  const flows = new Map<string, FlowLine>();
  for (const [subject, rows] of bySubject(record, "flow")) {
    flows.set(nameOf(subject), { changes: rows.map(({ row, fact }) => ({ atNs: row.atNs, value: fact.flow })) });
  }
  const links = new Map<string, Timeline<LinkLook>>();
  for (const [subject, rows] of bySubject(record, "link")) {
    const line = { changes: rows.map(({ row, fact }) => ({ atNs: row.atNs, value: fact })) };
    const name = nameOf(subject);
    if (name.endsWith(" both")) {
      const id = name.slice(0, -" both".length);
      links.set(`${id} there`, line);
      links.set(`${id} back`, line);
    } else links.set(name, line);
  }
  const inputs = new Map<string, { changes: { atNs: Ns; value: InputLook }[] }>();
  const converters = new Map<string, { changes: { atNs: Ns; value: ConverterState }[] }>();
  const trains = new Map<string, Extract<Fact, { kind: "slips" }>[]>();
  for (const { atNs, fact } of record.rows) {
    if (fact.kind === "input" && fact.link !== null) {
      listed(inputs, `${fact.link} ${fact.way}`, () => ({ changes: [] })).changes.push({ atNs, value: fact });
    } else if (fact.kind === "converter" && fact.link !== null) {
      listed(converters, `${fact.link} ${fact.way}`, () => ({ changes: [] })).changes.push({ atNs, value: fact.state });
    } else if (fact.kind === "slips") listed(trains, `${fact.link} ${fact.way}`, () => []).push(fact);
  }
  const realigned = new Map(
    [...bySubject(record, "re-aligned")].map(([subject, rows]) => [nameOf(subject), rows.map(({ row }) => row.atNs)]),
  );
  const nodes = new Map<string, Timeline<NodeLook>>();
  for (const [subject, rows] of bySubject(record, "election")) {
    const ports = new Map<number | null, ElectionFact>();
    const changes = rows.map(({ row, fact }) => {
      ports.set(fact.port, fact);
      return { atNs: row.atNs, value: nodeLook([...ports.values()]) };
    });
    nodes.set(nameOf(subject), { changes });
  }
  const bridging = new Map<string, Timeline<BridgingLook>>();
  for (const [subject, rows] of bySubject(record, "bridging")) {
    bridging.set(nameOf(subject), { changes: rows.map(({ row, fact }) => ({ atNs: row.atNs, value: fact })) });
  }
  return { endNs: record.endNs, devices, hung, flows, links, inputs, converters, trains, realigned, nodes, bridging };
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

function listed<T>(map: Map<string, T>, key: string, fresh: () => T): T {
  const known = map.get(key);
  if (known !== undefined) return known;
  const made = fresh();
  map.set(key, made);
  return made;
}

/** "device foh" → "foh"; "link main there" → "main there". */
function nameOf(subject: string): string {
  return subject.slice(subject.indexOf(" ") + 1);
}
