/** The report for editors and CI, held against the JSON Schema of SARIF 2.1.0: of every shipped scenario, and of odd texts. */
import { fileURLToPath } from "node:url";
import { describe, expect, it } from "vitest";
import type { AcceptedHere, PlacedFinding } from "../../cli/print/findings.ts";
import { sarifLog } from "../../cli/print/sarif.ts";
import type { Finding } from "../../shared/finding.ts";
import { RULE_NAMES } from "../../shared/rule-names.ts";
import { checkAll } from "../../sim/check/index.ts";
import { isSarif, type SarifLog } from "../helpers/sarif.ts";
import { shippedPlans } from "../helpers/shipped.ts";
import { foh, madi, mon, rig, soundRig } from "./rigs.ts";

/** Refuses what the schema refuses, and what we ask beyond it: each result at one line, nothing without words. */
function read(made: object): SarifLog {
  const parsed: unknown = JSON.parse(JSON.stringify(made));
  if (!isSarif(parsed)) throw new Error(JSON.stringify(isSarif.errors));
  for (const { tool, results } of parsed.runs) {
    expect(tool.driver.semanticVersion).toMatch(/^\d+\.\d+\.\d+/);
    for (const { message, locations, suppressions } of results) {
      expect(message.text).not.toBe("");
      expect(locations).toHaveLength(1);
      expect(locations[0]!.physicalLocation.region.startLine).toBeGreaterThan(0);
      for (const { justification } of suppressions) expect(justification).not.toBe("");
    }
  }
  return parsed;
}

const place = (file: string) => ({ file, line: 12, column: 7 });
const plan = rig(["foh"], [foh(["internal"]), mon(["internal"])], [madi("split", "mon.1", "foh.1")]);

function log(file: string, workingFolder = "/quay") {
  const { findings, accepted } = checkAll({
    ...plan,
    accepted: [{ rule: "left-on-internal", devices: null, links: null, reason: "Only for the line check." }],
  });
  const placed = (finding: (typeof findings)[number]): PlacedFinding => ({ ...finding, place: place(file) });
  const rest = checkAll(soundRig()).findings;
  const listed: AcceptedHere[] = accepted.map((finding) => ({ ...placed(finding), reason: finding.reason }));
  const made = sarifLog({
    findings: [...findings, ...rest].map(placed),
    accepted: listed,
    version: "1.2.3",
    workingFolder,
  });
  return read(made);
}

describe("the report in SARIF", () => {
  it("is what the schema takes, one run, and every rule once", () => {
    const { runs } = log("quay.json");
    expect(runs).toHaveLength(1);
    expect(runs[0]!.tool.driver.rules.map(({ id }) => id)).toEqual([...RULE_NAMES]);
  });

  it("is what the schema takes for every shipped scenario", () => {
    let results = 0;
    for (const [name, shipped] of shippedPlans()) {
      const { findings, accepted } = checkAll(shipped);
      const placed = <One extends Finding>(finding: One) => ({ ...finding, place: place(name) });
      const asked = { findings: findings.map(placed), accepted: accepted.map(placed) };
      const made = sarifLog({ ...asked, version: "1.2.3", workingFolder: "/quay" });
      const [run] = read(made).runs;
      expect(run!.results).toHaveLength(findings.length + accepted.length);
      results += run!.results.length;
    }
    expect(results).toBeGreaterThan(100);
  });

  it("has each result at its line, under its rule, with what, why, what is seen and what to do", () => {
    const [run] = log("quay.json").runs;
    expect(run!.results.length).toBeGreaterThan(3);
    for (const { ruleId, ruleIndex, locations, message: said } of run!.results) {
      expect(run!.tool.driver.rules[ruleIndex]!.id).toBe(ruleId);
      expect(locations[0]!.physicalLocation).toEqual({
        artifactLocation: { uri: "quay.json" },
        region: { startLine: 12, startColumn: 7 },
      });
      expect(said.text).toMatch(/\nWhy: .*\nOn site: .*\nDo: /);
    }
    expect(new Set(run!.results.map((one) => one.level))).toContain("note");
  });

  it("has what is accepted as suppressed, with the reason, and nothing else", () => {
    const suppressed = log("quay.json").runs[0]!.results.filter(({ suppressions }) => suppressions.length > 0);
    expect(suppressed).toMatchObject([
      {
        ruleId: "left-on-internal",
        level: "error",
        suppressions: [{ kind: "inSource", status: "accepted", justification: "Only for the line check." }],
      },
    ]);
  });

  it("tells two findings of one rule apart by what they are about, whatever the line", () => {
    const prints = log("quay.json").runs[0]!.results.map(({ partialFingerprints }) =>
      JSON.stringify(partialFingerprints),
    );
    expect(new Set(prints).size).toBe(prints.length);
  });

  it("names a file in the folder relative to it, any other whole, and escapes what an address cannot have", () => {
    const uri = (file: string) => log(file).runs[0]!.results[0]!.locations[0]!.physicalLocation.artifactLocation.uri;
    expect(uri("shows/lantern quay.json")).toBe("shows/lantern%20quay.json");
    expect(uri("/quay/shows/a.json")).toBe("shows/a.json");
    expect(uri("../other/b.json")).toBe("file:///other/b.json");
    expect(uri("(standard input)")).toBe("(standard%20input)");
    // Each is held to RFC 3986 as it is read.
    const odd = 'Kai 100%, "Nord" #2? [a|b]^`{語}\\\n.json';
    expect(decodeURIComponent(uri(odd))).toBe(odd);
    expect(fileURLToPath(uri(`../other/${odd}`))).toBe(`/other/${odd}`);
  });

  it("takes whatever a title or a reason says", () => {
    const said = 'a < b & "c" {0} [x](y)\n\u0000\u001b[2J\ud800 語';
    const [finding] = checkAll(soundRig()).findings;
    const one = { ...finding!, what: said, why: said, remedy: said, devices: [said], place: place("quay.json") };
    const made = { findings: [one], accepted: [{ ...one, reason: said }], version: "1.2.3", workingFolder: "/quay" };
    const [plain, accepted] = read(sarifLog(made)).runs[0]!.results;
    expect(plain!.message.text).toContain(`${said}\nWhy: `);
    expect(accepted!.suppressions).toMatchObject([{ justification: said }]);
  });

  it.each<[string, string, unknown]>([
    ["another version", "version", "2.0.0"],
    ["no runs", "runs", undefined],
    ["a field of our own", "made", "here"],
    ["an address that is none", "$schema", "schema"],
    ["no tool", "runs.0.tool", undefined],
    ["a tool without a name", "runs.0.tool.driver.name", undefined],
    ["a rule without an id", "runs.0.tool.driver.rules.0.id", undefined],
    ["our word for a level", "runs.0.results.0.level", "advice"],
    ["a result without a message", "runs.0.results.0.message", undefined],
    ["a message without a text", "runs.0.results.0.message.text", undefined],
    ["line 0", "runs.0.results.0.locations.0.physicalLocation.region.startLine", 0],
    ["half a column", "runs.0.results.0.locations.0.physicalLocation.region.startColumn", 0.5],
    ["a blank in an address", "runs.0.results.0.locations.0.physicalLocation.artifactLocation.uri", "a b"],
    ["half an escape", "runs.0.results.0.locations.0.physicalLocation.artifactLocation.uri", "a%2"],
    ["a fingerprint that is a number", "runs.0.results.0.partialFingerprints.x", 1],
    ["a suppression of no kind", "runs.0.results.0.suppressions.0", { justification: "x" }],
    ["columns counted in bytes", "runs.0.columnKind", "bytes"],
  ])("is refused with %s", (_, path, value) => {
    const made = structuredClone(log("quay.json")) as object;
    expect(isSarif(made)).toBe(true);
    const steps = path.split(".");
    const last = steps.pop() as string;
    // biome-ignore lint/suspicious/noExplicitAny: walks into whatever is there
    const at = steps.reduce<any>((inner, step) => inner[step], made);
    if (value === undefined) delete at[last];
    else at[last] = value;
    expect(isSarif(made)).toBe(false);
  });
});
