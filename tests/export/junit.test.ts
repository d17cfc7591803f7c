/**
 * Expectations as test cases, read by a strict reader of XML and held against the schema of one widely used reader:
 * junit-10.xsd of the xunit plugin of Jenkins (READ), of which these are the elements that may stand here.
 */
import { describe, expect, test } from "vitest";
import { junitText } from "../../cli/print/junit.ts";
import type { Summary } from "../../shared/summary.ts";
import { shippedRuns } from "./runs.ts";

interface Element {
  readonly name: string;
  readonly attributes: Readonly<Record<string, string>>;
  readonly children: readonly Element[];
  readonly text: string;
}

const ENTITIES: Readonly<Record<string, string>> = { amp: "&", lt: "<", gt: ">", quot: '"', apos: "'" };

function plain(text: string): string {
  if (/[<"]|&(?!(?:amp|lt|gt|quot|apos|#\d+);)/.test(text)) throw new Error(`not escaped: ${text}`);
  return text.replace(/&(#?\w+);/g, (_, name: string) =>
    name.startsWith("#") ? String.fromCodePoint(Number(name.slice(1))) : (ENTITIES[name] as string),
  );
}

/** XML 1.0 as far as it stands here: elements, attributes in double quotes, text. Throws at anything else. */
function readXml(text: string): Element {
  if (/[^\t\n\r\u{20}-\u{d7ff}\u{e000}-\u{fffd}\u{10000}-\u{10ffff}]/u.test(text))
    throw new Error("no character of XML");
  const head = '<?xml version="1.0" encoding="UTF-8"?>\n';
  if (!text.startsWith(head)) throw new Error("no declaration");
  let at = head.length;
  const take = (pattern: RegExp) => {
    const sticky = new RegExp(pattern.source, "uy");
    sticky.lastIndex = at;
    const found = sticky.exec(text);
    if (found !== null) at = sticky.lastIndex;
    return found;
  };
  const element = (): Element => {
    const [, name = ""] = take(/<([a-z][a-z-]*)/) ?? [];
    if (name === "") throw new Error(`no element at ${at}: ${text.slice(at, at + 40)}`);
    const attributes: Record<string, string> = {};
    for (
      let found = take(/ ([a-zA-Z]+)="([^"\t\n\r]*)"/);
      found !== null;
      found = take(/ ([a-zA-Z]+)="([^"\t\n\r]*)"/)
    ) {
      const [, key = "", value = ""] = found;
      if (key in attributes) throw new Error(`${key} twice`);
      attributes[key] = plain(value);
    }
    if (take(/\/>/)) return { name, attributes, children: [], text: "" };
    if (!take(/>/)) throw new Error(`${name} is not closed at ${at}`);
    const children: Element[] = [];
    let content = "";
    for (;;) {
      content += plain(take(/[^<]*/)?.[0] ?? "");
      if (take(new RegExp(`</${name}>`))) return { name, attributes, children, text: content };
      children.push(element());
    }
  };
  const root = element();
  take(/\s*/);
  if (at !== text.length) throw new Error(`more behind the end: ${text.slice(at)}`);
  return root;
}

interface Allowed {
  readonly required: readonly string[];
  readonly optional: readonly string[];
  readonly children: readonly string[];
}

const SCHEMA: Readonly<Record<string, Allowed>> = {
  testsuites: { required: [], optional: ["name", "time", "tests", "failures", "errors"], children: ["testsuite"] },
  testsuite: {
    required: ["name", "tests", "failures", "errors"],
    optional: ["group", "time", "skipped", "timestamp", "hostname", "id", "package", "file", "log", "url"],
    children: ["testsuite", "properties", "testcase", "system-out", "system-err"],
  },
  properties: { required: [], optional: [], children: ["property"] },
  property: { required: ["name", "value"], optional: [], children: [] },
  testcase: {
    required: ["name"],
    optional: ["time", "classname", "group"],
    children: ["skipped", "error", "failure", "system-out", "system-err"],
  },
  failure: { required: [], optional: ["type", "message"], children: [] },
};

function against(element: Element): void {
  const allowed = SCHEMA[element.name];
  if (allowed === undefined) throw new Error(`no element of the schema: ${element.name}`);
  const names = Object.keys(element.attributes);
  for (const name of allowed.required) if (!names.includes(name)) throw new Error(`${element.name} has no ${name}`);
  for (const name of names)
    if (![...allowed.required, ...allowed.optional].includes(name)) throw new Error(`${element.name} has ${name}`);
  for (const child of element.children) {
    if (!allowed.children.includes(child.name)) throw new Error(`${child.name} in ${element.name}`);
    against(child);
  }
  // Only `failure` is mixed.
  if (element.name !== "failure" && element.text.trim() !== "") throw new Error(`text in ${element.name}`);
}

function reportOf(summary: Summary): Element {
  const report = readXml(junitText({ summary }, "1.2.3"));
  against(report);
  return report;
}

describe("expectations as test cases", () => {
  test.each(shippedRuns())("%s: one for each expectation, in order, counted", (_, { summary }) => {
    const report = reportOf(summary);
    const [suite] = report.children;
    const counts = { tests: String(summary.expect.length), failures: "0", errors: "0" };
    expect(report.attributes).toEqual({ name: "Pulltest", ...counts });
    expect(suite?.attributes).toMatchObject({ name: summary.scenario.title, ...counts });
    const cases = suite?.children.filter(({ name }) => name === "testcase") ?? [];
    expect(cases.map(({ attributes }) => attributes.name)).toEqual(summary.expect.map(({ expected }) => expected));
    expect(cases.flatMap(({ children }) => children)).toEqual([]);
    const properties = suite?.children[0]?.children.map(({ attributes: { name, value } }) => [name, value]);
    expect(properties).toEqual([
      ["version", "1.2.3"],
      ["seed", summary.seed],
      ["scenarioSha256", summary.scenario.sha256],
      ["assumedNumbers", String(summary.assumed.length)],
    ]);
  });

  test("shipped scenarios expect something", () => {
    expect(shippedRuns().filter(([, { summary }]) => summary.expect.length > 0).length).toBeGreaterThan(25);
  });

  test("one that is missed is a failure that says what was found, whatever is in it", () => {
    const [, { summary }] = shippedRuns()[0]!;
    const found = 'a < b & "c"\n]]>\u0000\u001b[2J\ud800 語';
    const expected = "pa-mix: slips at most 0 <&>\t";
    const report = reportOf({
      ...summary,
      expect: [
        { expected, met: false, found },
        { expected: "second", met: true, found: "0" },
      ],
    });
    expect(report.attributes).toMatchObject({ tests: "2", failures: "1" });
    const cases = report.children[0]!.children.filter(({ name }) => name === "testcase");
    expect(cases.map(({ attributes }) => attributes.name)).toEqual([expected, "second"]);
    const [failure, ...others] = cases.flatMap(({ children }) => children);
    expect(others).toEqual([]);
    const shown = 'a < b & "c"\n]]>\ufffd\ufffd[2J\ufffd 語';
    expect(failure?.attributes).toEqual({ type: "expectation", message: shown });
    expect(failure?.text).toBe(`Expected: ${expected}\nFound: ${shown}`);
  });

  test("neither the reader nor the schema takes anything", () => {
    const [, { summary }] = shippedRuns()[0]!;
    const text = junitText({ summary }, "1.2.3");
    for (const broken of [
      text.replace("</testsuites>", ""),
      text.replace('name="', "name='"),
      text.replace("<testcase", "<&"),
    ])
      expect(() => readXml(broken)).toThrow();
    expect(() => against(readXml(text.replace(' errors="0" skipped', " skipped")))).toThrow("testsuite has no errors");
    expect(() => against(readXml(text.replaceAll("properties>", "props>")))).toThrow("props");
  });
});
