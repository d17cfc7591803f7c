import { expect, test } from "vitest";
import { changesOf, isQuiet, lanesOf } from "../../sim/lanes/lane.ts";
import { buildRun, busyRun, device, largeRun, link, RUN_SECONDS } from "../browser/fixture.ts";

const lane = (run: ReturnType<typeof busyRun>, key: string) => {
  const found = lanesOf(run).all.find((candidate) => candidate.key === key);
  expect(found, key).toBeDefined();
  return found!;
};

test("each lane tells the whole show without a gap, and each border of the summary is one of its borders", () => {
  const run = busyRun();
  const { all } = lanesOf(run);
  expect(all).toHaveLength(run.summary.devices.length + run.summary.links.length + run.summary.feeds.length);
  for (const { key, stretches } of all) {
    if (key === "feed guest-mix") continue; // written by hand with gaps between its slips
    expect(stretches[0]!.fromSeconds, key).toBe(0);
    expect(stretches.at(-1)!.toSeconds, key).toBe(RUN_SECONDS);
    for (let index = 1; index < stretches.length; index += 1)
      expect(stretches[index]!.fromSeconds, key).toBe(stretches[index - 1]!.toSeconds);
  }
  for (const { id, states } of run.summary.devices)
    for (const { fromSeconds } of states) expect(changesOf(lane(run, `device ${id}`))).toContain(fromSeconds);
});

test("a deputy leads while the leader boots, and the leader again only when somebody follows it", () => {
  const run = busyRun();
  const states = (id: string) => lane(run, `device ${id}`).stretches.map(({ fromSeconds, key }) => [fromSeconds, key]);
  expect(states("mon")).toContainEqual([1200.31, "device-leading"]);
  // Back at 1275, but the stage box and the PA leave the monitor desk only at 1275.51.
  expect(states("foh")).toEqual([
    [0, "device-leading"],
    [1200, "device-starting"],
    [1275, "device-free-run"],
    [1275.51, "device-leading"],
  ]);
});

test("one device alone leads itself; of several that nobody follows, none does", () => {
  const desk = (id: string) => device(id, id, ["internal"]);
  const keys = (run: ReturnType<typeof busyRun>) => lanesOf(run).all.map(({ stretches }) => stretches[0]!.key);
  for (const leaders of [[], ["a"]]) {
    expect(keys(buildRun({ leaders, devices: [desk("a")] }))).toEqual(["device-leading"]);
    expect(keys(buildRun({ leaders, devices: [desk("a"), desk("b")] }))).toEqual([
      "device-free-run",
      "device-free-run",
    ]);
  }
});

test("a device on its own clock that the plan does not name never leads", () => {
  const keys = lane(busyRun(), "device guest").stretches.map(({ key }) => key);
  expect(keys).toEqual(["device-free-run"]);
});

test("a follower on a later source is told from one on its first, by the sources set at that time", () => {
  const run = buildRun({
    devices: [device("foh", "FOH desk", ["internal"]), device("mon", "Monitor desk", ["1", "2"])],
    links: [link("one", ["foh", 1], ["mon", 1]), link("two", ["foh", 2], ["mon", 2])],
    events: [{ atSeconds: 100, do: "set-clock-sources", device: "mon", clockSources: ["2", "1"] }],
    states: {
      mon: [
        { state: "locked", source: "1", fromSeconds: 0, toSeconds: 50 },
        { state: "locked", source: "2", fromSeconds: 50, toSeconds: 100 },
        { state: "acquiring", source: "2", fromSeconds: 100, toSeconds: 102 },
        { state: "locked", source: "2", fromSeconds: 102, toSeconds: RUN_SECONDS },
      ],
    },
  });
  expect(lane(run, "device mon").stretches.map(({ key }) => key)).toEqual([
    "device-locked",
    "device-locked-later",
    "device-acquiring",
    "device-locked",
  ]);
});

test("an end that is out of step is told beside the link, only while the link is up", () => {
  const { strips } = lane(busyRun(), "link guest-in both");
  expect(strips.map(({ key, fromSeconds, toSeconds }) => [key, fromSeconds, toSeconds])).toEqual([
    ["end-out-of-step", 0, 1200],
    ["end-out-of-step", 1275.5, RUN_SECONDS],
  ]);
});

test("a converter is told beside its link while it converts, and the silence before that by its reason", () => {
  const fact = (atSeconds: number, state: "idle" | "finding" | "converting") =>
    ({
      atSeconds,
      subject: "port foh.4",
      fact: { kind: "converter", link: "guest-in", way: "there", state },
    }) as const;
  const times = { fromSeconds: 100.1, toSeconds: 100.2 };
  const run = buildRun({
    devices: [device("foh", "FOH desk", ["internal"]), device("guest", "Guest desk", ["internal"])],
    links: [link("guest-in", ["guest", 1], ["foh", 4], { twoWay: false })],
    feeds: [{ id: "mix", name: "Guest mix", through: ["guest", "foh"], hops: [], heardBy: ["pa"] }],
    facts: [fact(0, "idle"), fact(100.1, "finding"), fact(100.2, "converting"), fact(400, "idle")],
    feedStates: { mix: [{ state: "silent", silence: "finding-rate", because: "foh", slips: 0, ...times }] },
  });
  const { strips } = lane(run, "link guest-in there");
  expect(strips.map(({ key, fromSeconds, toSeconds }) => [key, fromSeconds, toSeconds])).toEqual([
    ["end-converted", 100.2, 400],
  ]);
  expect(strips[0]!.says).toMatch(/^Converted to the receiver's clock at .*FOH desk/);
  expect(lane(run, "feed mix").stretches[0]!.says).toMatch(
    /^Silent: the converter in .*FOH desk.* is finding the rate$/,
  );
});

test("the surface that is down is told beside a desk that leads on", () => {
  const { strips } = lane(busyRun(), "device mon");
  expect(strips.map(({ key, fromSeconds, toSeconds }) => [key, fromSeconds, toSeconds])).toEqual([
    ["beside-surface-down", 3600, 3675],
  ]);
});

test("a lane is quiet only if nothing but the intended happens in it", () => {
  const { all } = lanesOf(busyRun());
  expect(all.filter(isQuiet).map(({ key }) => key)).toEqual([
    "link mon-stage there",
    "link mon-stage back",
    "link to-ears there",
  ]);
  const loud = lanesOf(largeRun(200)).all.filter((candidate) => !isQuiet(candidate));
  expect(loud.map(({ key }) => key)).toEqual(["device d007"]);
});
