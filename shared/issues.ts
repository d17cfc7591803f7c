/**
 * What is wrong with an input, as a value: where, what was expected, what was received, what to do. Reading never
 * throws over bad input; it returns a list of these, all problems at once.
 */

export type Path = readonly (string | number)[];

export interface Issue {
  readonly file: string;
  /** From 1. */
  readonly line: number;
  /** From 1, in UTF-16 units, as editors count. */
  readonly column: number;
  /** Within `file`: ["rig", "devices", 2, "clockSources"]. */
  readonly path: Path;
  readonly expected: string;
  readonly received: string;
  /** What to do, as a clause that ends a sentence. */
  readonly remedy: string;
}

/** The place of something that was typed, an option with its value, or of a file as a whole: there is no line to name. */
export function withoutLine(file: string): Pick<Issue, "file" | "line" | "column" | "path"> {
  return { file, line: 0, column: 0, path: [] };
}

/** More than anyone reads at one go; the rest is counted. */
export const ISSUES_SHOWN = 200;

/** `scenarios/x.json:12:7 › rig.devices[2].oscillator.offsetPpm: expected …, received …; …` */
export function formatIssue(issue: Issue): string {
  const place = `${issue.file}:${issue.line}:${issue.column}`;
  const path = issue.path.length > 0 ? ` › ${formatPath(issue.path)}` : "";
  return `${place}${path}: expected ${issue.expected}, received ${issue.received}; ${issue.remedy}`;
}

/** One line per issue, at most {@link ISSUES_SHOWN}, then how many more there are. */
export function formatIssues(issues: readonly Issue[]): string[] {
  const lines = issues.slice(0, ISSUES_SHOWN).map(formatIssue);
  const more = issues.length - lines.length;
  if (more > 0) lines.push(`and ${more} more`);
  return lines;
}

/** `rig.devices[2].name`; keys that are not plain words in brackets and quotes, one alone (a heading) in quotes. */
export function formatPath(path: Path): string {
  let text = "";
  for (const step of path) {
    if (typeof step === "number") text += `[${step}]`;
    else if (/^[A-Za-z_$][\w$-]*$/.test(step)) text += text === "" ? step : `.${step}`;
    else text += path.length === 1 ? quote(step) : `[${quote(step)}]`;
  }
  return text;
}

const RECEIVED_CHARACTERS = 60;

/** A value in a few characters, control and direction characters escaped, so that no file can write to the terminal. */
export function quote(value: unknown): string {
  if (value === undefined) return "nothing";
  if (Array.isArray(value)) {
    const short = value.length <= 6 && value.every((item) => typeof item === "string" || typeof item === "number");
    const text = short ? `[${value.map(quote).join(", ")}]` : "";
    if (short && text.length <= RECEIVED_CHARACTERS) return text;
    return `a list of ${value.length}`;
  }
  if (typeof value === "object" && value !== null) return "an object";
  if (typeof value !== "string") return String(value);
  const cut = value.length > RECEIVED_CHARACTERS ? `${value.slice(0, RECEIVED_CHARACTERS)}…` : value;
  return JSON.stringify(cut).replace(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}\p{Cs}]/gu, (c) => {
    const code = c.codePointAt(0) ?? 0;
    return code > 0xffff ? `\\u{${code.toString(16)}}` : `\\u${code.toString(16).padStart(4, "0")}`;
  });
}

/** By file in the order given, then by place; equal places keep the order in which they were found. */
export function sortIssues(issues: readonly Issue[], files: readonly string[]): Issue[] {
  const rank = new Map(files.map((file, index) => [file, index]));
  const rankOf = (issue: Issue) => rank.get(issue.file) ?? files.length;
  return [...issues].sort((a, b) => rankOf(a) - rankOf(b) || a.line - b.line || a.column - b.column);
}
