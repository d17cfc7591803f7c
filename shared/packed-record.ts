/**
 * A run record as JSON. In memory many rows hold one and the same wander, which holds others; written as they stand each
 * would be written again and again. So wanders go into a table, each once, and rows name them by their place in it.
 */
import type { Fact, FillCurve, Row, RunRecord } from "./record.ts";
import type { Ns } from "./time.ts";
import type { LoopWander, OwnWander, Wander } from "./wander.ts";

/** Place in the table. */
type Place = number | null;

/** JSON has no Infinity: a bound that does not exist is null. */
type PackedLoop = Omit<LoopWander, "reference" | "own" | "before" | "errorBound" | "limits" | "left"> & {
  readonly reference: Place;
  readonly own: Place;
  readonly before: Place;
  readonly errorBound: number | null;
  readonly limits: { readonly slope: number | null; readonly kink: number | null };
  readonly left: { readonly seconds: number | null; readonly untilNs: Ns };
};

export interface PackedRecord {
  readonly record: Omit<RunRecord, "rows"> & { readonly rows: readonly unknown[] };
  /** What a wander is made of stands before it. */
  readonly wanders: readonly (OwnWander | PackedLoop)[];
}

export function packRecord(record: RunRecord): PackedRecord {
  const wanders: (OwnWander | PackedLoop)[] = [];
  const places = new Map<Wander, number>();
  const place = (wander: Wander | null): Place => {
    if (wander === null) return null;
    const known = places.get(wander);
    if (known !== undefined) return known;
    const packed =
      wander.kind === "own"
        ? wander
        : {
            ...wander,
            reference: place(wander.reference),
            own: place(wander.own),
            before: place(wander.before),
            errorBound: finite(wander.errorBound),
            limits: { slope: finite(wander.limits.slope), kink: finite(wander.limits.kink) },
            left: { ...wander.left, seconds: finite(wander.left.seconds) },
          };
    places.set(wander, wanders.length);
    wanders.push(packed);
    return wanders.length - 1;
  };
  const rows = record.rows.map((row): unknown => ({ ...row, fact: withWanders(row.fact, place) }));
  return { record: { ...record, rows }, wanders };
}

/** Brings wanders back as the objects they were, each once. */
export function unpackRecord({ record, wanders }: PackedRecord): RunRecord {
  const found: Wander[] = [];
  const at = (place: unknown): Wander | null => (place === null ? null : (found[place as number] as Wander));
  for (const packed of wanders) {
    found.push(
      packed.kind === "own"
        ? packed
        : {
            ...packed,
            reference: at(packed.reference),
            own: at(packed.own) as OwnWander | null,
            before: at(packed.before) as LoopWander | null,
            errorBound: packed.errorBound ?? Number.POSITIVE_INFINITY,
            limits: {
              slope: packed.limits.slope ?? Number.POSITIVE_INFINITY,
              kink: packed.limits.kink ?? Number.POSITIVE_INFINITY,
            },
            left: { ...packed.left, seconds: packed.left.seconds ?? Number.POSITIVE_INFINITY },
          },
    );
  }
  const rows = record.rows.map((packed): Row => {
    const row = packed as Row;
    return { ...row, fact: withWanders(row.fact, at) as Fact };
  });
  return { ...record, rows };
}

/** The fact with each of its wanders replaced. */
function withWanders(fact: Fact, replaced: (wander: Wander | null) => unknown): unknown {
  if (fact.kind === "flow" && fact.flow !== null)
    return { ...fact, flow: { ...fact.flow, wander: replaced(fact.flow.wander) } };
  if (fact.kind === "slips" && fact.curve.wander !== null) {
    const wander: NonNullable<FillCurve["wander"]> = fact.curve.wander;
    const between = { ...wander, theirs: replaced(wander.theirs), own: replaced(wander.own) };
    return { ...fact, curve: { ...fact.curve, wander: between } };
  }
  return fact;
}

function finite(bound: number): number | null {
  return bound === Number.POSITIVE_INFINITY ? null : bound;
}
