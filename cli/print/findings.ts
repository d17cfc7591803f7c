/** What the plan check found, as text. */
import type { AcceptedFinding, Finding } from "../../shared/finding.ts";
import { counted } from "../../sim/tell/words.ts";
import type { Ink, Style } from "./ink.ts";
import { oneLine, wrapped } from "./plain.ts";

export interface PlacedFinding extends Finding {
  /** Where it stands in the files read; line and column from 1. */
  readonly place: { readonly file: string; readonly line: number; readonly column: number };
}

const STYLES: Readonly<Record<Finding["severity"], Style>> = { error: "red", warning: "yellow", advice: "cyan" };

/** One that is accepted, and why. */
export type AcceptedHere = PlacedFinding & AcceptedFinding;

interface Found {
  /** Of the plan: "K7-QF". */
  readonly stamp: string;
  readonly findings: readonly PlacedFinding[];
  readonly accepted: readonly AcceptedHere[];
  /** Links without a channel left, in a sentence; null: there are none. */
  readonly full: string | null;
}

export function findingsText(
  found: Found,
  { ink, columns }: { readonly ink: Ink; readonly columns: number | null },
): string {
  const line = (head: string, text: string) => wrapped(`  ${head.padEnd(9)}${oneLine(text)}`, columns, 11);
  const opening = ({ place, severity, rule, what }: PlacedFinding, style: Style) =>
    `${oneLine(place.file)}:${place.line}:${place.column}  ${ink(style, severity)}  ${rule}\n${wrapped(`  ${oneLine(what)}`, columns, 2)}`;
  const blocks = found.findings.map((finding) => {
    const { severity, why, see, remedy } = finding;
    const lines = [line("Why:", why), line("On site:", see), line("Do:", remedy)];
    return [opening(finding, STYLES[severity]), ...lines].join("\n");
  });
  const accepted = found.accepted.map((one) => [opening(one, "dim"), line("Reason:", one.reason)].join("\n"));
  const apart = accepted.length === 0 ? [] : [`Accepted, and counted nowhere: ${accepted.length}`, ...accepted];
  const full = found.full === null ? [] : [wrapped(oneLine(found.full), columns, 2)];
  return `${[...blocks, ...apart, ...full, tally(found)].join("\n\n")}\n`;
}

/** "1 error, 2 warnings." What was not found is no proof of anything. */
function tally({ stamp, findings, accepted }: Found): string {
  const count = (severity: Finding["severity"]) => findings.filter((finding) => finding.severity === severity).length;
  const read = `Plan ${stamp} was read, not played, and not tested on site.`;
  if (findings.length === 0) return `No rule found anything${accepted.length === 0 ? "" : " else"}. ${read}`;
  const parts = [
    [count("error"), "error", "errors"],
    [count("warning"), "warning", "warnings"],
    [count("advice"), "piece of advice", "pieces of advice"],
  ] as const;
  const said = parts.filter(([amount]) => amount > 0).map(([amount, one, many]) => counted(amount, one, many));
  const text = said.join(", ");
  return `${text[0]!.toUpperCase()}${text.slice(1)}. ${read}`;
}
