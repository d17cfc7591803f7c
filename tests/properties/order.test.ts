/**
 * Laws 3, 4 and 12: what stands where must not matter. The order of a file changes nothing; a device that is connected
 * to nothing changes no line about any other; of things that happen at one instant and touch different machines, none
 * comes first in a way that shows.
 */
import { readFileSync } from "node:fs";
import { basename, join } from "node:path";
import { fileURLToPath } from "node:url";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { packRecord } from "../../shared/packed-record.ts";
import type { DevicePlan, EventPlan, Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";
import type { Network } from "../../sim/machine.ts";
import type { Mail, Order } from "../../sim/mail.ts";
import { rehearse } from "../../sim/rehearse.ts";
import type { Rig } from "../../sim/rig.ts";
import { buildRig } from "../../sim/rig.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import type { Played } from "../helpers/play.ts";
import { play } from "../helpers/play.ts";
import type { Wish } from "../helpers/random-rig.ts";
import { plans } from "../helpers/random-rig.ts";
import { rowsBySubject } from "../helpers/reading.ts";
import { SHIPPED } from "../helpers/shipped.ts";

const wish: Wish = {
  seconds: [60, 240],
  secondSources: true,
  spares: true,
  loners: true,
  bending: true,
  heatTables: true,
  wandering: true,
  averaging: true,
  eventCount: [2, 8],
};
const seeds = fc.noBias(fc.integer({ min: 1, max: 2 ** 30 }));

/** A repeatable shuffle: keys from a small multiplicative generator (Park and Miller's constants). */
function shuffled<T>(items: readonly T[], seed: number): T[] {
  let state = seed;
  const keyed = items.map((item) => {
    state = (state * 16807) % 2147483647;
    return { item, key: state };
  });
  return keyed.sort((a, b) => a.key - b.key).map(({ item }) => item);
}

/** What happened, by subject; subjects in one order. */
function storyOf({ rows, timebases }: Played): Record<string, string[]> {
  return Object.fromEntries([...rowsBySubject(rows, timebases)].sort(([a], [b]) => (a < b ? -1 : 1)));
}

describe("the order of a scenario file changes nothing", () => {
  const folder = fileURLToPath(new URL("../../scenarios/", import.meta.url));
  const scenarios = SHIPPED;

  test("there are scenarios", () => {
    expect(scenarios.length).toBeGreaterThan(9);
  });

  test.each(scenarios)("%s", (name) => {
    const bytes = (text: string): Uint8Array => new TextEncoder().encode(text);
    const fileOf = (wanted: string): string => readFileSync(join(folder, basename(wanted)), "utf8");
    /** The file with every list of things turned round; events keep their order, which is that of time. */
    const mixed = (text: string, seed: number): string =>
      JSON.stringify(
        JSON.parse(text, (key, value: unknown) =>
          ["devices", "links", "feeds", "spares"].includes(key) && Array.isArray(value) ? shuffled(value, seed) : value,
        ),
      );
    const read = (change: (text: string) => string) =>
      readScenario({ file: name, bytes: bytes(change(fileOf(name))) }, (wanted) => ({
        bytes: bytes(change(fileOf(wanted))),
      })).plan;
    const plain = read((text) => text) as Plan;
    const bytesOf = (plan: Plan): string => {
      const { record, summary } = rehearse(plan);
      return JSON.stringify([plan, packRecord(record), summary]);
    };
    const once = bytesOf(plain);
    for (const seed of [7, 48_000]) expect(bytesOf(read((text) => mixed(text, seed)) as Plan) === once).toBe(true);
  });

  test("nor does the order in which a plan lists things", { timeout: PATIENCE_MS }, () => {
    const seen = { moved: 0, rows: 0 };
    fc.assert(
      fc.property(plans(wish), seeds, (plan, seed) => {
        const other: Plan = {
          ...plan,
          devices: shuffled(plan.devices, seed),
          links: shuffled(plan.links, seed + 1),
          spares: shuffled(plan.spares, seed + 2),
          feeds: shuffled(plan.feeds, seed + 3),
        };
        const story = storyOf(play(plan));
        expect(storyOf(play(other))).toEqual(story);
        const feedsOf = (each: Plan) => [...rehearse(each).summary.feeds].sort((a, b) => (a.id < b.id ? -1 : 1));
        expect(feedsOf(other)).toEqual(feedsOf(plan));
        if (other.devices[0]?.id !== plan.devices[0]?.id) seen.moved += 1;
        seen.rows += Object.values(story).flat().length;
      }),
      tries(25),
    );
    expect(seen.moved).toBeGreaterThan(10);
    expect(seen.rows).toBeGreaterThan(1500);
  });
});

describe("a device that is connected to nothing", () => {
  const stranger = (plan: Plan, id: string, isDrawn: boolean): DevicePlan => ({
    ...(plan.devices[0] as DevicePlan),
    id,
    name: id,
    clockSources: ["internal"],
    ports: {},
    power: [id],
    oscillator: { ...(plan.devices[0] as DevicePlan).oscillator, offsetPpm: isDrawn ? null : 13.37 },
  });

  test("changes no line about any other", { timeout: PATIENCE_MS }, () => {
    const seen = { slips: 0, first: 0, wandering: 0 };
    fc.assert(
      fc.property(plans(wish), fc.constantFrom("aaa", "mmm", "zzz"), fc.boolean(), (plan, id, isDrawn) => {
        const drawn: Plan = !isDrawn
          ? plan
          : {
              ...plan,
              devices: plan.devices.map((device) => ({
                ...device,
                oscillator: { ...device.oscillator, offsetPpm: null },
              })),
            };
        const devices = [...drawn.devices, stranger(drawn, id, isDrawn)].sort((a, b) => (a.id < b.id ? -1 : 1));
        const story = storyOf(play(drawn));
        const { [`device ${id}`]: itsOwn, ...others } = storyOf(play({ ...drawn, devices }));
        expect(itsOwn?.length).toBeGreaterThan(0);
        expect(others).toEqual(story);
        seen.slips += Object.values(story)
          .flat()
          .filter((line) => line.includes('"slips"')).length;
        if (id === "aaa") seen.first += 1;
        if (
          Object.values(others)
            .flat()
            .some((line) => /"wander":"[0-9a-f]/.test(line))
        )
          seen.wandering += 1;
      }),
      tries(25),
    );
    expect(seen.slips).toBeGreaterThan(50);
    expect(seen.first).toBeGreaterThan(3);
    expect(seen.wandering).toBeGreaterThan(10);
  });

  test("nor does a device that only listens", { timeout: PATIENCE_MS }, () => {
    const seen = { rows: 0, wandering: 0, locked: 0 };
    fc.assert(
      fc.property(plans(wish), seeds, fc.constantFrom("aaa", "zzz"), (plan, seed, id) => {
        const story = storyOf(play(plan));
        const [parent] = shuffled(plan.devices, seed) as [DevicePlan];
        const like = plan.links.find(({ type }) => type === "aes3" || type === "madi") ?? plan.links[0];
        if (like === undefined) return;
        const listener = { ...stranger(plan, id, false), clockSources: ["1"], power: [`${id}-mains`] };
        const link = {
          ...like,
          ...{ id: "zz-leaf", type: "aes3", twoWay: false, hasReturn: false, clockIsAgreed: false, channels: 2 },
          ...{ a: { device: parent.id, port: 99 }, b: { device: id, port: 1 }, laidAlong: [] },
        };
        const wider = {
          ...plan,
          devices: [...plan.devices, listener].sort((a, b) => (a.id < b.id ? -1 : 1)),
          links: [...plan.links, link].sort((a, b) => (a.id < b.id ? -1 : 1)),
        };
        const others = Object.entries(storyOf(play(wider))).filter(
          ([subject]) =>
            subject !== `device ${id}` && !subject.startsWith(`port ${id}.`) && !subject.startsWith("link zz-"),
        );
        expect(Object.fromEntries(others)).toEqual(story);
        const itsOwn = storyOf(play(wider))[`device ${id}`] ?? [];
        seen.rows += others.flatMap(([, lines]) => lines).length;
        if (itsOwn.some((line) => line.includes('"locked"'))) seen.locked += 1;
        if (others.flatMap(([, lines]) => lines).some((line) => /"wander":"[0-9a-f]/.test(line))) seen.wandering += 1;
      }),
      tries(20),
    );
    expect(seen.rows).toBeGreaterThan(1000);
    expect(seen.wandering).toBeGreaterThan(10);
    expect(seen.locked).toBeGreaterThan(10);
  });
});

describe("at one instant", () => {
  /** Makes all first halves of events fall on few instants, so that many fall together. */
  function crowded(plan: Plan): Plan {
    const events = plan.events
      .filter(({ undoes }) => undoes === null)
      .map((event) => ({ ...event, atNs: (Math.ceil(event.atNs / 20e9) * 20e9) as typeof event.atNs }));
    return { ...plan, events: events.filter(({ atNs }) => atNs < plan.lengthNs) };
  }

  /** What an event touches; those that share nothing are independent. Links touch the devices at their ends, devices their links. */
  function touches(plan: Plan, event: EventPlan): string[] {
    const links = plan.links.filter(({ id, laidAlong }) =>
      event.do === "cut" || event.do === "mend"
        ? laidAlong.includes(event.path)
        : (event.do === "unplug" || event.do === "plug") && event.link === id,
    );
    const fed = event.do === "power-cut" || event.do === "power-back" ? event.supply : null;
    const devices =
      "device" in event
        ? plan.devices.filter(
            ({ id, power }) =>
              (event.device === null && fed === null) || id === event.device || power.includes(fed ?? ""),
          )
        : [];
    const attached = plan.links.filter(({ a, b }) => devices.some(({ id }) => id === a.device || id === b.device));
    return [
      ...[...links, ...attached].map(({ id }) => id),
      ...links.flatMap(({ a, b }) => [a.device, b.device]),
      ...devices.map(({ id }) => id),
    ];
  }

  function independentOnly(plan: Plan): Plan {
    const taken = new Map<number, Set<string>>();
    const events = plan.events.filter((event) => {
      const here = taken.get(event.atNs) ?? new Set<string>();
      const mine = touches(plan, event);
      if (mine.some((each) => here.has(each))) return false;
      taken.set(event.atNs, new Set([...here, ...mine]));
      return true;
    });
    return { ...plan, events };
  }

  test("the order of independent events of the world does not matter", { timeout: PATIENCE_MS }, () => {
    const seen = { turned: 0 };
    fc.assert(
      fc.property(
        plans({ ...wish, eventCount: [5, 10] })
          .map(crowded)
          .map(independentOnly),
        seeds,
        (plan, seed) => {
          const events = shuffled(plan.events, seed).sort((a, b) => a.atNs - b.atNs);
          expect(storyOf(play({ ...plan, events })).world?.length ?? 0).toBe(plan.events.length);
          const { world, ...story } = storyOf(play(plan));
          const { world: otherWorld, ...other } = storyOf(play({ ...plan, events }));
          expect(other).toEqual(story);
          expect([...(otherWorld ?? [])].sort()).toEqual([...(world ?? [])].sort());
          if (JSON.stringify(events) !== JSON.stringify(plan.events)) seen.turned += 1;
        },
      ),
      tries(45),
    );
    expect(seen.turned).toBeGreaterThan(4);
  });

  /**
   * The same network with its machines in another order. What carries stays before what lives, and a device before its
   * own ports, which hear it at once: that is the order that the engine states. All else is free.
   */
  function withOtherRanks(rig: Rig, seed: number): Rig {
    const kind = (id: string): number => (id.startsWith("link") ? 0 : id.startsWith("device") ? 1 : 2);
    const order = shuffled([...rig.machines.keys()], seed).sort(
      (a, b) => kind(rig.machines[a]?.id ?? "") - kind(rig.machines[b]?.id ?? ""),
    );
    const slotOf = new Map(order.map((old, slot) => [old, slot]));
    const to = (old: number): number => slotOf.get(old) as number;
    const network: Network<Order, Mail> = {
      machines: order.map((old) => rig.machines[old] as Rig["machines"][number]),
      wires: order.map((old) => (rig.wires[old] ?? []).map((ends) => ends.map((end) => ({ ...end, to: to(end.to) })))),
      world: rig.world.map((event) => ({
        ...event,
        orders: event.orders.map((each) => ({ ...each, to: to(each.to) })),
      })),
    };
    return { ...rig, ...network };
  }

  test("the order in which machines are woken does not matter", { timeout: PATIENCE_MS }, () => {
    const seen = { together: 0, rigs: 0 };
    fc.assert(
      fc.property(plans({ ...wish, eventCount: [3, 8] }).map(crowded), seeds, (plan, seed) => {
        const ranked = play(plan);
        expect(storyOf(play(plan, (rig) => withOtherRanks(rig, seed)))).toEqual(storyOf(ranked));
        const instants = new Map<number, Set<string>>();
        for (const { atNs, subject } of ranked.rows) {
          if (atNs > 0) instants.set(atNs, (instants.get(atNs) ?? new Set()).add(subject));
        }
        seen.together += [...instants.values()].filter((subjects) => subjects.size > 2).length;
        seen.rigs += 1;
      }),
      tries(30),
    );
    expect(seen.together).toBeGreaterThan(50);
    expect(seen.rigs).toBeGreaterThan(20);
  });

  test("which catches a rig where the first to be woken takes something from the rest", {
    timeout: PATIENCE_MS,
  }, () => {
    // Devices share a counter, which no machine may: whoever is woken first gets the smaller part.
    const greedy = (rig: Rig): Rig => {
      let woken = 0;
      return {
        ...rig,
        machines: rig.machines.map((machine) => ({
          ...machine,
          handle: (state, event, now) => {
            const step = machine.handle(state, event, now);
            if (!machine.id.startsWith("device")) return step;
            woken += 1;
            return {
              ...step,
              effects: step.effects.map((effect) =>
                effect.do === "record" && effect.fact.kind === "clock"
                  ? { ...effect, fact: { ...effect.fact, reason: `number ${woken}` } }
                  : effect,
              ),
            };
          },
        })),
      };
    };
    const law = fc.property(plans({ ...wish, eventCount: [3, 8] }).map(crowded), seeds, (plan, seed) => {
      expect(storyOf(play(plan, (rig) => greedy(withOtherRanks(rig, seed))))).toEqual(storyOf(play(plan, greedy)));
    });
    expect(isCaught(fc.check, law, 200)).toBe(true);
  });
});

test("a rig is built in one order, whatever the plan's", () => {
  fc.assert(
    fc.property(plans({ secondSources: true }), seeds, (plan, seed) => {
      const ids = buildRig(plan).machines.map(({ id }) => id);
      expect(
        buildRig({ ...plan, devices: shuffled(plan.devices, seed), links: shuffled(plan.links, seed) }).machines.map(
          ({ id }) => id,
        ),
      ).toEqual(ids);
    }),
    tries(15),
  );
});
