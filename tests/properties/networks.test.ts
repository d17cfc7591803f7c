/**
 * The laws of every rig, over networks: bridges, elections and streams. And law 9: in one connected network there are
 * never two leaders for longer than a receipt timeout with its spread and two announcements.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import { packRecord } from "../../shared/packed-record.ts";
import type { NetworkPlan, Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import { readScenario } from "../../shared/scenario.ts";
import type { Ns } from "../../shared/time.ts";
import { electionNumbers } from "../../sim/election/numbers.ts";
import { startEngine } from "../../sim/engine.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { buildRig } from "../../sim/rig.ts";
import { isCaught, must, PATIENCE_MS, tries } from "../helpers/laws.ts";
import type { Alteration } from "../helpers/play.ts";
import { play, wrapMachines } from "../helpers/play.ts";
import { networkPlans } from "../helpers/random-network.ts";

const textOf = (plan: Plan): string => {
  const { record, summary } = rehearse(plan);
  return JSON.stringify([packRecord(record), summary]);
};

test("the same twice, cut and copied at any instant, and whatever the order of the file", {
  timeout: PATIENCE_MS,
}, () => {
  const reached = { roles: new Set<string>(), streams: 0, blocked: 0, jumps: 0 };
  fc.assert(
    fc.property(networkPlans(), fc.noBias(fc.integer({ min: 1, max: 39_000 })), ({ file, plan }, cutMs) => {
      const { rows } = play(plan);
      for (const { fact } of rows) {
        if (fact.kind === "election") reached.roles.add(fact.role);
        if (fact.kind === "bridging" && fact.blocked.length > 0) reached.blocked += 1;
        if (fact.kind === "link") reached.streams += 1;
        if (fact.kind === "re-aligned") reached.jumps += 1;
      }
      const rig = buildRig(plan);
      const first = startEngine(rig);
      first.playTo((cutMs * 1e6) as Ns);
      const second = startEngine(rig, structuredClone(first.moment()));
      expect(JSON.stringify(second.finish(plan.lengthNs))).toBe(JSON.stringify(rows));

      const turned = JSON.parse(JSON.stringify(file), (key, value: unknown) =>
        ["devices", "links", "feeds"].includes(key) && Array.isArray(value) ? value.toReversed() : value,
      ) as object;
      const bytes = new TextEncoder().encode(JSON.stringify(turned));
      const other = readScenario({ file: "random.json", bytes }, () => ({ problem: "there is none" })).plan as Plan;
      expect(textOf(other)).toBe(textOf(plan));
    }),
    tries(60),
  );
  expect([...reached.roles].sort()).toEqual(["about-to-lead", "down", "follows", "leads", "listening", "passive"]);
  expect(reached.blocked).toBeGreaterThan(10);
  expect(reached.streams).toBeGreaterThan(100);
  expect(reached.jumps).toBeGreaterThan(0);
});

function deepFreeze(value: unknown): void {
  if (typeof value !== "object" || value === null || Object.isFrozen(value)) return;
  Object.freeze(value);
  for (const part of Object.values(value)) deepFreeze(part);
}

test("machines of a network are pure", { timeout: PATIENCE_MS }, () => {
  const kinds = new Set<string>();
  fc.assert(
    fc.property(fc.oneof(networkPlans(), networkPlans({ cold: true })), ({ plan }) => {
      play(plan, (rig) =>
        wrapMachines(rig, (machine) => ({
          ...machine,
          handle: (state, event, now) => {
            deepFreeze(state);
            deepFreeze(event);
            const step = machine.handle(state, event, now);
            const again = machine.handle(state, event, now);
            must(JSON.stringify(again) === JSON.stringify(step), `${machine.id} answers otherwise when asked again`);
            deepFreeze(step);
            must(machine.due(step.state).atNs >= now, `${machine.id} asks to be woken in the past`);
            kinds.add(`${machine.id.split(" ")[0]} ${event.kind}`);
            return step;
          },
        })),
      );
    }),
    tries(20),
  );
  for (const kind of ["bridge mail", "bridging due", "bridging mail", "node due", "node mail", "node world"])
    expect(kinds).toContain(kind);
});

/** When a network has last been disturbed: by a cable, by a way that bridges found, by a device that says another class. */
function quietSince(plan: Plan, rows: readonly Row[]): Ns {
  const ethernet = new Set(
    plan.links.flatMap(({ id, ethernet }) => (ethernet === undefined ? [] : [`link ${id} both`])),
  );
  const degrades = new Set(
    plan.devices.flatMap(({ id, ptp }) => (ptp !== undefined && ptp.clockClass !== 248 ? [`device ${id}`] : [])),
  );
  let last = 0 as Ns;
  for (const { atNs, subject, fact } of rows) {
    const isDisturbing =
      (fact.kind === "link" && ethernet.has(subject)) ||
      fact.kind === "bridging" ||
      (fact.kind === "clock" && (fact.state === "off" || fact.state === "starting" || degrades.has(subject)));
    if (isDisturbing) last = atNs;
  }
  return last;
}

/** Devices by the part of the network that they are in, as cables and bridges stand at the end. */
function partsAtEnd(plan: Plan, rows: readonly Row[]): Map<string, string> {
  const up = new Map<string, boolean>();
  let forwards: readonly string[] = [];
  let blocked: readonly string[] = [];
  for (const { subject, fact } of rows) {
    if (fact.kind === "link") up.set(subject.split(" ")[1] as string, fact.state === "up");
    if (fact.kind === "bridging") ({ forwards, blocked } = fact);
  }
  const part = new Map(plan.devices.map(({ id }) => [id, id]));
  const root = (id: string): string => (part.get(id) === id ? id : root(part.get(id) as string));
  for (const { id, ethernet, a, b } of plan.links) {
    if (ethernet === undefined || up.get(id) !== true || blocked.includes(id)) continue;
    const isTrunk = a.device.startsWith("sw-") && b.device.startsWith("sw-");
    if (!isTrunk || forwards.includes(id)) part.set(root(a.device), root(b.device));
  }
  return new Map(plan.devices.map(({ id }) => [id, root(id)]));
}

const oneLeader = (seen: { changes: number; parts: number; judged: number; splits: number }, alter?: Alteration) =>
  fc.property(
    fc.oneof(networkPlans({ seconds: [80, 120] }), networkPlans({ seconds: [80, 120], cold: true })),
    ({ plan }) => {
      const { rows } = play(plan, alter);
      const { profile } = (plan.networks ?? [])[0] as NetworkPlan;
      const { receiptNs, receiptSpreadNs, announceNs } = electionNumbers(profile);
      // Each boundary on the way listens, decides and waits in its turn.
      const boundaries = plan.devices.filter(({ bridge }) => bridge?.timing === "boundary").length;
      const bound = (receiptNs + receiptSpreadNs + 2 * announceNs) * (1 + boundaries);
      const from = quietSince(plan, rows) + bound;
      const parts = partsAtEnd(plan, rows);
      const leading = new Map<string, Set<string>>();
      let mostAtOnce = 0;
      for (const { atNs, subject, fact } of rows) {
        if (fact.kind !== "election") continue;
        const device = subject.split(" ")[1] as string;
        const place = `${device} ${fact.port}`;
        for (const places of leading.values()) places.delete(place);
        if (fact.role === "leads")
          leading.set(fact.leader as string, (leading.get(fact.leader as string) ?? new Set()).add(place));
        const leaders = [...leading].filter(([, places]) => places.size > 0).map(([leader]) => leader);
        mostAtOnce = Math.max(mostAtOnce, leaders.length);
        if (atNs > 0) seen.changes += 1;
        if (atNs <= from) continue;
        const inParts = leaders.map((leader) => parts.get(leader));
        expect(new Set(inParts).size).toBe(inParts.length);
      }
      if (from < plan.lengthNs) {
        const leaders = [...leading].filter(([, places]) => places.size > 0).map(([leader]) => parts.get(leader));
        expect(new Set(leaders).size).toBe(leaders.length);
        seen.judged += 1;
      }
      if (mostAtOnce > 1) seen.splits += 1;
      seen.parts += new Set(parts.values()).size > 1 ? 1 : 0;
    },
  );

test("law 9: one leader in each part of a network, once it has been left alone", { timeout: PATIENCE_MS }, () => {
  const seen = { changes: 0, parts: 0, judged: 0, splits: 0 };
  fc.assert(oneLeader(seen), tries(80));
  expect(seen.changes).toBeGreaterThan(100);
  expect(seen.judged).toBeGreaterThan(40);
  expect(seen.splits).toBeGreaterThan(20);
  expect(seen.parts).toBeGreaterThan(5);
});

test("which catches a device that is deaf to the announcements of others", { timeout: PATIENCE_MS }, () => {
  const deaf: Alteration = (rig) =>
    wrapMachines(rig, (machine) =>
      machine.id !== "node d-0 net"
        ? machine
        : {
            ...machine,
            handle: (state, event, now) =>
              event.kind === "mail" && event.mail.kind === "frame"
                ? { state, effects: [] }
                : machine.handle(state, event, now),
          },
    );
  const law = oneLeader({ changes: 0, parts: 0, judged: 0, splits: 0 }, deaf);
  expect(isCaught(fc.check, law, 40)).toBe(true);
});
