/** What must never be, wherever it is: the house has a test of its own. */
import { existsSync, readdirSync, readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { folderOf, folders, importsOf, problemsIn, unreached } from "./house-rules.ts";

/** What a clone would hold. Without asking git, which a machine need not have: our ignore file has names and endings. */
const ignored = readFileSync(".gitignore", "utf8").trim().split("\n");
const isIgnored = (name: string) =>
  name === ".git" ||
  ignored.some((line) => (line.startsWith("*") ? name.endsWith(line.slice(1)) : line === `${name}/`));
const filesIn = (folder: string): string[] =>
  readdirSync(folder, { withFileTypes: true })
    .filter((entry) => !isIgnored(entry.name))
    .flatMap((entry) => {
      const path = folder === "." ? entry.name : `${folder}/${entry.name}`;
      return entry.isDirectory() ? filesIn(path) : path;
    });
const files = filesIn(".");
const sources = new Map(
  files
    .filter((path) => folders.includes(folderOf(path)) && /\.(ts|mjs)$/.test(path))
    .map((path) => [path, readFileSync(path, "utf8")]),
);
const isPure = (path: string) => folderOf(path) === "shared" || folderOf(path) === "sim";

describe("the checks look at something", () => {
  test("every folder has sources, and no fewer than the house is known to have", () => {
    for (const folder of folders) expect([...sources.keys()].map(folderOf)).toContain(folder);
    expect([...sources.keys()].filter(isPure).length).toBeGreaterThanOrEqual(20);
    expect(sources.size).toBeGreaterThanOrEqual(50);
  });
});

describe("arrows and purity", () => {
  test("imports follow the arrows; shared and sim know no host, no clock, no chance, and only exact arithmetic", () => {
    expect([...sources].flatMap(([path, text]) => problemsIn(path, text))).toEqual([]);
  });

  test("an import names a file that is there", () => {
    const missing = [...sources].flatMap(([path, text]) =>
      importsOf(path, text)
        .files.filter((file) => !existsSync(file))
        .map((file) => `${path}: imports ${file}`),
    );
    expect(missing).toEqual([]);
  });

  test("seedrandom has one door, jsonc-parser one to read and one to edit", () => {
    for (const [name, most] of [
      ["jsonc-parser", 2],
      ["seedrandom", 1],
    ] as const) {
      const doors = [...sources].filter(
        ([path, text]) => isPure(path) && importsOf(path, text).packages.includes(name),
      );
      expect(doors.map(([path]) => path).length, name).toBeLessThanOrEqual(most);
    }
  });

  // A checker that finds nothing may be one that looks at nothing.
  test.each([
    ["sim/bad.ts", 'import { print } from "../cli/print.ts";', "imports cli/print.ts"],
    ["sim/bad.ts", 'import type { View } from "../viewer/view.ts";', "imports viewer/view.ts"],
    ["sim/bad.ts", 'export const later = () => import("../cli/print.ts");', "imports cli/print.ts"],
    ["shared/bad.ts", 'export { play } from "../sim/engine.ts";', "imports sim/engine.ts"],
    ["viewer/bad.ts", 'import { print } from "../cli/print.ts";', "imports cli/print.ts"],
    ["cli/bad.ts", 'import { draw } from "../viewer/draw.ts";', "imports viewer/draw.ts"],
    ["cli/bad.ts", 'import { helper } from "../tests/helper.ts";', "imports tests/helper.ts"],
    ["sim/bad.ts", 'import { readFileSync } from "node:fs";', "imports node:fs"],
    ["sim/bad.ts", 'import { z } from "zod";', "imports zod"],
    ["shared/bad.ts", 'import { z } from "zod";', "imports zod"],
    ["shared/bad.ts", 'import { z } from "zod/mini";', "imports zod"],
    ["shared/bad.ts", 'import seedrandom from "seedrandom";', "imports seedrandom"],
    ["sim/bad.ts", 'import { parse } from "jsonc-parser";', "imports jsonc-parser"],
    ["shared/bad.ts", 'import { max } from "d3";', "imports d3"],
    ["sim/bad.ts", "const now = Date.now();", "1:13: Date"],
    ["sim/bad.ts", "const now = new Date();", "1:17: Date"],
    ["sim/bad.ts", "const now = performance.now();", "1:13: performance"],
    ["sim/bad.ts", "declare const process: unknown;", "1:15: process"],
    ["sim/bad.ts", "const wide = window.innerWidth;", "1:14: window"],
    ["sim/bad.ts", 'document.title = "";', "1:1: document"],
    ["sim/bad.ts", "console.log(1);", "1:1: console"],
    ["sim/bad.ts", "const all = { console };", "1:15: console"],
    ["sim/bad.ts", "globalThis.Math.random();", "1:1: globalThis"],
    ["sim/bad.ts", "const chance = Math.random();", "1:16: Math.random"],
    ["shared/maths.ts", "const e = Math.exp(1);", "1:11: Math.exp"],
    ["shared/maths.ts", "const { exp } = Math;", "1:17: { exp } = Math"],
    ["shared/maths.ts", 'const e = Math["exp"](1);', '1:11: Math["exp"]'],
    ["shared/maths.ts", "const alias = Math;", "1:15: alias = Math"],
    ["sim/bad.ts", "const square = (x: number) => x ** 2;", "1:33: **"],
    ["sim/bad.ts", "let x = 2; x **= 2;", "1:14: **"],
    ["sim/bad.ts", "const order = (a: string, b: string) => a.localeCompare(b);", "1:43: localeCompare"],
    ["sim/bad.ts", "const here = import.meta.url;", "1:14: import.meta"],
  ])("the checker complains: %s with %s", (path, text, complaint) => {
    const problems = problemsIn(path, text);
    expect(problems).toHaveLength(1);
    expect(problems[0]).toContain(complaint);
  });

  test.each([
    ["sim/fine.ts", 'import { toSeconds } from "../shared/time.ts";\nimport { play } from "./engine.ts";'],
    ["cli/fine.ts", 'import { play } from "../sim/engine.ts";\nimport { readFileSync } from "node:fs";\nDate.now();'],
    ["shared/scenario.ts", 'import { z } from "zod/mini";'],
    ["shared/random.ts", 'import alea from "seedrandom/lib/alea.js";'],
    [
      "shared/fine.ts",
      "// Math.exp(1), Date.now() and x ** 2 differ from engine to engine\nexport const x = Math.sqrt(2);",
    ],
    ["sim/fine.ts", 'export const say = "Date.now() and **";'],
    ["sim/fine.ts", "export const lock = { window: 0.05 }; export const half = lock.window / 2;"],
    ["sim/fine.ts", "export function inside(x: number, window: number) { return Math.abs(x) < window; }"],
  ])("the checker does not complain: %s with %s", (path, text) => {
    expect(problemsIn(path, text)).toEqual([]);
  });
});

describe("nothing lies about", () => {
  const page = readFileSync("viewer/index.html", "utf8");
  const { scripts } = JSON.parse(readFileSync("package.json", "utf8")) as { scripts: Record<string, string> };
  const named = Object.values(scripts).flatMap(
    (script) => script.match(/\b(cli|tests|viewer)\/[\w/.-]+\.(ts|mjs)/g) ?? [],
  );
  const productEntries = [
    "cli/main.ts",
    // A thread of its own, by its built file.
    "cli/trials/worker.ts",
    ...[...page.matchAll(/src="\.\/([^"]+\.ts)"/g)].map(([, name]) => `viewer/${name}`),
  ];

  test("package.json and the page name files that are there", () => {
    expect(named.length).toBeGreaterThan(4);
    expect(productEntries.length).toBeGreaterThan(1);
    for (const path of [...named, ...productEntries]) expect(sources.has(path), path).toBe(true);
  });

  test("the command, the page or a script reaches every file of theirs; a test reaches every file of the tests", () => {
    const isProduct = (path: string) => folderOf(path) !== "tests";
    const product = new Map([...sources].filter(([path]) => isProduct(path)));
    expect(unreached(product, [...productEntries, ...named])).toEqual([]);
    const tests = [...sources.keys()].filter((path) => path.endsWith(".test.ts"));
    expect(unreached(sources, [...tests, ...named, ...productEntries]).filter((path) => !isProduct(path))).toEqual([]);
  });

  test("a file that nothing imports is found, also when only another such file imports it", () => {
    const lonely = new Map([
      ["sim/a.ts", 'import "./b.ts";'],
      ["sim/b.ts", ""],
      ["sim/c.ts", 'import "./d.ts";'],
      ["sim/d.ts", 'import "./c.ts";'],
    ]);
    expect(unreached(lonely, ["sim/a.ts"])).toEqual(["sim/c.ts", "sim/d.ts"]);
  });

  test("the top level holds what it should and no more", () => {
    const allowed = new Set([
      ...["README.md", "DEVELOPERS.md", "LICENSE", "package.json", "package-lock.json", "tsconfig.json", "biome.json"],
      ...[".ci", ".gitignore", ".gitattributes", ".editorconfig", ".npmrc", "scenarios", ...folders],
    ]);
    const top = new Set(files.map((path) => path.split("/")[0] as string));
    expect([...top].filter((name) => !allowed.has(name))).toEqual([]);
    for (const name of ["LICENSE", "package-lock.json", ".ci", "scenarios"]) expect(top).toContain(name);
  });

  test("the lock file names no registry", () => {
    const lock = JSON.parse(readFileSync("package-lock.json", "utf8")) as {
      packages: Record<string, { resolved?: string }>;
    };
    expect(Object.keys(lock.packages).length).toBeGreaterThan(50);
    expect(Object.entries(lock.packages).filter(([, entry]) => entry.resolved)).toEqual([]);
  });
});

describe("the project speaks of itself alone", () => {
  // Put together here, so that this file does not hold what it looks for.
  const machinePaths = ["work", "tmp", "root", "home", "Users"].map((folder) => `/${folder}/`);
  const elsewhere = [
    "design",
    "model",
    "craft",
    "screens",
    "practice",
    "performance",
    "published-checks",
    "tone",
    "contract",
  ];
  const foreign = [
    new RegExp(String.raw`(^|[^\w.}/:-])(${machinePaths.join("|")})`),
    new RegExp(String.raw`\b(${elsewhere.join("|")})\.${"md"}\b`),
    new RegExp(String.raw`\bthe ${"brief"}\b`, "i"),
  ];
  const foreignLines = (path: string, text: string) =>
    text
      .split("\n")
      .map((line, index) => ({ line, place: `${path}:${index + 1}` }))
      .filter(({ line }) => foreign.some((pattern) => pattern.test(line)))
      .map(({ line, place }) => `${place}: ${line.trim()}`);

  test("no text names a machine's folders or a document that is not here", () => {
    const texts = files.filter((path) => !/\.(png|jpg|webp|woff2)$/.test(path) && path !== "package-lock.json");
    expect(texts.length).toBeGreaterThanOrEqual(sources.size);
    expect(texts.flatMap((path) => foreignLines(path, readFileSync(path, "utf8")))).toEqual([]);
  });

  test("such a line is found", () => {
    const lines = machinePaths.map((path) => `const place = "${path}x";`);
    lines.push(`see craft.${"md"}`, `as the ${"brief"} says`);
    expect(foreignLines("x", lines.join("\n"))).toHaveLength(lines.length);
    expect(foreignLines("x", 'import "../shared/time.ts"; // https://example.invalid/work/1')).toEqual([]);
  });
});
