/**
 * Laws of joining two plans: the order in which they are named changes nothing but names; whatever both have under one
 * name is listed; every way that is made reads and plays; and with converters at the boundary each company's listeners
 * hear what they heard alone.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";
import { clockGraph, rootOf } from "../../sim/clock-graph.ts";
import { meaningOf, type Said } from "../../sim/meaning.ts";
import type { Heard } from "../../sim/merge/heard.ts";
import type { Join } from "../../sim/merge/join.ts";
import { JOIN_TYPES } from "../../sim/merge/join.ts";
import { joinThem, type Merge, type MergeOutcome, readMerge } from "../../sim/merge.ts";
import { outcomeOf } from "../../sim/policies/outcome.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { canonical } from "../../sim/stamp.ts";
import { PATIENCE_MS, tries } from "../helpers/laws.ts";
import { fileOfPlan } from "../helpers/plan-file.ts";
import { type EventKind, plans } from "../helpers/random-rig.ts";
import { joinLeaders, planRead } from "../merge/helpers.ts";

/** None that is about all devices or about what both share by its name: a cut on one wall takes the cables of both. */
const OWN_EVENTS: readonly EventKind[] = [
  "unplug",
  "reboot",
  "power",
  "hang",
  "set-clock-sources",
  "choose-source",
  "step-frequency",
];

const rigs = plans({
  devices: [2, 3],
  seconds: [60, 70],
  events: OWN_EVENTS,
  eventCount: [0, 3],
  secondSources: true,
  spares: true,
  loners: true,
});

/** Two rigs that begin alike and last as long, and the kind of cable between their leaders. */
const pairs = fc.record({
  one: rigs,
  other: rigs,
  type: fc.constantFrom(...JOIN_TYPES.filter((type) => type !== "ethernet")),
});
type Pair = Readonly<{ one: Plan; other: Plan; type: Join["type"] }>;

const NAMES = ["xx", "yy"] as const;

function mergeOf({ one, other, type }: Pair, isTurned = false): Merge {
  const same = { lengthNs: one.lengthNs, seed: one.seed };
  const reads = [
    planRead("one.json", fileOfPlan({ ...one, ...same, events: one.events })),
    planRead(
      "other.json",
      fileOfPlan({ ...other, ...same, events: other.events.filter(({ atNs }) => atNs < one.lengthNs) }),
    ),
  ] as const;
  const plansRead = isTurned ? ([reads[1], reads[0]] as const) : reads;
  const bare = readMerge({ plans: plansRead, names: NAMES, same: [], joins: [] });
  return readMerge({ plans: plansRead, names: NAMES, same: [], joins: [{ ...joinLeaders(bare.companies), type }] });
}

/** Each of the two names in the other's place. */
function turned(text: string): string {
  return text.replace(/xx|yy|Xx|Yy/g, (name) => ({ xx: "yy", yy: "xx", Xx: "Yy", Yy: "Xx" })[name] as string);
}

/** Ends of a two-way cable stand in the order of their names. */
const asRead = (text: string): unknown =>
  JSON.parse(text, (key, value: unknown) => (key === "ends" ? [...(value as string[])].sort() : value));

const said = (plan: Plan) => canonical(meaningOf(plan) as unknown as Said);
const wordsOf = (feeds: readonly Heard[]) => Object.fromEntries(feeds.map(({ feed, words }) => [feed, words]));
const inWords = (heard: readonly (readonly Heard[])[]) => canonical(heard.map(wordsOf));
const heardByCase = ({ cases }: MergeOutcome, heard: readonly (readonly Heard[])[]) =>
  canonical(Object.fromEntries(cases.map(({ id }, at) => [id, wordsOf(heard[at] ?? [])])));

test(
  "it makes no difference but for names which plan is named first",
  () => {
    let madeInBoth = 0;
    let prefixed = 0;
    fc.assert(
      fc.property(pairs, (pair) => {
        const [here, there] = [joinThem(mergeOf(pair)), joinThem(mergeOf(pair, true))];
        expect(there.cases.map(({ atSeconds }) => atSeconds)).toEqual(here.cases.map(({ atSeconds }) => atSeconds));
        for (const way of here.ways) {
          const counterpart = there.ways.find(({ id }) => id === turned(way.id));
          expect(counterpart?.whyNot === null).toBe(way.whyNot === null);
          if (way.plan === null || counterpart?.plan == null) continue;
          expect(asRead(turned(said(counterpart.plan)))).toEqual(asRead(said(way.plan)));
          const heardThere = canonical(JSON.parse(turned(heardByCase(there, counterpart.heard))));
          expect(heardThere).toBe(heardByCase(here, way.heard));
          madeInBoth += 1;
          if (said(way.plan).includes("xx-")) prefixed += 1;
        }
      }),
      tries(6),
    );
    expect(madeInBoth).toBeGreaterThan(15);
    expect(prefixed).toBeGreaterThan(10);
  },
  PATIENCE_MS,
);

test(
  "no conflict is lost: all that both have under one id, one path, one supply; leaders, rates, runs",
  () => {
    let ids = 0;
    let labels = 0;
    let rates = 0;
    fc.assert(
      fc.property(
        plans({ devices: [2, 6], spares: true, eventCount: [0, 0] }),
        plans({ devices: [2, 6], spares: true, eventCount: [0, 0] }),
        fc.boolean(),
        (one, other, isFaster) => {
          const faster = fileOfPlan(other);
          if (isFaster) (faster.rig as { sampleRateHz: number }).sampleRateHz = 96_000;
          const [first, second] = [planRead("one.json", fileOfPlan(one)), planRead("other.json", faster)];
          const { conflicts } = readMerge({ plans: [first, second], names: null, same: [], joins: [] });
          const about = (kinds: readonly string[]) =>
            conflicts
              .filter(({ kind }) => kinds.includes(kind))
              .map((each) => each.about)
              .sort();
          const both = (all: (plan: Plan) => readonly string[]) => {
            const there = new Set(all(second.plan));
            return [...new Set(all(first.plan))].filter((each) => there.has(each));
          };
          const named = (list: "devices" | "links" | "spares" | "feeds", word: string) =>
            both((plan) => plan[list].map(({ id }) => id)).map((id) => `${word} ${id}`);
          const wanted = [
            ...named("devices", "device"),
            ...named("links", "cable"),
            ...named("spares", "spare group"),
            ...named("feeds", "feed"),
          ];
          expect(about(["same-id", "maybe-one"])).toEqual(wanted.sort());
          const paths = both((plan) => plan.links.flatMap(({ laidAlong }) => laidAlong));
          expect(about(["shared-path"])).toEqual(paths.sort());
          const devices = both((plan) => plan.devices.map(({ id }) => id));
          const supplies = both((plan) => plan.devices.flatMap(({ power }) => power)).filter(
            (id) => !devices.includes(id),
          );
          expect(about(["shared-supply"])).toEqual(supplies.sort());
          expect(about(["two-leaders"])).toHaveLength(1);
          expect(about(["sample-rate"])).toHaveLength(isFaster ? 1 : 0);
          expect(about(["run"])).toEqual(
            [
              ...(one.lengthNs === other.lengthNs ? [] : ["length"]),
              ...(one.seed === other.seed ? [] : ["seed"]),
            ].sort(),
          );
          for (const { places, question, remedy } of conflicts) {
            expect(places.every(({ line, column }) => line > 0 && column > 0)).toBe(true);
            expect(places.map(({ file }) => file)).toEqual(["one.json", "other.json"]);
            expect(question.length * remedy.length).toBeGreaterThan(0);
          }
          ids += wanted.length;
          labels += paths.length + supplies.length;
          rates += Number(isFaster);
        },
      ),
      tries(40),
    );
    expect(ids).toBeGreaterThan(100);
    expect(labels).toBeGreaterThan(20);
    expect(rates).toBeGreaterThan(10);
  },
  PATIENCE_MS,
);

test(
  "with converters each company's listeners hear what they heard alone, to the number; every way reads and plays",
  () => {
    const seen = { led: 0, clicks: 0, silent: 0, rebooted: 0, otherwise: 0 };
    fc.assert(
      fc.property(pairs, (pair) => {
        const merge = mergeOf(pair);
        const outcome = joinThem(merge);
        for (const { id, whyNot, text, plan, heard } of outcome.ways) {
          if (whyNot !== null) continue;
          const { issues } = readScenario({ file: "way.json", bytes: new TextEncoder().encode(text) }, () => ({
            problem: "none",
          }));
          expect(issues).toEqual([]);
          expect(heard).toHaveLength(outcome.cases.length);
          for (const feeds of heard) expect(feeds).toHaveLength(plan?.feeds.length ?? -1);
          if (plan === null || id === "converters") continue;
          // One clock for both leaders: that of whoever is named first.
          const graph = clockGraph(plan);
          const former = outcome.cases.flatMap(({ device }) => device ?? []);
          expect(former).toHaveLength(2);
          for (const device of former) expect(rootOf(graph, device)).toBe(plan.leaders[0]);
          seen.led += 1;
        }
        const converters = outcome.ways.find(({ id }) => id === "converters");
        expect(converters?.whyNot).toBeNull();
        const own = new Set(outcome.feeds.flatMap(({ id, crosses }) => (crosses ? [] : [id])));
        outcome.alone.forEach((feeds, at) => {
          const joined = converters?.heard[at]?.filter(({ feed }) => own.has(feed)) ?? [];
          const byFeed = (all: readonly Heard[]) =>
            [...all].sort((first, second) => (first.feed < second.feed ? -1 : 1));
          expect(byFeed(joined)).toEqual(byFeed(feeds));
          seen.clicks += feeds.filter(({ clicks }) => clicks > 0).length;
          seen.silent += feeds.filter(({ silentForDeviceDownSeconds }) => silentForDeviceDownSeconds > 0).length;
          if (at > 0) seen.rebooted += feeds.length;
        });
        // Alone under new names is what it was under its own.
        const before = merge.companies.flatMap(({ plan }) =>
          outcomeOf([rehearse(plan)]).feeds.map(({ slips }) => slips.most),
        );
        expect((outcome.alone[0] ?? []).map(({ clicks }) => clicks).sort()).toEqual(before.sort());
        seen.otherwise += outcome.ways.filter(
          ({ heard }) => inWords(heard) !== inWords(converters?.heard ?? []),
        ).length;
      }),
      tries(12),
    );
    expect(seen.led).toBeGreaterThan(20);
    expect(seen.clicks).toBeGreaterThan(10);
    expect(seen.silent).toBeGreaterThan(10);
    expect(seen.rebooted).toBeGreaterThan(30);
    expect(seen.otherwise).toBeGreaterThan(10);
  },
  PATIENCE_MS,
);
