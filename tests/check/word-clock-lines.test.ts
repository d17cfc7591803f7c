/** What the plan check says about T-ed word-clock lines, and that it takes each for one cable. */
import { describe, expect, it } from "vitest";
import { check, checkAll } from "../../sim/check/index.ts";
import { clockNet } from "../../sim/check/risks.ts";
import { clockGraph } from "../../sim/clock-graph.ts";
import { lineExample } from "../helpers/line-example.ts";
import { plan, read } from "../helpers/rig.ts";
import { found } from "./rigs.ts";

const rig = (line: object = {}) => plan(lineExample(line));

describe("word-clock-terminators", () => {
  it("is not found where the far end has the only one, nor on a lead with two ends", () => {
    expect(found(rig(), "word-clock-terminators")).toEqual([]);
    const { rig: words, ...rest } = lineExample();
    const leads = ["foh", "mon", "rec"].map((id, at) => ({
      id,
      type: "word-clock",
      from: `house.${at + 1}`,
      to: `${id}.1`,
    }));
    expect(
      found(plan({ ...rest, rig: { ...words, links: [...leads, words.links[1]] } }), "word-clock-terminators"),
    ).toEqual([]);
  });

  it.each([
    [[], "No terminator is named on the word-clock line of the house clock.", ["rec"]],
    [
      ["foh.1", "rec.1"],
      "The word-clock line of the house clock is terminated 2 times: at the FOH desk and the recorder.",
      ["foh", "rec"],
    ],
    [
      ["mon.1"],
      "The word-clock line of the house clock is terminated at the monitor desk, which is not its far end.",
      ["mon", "rec"],
    ],
  ])("is found with terminators at %j", (terminatedAt, what, devices) => {
    const findings = found(rig({ terminatedAt }), "word-clock-terminators");
    expect(findings).toHaveLength(1);
    expect(findings[0]).toMatchObject({
      severity: "warning",
      what,
      devices,
      links: ["word"],
      path: ["links", "word", "terminatedAt"],
    });
    expect(findings[0]!.remedy).toContain("the recorder");
  });

  it("stands at its place in the file, and can be accepted by the id that stands there", () => {
    const { placeOf, plan: made } = read(lineExample({ terminatedAt: ["mon.1"] }));
    const [finding] = found(made!, "word-clock-terminators");
    const text = JSON.stringify(lineExample({ terminatedAt: ["mon.1"] }), null, 2).split("\n");
    expect(text[placeOf(finding!.path).line - 1]).toContain("terminatedAt");
    const accepted = [{ rule: "word-clock-terminators", links: ["word"], reason: "built into the last input" }];
    const checked = checkAll(plan({ ...lineExample({ terminatedAt: ["mon.1"] }), accepted }));
    expect(checked.findings.map(({ rule }) => rule)).not.toContain("word-clock-terminators");
    expect(checked.findings.map(({ rule }) => rule)).not.toContain("acceptance-unused");
  });
});

describe("word-clock-line-crowded", () => {
  it("is found from the fourth device on, the sender left out", () => {
    expect(found(rig(), "word-clock-line-crowded")).toEqual([]);
    const { rig: words, ...rest } = lineExample({ to: ["foh.1", "mon.1", "rec.1", "pa.1"], terminatedAt: ["pa.1"] });
    const devices = [...words.devices, { id: "pa", name: "PA processor", kind: "processor", clockSources: ["1"] }];
    const [finding] = found(plan({ ...rest, rig: { ...words, devices } }), "word-clock-line-crowded");
    expect(finding).toMatchObject({ severity: "advice", links: ["word"], devices: ["foh", "mon", "pa", "rec"] });
    expect(finding!.what).toBe(
      "The word-clock line of the house clock feeds 4 devices: the FOH desk, the monitor desk, the recorder and the PA processor.",
    );
    expect(finding!.see).toContain("the PA processor");
  });
});

describe("a line is one cable", () => {
  it("to its length: one finding, by the whole of it", () => {
    const long = found(rig({ lengthMetres: 45 }), "word-clock-lead-long");
    expect(long.map(({ links, what }) => [links, what])).toEqual([[["word"], "Word-clock line is 45 m long."]]);
    const tooLong = found(rig({ lengthMetres: 130 }), "cable-too-long");
    expect(tooLong.map(({ links, path }) => [links, path])).toEqual([[["word"], ["links", "word", "lengthMetres"]]]);
    expect(tooLong[0]!.what).toContain("130 m");
  });

  it("to what can take it: every tap hangs on the same risk", () => {
    const made = rig();
    const graph = clockGraph(made);
    for (const follower of ["foh", "mon", "rec"])
      expect(clockNet(made, graph, follower).arcs.flatMap(({ fails }) => fails)).toContainEqual(["cable word"]);
  });

  it("to whoever reads a finding: none names a tap", () => {
    const { rig: words, ...rest } = lineExample({ terminatedAt: [], lengthMetres: 130 });
    const devices = words.devices.map((device) => ({ ...device, clockSources: ["internal"] }));
    const made = plan({ ...rest, rig: { ...words, devices } });
    const about = check(made).filter(({ links }) => links.includes("word"));
    expect(about.map(({ rule, devices: whom }) => `${rule} ${whom.join(" ")}`)).toEqual([
      "cable-too-long house rec",
      "left-on-internal foh",
      "left-on-internal mon",
      "word-clock-terminators rec",
    ]);
    expect(JSON.stringify(check(made))).not.toMatch(/word:(mon|rec)/);
  });

  it("and no chain: nobody on it hands the clock on", () => {
    expect(found(rig(), "word-clock-chain")).toEqual([]);
  });
});
