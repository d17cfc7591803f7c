/**
 * Laws of bridging over random bridges, cables and faults: what passes is a forest at every instant; once nothing has
 * happened for long it connects all that can be connected, and each bridge hears exactly those.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Effect } from "../../sim/machine.ts";
import type { Mail } from "../../sim/mail.ts";
import { ringsOf, spanningTree } from "../../sim/network/tree.ts";
import { PATIENCE_MS, tries } from "../helpers/laws.ts";
import type { AnyMachine, BridgeRig } from "./bridge-rig.ts";
import { bridgeRig, NOTICE_SECONDS, RESIDENCE_SECONDS } from "./bridge-rig.ts";
import type { Story } from "./bridge-stories.ts";
import { FAULTS_SECONDS, merge, QUIET_SECONDS, stories, truth } from "./bridge-stories.ts";
import { CABLE_NS } from "./bridge-table.ts";

/** At every instant that bridging has decided something. */
function expectForests(story: Story, rig: BridgeRig): void {
  for (const { row } of rig.decisions()) {
    if (row.fact.kind !== "bridging") continue;
    const { forwards, blocked } = row.fact;
    expect(merge(story, ({ id }) => forwards.includes(id)).loops).toBe(0);
    expect(forwards.filter((id) => blocked.includes(id))).toEqual([]);
  }
}

/** Has bridging watched while it tells bridges one after the other: no loop is closed on the way. */
function watched(story: Story, seen: { both: number }): BridgeRig {
  const told: (readonly number[])[] = story.bridges.map(() => []);
  let rig: BridgeRig | null = null;
  const watch = (effects: readonly Effect<Mail>[]): void => {
    const did = { stop: false, start: false };
    for (const effect of effects) {
      if (effect.do !== "send" || effect.mail.kind !== "forwarding") continue;
      const { ports } = effect.mail;
      const before = told[effect.port] as readonly number[];
      if (before.some((port) => !ports.includes(port))) did.stop = true;
      if (ports.some((port) => !before.includes(port))) did.start = true;
      told[effect.port] = ports;
      const passes = (end: { bridge: number; port: number }): boolean => told[end.bridge]?.includes(end.port) === true;
      // The start of a run comes before there is a rig to look at; only from then on is there something to lose.
      const cables = rig?.spec.cables ?? [];
      expect(merge(story, (_, c) => cables.slice(c, c + 1).some(({ a, b }) => passes(a) && passes(b))).loops).toBe(0);
    }
    if (did.stop && did.start) seen.both += 1;
  };
  const wrap = (machine: AnyMachine): AnyMachine => ({
    ...machine,
    start(now) {
      const step = machine.start(now);
      watch(step.effects);
      return step;
    },
    handle(state, event, now) {
      const step = machine.handle(state, event, now);
      watch(step.effects);
      return step;
    },
  });
  rig = bridgeRig({ ...story, wrap: (machine) => (machine.id === "bridging a" ? wrap(machine) : machine) });
  return rig;
}

/** Bridges that a packet passes from one to the other over what forwards, both of them counted. */
function bridgesBetween(story: Story, forwards: readonly string[], from: string, to: string): number {
  const far = new Map([[from, 1]]);
  for (const at of far.keys()) {
    for (const { id, a, b } of story.cables) {
      if (!forwards.includes(id) || (a !== at && b !== at)) continue;
      const next = a === at ? b : a;
      if (!far.has(next)) far.set(next, (far.get(at) as number) + 1);
    }
  }
  return far.get(to) ?? Number.NaN;
}

function expectSettled(story: Story, rig: BridgeRig): { readonly parts: number; readonly forwards: readonly string[] } {
  rig.playTo(1 + FAULTS_SECONDS + QUIET_SECONDS);
  const { isUp, off } = truth(story);
  const connected = merge(story, (_, c) => isUp[c] === true);
  const fact = rig.decisions().at(-1)?.row.fact;
  if (fact?.kind !== "bridging") throw new Error("nothing was decided");
  const up = story.cables.filter((_, c) => isUp[c]).map(({ id }) => id);
  expect([...fact.forwards, ...fact.blocked].sort()).toEqual([...up].sort());
  const isStorm = story.recovery === "none" && connected.loops > 0;
  expect(fact.storm).toBe(isStorm);
  for (const { id } of story.bridges) {
    const others = story.bridges.map((bridge) => bridge.id).filter((other) => other !== id);
    const isCut = off.has(id) || (story.recovery === "none" && connected.hasLoop(id));
    const reached = isCut ? [] : others.filter((other) => connected.part.get(other) === connected.part.get(id));
    expect(rig.heardAt(id), `at ${id}`).toEqual(reached.sort());
    for (const other of reached) {
      const path = rig.frameAt(id, other)?.path;
      const passed = bridgesBetween(story, fact.forwards, other, id);
      expect(path?.bridges).toBe(passed);
      const waited = story.timing === "plain" ? passed * RESIDENCE_SECONDS : 0;
      expect(Math.abs((path?.forthSeconds ?? Number.NaN) - waited)).toBeLessThan(1e-15);
    }
  }
  return { parts: new Set(connected.part.values()).size, forwards: fact.forwards };
}

test(
  "trees: a forest at every instant; once quiet the one of the definition, and all hear whom they can",
  () => {
    const seen = { decisions: 0, held: 0, split: 0, dead: 0 };
    fc.assert(
      fc.property(stories(["spanning-tree", "rapid-spanning-tree", "ring-200ms"]), (story) => {
        const rig = bridgeRig(story);
        const { parts, forwards } = expectSettled(story, rig);
        expectForests(story, rig);
        const { isUp, off } = truth(story);
        const { roles } = spanningTree(story.bridges, rig.spec.cables.map(treeCable), isUp);
        const carrying = story.cables.filter((_, c) => roles[c] === "carries").map(({ id }) => id);
        // What is a ring holds back another cable than a tree would.
        const isRinged = story.recovery === "ring-200ms" && ringsIn(story, rig).length > 0;
        if (!isRinged) expect(forwards).toEqual(carrying);
        seen.decisions += rig.decisions().length;
        if (roles.some((role) => role.startsWith("blocked"))) seen.held += 1;
        if (parts > 1) seen.split += 1;
        if (off.size > 0) seen.dead += 1;
      }),
      tries(150),
    );
    expect(seen.decisions).toBeGreaterThan(450);
    for (const count of [seen.held, seen.split, seen.dead]) expect(count).toBeGreaterThan(15);
  },
  PATIENCE_MS,
);

const treeCable = ({ link, a, b }: BridgeRig["spec"]["cables"][number]) => ({ id: link, a, b });
const ringsIn = (story: Story, rig: BridgeRig) => ringsOf(story.bridges.length, rig.spec.cables.map(treeCable));

test(
  "rings: a forest at every instant, and all hear whom they can",
  () => {
    const seen = { rings: 0, whole: 0, open: 0, both: 0 };
    fc.assert(
      fc.property(stories(["ring-500ms", "ring-30ms"], "circles"), (story) => {
        const rig = watched(story, seen);
        seen.rings += ringsIn(story, rig).length;
        expectSettled(story, rig);
        expectForests(story, rig);
        if (truth(story).isUp.every((is) => is)) seen.whole += 1;
        else seen.open += 1;
      }),
      tries(250),
    );
    expect(seen.whole).toBeGreaterThan(5);
    expect(seen.open).toBeGreaterThan(20);
    expect(seen.both).toBeGreaterThan(20);
    expect(seen.rings).toBeGreaterThan(270); // of 250 runs, some with two
  },
  PATIENCE_MS,
);

test(
  "no recovery: what has a loop passes nothing, what has none everything",
  () => {
    const seen = { storms: 0, calm: 0, both: 0 };
    fc.assert(
      fc.property(stories(["none"]), (story) => {
        const rig = watched(story, seen);
        expectSettled(story, rig);
        expectForests(story, rig); // a storm forwards nothing, so what forwards is a forest here as well
        for (const { row } of rig.decisions())
          if (row.fact.kind === "bridging") seen[row.fact.storm ? "storms" : "calm"] += 1;
      }),
      tries(100),
    );
    expect(seen.storms).toBeGreaterThan(30);
    expect(seen.calm).toBeGreaterThan(30);
  },
  PATIENCE_MS,
);

describe("boundary bridges", () => {
  test("pass no clock on: each hears its neighbours alone, over every cable that passes packets", () => {
    const rig = bridgeRig({
      recovery: "spanning-tree",
      bridges: ["a", "b", "c"].map((id) => ({ id })),
      cables: [
        { id: "a-b", a: "a", b: "b" },
        { id: "b-c", a: "b", b: "c" },
      ],
      timing: "boundary",
      happenings: [{ at: 10, do: "unplug", what: "b-c" }],
    });
    rig.playTo(9);
    expect([rig.heardAt("a"), rig.heardAt("b"), rig.heardAt("c")]).toEqual([["b"], ["a", "c"], ["b"]]);
    expect(rig.frameAt("a", "b")).toMatchObject({ key: "clock b.1", path: { bridges: 0, forthSeconds: 0 } });
    expect(rig.frameAt("c", "b")?.key).toBe("clock b.2");
    rig.playTo(10 + CABLE_NS / 1e9);
    expect(rig.heardAt("c")).toEqual([]);
    rig.playTo(10 + NOTICE_SECONDS);
    expect(rig.heardAt("b")).toEqual(["a"]);
  });
});
