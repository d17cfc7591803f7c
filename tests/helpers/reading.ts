/** What tests read out of a record: phases at any instant, slips one by one, rows without their numbering. */
import { createHash } from "node:crypto";
import { clockPhaseAt, clockRateAt } from "../../shared/clock-phase.ts";
import type { Flow } from "../../shared/flow.ts";
import type { Row } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import type { Timebase } from "../../shared/timebase.ts";
import type { Wander } from "../../shared/wander.ts";
import type { Train } from "../../sim/slips.ts";
import { slipInstants } from "../../sim/slips.ts";

export interface ClockReading {
  /** Seconds ahead of true time; null where nothing leaves the device. */
  phaseSecondsAt(device: string, at: Ns): number | null;
  fractionalOffsetAt(device: string, at: Ns): number | null;
  /** The flow that was in force at an instant. */
  flowAt(device: string, at: Ns): Flow | null;
}

export function readClocks(rows: readonly Row[], timebases: readonly Timebase[]): ClockReading {
  const told = new Map<string, { atNs: Ns; flow: Flow | null }[]>();
  for (const { fact, subject, atNs } of rows) {
    if (fact.kind !== "flow") continue;
    const device = subject.slice("device ".length);
    const list = told.get(device) ?? [];
    list.push({ atNs, flow: fact.flow });
    told.set(device, list);
  }
  const flowAt = (device: string, at: Ns): Flow | null => {
    const list = told.get(device) ?? [];
    let low = 0;
    let high = list.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if ((list[middle] as { atNs: Ns }).atNs <= at) low = middle + 1;
      else high = middle;
    }
    return list[low - 1]?.flow ?? null;
  };
  return {
    flowAt,
    phaseSecondsAt(device, at) {
      const flow = flowAt(device, at);
      return flow === null ? null : clockPhaseAt(timebases, flow, at);
    },
    fractionalOffsetAt(device, at) {
      const flow = flowAt(device, at);
      return flow === null ? null : clockRateAt(timebases, flow, at);
    },
  };
}

export interface SlipFound {
  readonly atNs: Ns;
  readonly sign: 1 | -1;
  readonly train: Train;
}

/** Slips of each way of each link, one by one; keyed by "link way". */
export function readSlips(rows: readonly Row[]): Map<string, SlipFound[]> {
  const found = new Map<string, SlipFound[]>();
  for (const { fact } of rows) {
    if (fact.kind !== "slips") continue;
    const key = `${fact.link} ${fact.way}`;
    const list = found.get(key) ?? [];
    for (const atNs of slipInstants(fact, fact.fromNs, fact.toNs)) list.push({ atNs, sign: fact.sign, train: fact });
    found.set(key, list);
  }
  for (const list of found.values()) list.sort((a, b) => a.atNs - b.atNs);
  return found;
}

/**
 * Rows by subject, free of what a run only numbers: a timebase is named by its device and birth, a cause by the row it
 * is. Two runs in which the same happens for the same reasons give the same text, wherever the rows stand.
 */
export function rowsBySubject(rows: readonly Row[], timebases: readonly Timebase[]): Map<string, string[]> {
  const texts = rows.map((row) => `${row.atNs} ${row.subject} ${factText(row.fact, timebases)}`);
  const found = new Map<string, string[]>();
  for (const [index, row] of rows.entries()) {
    const list = found.get(row.subject) ?? [];
    list.push(`${texts[index]} because ${row.cause < 0 ? "start" : texts[row.cause]}`);
    found.set(row.subject, list);
  }
  return found;
}

function factText(fact: Row["fact"], timebases: readonly Timebase[]): string {
  return JSON.stringify(fact, (key, value: unknown) => {
    if (key === "timebase") return `${timebases[value as number]?.device} from ${timebases[value as number]?.bornNs}`;
    if (isWander(value)) return digestOf(value);
    // The index of an event in the plan is a number of the file, not of what happened.
    return key === "index" || key === "undoes" ? undefined : value;
  });
}

function isWander(value: unknown): value is Wander {
  const kind = typeof value === "object" && value !== null && "kind" in value ? value.kind : null;
  return kind === "loop" || (kind === "own" && "seed" in (value as object));
}

const digests = new WeakMap<Wander, string>();

/** By value, and short: written out, a wander would repeat those it is made of without end. */
function digestOf(wander: Wander): string {
  const known = digests.get(wander);
  if (known !== undefined) return known;
  const text = JSON.stringify(wander, (key, value: unknown) =>
    key !== "" && isWander(value) ? digestOf(value) : value,
  );
  const digest = createHash("sha256").update(text).digest("hex");
  digests.set(wander, digest);
  return digest;
}

/** Rows as one text; a wander by what it is, not by which object it is. */
export function bytesOfRows(rows: readonly Row[]): string {
  return JSON.stringify(rows, (_, value: unknown) => (isWander(value) ? digestOf(value) : value));
}
