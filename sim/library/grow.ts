/** A library grown by what was measured: each measurement becomes an origin, and the number where none stood. */
import type { OriginSaid } from "../../shared/plan.ts";
import type { Library } from "../../shared/scenario-library.ts";
import { numberAt, sameValue } from "../../shared/scenario-origins.ts";
import type { DeviceTypeFile } from "../../shared/scenario-schema.ts";
import { leavesOf, originsIn, playedOf, sameOrigin, typeOf } from "./leaves.ts";
import { textWith } from "./merge.ts";

export interface Measurement {
  readonly type: string;
  /** "bootSeconds", "oscillator.offsetPpm". */
  readonly name: string;
  readonly said: OriginSaid;
}

/** What became of one number of one type. */
export interface Grown {
  readonly type: string;
  readonly name: string;
  /** Measurements that were not known before. */
  readonly added: readonly OriginSaid[];
  readonly played: unknown;
  /** Played before; undefined where no number stood. */
  readonly was: unknown;
  /** Measured and not played: somebody has to say which. */
  readonly isAsked: boolean;
}

/** @param plays whether what was measured takes the place of a number that stood */
export function grownLibrary(
  library: Pick<Library, "text" | "types" | "joined">,
  measurements: readonly Measurement[],
  { plays }: { readonly plays: boolean },
): { readonly text: string; readonly grown: readonly Grown[] } {
  const groups = new Map<string, Measurement[]>();
  for (const each of measurements) {
    const key = `${each.type}\n${each.name}`;
    groups.set(key, [...(groups.get(key) ?? []), each]);
  }
  const types: Record<string, DeviceTypeFile> = { ...library.types };
  const grown = [...groups.values()].map((group): Grown => {
    const [{ type: typeName, name }] = group as [Measurement];
    const type = types[typeName] as DeviceTypeFile;
    const origins = new Map(originsIn(type));
    const said = [...(origins.get(name) ?? [])];
    const added: OriginSaid[] = [];
    for (const each of group)
      if (!said.some((known) => sameOrigin(known, each.said))) {
        said.push(each.said);
        added.push(each.said);
      }
    origins.set(name, said);
    const was = numberAt(library.joined.get(typeName) ?? type, name);
    const measured = playedOf(distinct(group), said);
    const played = was === undefined || plays ? measured : was;
    const leaves = new Map(leavesOf(type));
    // What it is like may give the same: then the number stands there, and the origin here speaks of it.
    if (!sameValue(played, was)) leaves.set(name, played);
    types[typeName] = typeOf(leaves, origins);
    return {
      type: typeName,
      name,
      added,
      played,
      was,
      isAsked: distinct(group).some((value) => !sameValue(value, played)),
    };
  });
  return { text: textWith(library.text, library.types, types), grown };
}

function distinct(group: readonly Measurement[]): readonly unknown[] {
  const values: unknown[] = [];
  for (const { said } of group) if (!values.some((value) => sameValue(value, said.value))) values.push(said.value);
  return values;
}
