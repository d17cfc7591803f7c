/** A T-ed word-clock line as a file writes it, and the links that come of it. */
import { describe, expect, it } from "vitest";
import { formatIssue } from "../../shared/issues.ts";
import { cableOf, isAbout, isWholeCable } from "../../shared/lines.ts";
import { lineExample } from "../helpers/line-example.ts";
import { plan, read } from "../helpers/rig.ts";

const problems = (line: object, ...events: object[]): string =>
  read({ ...lineExample(line), events })
    .issues.map(formatIssue)
    .join("\n");

describe("a line", () => {
  it("is a link for each tap, at even distances, the last at its end", () => {
    const taps = plan(lineExample()).links.filter(({ type }) => type === "word-clock");
    expect(taps.map(({ id, a, b, lengthMetres }) => [id, a, b, lengthMetres])).toEqual([
      ["word", { device: "house", port: 1 }, { device: "foh", port: 1 }, 8],
      ["word:mon", { device: "house", port: 1 }, { device: "mon", port: 1 }, 16],
      ["word:rec", { device: "house", port: 1 }, { device: "rec", port: 1 }, 24],
    ]);
    const [first, , last] = taps;
    expect(last!.delaySeconds / first!.delaySeconds).toBeCloseTo(3, 12);
    for (const tap of taps)
      expect(tap.line).toEqual({ id: "word", taps: ["foh", "mon", "rec"], terminatedAt: ["rec"] });
    expect(taps.map(cableOf)).toEqual(["word", "word", "word"]);
    expect(taps.map(isWholeCable)).toEqual([false, false, true]);
  });

  it("is refused with every problem at its place", () => {
    expect(problems({ to: ["foh.1"] })).toMatch(/to: expected a list of at least two receivers/);
    expect(problems({ to: ["foh.1", "mon.1", "foh.7"], terminatedAt: [] })).toMatch(
      /to\[2\]: expected each device once/,
    );
    expect(problems({ to: ["foh.1", "mon.1", "house.7"] })).toMatch(
      /to\[2\]: expected another device than at the other/,
    );
    expect(problems({ to: ["foh.1", "mon.1", "recc.1"] })).toMatch(/to\[2\]: expected a device and its port.*"rec"/);
    expect(problems({ to: ["foh.1", "mon.2", "rec.1"] })).toMatch(/a port that no other link uses/);
    expect(problems({ return: true })).toMatch(/return: expected false: a line with several receivers has one sender/);
    expect(problems({ terminatedAt: ["rec.2"] })).toMatch(
      /terminatedAt\[0\]: expected one of the receivers of the line/,
    );
    expect(problems({ terminatedAt: ["rec.1", "rec.1"] })).toMatch(/terminatedAt\[1\]: expected each receiver once/);
    expect(problems({ to: "rec.1" })).toMatch(/terminatedAt: expected nothing: only a line with several receivers/);
  });

  it("is no spare and no spare's main", () => {
    const { rig, ...rest } = lineExample();
    const lead = { id: "lead", type: "word-clock", from: "house.2", to: "foh.3" };
    const spares = [{ id: "pair", links: ["word", "lead"] }];
    const { issues } = read({ ...rest, rig: { ...rig, links: [...rig.links, lead], spares } });
    expect(issues.map(formatIssue).join()).toMatch(
      /spares\[0\]\.links\[0\]: expected a link with two ends, not a line/,
    );
  });

  it("does not hide a feed behind the number of its taps", () => {
    const { rig, ...rest } = lineExample();
    const feeds = [{ id: "f", through: ["foh", "rec"], channels: 2 }];
    expect(
      read({ ...rest, rig: { ...rig, feeds } })
        .issues.map(formatIssue)
        .join(),
    ).toMatch(/feeds\[0\]/);
  });
});

describe("an event at a line", () => {
  const at = { at: "00:05:00", do: "unplug", link: "word" };
  const taken = (event: object): string[] => {
    const { events, links } = plan({ ...lineExample(), events: [event] });
    const [first] = events;
    if (first?.do !== "unplug" && first?.do !== "lose-contact") throw new Error("not what was written");
    return links.filter((link) => isAbout(first, link)).map(({ id }) => id);
  };

  it("takes all taps, or the one whose end is named", () => {
    expect(taken(at)).toEqual(["word", "word:mon", "word:rec"]);
    expect(taken({ ...at, end: "from" })).toEqual(["word", "word:mon", "word:rec"]);
    expect(taken({ ...at, end: "foh" })).toEqual(["word"]);
    expect(taken({ ...at, end: "rec" })).toEqual(["word:rec"]);
    const flaps = { ...at, do: "intermittent", everySeconds: 5, outSeconds: 1, count: 2 };
    expect(taken({ ...flaps, end: "mon" })).toEqual(["word:mon"]);
  });

  it("names ends that are there, and no way back", () => {
    expect(problems({}, { ...at, end: "to" })).toMatch(/expected "from", "foh", "mon", or "rec"/);
    expect(problems({}, { ...at, way: "back" })).toMatch(/"word" has no cable back.*; leave way out/);
  });

  it("frees the sender's port only with the sender's plug, for one plug and not one per tap", () => {
    const out = { ...at, end: "from" };
    const into = { at: "00:06:00", do: "plug", link: "word", end: "from", into: 4 };
    expect(plan({ ...lineExample(), events: [out, into] }).events).toMatchObject([
      { do: "unplug", link: "word", end: "a" },
      { do: "plug", link: "word", end: "a", into: 4 },
    ]);
    const refused = read({ ...lineExample(), events: [{ ...at, end: "mon" }, into] }).issues;
    expect(refused).toHaveLength(1);
    expect(formatIssue(refused[0]!)).toMatch(/"word" to be out at "house"/);
  });
});
