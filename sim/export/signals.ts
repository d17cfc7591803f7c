/**
 * A run as signals: values that hold from one instant to the next, by place, as wave viewers want them. Names of states
 * are kept beside their numbers. What is heard and seen comes from the summary, instants from the record; whole
 * nanoseconds throughout.
 */
import { CONVERTER_STATES, DEVICE_STATES, LINK_CLOCKS, LINK_STATES, PORT_ROLES } from "../../shared/record.ts";
import { type FeedStretch, SILENCES } from "../../shared/summary.ts";
import { type Ns, nsFromSeconds, ZERO } from "../../shared/time.ts";
import type { Run } from "../rehearse.ts";
import { slipAt, type Train } from "../slips.ts";
import { looksOf, type Timeline } from "../timeline.ts";

export interface Signal {
  /** Places from the outside in: ["links", "main", "there"]. */
  readonly scope: readonly string[];
  readonly name: string;
  /** A code stands for a word of its table; a flag is 0 or 1; a count begins at 0 and only grows. */
  readonly kind: "code" | "flag" | "count";
  /** Words of a code by its number; else empty. */
  readonly words: readonly string[];
  /** By instant, the first at 0, no two at one instant, no value twice running. */
  readonly changes: readonly { readonly atNs: Ns; readonly value: number }[];
}

/**
 * Slips of one run that have a change each. In a run with more, a count goes on by several at once: it is right wherever
 * it changes, at the first slip of each way of a link and at its last.
 */
export const SLIPS_SINGLY = 100_000;

export const FEED_STATES = ["clean", "slipping", "not-carried", ...SILENCES.map((why) => `silent-${why}`)] as const;

const NOBODY = "none";

export function signalsOf(run: Run): readonly Signal[] {
  return [
    ...eventSignals(run),
    ...deviceSignals(run),
    ...networkSignals(run),
    ...linkSignals(run),
    ...feedSignals(run),
  ];
}

interface Change<T> {
  readonly at: Ns;
  readonly value: T;
}

/** In the order given; of several at one instant the last holds. */
function joined<T>(changes: readonly Change<T>[], numberOf: (value: T) => number): Signal["changes"] {
  const found: { atNs: Ns; value: number }[] = [];
  for (const { at, value } of changes) {
    if (found.at(-1)?.atNs === at) found.pop();
    const number = numberOf(value);
    if (found.at(-1)?.value !== number) found.push({ atNs: at, value: number });
  }
  return found;
}

function code<T>(
  scope: readonly string[],
  name: string,
  words: readonly string[],
  changes: readonly Change<T>[],
  wordOf: (value: T) => string,
): Signal {
  const numbers = new Map(words.map((word, index) => [word, index]));
  return {
    scope,
    name,
    kind: "code",
    words,
    changes: joined(changes, (value) => numbers.get(wordOf(value)) as number),
  };
}

function flag<T>(
  scope: readonly string[],
  name: string,
  changes: readonly Change<T>[],
  holds: (value: T) => boolean,
): Signal {
  return { scope, name, kind: "flag", words: [], changes: joined(changes, (value) => (holds(value) ? 1 : 0)) };
}

const lineChanges = <T>({ changes }: Timeline<T>): readonly Change<T>[] =>
  changes.map(({ atNs, value }) => ({ at: atNs, value }));

const stretchChanges = <T extends { readonly fromSeconds: number }>(stretches: readonly T[]): readonly Change<T>[] =>
  stretches.map((value) => ({ at: nsFromSeconds(value.fromSeconds), value }));

/** How often each thing has been done in the world. */
function eventSignals({ plan, summary }: Run): readonly Signal[] {
  const counts = new Map<string, { atNs: Ns; value: number }[]>();
  for (const [index, { do: deed, on }] of summary.events.entries()) {
    const name = `${deed}:${on}`;
    const changes = counts.get(name) ?? [{ atNs: ZERO, value: 0 }];
    counts.set(name, changes);
    const { atNs } = plan.events[index] as { atNs: Ns };
    const last = changes.at(-1) as { atNs: Ns; value: number };
    if (last.atNs === atNs) last.value += 1;
    else changes.push({ atNs, value: last.value + 1 });
  }
  return [...counts].map(([name, changes]) => ({ scope: ["events"], name, kind: "count", words: [], changes }));
}

function deviceSignals({ summary, record }: Run): readonly Signal[] {
  const surfaces = new Map<string, Change<boolean>[]>();
  for (const { atNs, subject, fact } of record.rows) {
    if (fact.kind !== "surface") continue;
    const id = subject.replace(/^device /, "");
    const changes = surfaces.get(id) ?? [];
    surfaces.set(id, changes);
    changes.push({ at: atNs, value: fact.works });
  }
  const { hung, realigned } = looksOf(record);
  return summary.devices.flatMap(({ id, states }) => {
    const scope = ["devices", id];
    const changes = stretchChanges(states);
    const sources = [...new Set(states.map(({ source }) => sourceWords(source)))];
    const works = surfaces.get(id);
    const isHung = hung.get(id);
    const jumps = realigned.get(id);
    return [
      code(scope, "state", DEVICE_STATES, changes, ({ state }) => state),
      code(scope, "source", sources, changes, ({ source }) => sourceWords(source)),
      ...(works === undefined ? [] : [flag(scope, "surface", [{ at: ZERO, value: true }, ...works], (value) => value)]),
      ...(isHung === undefined ? [] : [flag(scope, "hung", lineChanges(isHung), (value) => value)]),
      ...(jumps === undefined ? [] : [counted(scope, "realigned", jumps)]),
    ];
  });
}

function sourceWords(source: string | null): string {
  return source === null || source === "internal" ? (source ?? NOBODY) : `port ${source}`;
}

/** One more at each instant. */
function counted(scope: readonly string[], name: string, instants: readonly Ns[]): Signal {
  const changes = [{ at: ZERO, value: 0 }, ...instants.map((at, index) => ({ at, value: index + 1 }))];
  return { scope, name, kind: "count", words: [], changes: joined(changes, (value) => value) };
}

function networkSignals({ summary }: Run): readonly Signal[] {
  return summary.networks.flatMap(({ id, devices }) =>
    devices.map(({ device, roles }) =>
      code(["networks", id, device], "role", PORT_ROLES, stretchChanges(roles), ({ role }) => role),
    ),
  );
}

function linkSignals({ summary, record }: Run): readonly Signal[] {
  const { inputs, converters, trains } = looksOf(record);
  const slips = [...trains.values()].flat().reduce((sum, { count }) => sum + count, 0);
  const every = Math.max(1, Math.ceil(slips / SLIPS_SINGLY));
  return summary.links.flatMap(({ id, way, states }) => {
    const scope = ["links", id, ...(way === "both" ? [] : [way])];
    const changes = stretchChanges(states);
    return [
      code(scope, "state", LINK_STATES, changes, ({ state }) => state),
      code(scope, "clock", LINK_CLOCKS, changes, ({ clock }) => clock),
      ...(way === "both" ? (["there", "back"] as const) : [way]).flatMap((each) => {
        const end = ["links", id, each];
        const input = inputs.get(`${id} ${each}`);
        const converter = converters.get(`${id} ${each}`);
        const trainsHere = trains.get(`${id} ${each}`) ?? [];
        return [
          ...(input === undefined
            ? []
            : [
                flag(end, "decodes", lineChanges(input), ({ decodes }) => decodes),
                flag(end, "in_step", lineChanges(input), ({ inStep }) => inStep),
              ]),
          ...(converter === undefined
            ? []
            : [code(end, "converter", CONVERTER_STATES, lineChanges(converter), (state) => state)]),
          ...slipCounts(
            end,
            "drops",
            trainsHere.filter(({ sign }) => sign > 0),
            every,
          ),
          ...slipCounts(
            end,
            "repeats",
            trainsHere.filter(({ sign }) => sign < 0),
            every,
          ),
        ];
      }),
    ];
  });
}

/** None where there is none. */
function slipCounts(
  scope: readonly string[],
  name: string,
  trains: readonly Train[],
  every: number,
): readonly Signal[] {
  const total = trains.reduce((sum, { count }) => sum + count, 0);
  if (total === 0) return [];
  const changes = [{ at: ZERO, value: 0 }];
  let before = 0;
  for (const train of trains) {
    for (let k = 1; k <= train.count; k++) {
      const value = before + k;
      if (value === 1 || value === total || value % every === 0) changes.push({ at: slipAt(train, k), value });
    }
    before += train.count;
  }
  return [{ scope, name, kind: "count", words: [], changes: joined(changes, (value) => value) }];
}

function feedSignals({ summary }: Run): readonly Signal[] {
  return summary.feeds.flatMap(({ id, states, realignedAtSeconds }) => {
    const scope = ["feeds", id];
    const reasons = [...new Set(states.map(({ because }) => because ?? NOBODY))];
    return [
      code(scope, "state", FEED_STATES, stretchChanges(states), feedState),
      code(scope, "because", reasons, stretchChanges(states), ({ because }) => because ?? NOBODY),
      ...feedSlips(scope, states),
      ...(realignedAtSeconds.length === 0 ? [] : [counted(scope, "realigned", realignedAtSeconds.map(nsFromSeconds))]),
    ];
  });
}

/** By the end of each stretch with slips in it: one slip alone has no length, and no state shows it. */
function feedSlips(scope: readonly string[], states: readonly FeedStretch[]): readonly Signal[] {
  let total = 0;
  const changes: Change<number>[] = [{ at: ZERO, value: 0 }];
  for (const { slips, toSeconds } of states) {
    if (slips === 0) continue;
    total += slips;
    changes.push({ at: nsFromSeconds(toSeconds), value: total });
  }
  return total === 0
    ? []
    : [{ scope, name: "slips", kind: "count", words: [], changes: joined(changes, (value) => value) }];
}

function feedState({ state, silence }: FeedStretch): string {
  return state === "silent" ? `silent-${silence ?? "muted"}` : state;
}
