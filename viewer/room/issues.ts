/** What is wrong with the files, in words, each with the way to its line. */
import { formatPath, ISSUES_SHOWN, type Issue } from "../../shared/issues.ts";
import { capital, counted } from "../../sim/tell/words.ts";
import { h } from "../dom.ts";

export function issueList(issues: readonly Issue[], goTo: (issue: Issue) => void): HTMLElement {
  const shown = issues.slice(0, ISSUES_SHOWN);
  const more = issues.length - shown.length;
  const files = new Set(issues.map(({ file }) => file));
  return h(
    "section",
    { class: "issues", "aria-labelledby": "issues-heading" },
    h(
      "h2",
      { id: "issues-heading" },
      `${capital(counted(issues.length, "problem", "problems"))} in the files; nothing was played`,
    ),
    h("ol", {}, ...shown.map((issue) => line(issue, files.size > 1, goTo))),
    more > 0 ? h("p", {}, `and ${more} more`) : null,
  );
}

function line(issue: Issue, isOfSeveral: boolean, goTo: (issue: Issue) => void): HTMLElement {
  const place = h(
    "button",
    { type: "button" },
    isOfSeveral ? `${issue.file}, line ${issue.line}` : `Line ${issue.line}`,
  );
  place.addEventListener("click", () => goTo(issue));
  const path = issue.path.length === 0 ? null : h("code", {}, formatPath(issue.path));
  return h(
    "li",
    {},
    place,
    h(
      "span",
      {},
      path,
      path === null ? "" : ": ",
      `expected ${issue.expected}, received ${issue.received}; ${issue.remedy}${/[.?]$/.test(issue.remedy) ? "" : "."}`,
    ),
  );
}
