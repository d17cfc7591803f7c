/** A device that does not follow: the others go on with the next leader, and it stays with the one that is gone. */
import { expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { rehearse } from "../../sim/rehearse.ts";

function run(events: readonly object[]) {
  const cable = (id: string, port: number) => ({ id: `${id}-sw`, type: "ethernet", ends: [`${id}.1`, `sw.${port}`] });
  const file = {
    format: 1,
    title: "A recorder that does not follow",
    run: { length: "00:05:00", seed: "quay-1" },
    rig: {
      sampleRateHz: 48_000,
      networks: [{ id: "net" }],
      devices: [
        { id: "sw", kind: "switch" },
        { id: "foh", clockSources: ["1", "internal"], ptp: { priority1: 100 }, oscillator: { offsetPpm: 3 } },
        { id: "mon", clockSources: ["1", "internal"], ptp: { priority1: 110 }, oscillator: { offsetPpm: -5 } },
        { id: "rec", clockSources: ["1", "internal"], oscillator: { offsetPpm: 8 } },
      ],
      links: [cable("foh", 1), cable("mon", 2), cable("rec", 3)],
    },
    events,
  };
  const bytes = new TextEncoder().encode(JSON.stringify(file));
  const { plan, issues } = readScenario({ file: "stuck.json", bytes }, () => ({ problem: "there is none" }));
  if (plan === null) throw new Error(JSON.stringify(issues));
  const { record } = rehearse(plan);
  return (seconds: number, device: string) => {
    const rows = record.rows.filter(({ atNs }) => atNs <= seconds * 1e9);
    const role = rows.findLast(({ subject, fact }) => subject === `node ${device} net` && fact.kind === "election");
    const clock = rows.findLast(({ subject, fact }) => subject === `device ${device}` && fact.kind === "clock");
    return {
      leader: role?.fact.kind === "election" ? role.fact.leader : null,
      state: clock?.fact.kind === "clock" ? clock.fact.state : null,
    };
  };
}

const GONE = { at: "00:01:00", do: "power-cut", device: "foh" };

test("stuck before the leader goes, it is alone until it comes loose", () => {
  const at = run([{ at: "00:00:30", do: "stick", device: "rec", forSeconds: 120 }, GONE]);
  expect(at(50, "rec")).toEqual({ leader: "foh", state: "locked" });
  expect(at(140, "mon").leader).toBe("mon");
  expect(at(140, "rec")).toEqual({ leader: "foh", state: "free-run" });
  expect(at(299, "rec")).toEqual({ leader: "mon", state: "locked" });
});

test("not stuck, it follows the next leader", () => {
  const at = run([GONE]);
  expect(at(140, "rec")).toEqual({ leader: "mon", state: "locked" });
});

test("a reboot frees it", () => {
  const at = run([
    { at: "00:00:30", do: "stick", device: "rec" },
    GONE,
    { at: "00:02:00", do: "reboot", device: "rec" },
  ]);
  expect(at(119, "rec").leader).toBe("foh");
  expect(at(299, "rec")).toEqual({ leader: "mon", state: "locked" });
});
