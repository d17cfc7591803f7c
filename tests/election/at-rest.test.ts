/**
 * How an election stands at rest: worked out at once, and found by the nodes themselves from cold, message by message.
 * Two ways to one answer, over random networks of segments and boundary devices.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { PtpPlan, PtpProfileName } from "../../shared/plan.ts";
import { PTP_PROFILES } from "../../shared/plan.ts";
import type { RestNode } from "../../sim/election/at-rest.ts";
import { electAtRest } from "../../sim/election/at-rest.ts";
import { PATIENCE_MS, tries } from "../helpers/laws.ts";
import type { HandNetwork, HandNode, HandRun } from "./hand-network.ts";
import { playByHand, ptpOf, standingAtEnd } from "./hand-network.ts";

const isBoundary = ({ on, isBoundary: said }: HandNode): boolean => said ?? on.length > 1;

/** As {@link standingAtEnd}, but worked out. */
function workedOut({ nodes }: HandNetwork, { atRest }: HandRun): Map<string, unknown> {
  return new Map(
    nodes.flatMap((node, i) =>
      (atRest[i]?.ports ?? []).map(({ role, leader, parent, steps }, index): [string, unknown] => {
        const port = isBoundary(node) ? index + 1 : null;
        return [`${node.id}.${port ?? ""}`, { port, role, leader, parent, steps }];
      }),
    ),
  );
}

function found(run: HandRun): Map<string, unknown> {
  return new Map(
    [...standingAtEnd(run)].map(([name, { port, role, leader, parent, steps }]) => [
      name,
      { port, role, leader, parent, steps },
    ]),
  );
}

const somePtp: fc.Arbitrary<Partial<PtpPlan>> = fc.record({
  priority1: fc.constantFrom(127, 128),
  clockClass: fc.constantFrom(6, 13, 248, 248, 248),
  priority2: fc.constantFrom(127, 128),
  followerOnly: fc.constantFrom(false, false, false, true),
});

const networks: fc.Arbitrary<HandNetwork> = fc
  .record({
    segments: fc.integer({ min: 1, max: 4 }),
    profile: fc.constantFrom<PtpProfileName>(...PTP_PROFILES),
    seed: fc.string({ maxLength: 3 }),
    words: fc.array(
      fc.record({
        ptp: somePtp,
        takes: fc.constantFrom(true, true, true, false),
        on: fc.array(fc.nat(3), { minLength: 1, maxLength: 3 }),
        is: fc.constantFrom("boundary", "boundary", "boundary", "ordinary", "two-cabled"),
      }),
      { minLength: 2, maxLength: 8 },
    ),
  })
  .map(({ segments, profile, seed, words }) => ({
    profile,
    seed,
    seconds: 300,
    nodes: words.map(({ ptp, takes, on, is }, i) => ({
      id: `d${i}`,
      // Two ports of one boundary device may be on one segment.
      on: on.map((segment) => `s${segment % segments}`).slice(0, is === "ordinary" ? 1 : 3),
      ptp,
      takes,
      isBoundary: is === "boundary" && on.length > 1,
    })),
  }));

describe("an election at rest", () => {
  test("is what the nodes settle to from cold", { timeout: PATIENCE_MS }, () => {
    const seen = { boundaries: 0, candidates: 0, passive: 0, steps: 0, rings: 0, ownWay: 0, twoCabled: 0 };
    fc.assert(
      fc.property(networks, (network) => {
        const run = playByHand({ ...network, begin: "cold" });
        expect(found(run)).toEqual(workedOut(network, run));
        const candidates = network.nodes.filter(({ ptp }) => ptp?.followerOnly !== true).length;
        if (candidates < 2) return;
        seen.candidates += 1;
        const ports = run.atRest.flatMap((result) => result.ports);
        if (network.nodes.some(isBoundary)) seen.boundaries += 1;
        if (ports.some(({ role }) => role === "passive")) seen.passive += 1;
        if (ports.some(({ role, steps }) => role === "follows" && steps > 0)) seen.steps += 1;
        if (network.nodes.filter(isBoundary).length > 2) seen.rings += 1;
        if (network.nodes.some((node) => node.on.length > 1 && !isBoundary(node))) seen.twoCabled += 1;
        if (ports.some(({ role, parent, leader }) => role === "passive" && parent === null && leader !== null))
          seen.ownWay += 1;
      }),
      tries(300),
    );
    expect(seen.boundaries).toBeGreaterThan(100);
    expect(seen.candidates).toBeGreaterThan(100);
    expect(seen.passive).toBeGreaterThan(30);
    expect(seen.steps).toBeGreaterThan(30);
    expect(seen.rings).toBeGreaterThan(30);
    expect(seen.ownWay).toBeGreaterThan(10);
    expect(seen.twoCabled).toBeGreaterThan(30);
  });

  test("does not change of itself: a network that begins so says nothing more", { timeout: PATIENCE_MS }, () => {
    let followed = 0;
    fc.assert(
      fc.property(networks, (network) => {
        const run = playByHand({ ...network, seconds: 60 });
        expect(run.rows.filter(({ atNs }) => atNs > 0)).toEqual([]);
        for (const [device, arrivals] of run.heard) {
          expect(arrivals, device).toEqual([]);
          if (run.first.get(device)?.up === true) followed += 1;
        }
      }),
      tries(150),
    );
    expect(followed).toBeGreaterThan(100);
  });

  test("is the same in whatever order the devices are written", { timeout: PATIENCE_MS }, () => {
    let moved = 0;
    fc.assert(
      fc.property(networks, fc.integer(), (network, by) => {
        const nodes = network.nodes.map(
          (node, i): RestNode => ({
            device: node.id,
            ptp: ptpOf("default", i, node.ptp),
            clockClass: node.ptp?.followerOnly === true ? 255 : (node.ptp?.clockClass ?? 248),
            takes: node.takes ?? true,
            isBoundary: isBoundary(node),
            attachments: node.on.map((segment, a) => ({ port: a + 1, segment: Number(segment.slice(1)) })),
          }),
        );
        const turned = nodes.map((_, i) => nodes[(i + Math.abs(by)) % nodes.length] as RestNode);
        if (turned[0] !== nodes[0]) moved += 1;
        const before = electAtRest(nodes, false);
        const after = electAtRest(turned, false);
        expect(nodes.map((node) => after[turned.indexOf(node)])).toEqual(before);
      }),
      tries(200),
    );
    expect(moved).toBeGreaterThan(50);
  });

  test("of two thousand devices on segments of 25, a tree of boundary devices: one leader", () => {
    const nodes: RestNode[] = [];
    for (let i = 0; i < 2000; i++) {
      const segment = Math.floor(i / 25);
      // The first device of each segment but the top one is a boundary device, one segment further up as well.
      const up = i % 25 === 0 && segment > 0 ? [{ port: 2, segment: Math.floor((segment - 1) / 3) }] : [];
      const ptp = ptpOf("aes67", i, i === 1234 ? { priority1: 1 } : {});
      nodes.push({
        device: `d${i}`,
        ptp,
        clockClass: ptp.clockClass,
        takes: true,
        isBoundary: up.length > 0,
        attachments: [{ port: 1, segment }, ...up],
      });
    }
    const results = electAtRest(nodes, false);
    expect(new Set(results.flatMap(({ ports }) => ports.map(({ leader }) => leader)))).toEqual(new Set(["d1234"]));
    expect(results.filter(({ follows }) => follows === null)).toHaveLength(1);
  });
});
