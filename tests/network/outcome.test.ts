/** What a summary says of networks, against the rows of the record, over random networks. */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import type { RunRecord } from "../../shared/record.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { isPlainSwitch } from "../../sim/network/outcome.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { lanternPlan } from "../helpers/lantern-networks.ts";
import { PATIENCE_MS, tries } from "../helpers/laws.ts";
import { networkPlans } from "../helpers/random-network.ts";

/** Who leads with its own time at an instant, row by row. */
function leadersBy({ rows }: RunRecord, network: string, seconds: number): string[] {
  const leads = new Map<string, string>();
  for (const { atNs, subject, fact } of rows) {
    if (fact.kind !== "election" || !subject.endsWith(` ${network}`) || atNs > nsFromSeconds(seconds)) continue;
    const [, device = ""] = subject.split(" ");
    if (fact.role === "leads" && fact.leader === device) leads.set(`${device} ${fact.port}`, device);
    else leads.delete(`${device} ${fact.port}`);
  }
  return [...new Set(leads.values())].sort();
}

test("roles fill the run without a gap, and leaders are those that lead by the rows", { timeout: PATIENCE_MS }, () => {
  const reached = { roles: new Set<string>(), split: 0, takeovers: 0, follows: 0, boundary: 0 };
  fc.assert(
    fc.property(networkPlans(), fc.noBias(fc.double({ min: 0.001, max: 0.999, noNaN: true })), ({ plan }, share) => {
      const { record, summary } = rehearse(plan);
      for (const { id, devices, leaders, changes } of summary.networks) {
        for (const { device, roles, follows } of devices) {
          const [first] = roles;
          expect(first?.fromSeconds, device).toBe(0);
          expect(roles.at(-1)?.toSeconds, device).toBe(summary.runSeconds);
          let sum = 0;
          for (const [index, { role, fromSeconds, toSeconds }] of roles.entries()) {
            reached.roles.add(role);
            sum += toSeconds - fromSeconds;
            expect(toSeconds).toBeGreaterThan(fromSeconds);
            if (index > 0) expect(fromSeconds).toBe(roles[index - 1]?.toSeconds);
          }
          expect(sum).toBeCloseTo(summary.runSeconds, 6);
          expect(follows !== null).toBe(roles.at(-1)?.role === "follows");
          if (follows === null) continue;
          reached.follows += 1;
          expect(follows.leader).toBe(roles.at(-1)?.leader);
          expect(follows.steps > 0 === (follows.parent !== follows.leader)).toBe(true);
          if (follows.steps > 0) reached.boundary += 1;
        }
        for (let step = 0; step < 24; step++) {
          const at = ((step + share) / 24) * summary.runSeconds;
          const named = leaders.filter(({ fromSeconds, toSeconds }) => fromSeconds <= at && at < toSeconds);
          expect([...new Set(named.map(({ leader }) => leader))].sort()).toEqual(leadersBy(record, id, at));
          if (named.length > 1) reached.split += 1;
        }
        reached.takeovers += changes;
      }
    }),
    tries(25),
  );
  expect([...reached.roles].sort()).toEqual(expect.arrayContaining(["down", "follows", "leads", "listening"]));
  for (const [what, count] of Object.entries(reached).filter(([, count]) => typeof count === "number"))
    expect(count, what).toBeGreaterThan(0);
});

test("a way that another one takes the place of is told in the path, while role and leader stay", () => {
  const plain = lanternPlan([{ at: "00:05:00", do: "cut", path: "stage-left wall" }], ({ rig }) => {
    for (const device of rig.devices) if (device.id === "sw-stage") device.bridge = { timing: "plain" };
    for (const link of rig.links) {
      if (link.id === "trunk") link.asymmetryNanoseconds = 100;
      if (link.id === "trunk-2") Object.assign(link, { asymmetryNanoseconds: 400, lengthMetres: 80 });
    }
  });
  const shiftOf = (plan: Plan) =>
    rehearse(plan)
      .summary.networks.find(({ id }) => id === "red")
      ?.devices.find(({ device }) => device === "mon");
  const before = shiftOf({ ...plain, events: [] });
  const after = shiftOf(plain);
  expect(before?.follows?.shiftNanoseconds).toBeCloseTo(-50, 6);
  expect(after?.follows?.shiftNanoseconds).toBeCloseTo(-200, 6);
  expect(after?.roles).toEqual(before?.roles);
});

test("a plain switch has no clock that matters; a boundary, or one with a clock cable, has", () => {
  const plan = lanternPlan([]);
  const plainIn = (of: Plan) => of.devices.filter((device) => isPlainSwitch(of, device)).map(({ id }) => id);
  expect(plainIn(plan)).toEqual(["sw-blue", "sw-foh"]);
  const wired = lanternPlan([], ({ rig }) => {
    rig.links.push({ id: "clock", type: "word-clock", from: "foh.9", to: "sw-blue.9" });
  });
  expect(plainIn(wired)).toEqual(["sw-foh"]);
});
