/** What two plans do not agree about, or what in them may be one thing: as data that people are asked about. */
import type { Path } from "../../shared/issues.ts";
import type { Company, PlaceRead } from "./company.ts";

export const CONFLICT_KINDS = [
  "port-twice",
  "identity",
  "same-id",
  "maybe-one",
  "same-name",
  "two-leaders",
  "no-leader",
  "sample-rate",
  "network",
  "shared-path",
  "shared-supply",
  "run",
  "weather",
  "expectation",
  "acceptance",
] as const;
export type ConflictKind = (typeof CONFLICT_KINDS)[number];

export interface Conflict {
  readonly kind: ConflictKind;
  /** What it is about: an id, a name, a field. */
  readonly about: string;
  /** Where it stands in the first plan and in the second; what was typed has line 0. */
  readonly places: readonly [PlaceRead, PlaceRead];
  readonly what: string;
  readonly question: string;
  /** What to do, and what stands until then. */
  readonly remedy: string;
  /** Nothing can be joined before it is settled. */
  readonly isBlocking: boolean;
}

export type Companies = readonly [Company, Company];

export function placesOf([one, other]: Companies, onePath: Path, otherPath: Path): [PlaceRead, PlaceRead] {
  return [one.placeOf(onePath), other.placeOf(otherPath)];
}

/** Who says what: "House says 01:30:00, Tour says 02:00:00". */
export function bothSay([one, other]: Companies, first: string, second: string): string {
  return `${one.label} says ${first}, ${other.label} says ${second}`;
}

/** By kind, those that block first; within a kind by what they are about. */
export function inOrder(conflicts: readonly Conflict[]): readonly Conflict[] {
  const rank = ({ kind }: Conflict): number => CONFLICT_KINDS.indexOf(kind);
  return [...conflicts].sort(
    (one, two) =>
      Number(two.isBlocking) - Number(one.isBlocking) ||
      rank(one) - rank(two) ||
      (one.about < two.about ? -1 : one.about > two.about ? 1 : 0),
  );
}
