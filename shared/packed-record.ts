/**
 * A run record as JSON. In memory many rows hold one and the same wander, which holds others; written as they stand each
 * would be written again and again. So wanders go into a table, each once, and rows name them by their place in it.
 *
 * Rows of one kind have the same fields, whose names are most of what a row is. So these go into a table too: a row is
 * the place of its shape, then its values in the order of the shape, those of an object in a row as if they were its own.
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

/** Names in their order; what is an object has its own shape behind its name. */
interface Shape extends ReadonlyArray<string | readonly [string, Shape]> {}

type PackedRow = readonly unknown[];

export interface PackedRecord {
  readonly record: Omit<RunRecord, "rows"> & { readonly rows: readonly PackedRow[] };
  readonly shapes: readonly Shape[];
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
  const shapes: Shape[] = [];
  const shapePlaces = new Map<string, number>();
  const rows = record.rows.map((row): PackedRow => {
    const packed: unknown[] = [0];
    const shape = takeApart({ ...row, fact: withWanders(row.fact, place) }, packed);
    const text = JSON.stringify(shape);
    let shapePlace = shapePlaces.get(text);
    if (shapePlace === undefined) {
      shapePlace = shapes.push(shape) - 1;
      shapePlaces.set(text, shapePlace);
    }
    packed[0] = shapePlace;
    return packed;
  });
  return { record: { ...record, rows }, shapes, wanders };
}

/** Puts the values behind those in `values` and says what names they have. JSON has no fields that are undefined. */
function takeApart(object: object, values: unknown[]): Shape {
  const shape: (string | readonly [string, Shape])[] = [];
  for (const [name, value] of Object.entries(object)) {
    if (value === undefined) continue;
    if (typeof value === "object" && value !== null && !Array.isArray(value))
      shape.push([name, takeApart(value, values)]);
    else {
      shape.push(name);
      values.push(value);
    }
  }
  return shape;
}

/** The way back, one function for each shape, made once. */
function putTogether(shape: Shape, first: number): { readonly of: (row: PackedRow) => object; readonly next: number } {
  let next = first;
  const fields = shape.map((field) => {
    if (typeof field === "string") {
      const place = next++;
      return { name: field, place, of: null };
    }
    const inner = putTogether(field[1], next);
    next = inner.next;
    return { name: field[0], place: 0, of: inner.of };
  });
  const of = (row: PackedRow) => {
    const made: Record<string, unknown> = {};
    for (const { name, place, of } of fields) made[name] = of === null ? row[place] : of(row);
    return made;
  };
  return { of, next };
}

/** Brings wanders back as the objects they were, each once. */
export function unpackRecord({ record, shapes, wanders }: PackedRecord): RunRecord {
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
  const makers = shapes.map((shape) => putTogether(shape, 1).of);
  const rows = record.rows.map((packed): Row => {
    const row = makers[packed[0] as number]!(packed) as { -readonly [Name in keyof Row]: Row[Name] };
    row.fact = withWanders(row.fact, at) as Fact;
    return row;
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
