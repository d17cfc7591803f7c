/** What is wrong with an input, as text for standard error: all at once. */
import { formatIssue, ISSUES_SHOWN, type Issue } from "../../shared/issues.ts";
import { counted } from "../../sim/tell/words.ts";
import { oneLine } from "./plain.ts";

export function issuesText(issues: readonly Issue[], done: string): string {
  const shown = issues.slice(0, ISSUES_SHOWN).map((issue) => oneLine(issueText(issue)));
  const more = issues.length - shown.length;
  const head = `pulltest: ${counted(issues.length, "problem", "problems")} in the input; ${done}.`;
  return `${[head, ...shown, ...(more > 0 ? [`and ${more} more`] : [])].join("\n")}\n`;
}

/** What was typed has no lines, nor has a file that could not be read: line 0. */
function issueText(issue: Issue): string {
  if (issue.line > 0) return formatIssue(issue);
  return `${issue.file}: expected ${issue.expected}, received ${issue.received}; ${issue.remedy}`;
}
