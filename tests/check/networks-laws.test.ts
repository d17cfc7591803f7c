/** Laws of the check on random networks, and what the run bears out of who is said to be elected. */
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { check } from "../../sim/check/index.ts";
import { firstFix } from "../../sim/first-fix.ts";
import { electionMeant } from "../../sim/network/meant.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { PATIENCE_MS, tries } from "../helpers/laws.ts";
import { networkPlans } from "../helpers/random-network.ts";
import { at } from "../oracle/hand-rig.ts";
import { changed, foundIn, planOf, soundFile } from "./network-rigs.ts";

const PATIENT = { timeout: PATIENCE_MS };
const quiet = networkPlans({ events: [0, 0] });

describe("whatever the network", PATIENT, () => {
  it("the order of devices and links changes nothing, and every text is whole", () => {
    const seen = new Set<string>();
    fc.assert(
      fc.property(quiet, fc.infiniteStream(fc.nat()), (drawn, draws) => {
        const plan = { ...drawn.plan, leaders: ["d-0", "d-1"] };
        const shuffled = <T>(list: readonly T[]): T[] => {
          const keyed = list.map((item) => ({ item, key: draws.next().value as number }));
          return keyed.sort((one, two) => one.key - two.key).map(({ item }) => item);
        };
        const findings = check(plan);
        const other = { ...plan, devices: shuffled(plan.devices), links: shuffled(plan.links) };
        expect(check(other).map(({ what }) => what)).toEqual(findings.map(({ what }) => what));
        for (const { rule, what, why, see, remedy } of findings) {
          seen.add(rule);
          for (const text of [what, why, see, remedy]) {
            expect(text).toMatch(/^\P{Ll}.*\.$/u);
            expect(text).not.toMatch(/!|undefined|null|NaN|\b(safe|good|pass|passed)\b/);
          }
        }
      }),
      tries(150),
    );
    for (const rule of ["leader-not-elected", "next-not-elected", "recovery-slow", "ring-misfit", "left-on-internal"])
      expect(seen).toContain(rule);
  });

  it("a switch that only passes packets on is in no finding about clocks", () => {
    let switches = 0;
    fc.assert(
      fc.property(quiet, ({ plan }) => {
        const passing = plan.devices.filter(({ kind, bridge }) => kind === "switch" && bridge?.timing !== "boundary");
        switches += passing.length;
        const about = check(plan).filter(({ rule }) => !/^(feed|network|recovery|ring|cable)-/.test(rule));
        for (const { rule, devices } of about)
          expect(
            devices.filter((id) => passing.some((one) => one.id === id)),
            rule,
          ).toEqual([]);
      }),
      tries(150),
    );
    expect(switches).toBeGreaterThan(50);
  });
});

describe("whom the check takes for elected", PATIENT, () => {
  /** Whom each device follows at the end of a run. */
  const parentsAtEnd = (plan: Plan) =>
    rehearse(plan)
      .summary.networks.flatMap(({ id, devices }) =>
        devices.map(({ device, follows }) => `${device} on ${id}: ${follows?.parent ?? "nobody"}`),
      )
      .sort();
  const parentsMeant = (plan: Plan, without: string | null) => {
    const meant = electionMeant(plan, without);
    return meant.sites
      .map((site) => `${site.device.id} on ${site.network.id}: ${meant.resultOf(site)?.follows?.device ?? "nobody"}`)
      .sort();
  };

  it("is who has won when the run ends", () => {
    let following = 0;
    fc.assert(
      fc.property(quiet, ({ plan }) => {
        const meant = parentsMeant(plan, null);
        expect(parentsAtEnd(plan)).toEqual(meant);
        following += meant.filter((one) => !one.endsWith("nobody")).length;
      }),
      tries(40),
    );
    expect(following).toBeGreaterThan(40);
  });

  it("without the leader is who has won after it has gone", () => {
    let changes = 0;
    fc.assert(
      fc.property(networkPlans({ events: [0, 0], seconds: [80, 90] }), ({ plan }) => {
        const meant = electionMeant(plan);
        const leader = meant.sites.map((site) => meant.leaderOf(site)).find((id) => id !== null);
        fc.pre(leader !== undefined && leader !== null);
        const gone = { ...plan, events: [at(5, { do: "power-cut", device: leader!, supply: null })] };
        const left = parentsAtEnd(gone).filter((one) => !one.startsWith(`${leader} `));
        expect(left).toEqual(parentsMeant(plan, leader!));
        if (left.some((one) => !one.endsWith("nobody"))) changes += 1;
      }),
      tries(40),
    );
    expect(changes).toBeGreaterThan(8);
  });
});

describe("what is found, the run bears out", PATIENT, () => {
  it("on a sound rig everybody is locked to the planned leader and nothing slips", () => {
    const { record, summary } = rehearse(planOf(soundFile()));
    expect(record.rows.filter(({ fact }) => fact.kind === "slips")).toEqual([]);
    for (const { id, states } of summary.devices.filter((one) => ["mon", "stage"].includes(one.id)))
      expect(
        states.map(({ state }) => state),
        id,
      ).toEqual(["locked"]);
  });

  it("where somebody else is said to be elected, that device leads", () => {
    const file = changed(soundFile(), { mon: { ptp: { priority1: 90 } } });
    const [finding] = foundIn(file, "leader-not-elected");
    const { networks } = rehearse(planOf(file)).summary;
    expect(networks.map(({ leaders }) => leaders.map(({ leader }) => leader))).toEqual([["mon"], ["mon"]]);
    expect(finding!.devices[0]).toBe("mon");
  });

  it("and what mends it is rehearsed: a lower priority1, a recovery, a port to listen to", () => {
    const sound = soundFile();
    const offsets = { foh: { oscillator: { offsetPpm: 5 } }, mon: { oscillator: { offsetPpm: -5 } } };
    const mended = (items: Readonly<Record<string, object>>) => {
      const fix = firstFix(rehearse(planOf(changed(changed(sound, offsets), items))))!;
      expect(fix.before.slips + fix.before.silentSeconds).toBeGreaterThan(0);
      expect(fix.after).toMatchObject({ slips: 0, silentSeconds: 0 });
      return fix.fix!.words;
    };
    expect(mended({ mon: { ptp: { priority1: 90 }, oscillator: { offsetPpm: -5 } } })).toMatch(
      /^FOH desk: priority1 89/,
    );
    expect(mended({ red: { recovery: "none" } })).toBe("network red: rapid spanning tree on every bridge");
    expect(mended({ stage: { clockSources: ["internal"] } })).toMatch(/^stage box, clock source: port 1 /);
  });
});
