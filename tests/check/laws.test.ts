/** Laws of the check on random rigs: what the order of a file, or a name, must not change, and what a run must bear out. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { check } from "../../sim/check/index.ts";
import { clockGraph, runsOnOwnClock } from "../../sim/clock-graph.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tries } from "../helpers/laws.ts";
import { plans } from "../helpers/random-rig.ts";

/** Cables of any length are drawn; what a rig of short ones is found to have does not come from them. */
const withShortCables = (plan: Plan): Plan => ({
  ...plan,
  links: plan.links.map((link) => ({ ...link, lengthMetres: Math.min(link.lengthMetres, 50) })),
});

const anyRig = fc.oneof(
  plans({ secondSources: true, spares: true, loners: true }),
  plans({ secondSources: true, ring: true, devices: [3, 8] }),
);

// A busy machine takes its time; nothing here measures any.
const PATIENT = { timeout: 60_000 };

describe("whatever the rig", PATIENT, () => {
  it("the order of devices, links, spares and feeds changes nothing", () => {
    const seen = new Set<string>();
    fc.assert(
      fc.property(anyRig, fc.infiniteStream(fc.nat()), (plan, draws) => {
        const shuffled = <T>(list: readonly T[]): T[] => {
          const keyed = list.map((item) => ({ item, key: draws.next().value as number }));
          return keyed.sort((one, two) => one.key - two.key).map(({ item }) => item);
        };
        const other = {
          ...plan,
          devices: shuffled(plan.devices),
          links: shuffled(plan.links),
          spares: shuffled(plan.spares),
          feeds: shuffled(plan.feeds),
        };
        for (const { rule } of check(plan)) seen.add(rule);
        expect(rulesOf(other)).toEqual(rulesOf(plan));
        expect(check(other).map((one) => one.what)).toEqual(check(plan).map((one) => one.what));
      }),
      tries(100),
    );
    for (const rule of ["ring-of-sources", "left-on-internal", "sources-share-path"]) expect(seen).toContain(rule);
  });

  it("other ids give the same rules", () => {
    fc.assert(
      fc.property(anyRig, fc.constantFrom(1, 2, 3), (plan, kind) => {
        expect(rulesOf(renamed(plan, kind)).sort()).toEqual([...rulesOf(plan)].sort());
      }),
      tries(100),
    );
  });

  it("findings come gravest first, and each says what, why, what is seen and what to do, without shouting", () => {
    const gravity = { error: 0, warning: 1, advice: 2 };
    let count = 0;
    fc.assert(
      fc.property(anyRig, (plan) => {
        const findings = check(plan);
        const order = findings.map((one) => gravity[one.severity]);
        expect(order).toEqual([...order].sort((one, two) => one - two));
        for (const { what, why, see, remedy, path } of findings) {
          expect(pointsAtSomething(plan, path), path.join(".")).toBe(true);
          for (const text of [what, why, see, remedy]) {
            expect(text).toMatch(/^\P{Ll}.*\.$/u);
            expect(text).not.toMatch(/!|undefined|null|NaN|\b(safe|good|pass|passed)\b/);
          }
        }
        count += findings.length;
      }),
      tries(100),
    );
    expect(count).toBeGreaterThan(100);
  });
});

describe("a settled tree", PATIENT, () => {
  const trees = plans({ secondSources: true, spares: true, eventCount: [0, 0], wideRanges: true, seconds: [60, 90] });

  it("has no error, and its run has neither a slip nor a device off the leader's clock", () => {
    let followers = 0;
    fc.assert(
      fc.property(trees.map(withShortCables), (plan) => {
        expect(check(plan).filter((one) => one.severity === "error")).toEqual([]);
        const { record, summary } = rehearse(plan);
        expect(record.rows.filter((row) => row.fact.kind === "slips")).toEqual([]);
        for (const { id, states } of summary.devices) {
          expect(states.map((one) => one.state)).toEqual([plan.leaders[0] === id ? "free-run" : "locked"]);
          followers += plan.leaders[0] === id ? 0 : 1;
        }
      }),
      tries(40),
    );
    expect(followers).toBeGreaterThan(60);
  });
});

describe("what the check finds, the run bears out", PATIENT, () => {
  it("a device left on internal slips against its sender", () => {
    const rigs = plans({ loners: true, eventCount: [0, 0], wideRanges: true, seconds: [300, 400], devices: [2, 5] });
    let slipping = 0;
    fc.assert(
      fc.property(rigs.map(withShortCables), (plan) => {
        const { record } = rehearse(plan);
        const graph = clockGraph(plan);
        for (const { rule, devices, links } of check(plan)) {
          if (rule !== "left-on-internal") continue;
          for (const id of links) {
            const link = plan.links.find((one) => one.id === id)!;
            if (link.channels === 0) continue;
            const from = link.a.device === devices[0] ? link.b.device : link.a.device;
            const used = graph.used(from);
            const sender = used?.heard.kind === "device" ? graph.trace(used).ends : from;
            const ppm = offsetOf(plan, devices[0]!) - offsetOf(plan, sender!);
            // From the middle of its buffer a receiver slips at the latest when the clocks have moved by its depth.
            const moved = Math.abs(ppm) * 1e-6 * 48_000 * (plan.lengthNs / 1e9);
            if (moved < link.buffer.depthSamples + 1) continue;
            const slips = record.rows.filter((row) => row.fact.kind === "slips" && row.fact.link === id);
            expect(slips.length).toBeGreaterThan(0);
            slipping += 1;
          }
        }
      }),
      tries(40),
    );
    expect(slipping).toBeGreaterThan(10);
  });

  it("devices in a ring end far from nominal, and every one of them is in the ring that is printed", () => {
    let rings = 0;
    fc.assert(
      fc.property(plans({ ring: true, devices: [3, 6], eventCount: [0, 0] }), (plan) => {
        for (const { rule, severity, devices } of check(plan)) {
          if (rule !== "ring-of-sources" || severity !== "error") continue;
          const graph = clockGraph(plan);
          devices.forEach((id, index) => {
            expect(graph.used(id)?.heard).toMatchObject({
              kind: "device",
              device: devices[(index + 1) % devices.length],
            });
            expect(runsOnOwnClock(plan.devices.find((one) => one.id === id)!)).toBe(false);
          });
          rings += 1;
        }
      }),
      tries(40),
    );
    expect(rings).toBeGreaterThan(20);
  });
});

function rulesOf(plan: Plan): string[] {
  return check(plan).map(({ rule, severity }) => `${severity} ${rule}`);
}

/** A list of the plan, an id in it, a field that things in it have; "leaders" alone. */
function pointsAtSomething(plan: Plan, [list, id, field]: readonly (string | number)[]): boolean {
  if (list === "leaders") return id === undefined;
  if (list !== "devices" && list !== "links" && list !== "spares" && list !== "feeds") return false;
  const thing = plan[list].find((one) => one.id === id);
  // Channels of a feed stand on its hops once it has been read.
  return thing !== undefined && (field === "channels" ? "hops" in thing : Object.hasOwn(thing, String(field)));
}

function offsetOf(plan: Plan, id: string): number {
  return plan.devices.find((one) => one.id === id)!.oscillator.offsetPpm!;
}

/** Every device, link, spare and feed under another id; the order of ids changes as well. */
function renamed(plan: Plan, kind: number): Plan {
  const name = (id: string) => `${String((id.charCodeAt(0) * (7 + kind) + id.length * 3) % 10)}-${id}`;
  return {
    ...plan,
    leaders: plan.leaders.map(name),
    devices: plan.devices.map((device) => ({ ...device, id: name(device.id) })),
    links: plan.links.map((link) => ({
      ...link,
      id: name(link.id),
      a: { ...link.a, device: name(link.a.device) },
      b: { ...link.b, device: name(link.b.device) },
    })),
    spares: plan.spares.map((spare) => ({ ...spare, id: name(spare.id), links: spare.links.map(name) })),
    feeds: plan.feeds.map((feed) => ({
      ...feed,
      id: name(feed.id),
      through: feed.through.map(name),
      hops: feed.hops.map((hop) => ({
        ...hop,
        from: name(hop.from),
        to: name(hop.to),
        over: hop.over.map((one) => ({ ...one, link: name(one.link) })),
        spare: hop.spare === null ? null : name(hop.spare),
      })),
    })),
    events: plan.events.map((event) => ({
      ...event,
      ...("device" in event && event.device !== null ? { device: name(event.device) } : {}),
      ...("link" in event ? { link: name(event.link) } : {}),
    })) as Plan["events"],
  };
}
