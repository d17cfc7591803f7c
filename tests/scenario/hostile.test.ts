/**
 * Files as large as reading allows, each the worst of its kind: many problems, many names to compare, long chains, one
 * thing that everything points to. Reading ends, in words; a loop inside a loop would run into the time limit here.
 */
import { describe, expect, it } from "vitest";
import { formatIssues, ISSUES_SHOWN } from "../../shared/issues.ts";
import { readScenario } from "../../shared/scenario.ts";
import { noFiles } from "../helpers/rig.ts";

/** Just below the limit of words and signs. */
const TOKENS = 190_000;

/** As many pieces as fit into a share of what is allowed. */
function many(piece: (index: number) => string, share = 1): string {
  const pieces: string[] = [];
  for (let tokens = 0; tokens < TOKENS * share; ) {
    const next = piece(pieces.length);
    pieces.push(next);
    tokens += (next.match(/"[^"]*"|[[\]{}:,]|\d+|null/g) ?? []).length + 1;
  }
  return pieces.join(",");
}

function scenario(rig: string, rest = ""): string {
  return `{"format":1,"title":"x","run":{"length":"01:00:00"},"rig":{"sampleRateHz":48000,${rig}}${rest}}`;
}

const two = '"devices":[{"id":"a"},{"id":"b"}]';
const cable = '"links":[{"id":"l","type":"madi","from":"a.1","to":"b.1","return":true}]';
const lead = '{"id":"l","type":"ethernet","ends":["a.1","b.1"]}';
const far = (index: number) => `{"id":"${"x".repeat(30)}${index}"}`;

const cases: readonly [string, number | "a plan", () => string][] = [
  ["sound devices", "a plan", () => scenario(`"devices":[${many((i) => `{"id":"d${i}"}`)}]`)],
  ["one id for all devices", 30_000, () => scenario(`"devices":[${many(() => '{"id":"d"}')}]`)],
  ["nothing for devices", 90_000, () => scenario(`"devices":[${many(() => "null")}]`)],
  ["feeds without anything", 150_000, () => scenario(`${two},"feeds":[${many(() => "{}")}]`)],
  ["a list of nothing in a device", 1, () => scenario(`"devices":[{"id":"a","clockSources":[${many(() => "null")}]}]`)],
  [
    "links on one port",
    20_000,
    () => scenario(`${two},"links":[${many((i) => `{"id":"l${i}","type":"madi","from":"a.1","to":"b.1"}`)}]`),
  ],
  [
    "strange leaders among long names",
    40_000,
    () => scenario(`"devices":[${many(far, 0.5)}],"leaders":[${many((i) => `"${"x".repeat(29)}y${i}"`, 0.49)}]`),
  ],
  [
    "expectations of many devices",
    "a plan",
    () =>
      scenario(
        `"devices":[${many((i) => `{"id":"d${i}"}`, 0.5)}]`,
        `,"expect":[${many((i) => `{"device":"d${i % 9000}","is":"off"}`, 0.49)}]`,
      ),
  ],
  [
    "one supply for all, cut all the time",
    "a plan",
    () =>
      scenario(
        `"devices":[${many((i) => `{"id":"d${i}","power":["s"]}`, 0.5)}]`,
        `,"events":[${many(() => '{"at":"00:00:01","do":"power-cut","supply":"s"}', 0.49)}]`,
      ),
  ],
  [
    "plugs into a port",
    8000,
    () =>
      scenario(
        `${two},${cable}`,
        `,"events":[${many(() => '{"at":"00:00:01","do":"plug","link":"l","end":"to","into":2}')}]`,
      ),
  ],
  [
    "streams between two ports",
    "a plan",
    () => scenario(`${two},"links":[${lead},${many((i) => `{"id":"s${i}","type":"aes67","from":"a.1","to":"b.1"}`)}]`),
  ],
  [
    "streams at ports without a cable",
    10_000,
    () => scenario(`${two},"links":[${lead},${many((i) => `{"id":"s${i}","type":"avb","from":"a.1","to":"b.2"}`)}]`),
  ],
  [
    "a port that the cables of many networks are plugged into, and streams there",
    500,
    () =>
      scenario(
        `${two},"networks":[${many((i) => `{"id":"n${i}"}`, 0.1)}],"links":[${many(
          (i) => `{"id":"l${i}","type":"ethernet","network":"n${i}","ends":["a.${i + 1}","b.${i + 1}"]}`,
          0.1,
        )},${many((i) => `{"id":"s${i}","type":"aes67","from":"a.1","to":"b.1"}`, 0.4)}]`,
        `,"events":[${many((i) => `{"at":"00:00:01","do":"plug","link":"l${i}","end":"a","into":1}`, 0.3)}]`,
      ),
  ],
  ["a long chain of types", 1, () => scenario(`${two},"deviceTypes":{${many((i) => `"t${i}":{"like":"t${i + 1}"}`)}}`)],
  [
    "a circle of types",
    1,
    () =>
      scenario(
        `${two},"deviceTypes":{${many((i) => `"t${i}":{"like":"t${i + 1}"}`, 0.9)},"${"t".repeat(9)}":{"like":"t0"}}`,
      ),
  ],
  [
    "a feed to and fro, over one link again and again",
    "a plan",
    () =>
      scenario(
        `${two},${cable},"feeds":[{"id":"f","channels":1,"through":[${many((i) => (i % 2 ? '"a"' : '"b"'), 0.5)}],"over":[${many(() => '"l"', 0.49)}]}]`,
      ),
  ],
  ["keys that nobody knows", 40_000, () => `{${many((i) => `"k${i}":0`)}}`],
  ["keys that reach for a prototype", 40_000, () => `{${many(() => '"__proto__":0')}}`],
  ["more words than allowed", 1, () => `[${"0,".repeat(1_500_000)}0]`],
  ["nothing but quotes", 1, () => '"'.repeat(3_900_000)],
  ["comments that never end", 1, () => "/*".repeat(1_900_000)],
  ["nothing but brackets", 1, () => "[]".repeat(1_900_000)],
  ["one long id", 1, () => scenario(`"devices":[{"id":"${"a".repeat(3_900_000)}"}]`)],
];

// A second or two each; a busy machine takes longer, a loop inside a loop minutes.
describe("reading ends, and says what it found", { timeout: 60_000 }, () => {
  it.each(cases)("%s", (_, atLeast, text) => {
    const { plan, issues } = readScenario({ file: "t.json", bytes: new TextEncoder().encode(text()) }, noFiles);
    if (atLeast === "a plan") expect(plan).not.toBeNull();
    else expect(issues.length).toBeGreaterThanOrEqual(atLeast);
    expect(formatIssues(issues).length).toBeLessThanOrEqual(ISSUES_SHOWN + 1);
  });
});
