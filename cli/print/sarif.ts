/**
 * The findings of the plan check as SARIF 2.1.0, which editors and CI show at the line they are about.
 *
 * Shapes: Static Analysis Results Interchange Format (SARIF) Version 2.1.0, OASIS Standard, 27 March 2020, with errata 01:
 * as the published schema has them (READ; tests hold reports against it).
 * One run; what the scenario accepts is a result with a suppression in the source, the reason as its justification.
 */
import { isAbsolute, relative, resolve, sep } from "node:path";
import { pathToFileURL } from "node:url";
import { CHECK_RULES } from "../../shared/check-rules.ts";
import type { Finding } from "../../shared/finding.ts";
import type { RuleName } from "../../shared/rule-names.ts";
import { RULE_NAMES } from "../../shared/rule-names.ts";
import type { AcceptedHere, PlacedFinding } from "./findings.ts";

const SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

const LEVELS: Readonly<Record<Finding["severity"], "error" | "warning" | "note">> = {
  error: "error",
  warning: "warning",
  advice: "note",
};

export interface SarifRequest {
  readonly findings: readonly PlacedFinding[];
  readonly accepted: readonly AcceptedHere[];
  readonly version: string;
  /** Files inside it are named relative to it, as a checkout wants them. */
  readonly workingFolder: string;
}

export function sarifLog({ findings, accepted, version, workingFolder }: SarifRequest): object {
  const result = (finding: PlacedFinding) => resultOf(finding, workingFolder);
  return {
    $schema: SCHEMA,
    version: "2.1.0",
    runs: [
      {
        tool: { driver: { name: "Pulltest", semanticVersion: version, rules: RULE_NAMES.map(ruleOf) } },
        columnKind: "utf16CodeUnits",
        results: [
          // With suppressions in some results, those of the others are said to be none.
          ...findings.map((finding) => ({ ...result(finding), suppressions: [] })),
          ...accepted.map(({ reason, ...finding }) => ({
            ...result(finding),
            suppressions: [{ kind: "inSource", status: "accepted", justification: reason }],
          })),
        ],
      },
    ],
  };
}

function ruleOf(id: RuleName): object {
  const { severity, finds, help, source } = CHECK_RULES[id];
  return {
    id,
    shortDescription: { text: finds },
    fullDescription: { text: `${finds} ${help}` },
    help: { text: `${help} Source: ${source}.` },
    defaultConfiguration: { level: LEVELS[severity] },
  };
}

function resultOf(
  { rule, severity, what, why, see, remedy, devices, links, place }: PlacedFinding,
  folder: string,
): object {
  return {
    ruleId: rule,
    ruleIndex: RULE_NAMES.indexOf(rule as RuleName),
    level: LEVELS[severity],
    message: { text: `${what}\nWhy: ${why}\nOn site: ${see}\nDo: ${remedy}` },
    locations: [
      {
        physicalLocation: {
          artifactLocation: { uri: uriOf(place.file, folder) },
          region: { startLine: place.line, startColumn: place.column },
        },
      },
    ],
    // What a finding is about, so that it is the same finding when lines move.
    partialFingerprints: { "pulltestFinding/v1": [rule, ...devices, "|", ...links].join(" ") },
  };
}

/** Relative with forward slashes inside the folder, else absolute. What has no file keeps its name, escaped. */
function uriOf(file: string, folder: string): string {
  if (file.startsWith("(")) return encodeURIComponent(file);
  const path = resolve(folder, file);
  const inside = relative(folder, path);
  if (inside === ".." || inside.startsWith(`..${sep}`) || isAbsolute(inside)) return pathToFileURL(path).href;
  return inside.split(sep).map(encodeURIComponent).join("/");
}
