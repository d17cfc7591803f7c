/** What the page lists of faults that were tried: all of them, in the order that people choose. */
import { describe, expect, test } from "vitest";
import { nsFromSeconds } from "../../shared/time.ts";
import { barOf } from "../../sim/trials/alike.ts";
import { FAULT_KINDS } from "../../sim/trials/list.ts";
import {
  AUDIENCES,
  type CaseToll,
  CONCERNS,
  type Concern,
  isHeard,
  nameOf,
  ranked,
  tollsOf,
} from "../../sim/trials/rank.ts";
import { singleFaults, WANTED } from "../../sim/trials/setup.ts";
import { Trier, trialAt, trialCount } from "../../sim/trials/trial.ts";
import { KIND_WORDS } from "../../sim/trials/words.ts";
import {
  type Choice,
  concernsOf,
  keepConcerns,
  keptConcerns,
  kindsIn,
  listed,
  moved,
  worstInOwnDraw,
} from "../../viewer/hurt/model.ts";
import { shippedPlan } from "../helpers/shipped.ts";

const { sweep } = singleFaults(shippedPlan("leader-reboot.json"), { ...WANTED, atNs: nsFromSeconds(1200), draws: 2 });
const results = new Trier(sweep).playAll({ from: 0, to: trialCount(sweep) });
const { plan } = sweep;
const tolls = ranked(plan, tollsOf(sweep, results));
const ALL: Choice = { feed: null, kind: null, isAll: true };
const namesIn = (choice: Choice, of: readonly CaseToll[] = tolls) =>
  listed(plan, of, choice).classes.flatMap(({ rows }) => rows.map(({ name }) => name));

describe("what is listed", () => {
  test("every fault once: those that are heard in classes, the worst first, the others apart", () => {
    const { classes, unheard, more, listeners } = listed(plan, tolls, ALL);
    const names = namesIn(ALL);
    expect([...names].sort()).toEqual(tolls.filter(isHeard).map(nameOf).sort());
    expect(names[0]).toBe(nameOf(tolls[0]!));
    expect(names.length + unheard.length).toBe(sweep.cases.length);
    expect([more, unheard.length > 0, listeners.length]).toEqual([0, true, plan.feeds.length]);
    // Within a class all bars are the same, and no two classes have the same.
    const looks = classes.map(
      ({ rows }) => new Set(rows.map(({ heard }) => JSON.stringify(heard.map(({ bar }) => bar)))),
    );
    expect(looks.every(({ size }) => size === 1)).toBe(true);
    expect(new Set(looks.flatMap((each) => [...each])).size).toBe(classes.length);
    expect(Math.max(...classes.map(({ rows }) => rows.length))).toBeGreaterThan(1);
  });

  test("the worst classes at first, and how many faults are left", () => {
    const first = listed(plan, tolls, { ...ALL, isAll: false });
    expect(first.classes).toHaveLength(12);
    expect(first.more).toBe(namesIn(ALL).length - namesIn({ ...ALL, isAll: false }).length);
    expect(first.more).toBeGreaterThan(0);
  });

  test("by listener: their bars alone, and only what they hear; by kind: only that", () => {
    const feed = "pa-mix";
    const theirs = listed(plan, tolls, { ...ALL, feed });
    const of = (toll: CaseToll) => toll.feeds.find((each) => each.feed === feed)!;
    expect(theirs.listeners).toEqual(["PA"]);
    const names = namesIn({ ...ALL, feed });
    expect(names.length).toBeGreaterThan(3);
    expect(names.length).toBeLessThan(namesIn(ALL).length);
    for (const { name, heard } of theirs.classes.flatMap(({ rows }) => rows))
      expect(heard.map(({ bar }) => bar)).toEqual([barOf(of(tolls.find((toll) => nameOf(toll) === name)!))]);
    for (const kind of kindsIn(sweep)) {
      const { classes, unheard } = listed(plan, tolls, { ...ALL, kind });
      const count = classes.flatMap(({ rows }) => rows).length + unheard.length;
      expect(count, kind).toBe(sweep.cases.filter(([fault]) => fault?.kind === kind).length);
      expect(count).toBeGreaterThan(0);
    }
    expect(Object.keys(KIND_WORDS)).toEqual([...FAULT_KINDS]);
  });
});

test("the fault as the plan's own draw has it: not another draw's, however bad", () => {
  const rank = (all: readonly CaseToll[]) => ranked(plan, all);
  const name = nameOf(tolls[0]!);
  const found = worstInOwnDraw(sweep, results, name, rank)!;
  const own = results.filter(({ index }) => trialAt(sweep, index).seed === 0);
  expect(own.length).toBeLessThan(results.length);
  expect(found).toEqual({ toll: tollsOf(sweep, own).find((toll) => nameOf(toll) === name), standing: 0 });
  const others = results.filter(({ index }) => trialAt(sweep, index).seed > 0);
  expect(worstInOwnDraw(sweep, others, name, rank)).toBeNull();
  // Of two moments the worse, wherever it stands.
  const twice = { ...sweep, standings: [sweep.standings[0]!, sweep.standings[0]!] };
  const place = sweep.cases.findIndex(([fault]) => fault?.id === name);
  const [quiet, loud] = [own.find(({ harms }) => harms.every((harm) => harm.normalAfterSeconds === 0))!, own[place]!];
  const at = (standing: number, result: typeof loud) => ({ ...result, index: standing * sweep.cases.length + place });
  expect(worstInOwnDraw(twice, [at(0, quiet), at(1, loud)], name, rank)?.standing).toBe(1);
  expect(worstInOwnDraw(twice, [at(0, loud), at(1, quiet)], name, rank)?.standing).toBe(0);
});

describe("the order of concerns", () => {
  const shown = concernsOf(plan, CONCERNS);

  test("one place up or down among those of this rig; the ends stay; the list follows", () => {
    expect(shown.length).toBeLessThan(CONCERNS.length);
    expect(new Set(shown.map((concern) => concern.split(" ")[0])).size).toBeLessThan(AUDIENCES.length);
    const up = moved(CONCERNS, shown, "pa level", -1);
    expect(concernsOf(plan, up).slice(0, 2)).toEqual(["pa level", "ears level"]);
    expect([...up].sort()).toEqual([...CONCERNS].sort());
    expect(moved(up, concernsOf(plan, up), "pa level", 1)).toEqual(CONCERNS);
    expect(moved(CONCERNS, shown, shown[0]!, -1)).toBe(CONCERNS);
    const clicksFirst: Concern[] = ["pa clicks", ...CONCERNS.filter((each) => each !== "pa clicks")];
    const [worst] = ranked(plan, tolls, clicksFirst);
    expect(namesIn(ALL, ranked(plan, tolls, clicksFirst))[0]).toBe(nameOf(worst!));
    expect(nameOf(worst!)).not.toBe(nameOf(tolls[0]!));
  });

  test("is kept over a reload; what is no order of them counts for nothing, nor does a browser that refuses", () => {
    const kept = new Map<string, string>();
    const storage = () =>
      ({
        getItem: (key: string) => kept.get(key) ?? null,
        setItem: (key: string, text: string) => kept.set(key, text),
      }) as unknown as Storage;
    const up = moved(CONCERNS, shown, "pa level", -1);
    expect(keptConcerns(storage)).toBe(CONCERNS);
    keepConcerns(storage, up);
    expect(keptConcerns(storage)).toEqual(up);
    for (const text of ["[]", "{", '["pa level"]', JSON.stringify([...up.slice(1), "me first"]), "7"]) {
      kept.set([...kept.keys()][0]!, text);
      expect(keptConcerns(storage)).toBe(CONCERNS);
    }
    const refuses = (): Storage => {
      throw new Error("not here");
    };
    keepConcerns(refuses, up);
    expect(keptConcerns(refuses)).toBe(CONCERNS);
  });
});
