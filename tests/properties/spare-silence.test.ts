/**
 * Law 10: with the other link of a standby pair up before, a single cable fault is never silent for longer than
 * noticing, switching and unmuting take. Devices here mute in `starting` alone, which no cable brings about.
 */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { EventPlan, Plan, SparePlan } from "../../shared/plan.ts";
import type { Ns } from "../../shared/time.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import { plans } from "../helpers/random-rig.ts";

interface Case {
  readonly plan: Plan;
  readonly pair: SparePlan;
  readonly fault: string;
  /** The feed over that pair. */
  readonly feed: string;
  readonly forSeconds: number;
}

/** A rig with a pair, and one cable of it pulled, cut or half pulled, once, for a while. */
const cases: fc.Arbitrary<Case | null> = fc
  .record({
    plan: plans({
      devices: [2, 5],
      seconds: [60, 120],
      spares: true,
      secondSources: true,
      events: ["hang"],
      eventCount: [0, 0],
    }),
    which: fc.nat(),
    link: fc.constantFrom(0, 0, 1),
    how: fc.constantFrom("unplug", "unplug a", "unplug b", "there only", "cut"),
    atMs: fc.noBias(fc.integer({ min: 2000, max: 20_000 })),
    forMs: fc.oneof(fc.integer({ min: 1, max: 900 }), fc.integer({ min: 900, max: 25_000 })),
    unmuteMs: fc.constantFrom(0, 0, 700),
    isMuting: fc.boolean(),
  })
  .map(({ plan: bare, which, link, how, atMs, forMs, unmuteMs, isMuting }) => {
    const pair = bare.spares[which % Math.max(bare.spares.length, 1)];
    if (pair === undefined) return null;
    const links = bare.links.map((each) =>
      pair.links.includes(each.id) ? { ...each, laidAlong: [`path of ${each.id}`] } : each,
    );
    const hit = links.find(({ id }) => id === pair.links[link]) as (typeof links)[number];
    const deed = (isBack: boolean): EventPlan => {
      const when = { atNs: ((isBack ? atMs + forMs : atMs) * 1e6) as Ns, undoes: isBack ? 0 : null };
      if (how === "cut") return { ...when, do: isBack ? "mend" : "cut", path: `path of ${hit.id}` };
      const end = how === "unplug a" ? "a" : how === "unplug b" ? "b" : null;
      const way = how === "there only" && hit.hasReturn ? "there" : null;
      return { ...when, do: isBack ? "plug" : "unplug", link: hit.id, end, way, into: null };
    };
    const devices = bare.devices.map((device) => ({
      ...device,
      unmuteSeconds: unmuteMs / 1000,
      muteOutOfStep: isMuting ? device.muteOutOfStep : ("unknown" as const),
    }));
    const feed = bare.feeds.find(({ hops }) => hops[hops.length - 1]?.spare === pair.id);
    const plan: Plan = { ...bare, devices, links, events: [deed(false), deed(true)] };
    return feed === undefined ? null : { plan, pair, fault: hit.id, feed: feed.id, forSeconds: forMs / 1000 };
  });

/** What the pair allows: the fault is noticed, the spare is switched to, and a device that muted comes back. */
function allowedSeconds({ plan, pair, fault }: Case): number {
  const notice = plan.links.find(({ id }) => id === fault)?.noticeSeconds ?? 0;
  const unmute = Math.max(...plan.devices.map(({ unmuteSeconds }) => unmuteSeconds));
  return notice + pair.switchSeconds + unmute + 1e-9;
}

/** Silence of the hop over the pair: that of other hops of the feed is not the pair's doing. */
function silenceOf(each: Case, plan: Plan): number {
  const { feeds } = rehearse(plan).summary;
  const feed = feeds.find(({ id }) => id === each.feed);
  const silent = feed?.states.filter(({ state, silence }) => state === "silent" && silence === "link-down") ?? [];
  return Math.max(0, ...silent.map(({ fromSeconds, toSeconds }) => toSeconds - fromSeconds));
}

describe("a cable of a standby pair goes", () => {
  test("and nobody is without sound for longer than noticing, switching and unmuting", { timeout: PATIENCE_MS }, () => {
    const seen = { pairs: 0, silent: 0, full: 0, spareHit: 0, short: 0 };
    fc.assert(
      fc.property(cases, (each) => {
        fc.pre(each !== null);
        if (each === null) return;
        const longest = silenceOf(each, each.plan);
        expect(longest).toBeLessThanOrEqual(allowedSeconds(each));
        seen.pairs += 1;
        if (longest > 0) seen.silent += 1;
        if (longest > 0.95 * (allowedSeconds(each) - 0.7)) seen.full += 1;
        if (each.fault !== each.pair.links[0]) seen.spareHit += 1;
        if (longest > 0 && longest <= each.forSeconds + 1e-9 && longest < allowedSeconds(each) / 2) seen.short += 1;
      }),
      tries(60),
    );
    expect(seen.pairs).toBeGreaterThan(40);
    expect(seen.silent).toBeGreaterThan(20);
    expect(seen.full).toBeGreaterThan(5);
    expect(seen.spareHit).toBeGreaterThan(5);
  });

  test("which catches a pair whose spare was dead from the start", { timeout: PATIENCE_MS }, () => {
    const law = fc.property(cases, (each) => {
      fc.pre(each !== null && each.fault === each.pair.links[0] && each.forSeconds > 2);
      if (each === null) return;
      const links = each.plan.links.map((link) =>
        link.id === each.pair.links[1] ? { ...link, atStart: "unplugged" as const } : link,
      );
      expect(silenceOf(each, { ...each.plan, links })).toBeLessThanOrEqual(allowedSeconds(each));
    });
    expect(isCaught(fc.check, law, 30)).toBe(true);
  });
});
