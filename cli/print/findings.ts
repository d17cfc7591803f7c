/** What the plan check found, as text. */
import type { Finding } from "../../shared/finding.ts";
import { counted } from "../../sim/tell/words.ts";
import type { Ink, Style } from "./ink.ts";
import { oneLine, wrapped } from "./plain.ts";

export interface PlacedFinding extends Finding {
  /** Where it stands in the files read; line and column from 1. */
  readonly place: { readonly file: string; readonly line: number; readonly column: number };
}

const STYLES: Readonly<Record<Finding["severity"], Style>> = { error: "red", warning: "yellow", advice: "cyan" };

export function findingsText(
  findings: readonly PlacedFinding[],
  { ink, columns }: { readonly ink: Ink; readonly columns: number | null },
): string {
  const blocks = findings.map(({ place, severity, rule, what, why, see, remedy }) => {
    const line = (head: string, text: string) => wrapped(`  ${head.padEnd(9)}${oneLine(text)}`, columns, 11);
    return [
      `${oneLine(place.file)}:${place.line}:${place.column}  ${ink(STYLES[severity], severity)}  ${rule}`,
      wrapped(`  ${oneLine(what)}`, columns, 2),
      line("Why:", why),
      line("On site:", see),
      line("Do:", remedy),
    ].join("\n");
  });
  return `${[...blocks, tally(findings)].join("\n\n")}\n`;
}

/** "1 error, 2 warnings." What was not found is no proof of anything. */
function tally(findings: readonly Finding[]): string {
  const count = (severity: Finding["severity"]) => findings.filter((finding) => finding.severity === severity).length;
  if (findings.length === 0) return "No rule found anything. The plan was read, not played, and not tested on site.";
  const parts = [
    [count("error"), "error", "errors"],
    [count("warning"), "warning", "warnings"],
    [count("advice"), "piece of advice", "pieces of advice"],
  ] as const;
  const said = parts.filter(([amount]) => amount > 0).map(([amount, one, many]) => counted(amount, one, many));
  const text = said.join(", ");
  return `${text[0]!.toUpperCase()}${text.slice(1)}. The plan was read, not played, and not tested on site.`;
}
