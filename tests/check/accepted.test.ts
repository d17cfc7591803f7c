/** Findings that a scenario accepts: read, matched, listed apart, and asked after once they are gone. */
import { describe, expect, it } from "vitest";
import { CHECK_RULES } from "../../shared/check-rules.ts";
import { formatIssue } from "../../shared/issues.ts";
import type { AcceptedPlan } from "../../shared/plan.ts";
import { RULE_NAMES } from "../../shared/rule-names.ts";
import { check, checkAll } from "../../sim/check/index.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { read } from "../helpers/rig.ts";
import { foh, madi, mon, rig } from "./rigs.ts";

const twoLeaders = rig(
  ["foh"],
  [foh(["internal"]), mon(["internal"], { ports: {} })],
  [{ ...madi("split", "mon.1", "foh.1"), hasReturn: false }],
);

const entry = (words: Partial<AcceptedPlan> = {}): AcceptedPlan => ({
  rule: "two-leaders",
  devices: null,
  links: null,
  reason: "The monitor desk is only looked at.",
  ...words,
});
const accepting = (...accepted: readonly AcceptedPlan[]) => checkAll({ ...twoLeaders, accepted });

describe("what is accepted", () => {
  it("is listed apart with its reason, and stands no more", () => {
    expect(check(twoLeaders).map(({ rule }) => rule)).toEqual(["two-leaders"]);
    const { findings, accepted } = accepting(entry());
    expect(findings).toEqual([]);
    expect(accepted).toMatchObject([
      { reason: "The monitor desk is only looked at.", rule: "two-leaders", severity: "error" },
    ]);
  });

  it("is about the devices named and no others", () => {
    expect(accepting(entry({ devices: ["foh", "mon"] })).findings).toEqual([]);
    const { findings, accepted } = accepting(entry({ devices: ["foh"] }));
    expect(accepted).toEqual([]);
    expect(findings.map(({ rule }) => rule)).toEqual(["two-leaders", "acceptance-unused"]);
    expect(findings[1]).toMatchObject({ severity: "advice", path: ["accepted", 0] });
    expect(findings[1]!.remedy).toContain("devices foh and mon");
  });

  it("is not met by a finding about nothing of the kind that is named", () => {
    expect(accepting(entry({ links: ["split"] })).findings.map(({ rule }) => rule)).toContain("two-leaders");
  });

  it("is asked after when no rule finds it any more", () => {
    const { findings } = accepting(entry(), entry({ rule: "rate-mismatch", reason: "The guest has a converter." }));
    expect(findings.map(({ rule }) => rule)).toEqual(["acceptance-unused"]);
    expect(findings[0]).toMatchObject({ severity: "advice", path: ["accepted", 1] });
    expect(findings[0]!.what).toContain('rate-mismatch ("The guest has a converter.")');
  });

  it("may be named twice: the first entry counts, and neither is left over", () => {
    const { findings, accepted } = accepting(entry(), entry({ reason: "Another." }));
    expect(findings).toEqual([]);
    expect(accepted.map(({ reason }) => reason)).toEqual([entry().reason]);
  });
});

describe("accepted in a file", () => {
  const file = (accepted: unknown) => ({
    format: 1,
    title: "two desks",
    run: { length: "00:10:00" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["foh"],
      devices: [
        { id: "foh", oscillator: { offsetPpm: 1 }, clockSources: ["internal"] },
        { id: "mon", oscillator: { offsetPpm: 2 }, clockSources: ["internal"] },
      ],
      links: [{ id: "split", type: "madi", from: "mon.1", to: "foh.1" }],
    },
    accepted,
  });
  const issuesOf = (accepted: unknown) => read(file(accepted)).issues.map(formatIssue);

  it("is read, and has its place", () => {
    const { plan, placeOf } = read(
      file([{ rule: "two-leaders", devices: ["foh", "mon"], reason: "Only for the line check." }]),
    );
    expect(plan!.accepted).toEqual([
      { rule: "two-leaders", devices: ["foh", "mon"], links: null, reason: "Only for the line check." },
    ]);
    const whole = JSON.stringify(file([{ rule: "two-leaders", reason: "x" }]), null, 2).split("\n");
    const { line } = placeOf(["accepted", 0]);
    expect(whole[line - 1]!.trim()).toBe("{");
    expect(line).toBeGreaterThan(whole.findIndex((text) => text.includes('"accepted"')));
  });

  const whole = file(undefined);
  const ours = { rule: "two-leaders", reason: "Only for the line check." };
  const theirs = { rule: "two-leaders", devices: ["foh", "mon"], reason: "So it is wired in this house." };
  const stale = { rule: "rate-mismatch", reason: "The guest has a converter." };

  it("may stand in the rig too, inside the scenario or in its own file, and both count", () => {
    const inside = { ...whole, rig: { ...whole.rig, accepted: [theirs] } };
    const beside = { ...whole, rig: "./quay.rig.json" };
    for (const { plan } of [read(inside), read(beside, { "./quay.rig.json": { ...whole.rig, accepted: [theirs] } })]) {
      expect(plan!.accepted).toEqual([{ ...theirs, links: null }]);
      expect(checkAll(plan!).findings).toEqual([]);
    }
    const { plan } = read({ ...inside, accepted: [ours] });
    expect(plan!.accepted!.map(({ reason }) => reason)).toEqual([ours.reason, theirs.reason]);
    // Of two that fit, the scenario's: it is nearer to the evening.
    expect(checkAll(plan!).accepted.map(({ reason }) => reason)).toEqual([ours.reason]);
  });

  it("has the place of the file it stands in, also where nothing answers to it", () => {
    const rigFile = { ...whole.rig, accepted: [theirs, stale] };
    const { plan, placeOf } = read(
      { ...whole, rig: "./quay.rig.json", accepted: [ours] },
      { "./quay.rig.json": rigFile },
    );
    const { findings } = checkAll(plan!);
    expect(findings.map(({ rule, path }) => ({ rule, path }))).toEqual([
      { rule: "acceptance-unused", path: ["accepted", 2] },
    ]);
    const place = placeOf(findings[0]!.path);
    expect(place.file).toContain("quay.rig.json");
    const lines = JSON.stringify(rigFile, null, 2).split("\n");
    expect(lines.slice(place.line - 1).join("\n")).toMatch(/^ *\{\s*"rule": "rate-mismatch"/);
    expect(placeOf(["accepted", 0]).file).not.toContain("rig");
  });

  it("is refused in a rig as it is in a scenario, each at its own place", () => {
    const wrong = { rule: "two-leaders", devices: ["fohh"], reason: "x" };
    const { issues } = read(
      { ...whole, rig: "./quay.rig.json", accepted: [wrong] },
      { "./quay.rig.json": { ...whole.rig, accepted: [ours, wrong] } },
    );
    expect(issues.map(({ file: name, path }) => [name.includes("rig"), path])).toEqual([
      [false, ["accepted", 0, "devices", 0]],
      [true, ["accepted", 1, "devices", 0]],
    ]);
  });

  it("comes out of a rehearsal apart from the findings, with the reason", () => {
    const { summary } = rehearse(read(file([ours, stale])).plan!);
    expect(summary.accepted).toMatchObject([{ rule: "two-leaders", reason: ours.reason }]);
    expect(summary.findings.map(({ rule }) => rule)).toEqual(["acceptance-unused"]);
  });

  it("leaves a plan without it as it was", () => {
    expect(Object.keys(read(file(undefined)).plan!)).not.toContain("accepted");
  });

  it("with a rule that is none, no reason, or things that are not there is refused, all at once", () => {
    const issues = issuesOf([
      { rule: "two-leader", reason: "?" },
      { rule: "two-leaders", reason: "  " },
      { rule: "two-leaders" },
      { rule: "two-leaders", devices: ["fohh"], links: ["splitt"], reason: "x" },
      { rule: "acceptance-unused", reason: "x" },
      { rule: "two-leaders", devices: [], reason: "x" },
    ]);
    expect(issues).toHaveLength(7);
    expect(issues[0]).toContain('did you mean "two-leaders"?');
    expect(issues[1]).toContain("accepted[1].reason: expected a reason");
    expect(issues[2]).toContain("accepted[2]");
    expect(issues[3]).toContain(
      'accepted[3].devices[0]: expected the id of a device, received "fohh"; did you mean "foh"?',
    );
    expect(issues[4]).toContain('did you mean "split"?');
    expect(issues[5]).toContain("accepted[4].rule");
    expect(issues[6]).toContain("accepted[5].devices");
  });
});

describe("the table of rules", () => {
  it("says of each in sentences what it finds and helps, with a source", () => {
    expect(RULE_NAMES.length).toBeGreaterThan(25);
    expect([...RULE_NAMES]).toEqual([...RULE_NAMES].sort());
    for (const name of RULE_NAMES) {
      const { finds, help, source } = CHECK_RULES[name];
      for (const text of [finds, help]) expect(text, name).toMatch(/^\p{Lu}.*\.$/u);
      expect(source, name).not.toBe("");
      expect(`${finds} ${help}`, name).not.toMatch(/!|\b(safe|good|pass|passed)\b/i);
    }
  });
});
