/**
 * The report for editors and CI against what the published schema of SARIF 2.1.0 requires, by hand: the fields that it
 * lists as required, their types, and the values that it allows (OASIS Standard, 27 March 2020), and no other field. READ:
 * run, result, suppression, tool, toolComponent, reportingDescriptor, reportingConfiguration, physicalLocation, region; from
 * memory: message, multiformatMessageString, artifactLocation.
 */

import { describe, expect, it } from "vitest";
import * as z from "zod";
import type { AcceptedHere, PlacedFinding } from "../../cli/print/findings.ts";
import { sarifLog } from "../../cli/print/sarif.ts";
import type { Finding } from "../../shared/finding.ts";
import { RULE_NAMES } from "../../shared/rule-names.ts";
import { checkAll } from "../../sim/check/index.ts";
import { shippedPlans } from "../helpers/shipped.ts";
import { foh, madi, mon, rig, soundRig } from "./rigs.ts";

const message = z.strictObject({ text: z.string().min(1) });
const level = z.enum(["none", "note", "warning", "error"]);
const whole = z.int().positive();

const shape = z.strictObject({
  $schema: z.url(),
  version: z.literal("2.1.0"),
  runs: z.array(
    z.strictObject({
      tool: z.strictObject({
        driver: z.strictObject({
          name: z.string().min(1),
          semanticVersion: z.string().regex(/^\d+\.\d+\.\d+/),
          rules: z.array(
            z.strictObject({
              id: z.string().min(1),
              shortDescription: message,
              fullDescription: message,
              help: message,
              defaultConfiguration: z.strictObject({ level }),
            }),
          ),
        }),
      }),
      columnKind: z.enum(["utf16CodeUnits", "unicodeCodePoints"]),
      results: z.array(
        z.strictObject({
          ruleId: z.string(),
          ruleIndex: z.int().nonnegative(),
          level,
          message,
          locations: z
            .array(
              z.strictObject({
                physicalLocation: z.strictObject({
                  artifactLocation: z.strictObject({
                    uri: z.string().regex(/^[A-Za-z0-9\-._~:/?#[\]@!$&'()*+,;=%]+$/),
                  }),
                  region: z.strictObject({ startLine: whole, startColumn: whole }),
                }),
              }),
            )
            .length(1),
          partialFingerprints: z.record(z.string(), z.string()),
          suppressions: z.array(
            z.strictObject({
              kind: z.enum(["inSource", "external"]),
              status: z.enum(["accepted", "underReview", "rejected"]),
              justification: z.string().min(1),
            }),
          ),
        }),
      ),
    }),
  ),
});

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
  return shape.parse(JSON.parse(JSON.stringify(made)));
}

describe("the report in SARIF", () => {
  it("has the shape that the standard requires, one run, and every rule once", () => {
    const { runs } = log("quay.json");
    expect(runs).toHaveLength(1);
    expect(runs[0]!.tool.driver.rules.map(({ id }) => id)).toEqual([...RULE_NAMES]);
  });

  it("has that shape for every shipped scenario", () => {
    let results = 0;
    for (const [name, shipped] of shippedPlans()) {
      const { findings, accepted } = checkAll(shipped);
      const placed = <One extends Finding>(finding: One) => ({ ...finding, place: place(name) });
      const asked = { findings: findings.map(placed), accepted: accepted.map(placed) };
      const made = sarifLog({ ...asked, version: "1.2.3", workingFolder: "/quay" });
      const [run] = shape.parse(JSON.parse(JSON.stringify(made))).runs;
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
  });
});
