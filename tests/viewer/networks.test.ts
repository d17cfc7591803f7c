/** Networks on the page: who leads, what each device is, what is held back, and where each lane stands. */
import { expect, test } from "vitest";
import { PORT_ROLE_LOOKS } from "../../shared/states.ts";
import { createFollowers } from "../../sim/lanes/follow.ts";
import { changesOf, isQuiet, type Lane, lanesOf } from "../../sim/lanes/lane.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";
import { inPageOrder } from "../../viewer/order.ts";
import type { Run } from "../../viewer/run.ts";
import { type LanternFile, lanternPlan } from "../helpers/lantern-networks.ts";

function runOf(events: readonly object[], change?: (file: LanternFile) => void): Run {
  const run = rehearse(lanternPlan(events, change));
  return inPageOrder({ format: 1, ...run, telling: tell(run) });
}

function laneIn(run: Run, key: string): Lane {
  const lane = lanesOf(run).all.find((each) => each.key === key);
  if (lane === undefined) throw new Error(`there is no lane ${key}`);
  return lane;
}

const plain = (text: string) => text.replace(/[\u2066-\u2069]/g, "");
const wallCut = { at: "00:05:00", do: "cut", path: "stage-left wall", forSeconds: 300 };
const reboot = { at: "00:05:00", do: "reboot", device: "foh" };

test("each network has a lane, its streams under it, and its cables among the links", () => {
  const run = runOf([]);
  const keys = lanesOf(run).all.map(({ key, kind }) => `${kind}: ${key}`);
  const from = keys.indexOf("network: network blue");
  expect(keys.slice(from, from + 5)).toEqual([
    "network: network blue",
    "stream: link up-blue there",
    "network: network red",
    "stream: link ears there",
    "stream: link up there",
  ]);
  expect(keys.filter((key) => key.startsWith("link: "))).toHaveLength(7);
  for (const key of ["link up there", "link trunk both"]) {
    const lane = laneIn(run, key);
    expect(lane.stretches.map((stretch) => [stretch.key, stretch.says])).toEqual([["link-up", "Up"]]);
    expect(isQuiet(lane)).toBe(true);
  }
});

test("every line of every lane tells the whole show without a gap", () => {
  const run = runOf([reboot, { at: "00:09:00", do: "reboot", device: "sw-stage" }]);
  let lines = 0;
  for (const lane of lanesOf(run).all) {
    for (const line of [lane.stretches, ...lane.lines]) {
      lines += 1;
      expect(line[0]?.fromSeconds, lane.key).toBe(0);
      expect(line.at(-1)?.toSeconds, lane.key).toBe(run.summary.runSeconds);
      for (const [index, { fromSeconds }] of line.entries())
        if (index > 0) expect(fromSeconds, lane.key).toBe(line[index - 1]?.toSeconds);
    }
  }
  // One for each lane, and one more for each device with a clock and each network that it is on.
  expect(lines).toBe(lanesOf(run).all.length + 6);
});

test("what a device is on each network stands below its state, in words of its own", () => {
  const run = runOf([reboot]);
  const stage = laneIn(run, "device stage");
  expect(stage.lines.map((line) => plain(line[0]?.says ?? ""))).toEqual([
    "Blue network: follows FOH desk",
    "Red network: follows FOH desk",
  ]);
  const mon = laneIn(run, "device mon");
  const [red] = mon.lines;
  expect(red?.map(({ key }) => key)).toContain("role-leads");
  for (const { key, look } of red ?? []) expect(PORT_ROLE_LOOKS).toHaveProperty(key.slice("role-".length), look);
  for (const { fromSeconds } of red ?? []) expect(changesOf(mon)).toContain(fromSeconds);
});

test("who leads a network over time, and when somebody else does or nobody", () => {
  const run = runOf([reboot]);
  const red = laneIn(run, "network red");
  expect(red.stretches[0]).toMatchObject({ key: "network-led", fromSeconds: 0 });
  expect(plain(red.stretches[0]?.says ?? "")).toBe("FOH desk leads");
  expect(red.stretches.map(({ says }) => plain(says))).toContain("Monitor desk leads");
  expect(red.stretches.find(({ says }) => plain(says) === "Monitor desk leads")?.key).toBe("network-led-by-other");
  const blue = laneIn(run, "network blue").stretches.map(({ key }) => key);
  expect(blue).toEqual(["network-led", "network-leaderless", "network-led"]);
  const apart = runOf([wallCut], ({ rig }) => {
    rig.links = rig.links.filter(({ id }) => id !== "trunk-2");
  });
  const split = laneIn(apart, "network red").stretches.find(
    ({ key, toSeconds }) => key === "network-split" && toSeconds > 400,
  );
  expect(plain(split?.says ?? "")).toBe("FOH desk and Monitor desk lead");
});

test("a cable that is held back says so, and carries while the other one is cut", () => {
  const run = runOf([wallCut]);
  const lane = laneIn(run, "link trunk-2 both");
  expect(lane.stretches.map(({ key }) => key)).toEqual(["cable-held-back", "link-up", "cable-held-back"]);
  expect(lane.stretches[1]?.fromSeconds).toBeCloseTo(300.15, 2);
  expect(lane.stretches[0]?.look.word).toBe("Held back as a spare way");
});

test("a storm is on the lane of its network, and holds no cable back", () => {
  const run = runOf([wallCut], ({ rig }) => {
    rig.networks[0]!.recovery = "none";
  });
  expect(laneIn(run, "network red").stretches.map(({ key }) => key)).toEqual(
    expect.arrayContaining(["network-storm", "network-led"]),
  );
  expect(laneIn(run, "link trunk-2 both").stretches.map(({ key }) => key)).toEqual(["link-up"]);
});

test("a switch that only passes packets on works, boots or is off", () => {
  const run = runOf([{ at: "00:05:00", do: "power-cut", device: "sw-foh", forSeconds: 60 }]);
  const lane = laneIn(run, "device sw-foh");
  expect(lane.stretches.map(({ key }) => key)).toEqual([
    "device-works",
    "device-off",
    "device-starting",
    "device-works",
  ]);
  expect(lane.lines).toEqual([]);
  expect(laneIn(run, "device sw-stage").stretches[0]?.key).toBe("device-locked");
});

test("who follows whom comes from the election, not from the cable in the port", () => {
  const run = runOf([{ at: "00:05:00", do: "unplug", link: "stage-red" }]);
  const followers = createFollowers(run);
  const upstream = (id: string, seconds: number) => followers.at(seconds).standings.get(id)?.upstream?.id ?? null;
  expect(upstream("stage", 100)).toBe("sw-stage");
  // Over the Blue switch, which has no clock of its own.
  expect(upstream("stage", 400)).toBe("foh");
  expect(followers.at(400).standings.has("sw-blue")).toBe(false);
  expect(followers.at(400).leader).toBe("foh");
});
