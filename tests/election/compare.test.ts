/** Data sets compared, and what is decided for a port: every small combination, against the rules written otherwise. */
import { describe, expect, test } from "vitest";
import type { Candidate, Verdict } from "../../sim/election/compare.ts";
import { bestOf, compare, decidingField, isBetter } from "../../sim/election/compare.ts";
import { decide } from "../../sim/election/decide.ts";
import { ownCandidate } from "../../sim/election/own-data.ts";
import type { DataSet, PortIdentity } from "../../sim/election/train.ts";
import { identityOf, ptpOf } from "./hand-network.ts";
import { referenceCompare, referenceDecide } from "./reference.ts";

const A = identityOf(0);
const B = identityOf(1);
const C = identityOf(2);
const BITS = [0, 1] as const;
const MIRRORED: Readonly<Record<Verdict, Verdict>> = {
  better: "worse",
  "better-by-topology": "worse-by-topology",
  "error-1": "error-1",
  "error-2": "error-2",
  "worse-by-topology": "better-by-topology",
  worse: "better",
};

function data(words: Partial<DataSet>): DataSet {
  return {
    priority1: 128,
    clockClass: 248,
    clockAccuracy: 0xfe,
    offsetScaledLogVariance: 0xffff,
    priority2: 128,
    leader: A,
    stepsRemoved: 0,
    sender: { clock: A, port: 1 },
    ...words,
  };
}

describe("comparing two data sets", () => {
  test("of different leaders: all combinations of six fields, one apart", () => {
    const all: Candidate[] = [];
    for (const priority1 of BITS)
      for (const clockClass of BITS)
        for (const clockAccuracy of BITS)
          for (const offsetScaledLogVariance of BITS)
            for (const priority2 of BITS)
              for (const leader of [A, B])
                for (const stepsRemoved of [0, 3]) {
                  const fields = { priority1, clockClass, clockAccuracy, offsetScaledLogVariance, priority2 };
                  all.push({ data: data({ ...fields, leader, stepsRemoved }), receiver: { clock: C, port: 1 } });
                }
    const decided = new Set<string>();
    let count = 0;
    for (const a of all)
      for (const b of all) {
        if (a.data.leader === b.data.leader) continue;
        count += 1;
        const verdict = compare(a, b);
        if (verdict !== referenceCompare(a, b) || compare(b, a) !== MIRRORED[verdict]) expect([a, b]).toBe(verdict);
        decided.add(`${decidingField(a.data, b.data)} ${verdict}`);
      }
    expect(count).toBe(2 * 64 * 64);
    expect(decided.size).toBe(12); // six fields, each way
  });

  test("of one leader: steps, senders and receivers, all combinations", () => {
    const ports: PortIdentity[] = [A, B, C].flatMap((clock) => [1, 2].map((port) => ({ clock, port })));
    const all: Candidate[] = [];
    for (const stepsRemoved of [0, 1, 2, 3])
      for (const sender of ports)
        for (const receiver of ports) all.push({ data: data({ stepsRemoved, sender }), receiver });
    const verdicts = new Map<Verdict, number>();
    for (const a of all)
      for (const b of all) {
        const verdict = compare(a, b);
        if (verdict !== referenceCompare(a, b) || compare(b, a) !== MIRRORED[verdict]) expect([a, b]).toBe(verdict);
        verdicts.set(verdict, (verdicts.get(verdict) ?? 0) + 1);
      }
    expect([...verdicts.values()].reduce((sum, n) => sum + n)).toBe((4 * 36) ** 2);
    for (const verdict of Object.keys(MIRRORED) as Verdict[])
      expect(verdicts.get(verdict), verdict).toBeGreaterThan(100);
  });

  test("at one port it is an order: the best is better than every other, whatever their sequence", () => {
    const receiver = { clock: C, port: 1 };
    const all: Candidate[] = [];
    for (const leader of [A, B])
      for (const stepsRemoved of [0, 1, 2])
        for (const clock of [A, B])
          for (const port of [1, 2])
            all.push({ data: data({ leader, stepsRemoved, sender: { clock, port } }), receiver });
    for (let turn = 0; turn < all.length; turn++) {
      const turned = [...all.slice(turn), ...all.slice(0, turn)];
      const best = bestOf(turned) as Candidate;
      expect(best).toEqual(all[0]);
      for (const each of turned) if (each !== best) expect(isBetter(compare(best, each))).toBe(true);
    }
    expect(bestOf([])).toBeNull();
  });
});

describe("what becomes of a port", () => {
  test("all combinations of own clock, best of all and best here", () => {
    const pool: Candidate[] = [];
    for (const priority1 of [127, 128, 129])
      for (const leader of [A, B, C])
        for (const stepsRemoved of [0, 1, 2])
          for (const sender of [A, C])
            for (const port of [1, 2])
              pool.push({
                data: data({ priority1, leader, stepsRemoved, sender: { clock: sender, port: 1 } }),
                receiver: { clock: B, port },
              });
    const seen = new Map<string, number>();
    for (const priority1 of [127, 128, 129]) {
      const own = ownCandidate(ptpOf("default", 1, { priority1 }), 248);
      for (const neverFollows of [true, false])
        for (const best of [null, ...pool])
          for (const heard of [null, ...pool]) {
            // Nothing is heard here if nothing is heard anywhere, and nothing better than the best.
            if (heard !== null && (best === null || isBetter(compare(heard, best)))) continue;
            const decision = decide(own, neverFollows, best, heard);
            if (decision !== referenceDecide(own, neverFollows, best, heard))
              expect({ own, best, heard }).toBe(decision);
            seen.set(decision, (seen.get(decision) ?? 0) + 1);
          }
    }
    expect([...seen.keys()].sort()).toEqual(["M1", "M2", "M3", "P1", "P2", "S1"]);
    for (const [decision, count] of seen) expect(count, decision).toBeGreaterThan(50);
  });
});
