/** Chains of causes on small rigs, step by step. */
import { describe, expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { rehearse } from "../../sim/rehearse.ts";
import type { WhyStep } from "../../sim/why.ts";
import { subjectsNamed, whyOf } from "../../sim/why.ts";
import { at, device, feed, link, planOf, unplug } from "../helpers/plan.ts";

function ask(plan: Plan, text: string, seconds: number) {
  const { record } = rehearse(plan);
  const [subject] = subjectsNamed(plan, text);
  if (subject === undefined) throw new Error(`nothing is called ${text}`);
  return whyOf(plan, record, subject, nsFromSeconds(seconds));
}

/** "device truck free-run by timeout". */
function words({ subject, fact, by }: WhyStep): string {
  const what =
    fact.kind === "clock" || fact.kind === "converter"
      ? fact.state
      : fact.kind === "link"
        ? `${fact.state}${fact.noticed ? " noticed" : ""}`
        : fact.kind === "event"
          ? fact.event.do
          : fact.kind === "input"
            ? fact.inStep
              ? "in step"
              : "out of step"
            : fact.kind;
  return `${subject} ${what} by ${by}`;
}

const wire = link("foh.1", "truck.1", { id: "main" });
const holding = planOf({
  seconds: 60,
  devices: [
    device("foh", ["internal"], { offsetPpm: 4 }),
    device("truck", ["1"], { offsetPpm: -3, holdoverSeconds: 5, holdOffSeconds: 0 }),
  ],
  links: [wire],
  feeds: [feed("mix", ["foh", "truck"], [wire])],
  events: [unplug(20, "main"), at(40, { do: "hang", device: "foh" })],
});

test("a holdover that has run out goes back over the loss to the cable", () => {
  const { chains, nextNs } = ask(holding, "truck", 30);
  expect(chains.map((chain) => chain.map(words))).toEqual([
    [
      "device truck free-run by timeout",
      "device truck holdover by message",
      "link main there down noticed by timeout",
      "link main there down by event",
      "world unplug by event",
    ],
  ]);
  expect(nextNs).toBeNull();
});

test("before anything has happened the chain is how the show begins", () => {
  const { chains, nextNs } = ask(holding, "truck", 10);
  expect(chains.map((chain) => chain.map(words))).toEqual([["device truck locked by beginning"]]);
  expect(nextNs).toBeGreaterThan(20e9);
});

test("a device that hangs answers with that", () => {
  expect(ask(holding, "foh", 39).chains[0]?.map(words)).toEqual(["device foh free-run by beginning"]);
  expect(ask(holding, "foh", 50).chains[0]?.map(words)).toEqual(["device foh hung by event", "world hang by event"]);
});

test("a feed is silent through the device or the link that makes it so", () => {
  const quiet = ask(holding, "mix", 10);
  expect([quiet.heard?.stretch.state, quiet.chains]).toEqual(["clean", []]);
  expect(ask(holding, "mix", 30).chains[0]?.map(words)).toEqual([
    "link main there down noticed by timeout",
    "link main there down by event",
    "world unplug by event",
  ]);
  const hung = ask(holding, "mix", 50);
  expect(hung.heard?.stretch).toMatchObject({ silence: "device-down", because: "foh" });
  expect(hung.chains[0]?.map(words)).toEqual(["device foh hung by event", "world hang by event"]);
});

test("a feed clicks through the port that is out of step", () => {
  const loose = planOf({
    ...{ seconds: 60, feeds: holding.feeds, links: holding.links },
    devices: [device("foh", ["internal"], { offsetPpm: 4 }), device("truck", ["1"], { offsetPpm: -3 })],
    events: [at(20, { do: "set-clock-sources", device: "truck", clockSources: ["internal"] })],
  });
  const { heard, chains } = ask(loose, "mix", 50);
  expect(heard?.clicks).toEqual({ link: "main", sender: "foh", listener: "truck" });
  expect(chains[0]?.map(words)).toEqual([
    "port truck.1 out of step by message",
    "device truck free-run by event",
    "world set-clock-sources by event",
  ]);
});

test("a device that mutes answers with the state that muted it, until it has unmuted", () => {
  const plan = planOf({
    ...{ seconds: 100, links: holding.links, feeds: holding.feeds },
    devices: [
      device("foh", ["internal"]),
      device("truck", ["1"], { muteWhile: ["acquiring"], unmuteSeconds: 4, whileBooting: "own-clock", bootSeconds: 5 }),
    ],
    events: [at(20, { do: "reboot", device: "truck", part: "all" })],
  });
  const { heard, chains } = ask(plan, "mix", 28);
  expect(heard?.stretch).toMatchObject({ silence: "muted", because: "truck" });
  expect(chains[0]?.map(words)).toEqual([
    "device truck acquiring by timeout",
    "device truck starting by event",
    "world reboot by event",
  ]);
});

describe("chance", () => {
  const sigma2 = 1e-7;
  const loud = planOf({
    seconds: 600,
    devices: [
      device("foh", ["internal"], { oscillator: { wander: { sigma1: 0, sigma2, sigma3: 0, hMinus1: 0 } } }),
      device("box", ["1"], { loop: { naturalFrequencyHz: 0.02, damping: 1 }, unlockWindowPercent: 6 }),
    ],
    links: [link("foh.1", "box.1", { id: "main" })],
    // Far from the two, and long before wander is done: it must not be blamed.
    events: [at(1, { do: "step-frequency", device: "foh", offsetPpm: 0.0001 })],
  });
  const { record } = rehearse(loud);
  const losses = record.rows.filter(({ fact }) => fact.kind === "clock" && fact.reason.startsWith("wander"));

  test("what wander alone does is blamed on nobody, and the lock after it goes back to that", () => {
    expect(losses.length).toBeGreaterThan(2);
    for (const { cause } of losses) expect(cause).toBe(-1);
    const [box] = subjectsNamed(loud, "box");
    const locked = record.rows.filter(
      ({ atNs, fact }) => atNs > (losses[0]?.atNs ?? 0) && fact.kind === "clock" && fact.state === "locked",
    );
    expect(locked.length).toBeGreaterThan(1);
    for (const { atNs } of locked) {
      expect(whyOf(loud, record, box as never, atNs).chains[0]?.map(words)).toEqual([
        "device box locked by timeout",
        "device box acquiring by chance",
      ]);
    }
  });
});

describe("names", () => {
  const both = planOf({
    seconds: 10,
    devices: [device("a", ["internal"]), device("b", ["1"])],
    links: [link("a.1", "b.1", { id: "a", hasReturn: true })],
  });

  test("stand for all that is called so, or for one kind, or for one way", () => {
    expect(subjectsNamed(both, "a")).toEqual([
      { kind: "device", id: "a" },
      { kind: "link", id: "a", way: null },
    ]);
    expect(subjectsNamed(both, "device a")).toEqual([{ kind: "device", id: "a" }]);
    expect(subjectsNamed(both, "link a back")).toEqual([{ kind: "link", id: "a", way: "back" }]);
    expect(subjectsNamed(both, "c")).toEqual([]);
  });

  test("two ways that are alike get one answer, others two", () => {
    expect(ask(both, "link a", 5).chains).toHaveLength(1);
    const half: Plan = {
      ...both,
      events: [at(2, { do: "unplug", link: "a", end: null, way: "back", into: null })],
    };
    const { chains } = ask(half, "link a", 5);
    expect(chains.map((chain) => chain.map(words).at(-1))).toEqual([
      "link a there up by beginning",
      "world unplug by event",
    ]);
  });
});
