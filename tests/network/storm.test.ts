/** A loop that nothing has an eye on: packets go round, and nobody on the bridges that it takes along hears anybody. */
import { expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { rehearse } from "../../sim/rehearse.ts";

/** Two switches with a desk and a box on the first; a second cable between them is plugged in for a minute. */
function loopOf(recovery: string) {
  const file = {
    format: 1,
    title: "A cable too many",
    run: { length: "00:05:00", seed: "quay-1" },
    rig: {
      sampleRateHz: 48_000,
      networks: [{ id: "net", recovery }],
      devices: [
        { id: "one", kind: "switch" },
        { id: "two", kind: "switch" },
        { id: "foh", ptp: { priority1: 100 } },
        { id: "box", clockSources: ["1", "internal"], ptp: { followerOnly: true } },
      ],
      links: [
        { id: "foh-one", type: "ethernet", ends: ["foh.1", "one.1"] },
        { id: "box-one", type: "ethernet", ends: ["box.1", "one.2"] },
        { id: "trunk", type: "ethernet", ends: ["one.9", "two.9"] },
        { id: "trunk-2", type: "ethernet", ends: ["one.8", "two.8"], atStart: "unplugged" },
        { id: "box-foh", type: "aes67", from: "box.1", to: "foh.1" },
      ],
      feeds: [{ id: "pa", through: ["box", "foh"], channels: 8, heardBy: ["pa"] }],
    },
    events: [
      { at: "00:01:00", do: "plug", link: "trunk-2" },
      { at: "00:02:00", do: "unplug", link: "trunk-2" },
    ],
  };
  const bytes = new TextEncoder().encode(JSON.stringify(file));
  const { plan, issues } = readScenario({ file: "loop.json", bytes }, () => ({ problem: "there is none" }));
  if (plan === null) throw new Error(JSON.stringify(issues));
  return rehearse(plan);
}

test("without recovery the loop silences even two devices on one switch, until it is open again", () => {
  const { summary, record } = loopOf("none");
  const storms = record.rows.flatMap(({ fact }) => (fact.kind === "bridging" ? [fact.storm] : []));
  expect(storms).toEqual([false, true, false]);
  // 2.5 s until the cable is up; 60 s less that until it is out, and 0.05 s until that is noticed. The first packet is
  // missing after 1 ms, and 2 ms fill half of a buffer of four packets again.
  expect(summary.feeds[0]?.silentSeconds).toBeCloseTo(60 - 2.5 + 0.05 - 0.001 + 0.002, 4);
  const box = summary.devices.find(({ id }) => id === "box");
  expect(box?.states.map(({ state }) => state)).toContain("free-run");
  expect(box?.states.at(-1)?.state).toBe("locked");
});

test("a spanning tree holds the second cable back, and nobody notices", () => {
  const { summary, record } = loopOf("rapid-spanning-tree");
  const blocked = record.rows.flatMap(({ fact }) => (fact.kind === "bridging" ? [fact.blocked] : []));
  expect(blocked).toContainEqual(["trunk-2"]);
  expect(summary.feeds[0]?.silentSeconds).toBe(0);
});
