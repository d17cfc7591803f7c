/**
 * Expectations of a scenario as test cases in the XML that CI systems read as JUnit results.
 *
 * Shape: there is no standard; this is within the schema of one widely used reader (junit-10.xsd of the xunit plugin of
 * Jenkins, READ): testsuites, testsuite, properties, testcase, failure. No times and no host: the same run gives the same bytes.
 */
import type { Run } from "../../sim/rehearse.ts";

export function junitText({ summary }: Pick<Run, "summary">, version: string): string {
  const { scenario, seed, expect, assumed } = summary;
  const failures = expect.filter(({ met }) => !met).length;
  const counts = { tests: expect.length, failures, errors: 0 };
  const properties = {
    version,
    seed,
    scenarioSha256: scenario.sha256,
    assumedNumbers: assumed.length,
  };
  const lines = [
    '<?xml version="1.0" encoding="UTF-8"?>',
    `<testsuites${attributes({ name: "Pulltest", ...counts })}>`,
    `  <testsuite${attributes({ name: scenario.title, ...counts, skipped: 0 })}>`,
    "    <properties>",
    ...Object.entries(properties).map(([name, value]) => `      <property${attributes({ name, value })}/>`),
    "    </properties>",
    ...expect.flatMap(({ expected, met, found }) => {
      const opened = `    <testcase${attributes({ name: expected, classname: scenario.title })}`;
      if (met) return [`${opened}/>`];
      const failure = `<failure${attributes({ message: found, type: "expectation" })}>`;
      return [
        `${opened}>`,
        `      ${failure}${escaped(`Expected: ${expected}\nFound: ${found}`)}</failure>`,
        "    </testcase>",
      ];
    }),
    "  </testsuite>",
    "</testsuites>",
    "",
  ];
  return lines.join("\n");
}

function attributes(values: Readonly<Record<string, string | number>>): string {
  return Object.entries(values)
    .map(
      ([name, value]) =>
        ` ${name}="${escaped(String(value)).replace(/[\t\n\r]/g, (space) => `&#${space.charCodeAt(0)};`)}"`,
    )
    .join("");
}

const ENTITIES: Readonly<Record<string, string>> = { "&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;" };

/** XML 1.0, 2.2 and 2.4: what no document may hold, not even escaped, becomes a visible mark. */
function escaped(text: string): string {
  return text
    .replace(/[^\t\n\r\u{20}-\u{d7ff}\u{e000}-\u{fffd}\u{10000}-\u{10ffff}]/gu, "\u{fffd}")
    .replace(/[&<>"]/g, (character) => ENTITIES[character] as string);
}
