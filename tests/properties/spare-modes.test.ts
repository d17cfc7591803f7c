/**
 * Law: a spare along another path never makes the longest silence of a single cable fault longer, in any mode; and with
 * duplicates inside the window the loss of one costs nothing at all. Devices here never mute by their clock: what a
 * receiver on the spare mutes because it is out of step is the clock plan's doing.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { EventPlan, FeedPlan, Plan, SparePlan } from "../../shared/plan.ts";
import type { FeedSummary } from "../../shared/summary.ts";
import type { Ns } from "../../shared/time.ts";
import { skewSeconds } from "../../sim/latency.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import { plans } from "../helpers/random-rig.ts";

const WINDOW_SECONDS = 0.01;

interface Case {
  readonly plan: Plan;
  readonly group: SparePlan;
  readonly feed: string;
  readonly skew: number;
  readonly fault: string;
}

function groupIn(mode: SparePlan["mode"], pair: SparePlan, byHandMs: number): SparePlan {
  const never = { revertive: false, waitToRestoreSeconds: 0 };
  if (mode === "manual") return { ...pair, ...never, mode, switchSeconds: byHandMs / 1000 };
  if (mode === "duplicate") return { ...pair, ...never, mode, switchSeconds: 0, windowSeconds: WINDOW_SECONDS };
  return pair;
}

const cases: fc.Arbitrary<Case | null> = fc
  .record({
    plan: plans({
      devices: [2, 4],
      seconds: [60, 90],
      spares: true,
      secondSources: true,
      loners: true,
      eventCount: [0, 0],
    }),
    mode: fc.constantFrom("standby" as const, "duplicate" as const, "duplicate" as const, "manual" as const),
    which: fc.nat(),
    place: fc.constantFrom(0, 0, 0, 1),
    how: fc.constantFrom("unplug", "there only", "cut"),
    atMs: fc.noBias(fc.integer({ min: 2000, max: 20_000 })),
    forMs: fc.oneof(fc.integer({ min: 1, max: 900 }), fc.integer({ min: 900, max: 25_000 })),
    byHandMs: fc.integer({ min: 1000, max: 20_000 }),
    skewMs: fc.oneof(fc.integer({ min: -9, max: 9 }), fc.integer({ min: -800, max: 800 })),
  })
  .map(({ plan: bare, mode, which, place, how, atMs, forMs, byHandMs, skewMs }) => {
    const pair = bare.spares[which % Math.max(bare.spares.length, 1)];
    const feed = bare.feeds.find(({ hops }) => hops[hops.length - 1]?.spare === pair?.id);
    if (pair === undefined || feed === undefined) return null;
    const group = groupIn(mode, pair, byHandMs);
    const links = bare.links.map((link) =>
      pair.links.includes(link.id)
        ? {
            ...link,
            laidAlong: [`path of ${link.id}`],
            latencySeconds: 1 + (link.id === pair.links[1] ? skewMs / 1000 : 0),
          }
        : link,
    );
    const [main, spare] = pair.links.map((id) => links.find((link) => link.id === id)) as [
      Plan["links"][number],
      Plan["links"][number],
    ];
    const hit = place === 0 ? main : spare;
    const event = (isBack: boolean): EventPlan => {
      const when = { atNs: ((isBack ? atMs + forMs : atMs) * 1e6) as Ns, undoes: isBack ? 0 : null };
      if (how === "cut") return { ...when, do: isBack ? "mend" : "cut", path: `path of ${hit.id}` };
      const way = how === "there only" && hit.hasReturn ? "there" : null;
      return { ...when, do: isBack ? "plug" : "unplug", link: hit.id, end: null, way, into: null };
    };
    const plan: Plan = {
      ...bare,
      devices: bare.devices.map((device) => ({ ...device, muteOutOfStep: "unknown" as const })),
      links,
      spares: bare.spares.map((each) => (each.id === pair.id ? group : each)),
      events: [event(false), event(true)],
    };
    return { plan, group, feed: feed.id, skew: skewSeconds(plan, main, spare), fault: hit.id };
  });

function heard(each: Case, plan: Plan): FeedSummary {
  return rehearse(plan).summary.feeds.find(({ id }) => id === each.feed) as FeedSummary;
}

/** The same rig, in which the feed knows of the main alone: all cables stay, so every clock does the same. */
function withoutSpare({ plan, group }: Case): Plan {
  const alone = (feed: FeedPlan): FeedPlan => ({
    ...feed,
    hops: feed.hops.map((hop) => (hop.spare === group.id ? { ...hop, over: hop.over.slice(0, 1), spare: null } : hop)),
  });
  return { ...plan, feeds: plan.feeds.map(alone), spares: plan.spares.filter(({ id }) => id !== group.id) };
}

const isMerged = ({ group, skew }: Case) => group.mode === "duplicate" && skew <= WINDOW_SECONDS;

describe("a single cable fault", () => {
  test("is never silent for longer because there is a spare, and with duplicates never at all", {
    timeout: PATIENCE_MS,
  }, () => {
    const seen: Record<string, number> = { merged: 0, gap: 0, spareHit: 0 };
    fc.assert(
      fc.property(cases, (each) => {
        fc.pre(each !== null);
        if (each === null) return;
        const [bare, spared] = [heard(each, withoutSpare(each)), heard(each, each.plan)];
        const { mode, links } = each.group;
        const isMain = each.fault === links[0];
        const count = (key: string) => {
          seen[key] = (seen[key] ?? 0) + 1;
        };
        expect(spared.longestSilenceSeconds).toBeLessThanOrEqual(bare.longestSilenceSeconds + 1e-9);
        if (isMain && spared.longestSilenceSeconds < bare.longestSilenceSeconds / 2) count(`${mode} helps`);
        if (!isMain) {
          expect(spared.longestSilenceSeconds).toBe(0);
          count("spareHit");
        }
        if (isMerged(each)) {
          expect(spared.silentSeconds).toBe(0);
          expect(spared.returnsAtFullLevel).toBe(false);
          if (isMain && bare.silentSeconds > 0) count("merged");
        } else if (mode === "duplicate" && isMain) {
          expect(spared.silentSeconds).toBeLessThanOrEqual(each.skew + 1e-9);
          if (Math.abs(spared.silentSeconds - each.skew) < 1e-9) count("gap");
        }
      }),
      tries(120),
    );
    for (const key of ["merged", "gap", "spareHit", "standby helps", "manual helps", "duplicate helps"])
      expect(seen[key] ?? 0, key).toBeGreaterThan(3);
  });

  test("which catches duplicates that one cable takes both of", { timeout: PATIENCE_MS }, () => {
    const law = fc.property(cases, (each) => {
      fc.pre(each !== null && isMerged(each) && each.fault === each.group.links[0]);
      if (each === null) return;
      const along = each.plan.links.find(({ id }) => id === each.fault)?.laidAlong ?? [];
      const links = each.plan.links.map((link) =>
        each.group.links.includes(link.id) ? { ...link, laidAlong: along } : link,
      );
      expect(heard(each, { ...each.plan, links }).silentSeconds).toBe(0);
    });
    expect(isCaught(fc.check, law, 40)).toBe(true);
  });
});
