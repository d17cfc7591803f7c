/** What the search for minimal cuts costs, against trying every set of as many risks. */
import type { RiskyArc, RiskyNet } from "../../sim/cut-sets.ts";
import { minimalCuts } from "../../sim/cut-sets.ts";
import { inTurns } from "./measure.ts";

export interface CutsBench {
  readonly risks: number;
  readonly cuts: number;
  readonly searchMs: number;
  readonly everyMs: number;
}

const ORDER = 2;

/** Medians of runs taken in turn. Throws where the two do not find the same. */
export function cutsBench({ rounds = 5 } = {}): CutsBench {
  const net = makeNet();
  let found: readonly (readonly string[])[] = [];
  let tried: readonly (readonly string[])[] = [];
  const [searchMs, everyMs] = inTurns(rounds, [
    () => {
      found = minimalCuts(net, ORDER);
    },
    () => {
      tried = everyPair(net);
    },
  ]) as [number, number];
  if (JSON.stringify(found) !== JSON.stringify(tried)) throw new Error("the cuts found are not those of every pair");
  return { risks: risksOf(net).length, cuts: found.length, searchMs, everyMs };
}

const ROWS = 6;
const IN_A_ROW = 10;
const BETWEEN_ROWS = 40;

/**
 * 60 devices in six rows of ten, 200 links, 40 from each row to the next and laid along two paths; the devices of a row
 * hang on the same two supplies. What is carried begins at two devices of the first row and ends at two of the last.
 * Arcs stand in the order of the rows.
 */
export function makeNet(): RiskyNet {
  const device = (row: number, place: number) => `device ${row}.${place % IN_A_ROW}`;
  const takesDevice = (row: number, place: number): RiskyArc["fails"] => [
    [device(row, place)],
    [`supply ${2 * row}`, `supply ${2 * row + 1}`],
  ];
  const links = Array.from({ length: (ROWS - 1) * BETWEEN_ROWS }, (_, index): RiskyArc => {
    const row = Math.floor(index / BETWEEN_ROWS);
    const nth = index % BETWEEN_ROWS;
    const [from, to] = [nth, 3 * nth + row + Math.floor(nth / IN_A_ROW)];
    return {
      from: device(row, from),
      to: device(row + 1, to),
      fails: [
        [`cable ${index}`],
        [`path ${2 * row + (nth % 2)}`],
        ...takesDevice(row, from),
        ...takesDevice(row + 1, to),
      ],
    };
  });
  return {
    source: "source",
    sink: "sink",
    arcs: [
      ...[0, 1].map((place): RiskyArc => ({ from: "source", to: device(0, place), fails: [] })),
      ...links,
      ...[0, 1].map((place): RiskyArc => ({ from: device(ROWS - 1, place), to: "sink", fails: [] })),
    ],
  };
}

function risksOf({ arcs }: RiskyNet): readonly string[] {
  return [...new Set(arcs.flatMap(({ fails }) => fails.flat()))].sort();
}

/** Each alone, then each with each of the others unless one of the two does it alone: smallest first, then by name. */
function everyPair(net: RiskyNet): readonly (readonly string[])[] {
  const risks = risksOf(net);
  const alone = risks.filter((risk) => !isReached(net, new Set([risk])));
  const rest = risks.filter((risk) => !alone.includes(risk));
  const pairs = rest.flatMap((one, at) =>
    rest.slice(at + 1).flatMap((other) => (isReached(net, new Set([one, other])) ? [] : [[one, other]])),
  );
  return [...alone.map((risk) => [risk]), ...pairs];
}

/** Arcs lead from row to row and stand in that order: one look at each will do. */
function isReached({ source, sink, arcs }: RiskyNet, gone: ReadonlySet<string>): boolean {
  const there = new Set([source]);
  for (const { from, to, fails } of arcs)
    if (there.has(from) && !there.has(to) && !fails.some((term) => term.every((risk) => gone.has(risk)))) there.add(to);
  return there.has(sink);
}
