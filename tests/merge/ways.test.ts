/** The ways to join two plans: whose settings change, what comes new, what is heard, and what cannot be made. */
import { describe, expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { checkAll } from "../../sim/check/index.ts";
import { clockGraph, rootOf } from "../../sim/clock-graph.ts";
import { joinThem, type MergeOutcome, type Way } from "../../sim/merge.ts";
import { house, join, merged, type Thing, tour } from "./helpers.ts";

type House = ReturnType<typeof house>;
type Tour = ReturnType<typeof tour>;

const CABLE = join("matrix.8", "foh.7");

function outcomeOf(
  change: (one: House, other: Tour) => void = () => undefined,
  asked: Parameters<typeof merged>[2] = { joins: [CABLE] },
): MergeOutcome {
  const [one, other] = [house(), tour()];
  change(one, other);
  const merge = merged(one, other, asked);
  expect(merge.conflicts.filter(({ isBlocking }) => isBlocking)).toEqual([]);
  expect(merge.isJoined).toBe(true);
  return joinThem(merge);
}

function way({ ways }: MergeOutcome, id: string): Way & { plan: NonNullable<Way["plan"]> } {
  const found = ways.find((each) => each.id === id);
  if (found?.plan == null) throw new Error(found?.whyNot ?? `there is no way ${id}`);
  return found as ReturnType<typeof way>;
}

const whyNot = ({ ways }: MergeOutcome, id: string) => ways.find((each) => each.id === id)?.whyNot;
const settings = (each: Way) => each.settings.map(({ words }) => words);
const roots = ({ plan }: { plan: NonNullable<Way["plan"]> }) =>
  Object.fromEntries(plan.devices.map(({ id }) => [id, rootOf(clockGraph(plan), id)]));
const rules = (each: Way) => each.findings.map(({ rule }) => rule);
const entry = (rig: House | Tour, id: string) => rig.rig.devices.find((each) => each.id === id) as Thing;

describe("a matrix of the house and a desk of the tour, on one cable", () => {
  const outcome = outcomeOf();

  test("makes every way, each a file that reads and says its name", () => {
    expect(outcome.ways.map(({ id, whyNot: why }) => [id, why])).toEqual([
      ["one-leader-house", null],
      ["one-leader-tour", null],
      ["converters", null],
      ["house-clock", null],
    ]);
    for (const { id, text } of outcome.ways) {
      const source = { file: `${id}.json`, bytes: new TextEncoder().encode(text) };
      const { plan, issues } = readScenario(source, () => ({ problem: "none" }));
      expect(issues).toEqual([]);
      expect(plan?.title).toContain("House and Tour: ");
    }
  });

  test("one leader: the other's leader listens to the joining cable, and everybody is on one clock", () => {
    const led = way(outcome, "one-leader-house");
    expect(settings(led)).toEqual(["FOH desk: clock source port 7 then its own clock, was its own clock."]);
    expect(new Set(Object.values(roots(led)))).toEqual(new Set(["matrix"]));
    expect(led.plan.leaders).toEqual(["matrix", "foh", "mon"]);
    const other = way(outcome, "one-leader-tour");
    expect(settings(other)).toEqual(["Matrix: clock source port 8 then its own clock, was its own clock."]);
    expect(other.plan.leaders).toEqual(["foh", "mon", "matrix"]);
    for (const each of [led, other]) expect(rules(each)).not.toContain("two-leaders");
  });

  test("converters: both keep their leader, and one stands at each end of the cable", () => {
    const converted = way(outcome, "converters");
    expect(settings(converted)).toEqual([
      "FOH desk: a sample-rate converter at port 7.",
      "Matrix: a sample-rate converter at port 8.",
    ]);
    expect(new Set(Object.values(roots(converted)))).toEqual(new Set(["matrix", "foh"]));
    expect(rules(converted)).not.toContain("two-leaders");
    expect(converted.boxes[0]).toContain("Two sample-rate converters");
  });

  test("a house clock: both leaders listen to it over leads whose length is stated", () => {
    const clocked = way(outcome, "house-clock");
    expect(new Set(Object.values(roots(clocked)))).toEqual(new Set(["house-clock"]));
    expect(clocked.plan.leaders[0]).toBe("house-clock");
    expect(clocked.cables.filter((words) => words.includes("word clock"))).toHaveLength(2);
    expect(clocked.cables.join(" ")).toContain("30 m (assumed)");
    expect(clocked.boxes).toEqual(["House clock: a box that neither plan has."]);
  });

  test("without any of these changes it clicks over the cable, and the plan check says so", () => {
    const found = checkAll(outcome.plan).findings.map(({ rule }) => rule);
    expect(found).toContain("two-leaders");
  });

  test("nobody hears anything as planned; each leader's reboot is tried in all of them at one time", () => {
    expect(outcome.cases.map(({ device }) => device)).toEqual([null, "matrix", "foh"]);
    expect(outcome.cases[1]?.atSeconds).toBe(outcome.cases[2]?.atSeconds);
    const planned = [outcome.alone[0], ...outcome.ways.map(({ heard }) => heard[0])].flat();
    expect(new Set(planned.map((each) => each?.words))).toEqual(new Set(["clean"]));
    expect(outcome.alike[0]).toEqual([["House leads", "Tour leads", "converters", "house clock"]]);
    const pa = (heard: Way["heard"]) => heard[2]?.find(({ feed }) => feed === "calls")?.words;
    expect(pa(outcome.alone)).toBe("clean");
    expect(pa(way(outcome, "one-leader-tour").heard)).not.toBe("clean");
    expect(pa(way(outcome, "converters").heard)).toBe("clean");
  });

  test("what crosses is heard by those who hear the device that it comes to", () => {
    const crossing = outcome.feeds.filter(({ crosses }) => crosses);
    expect(crossing.map(({ company }) => company).sort()).toEqual(["house", "tour"]);
    expect(crossing.map(({ ears }) => ears).sort()).toEqual([["in-ears"], ["pa"]]);
    // What ends at a desk is heard further on: nobody can say of it that nothing behind could mute.
    for (const each of outcome.ways) expect(rules(each)).not.toContain("mute-only-at-mix");
  });
});

describe("where the cable does not end at the leader", () => {
  test("the clock goes on to it over the cables that are there, and what comes after follows as before", () => {
    const outcome = outcomeOf(undefined, { joins: [join("matrix.8", "mon.7")] });
    const led = way(outcome, "one-leader-house");
    expect(settings(led)).toEqual([
      "FOH desk: clock source port 1 then its own clock, was its own clock.",
      "Monitor desk: clock source port 7 then its own clock, was port 1 then its own clock.",
    ]);
    expect(new Set(Object.values(roots(led)))).toEqual(new Set(["matrix"]));
    expect(led.plan.leaders).toEqual(["matrix", "mon", "foh"]);
    expect(rules(led)).not.toContain("ring-of-sources");
  });

  test("and nothing brings it there, that way cannot be made", () => {
    const outcome = outcomeOf(undefined, { joins: [join("matrix.8", "ears.7", "aes3", "there")] });
    expect(whyNot(outcome, "one-leader-house")).toBe(
      "no cable brings the clock of House to the FOH desk, who leads Tour",
    );
    expect(whyNot(outcome, "one-leader-tour")).toContain("no cable brings the clock of Tour to the matrix");
    expect(settings(way(outcome, "converters"))).toEqual(["In-ear transmitter: a sample-rate converter at port 7."]);
  });
});

test("a cable from a device that is on a clock of its own brings nobody the leader's", () => {
  const outcome = outcomeOf(
    (one) => {
      entry(one, "box").clockSources = ["internal"];
    },
    { joins: [join("box.8", "foh.7")] },
  );
  expect(whyNot(outcome, "one-leader-house")).toContain("no cable brings the clock of House");
  expect(settings(way(outcome, "converters"))).toHaveLength(2);
});

test("a cable one way only: who sends leads, who receives has the converter", () => {
  const outcome = outcomeOf(undefined, { joins: [join("matrix.8", "foh.7", "aes3", "back")] });
  expect(whyNot(outcome, "one-leader-house")).toContain("no cable brings the clock of House");
  expect(settings(way(outcome, "one-leader-tour"))).toHaveLength(1);
  expect(settings(way(outcome, "converters"))).toEqual(["Matrix: a sample-rate converter at port 8."]);
});

test("AES50 has one end that takes, also where nobody follows the other", () => {
  const outcome = outcomeOf(undefined, { joins: [join("matrix.8", "foh.7", "aes50")] });
  for (const { findings } of outcome.ways)
    expect(findings.filter(({ rule }) => rule === "clock-disputed" || rule === "clock-unclaimed")).toEqual([]);
  expect(outcome.ways.every(({ heard }) => heard[0]?.every(({ words }) => words === "clean"))).toBe(true);
});

test("two cables between the same two: a first and a second source", () => {
  const outcome = outcomeOf(undefined, { joins: [CABLE, join("matrix.9", "foh.8")] });
  expect(settings(way(outcome, "one-leader-house"))).toEqual([
    "FOH desk: clock source port 7, port 8 then its own clock, was its own clock.",
  ]);
});

describe("two sample rates", () => {
  const outcome = outcomeOf((_, other) => {
    other.rig.sampleRateHz = 96_000;
  });

  test("with one leader the follower's devices are set to its rate; with converters both keep theirs", () => {
    const rates = (id: string) =>
      Object.fromEntries(way(outcome, id).plan.devices.map((device) => [device.id, device.sampleRateHz]));
    expect(new Set(Object.values(rates("one-leader-house")))).toEqual(new Set([48_000]));
    expect(new Set(Object.values(rates("one-leader-tour")))).toEqual(new Set([96_000]));
    expect(rates("converters")).toMatchObject({ matrix: 48_000, foh: 96_000, ears: 96_000 });
    expect(new Set(Object.values(rates("house-clock")))).toEqual(new Set([48_000]));
    expect(settings(way(outcome, "one-leader-tour"))).toContain("PA processor: sample rate 96 kHz, was 48 kHz.");
    expect(settings(way(outcome, "one-leader-house"))).toContain("In-ear transmitter: sample rate 48 kHz, was 96 kHz.");
  });

  test("nobody hears a difference as planned", () => {
    for (const each of outcome.ways) {
      expect(each.whyNot).toBeNull();
      expect(each.heard[0]?.filter(({ feed }) => !feed.startsWith("over-")).map(({ words }) => words)).toEqual([
        "clean",
        "clean",
      ]);
      expect(rules(each)).not.toContain("rate-mismatch");
    }
  });
});

describe("a house clock that is there", () => {
  const withClock = (one: House) => {
    one.rig.leaders = ["hc"];
    one.rig.devices.push({ id: "hc", name: "House clock", kind: "house-clock", clockSources: ["internal"] });
    one.rig.links.push({ id: "wc", type: "word-clock", from: "hc.1", to: "matrix.9" });
    entry(one, "matrix").clockSources = ["9"];
  };

  test("is used, and gives one lead more", () => {
    const clocked = way(outcomeOf(withClock), "house-clock");
    expect(clocked.boxes).toEqual([]);
    expect(clocked.plan.leaders[0]).toBe("hc");
    expect(settings(clocked)).toEqual(["FOH desk: clock source port 2 then its own clock, was its own clock."]);
    expect(clocked.cables[1]).toBe(
      "word clock from port 2 of the house clock to port 2 of the FOH desk: one cable, 30 m (assumed).",
    );
    expect(new Set(Object.values(roots(clocked)))).toEqual(new Set(["hc"]));
  });

  test("keeps clear of the joining cable, also where that ends at the clock itself", () => {
    const clocked = way(outcomeOf(withClock, { joins: [join("hc.2", "foh.2", "word-clock")] }), "house-clock");
    expect(clocked.cables[1]).toBe(
      "word clock from port 3 of the house clock to port 3 of the FOH desk: one cable, 30 m (assumed).",
    );
  });

  test("in both plans as one thing: there is one leader already", () => {
    const outcome = outcomeOf(
      (one, other) => {
        withClock(one);
        other.rig.leaders = ["hc", "foh"];
        other.rig.devices.push({ id: "hc", name: "House clock", kind: "house-clock", clockSources: ["internal"] });
        other.rig.links.push({ id: "wc-foh", type: "word-clock", from: "hc.2", to: "foh.9" });
        entry(other, "foh").clockSources = ["9", "internal"];
      },
      { joins: [CABLE], same: ["hc"] },
    );
    expect(outcome.ways.map(({ id, whyNot: why }) => [id, why])).toEqual([
      ["one-leader", null],
      ["converters", null],
      ["house-clock", "one device leads both already"],
    ]);
    expect(outcome.plan.devices.filter(({ id }) => id === "hc")).toHaveLength(1);
    expect(settings(way(outcome, "converters"))).toEqual([]);
    expect(new Set(Object.values(roots(way(outcome, "one-leader"))))).toEqual(new Set(["hc"]));
  });
});

describe("an ethernet cable", () => {
  const onNetworks = (one: House, other: Tour) => {
    one.rig.networks = [{ id: "red", domain: 1 }];
    one.rig.links.push({ id: "net", type: "ethernet", ends: ["matrix.8", "sw.1"] });
    one.rig.devices.push({ id: "sw", name: "Switch", kind: "switch", bridge: true });
    other.rig.networks = [{ id: "lan", domain: 5 }];
    other.rig.links.push({ id: "lan", type: "ethernet", ends: ["foh.8", "mon.8"] });
    entry(other, "foh").bridge = true;
    entry(other, "mon").clockSources = ["8", "internal"];
    entry(other, "mon").ptp = { followerOnly: true };
  };
  const outcome = outcomeOf(onNetworks, { joins: [join("sw.2", "foh.9", "ethernet")] });

  test("makes one network, which the leader wins", () => {
    const led = way(outcome, "one-leader-house");
    expect(led.plan.networks).toHaveLength(1);
    expect(new Set(Object.entries(roots(led)).flatMap(([id, root]) => (id === "sw" ? [] : [root])))).toEqual(
      new Set(["matrix"]),
    );
    expect(settings(led).join(" ")).toContain("priority1 127, was 128");
    expect(settings(led)).toContain("FOH desk: clock source port 8, port 9 then its own clock, was its own clock.");
  });

  test("and leaves no place for converters", () => {
    expect(whyNot(outcome, "converters")).toContain("one network of the two");
  });
});

describe("what one company says of all is about its own", () => {
  const outcome = outcomeOf((one, other) => {
    one.events.push({ at: "00:05:00", do: "temperature", toCelsius: 10, overSeconds: 60 });
    one.run.startCelsius = 12;
    other.run.wander = true;
    one.accepted.push({ rule: "returns-at-full-level", reason: "agreed" });
  });
  const { plan } = way(outcome, "converters");

  test("weather, temperature at the start, wander, what is accepted", () => {
    const heated = plan.events.flatMap((event) => (event.do === "temperature" ? [event.device] : []));
    expect(heated.sort()).toEqual(["box", "matrix", "pa"]);
    const at = (id: string) => plan.devices.find((device) => device.id === id)?.oscillator;
    expect([at("pa")?.startCelsius, at("ears")?.startCelsius]).toEqual([12, 25]);
    expect([at("pa")?.wander === null, at("ears")?.wander === null]).toEqual([true, false]);
    expect(plan.accepted).toEqual([
      { rule: "returns-at-full-level", devices: ["box", "matrix", "pa"], links: null, reason: "agreed" },
    ]);
  });
});

test("what is called the same is told apart on both sides, wherever it is named", () => {
  const outcome = outcomeOf(
    (one, other) => {
      for (const rig of [one, other]) {
        rig.rig.devices.push({ id: "rec", name: "Recorder", clockSources: ["1"], power: ["rec", "pit mains"] });
        rig.events.push({ at: "00:02:00", do: "power-cut", supply: "rec", forSeconds: 30 });
        rig.events.push({ at: "00:03:00", do: "unplug", link: "to-rec", forSeconds: 10 });
        rig.expect.push({ device: "rec", is: "locked", from: "00:00:10", to: "00:01:00" });
        rig.rig.feeds.push({
          id: "tracks",
          through: [rig.rig.leaders[0], "rec"],
          channels: 2,
          over: ["to-rec"],
          heardBy: ["record"],
        });
      }
      one.rig.links.push({ id: "to-rec", type: "madi", from: "matrix.5", to: "rec.1" });
      other.rig.links.push({ id: "to-rec", type: "madi", from: "foh.5", to: "rec.1" });
    },
    { joins: [CABLE], names: ["house", "tour"] },
  );
  const { plan } = way(outcome, "converters");
  const names = (id: string) => plan.devices.find((device) => device.id === id);
  expect(names("house-rec")).toMatchObject({ name: "House recorder", power: ["house-rec", "pit mains"] });
  expect(names("tour-rec")).toMatchObject({ name: "Tour recorder", power: ["tour-rec", "pit mains"] });
  const cuts = plan.events.flatMap((event) => (event.do === "power-cut" ? [event.supply] : []));
  expect(cuts.sort()).toEqual(["house-rec", "tour-rec"]);
  const pulled = plan.events.flatMap((event) => (event.do === "unplug" ? [event.link] : []));
  expect(pulled.sort()).toEqual(["house-to-rec", "tour-to-rec"]);
  expect(outcome.ways.every(({ missed }) => missed.length === 0)).toBe(true);
});

test("an expectation that was met alone and is missed when they are joined is told", () => {
  const outcome = outcomeOf((one, other) => {
    for (const { rig } of [one, other]) (rig.links[0] as Thing).laidAlong = ["quay wall"];
    one.events.push({ at: "00:05:00", do: "cut", path: "quay wall", forSeconds: 20 });
    one.expect.push({ feed: "calls", silentSeconds: { max: 0 } });
    other.expect.push({ feed: "mixes", silentSeconds: { max: 0 } });
  });
  for (const { missed } of outcome.ways) {
    expect(missed).toHaveLength(1);
    expect(missed[0]?.expected).toContain("mixes");
  }
});
