/** What was expected, and what the run found instead. */
import { h, part, table } from "../dom.ts";
import type { Run } from "../run.ts";

export function expectationsPart({ summary }: Run): HTMLElement {
  if (summary.expect.length === 0)
    return part(
      "expectations",
      "Expectations",
      h("p", { class: "none" }, "This scenario expects nothing, so there is no verdict."),
    );
  return part(
    "expectations",
    "Expectations",
    table(
      "Expectations",
      [{ head: "Expected" }, { head: "Found" }, { head: "Met or not" }],
      summary.expect.map(({ expected, found, met }) => [
        expected,
        found,
        h("span", { class: met ? "met" : "not-met" }, met ? "Met" : "Not met"),
      ]),
    ),
    summary.verdict === "met" ? h("p", {}, "Every expectation met. Not tested on site.") : null,
  );
}
