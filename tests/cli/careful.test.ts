/** What a tired user must not lose, and what a full disk may not hide. */
import { execFileSync, spawnSync } from "node:child_process";
import { appendFileSync, existsSync, mkdirSync, readFileSync, symlinkSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { describe, expect, test } from "vitest";
import { pulltest, scratchFolder, smallRig } from "./command.ts";

const folder = scratchFolder();
const inFolder = (...args: string[]) => pulltest(args, { cwd: folder });
const text = (name: string) => readFileSync(join(folder, name), "utf8");

const { rig, ...scenario } = smallRig();
writeFileSync(join(folder, "small.json"), JSON.stringify(smallRig()));
writeFileSync(join(folder, "split.json"), JSON.stringify({ ...scenario, rig: "./rig.json" }));
writeFileSync(join(folder, "rig.json"), JSON.stringify(rig));
writeFileSync(join(folder, "notes.html"), "<p>load-in at nine</p>");

describe("a page is never written over something else", () => {
  test.each([
    ["the scenario itself", "small.json", "small.json"],
    ["the scenario by another way", "small.json", "./deep/../small.json"],
    ["the rig that it names", "split.json", "rig.json"],
    ["a link to the scenario", "small.json", "link.html"],
  ])("%s", (_, file, html) => {
    if (!existsSync(join(folder, "deep"))) mkdirSync(join(folder, "deep"));
    if (!existsSync(join(folder, "link.html"))) symlinkSync("small.json", join(folder, "link.html"));
    const before = text(html);
    const { status, out, err } = inFolder("rehearse", file, "--html", html, "--force");
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toContain("is what is being read, and would be lost");
    expect(text(html)).toBe(before);
  });

  test("a file that is no page of ours stays, unless it is forced; a page of ours is replaced", () => {
    const refused = inFolder("rehearse", "small.json", "--html", "notes.html");
    expect(refused).toMatchObject({ status: 2, out: "" });
    expect(refused.err).toContain("notes.html is there already and is no page of ours; --force overwrites it");
    expect(text("notes.html")).toBe("<p>load-in at nine</p>");
    expect(inFolder("rehearse", "small.json", "--html", "notes.html", "--force").status).toBe(0);
    expect(inFolder("rehearse", "small.json", "--html", "notes.html").status).toBe(0);
  });
});

test("results that cannot be written are told in one line, with status 3", () => {
  if (!existsSync("/dev/full")) return expect(process.platform).not.toBe("linux");
  const command = resolve("cli/dist/pulltest.cjs");
  const shell = spawnSync("sh", ["-c", `"${process.execPath}" "${command}" rehearse small.json > /dev/full`], {
    cwd: folder,
    encoding: "utf8",
  });
  expect(shell.status).toBe(3);
  expect(shell.stderr).toBe("pulltest: the results cannot be written: no space is left on the device\n");
});

describe.skipIf(process.platform === "win32")("what is no ordinary file", () => {
  const shell = (script: string) =>
    spawnSync("sh", ["-c", script], {
      cwd: folder,
      encoding: "utf8",
      timeout: 30_000,
      env: { ...process.env, NODE: process.execPath, COMMAND: resolve("cli/dist/pulltest.cjs") },
    });

  test("a scenario may come through a pipe that has a name", () => {
    const { status, stdout, stderr } = shell('cat small.json | "$NODE" "$COMMAND" check /dev/stdin');
    expect({ status, stderr }).toEqual({ status: 0, stderr: "" });
    expect(stdout).toContain("not tested on site");
  });

  test("a page is not moved onto a pipe, nor is the pipe waited for", () => {
    const { status, stdout, stderr } = shell(
      'mkfifo pipe && "$NODE" "$COMMAND" rehearse small.json --html pipe --force; s=$?; test -p pipe || exit 9; exit $s',
    );
    expect({ status, stdout }).toEqual({ status: 2, stdout: "" });
    expect(stderr).toContain("cannot write pipe: it is no ordinary file");
  });

  test("notes that cannot be written do not get among the results", () => {
    if (!existsSync("/dev/full")) return expect(process.platform).not.toBe("linux");
    const { status, stdout } = shell('"$NODE" "$COMMAND" rehearse small.json --json --html note.html 2> /dev/full');
    expect(status).toBe(0);
    expect(JSON.parse(stdout)).toMatchObject({ verdict: "none" });
  });
});

test("a page larger than any scenario is still known as a page", () => {
  expect(inFolder("rehearse", "small.json", "--html", "long.html").status).toBe(0);
  appendFileSync(join(folder, "long.html"), " ".repeat(5_000_000));
  expect(inFolder("rehearse", "small.json", "--html", "long.html").status).toBe(0);
  expect(text("long.html").length).toBeLessThan(5_000_000);
});

test("--no-color before or after the verb wins over a terminal that takes colour", () => {
  const forced = (...args: string[]) => pulltest(args, { cwd: folder, env: { FORCE_COLOR: "1" } }).out;
  const plain = inFolder("rehearse", "small.json").out;
  expect(forced("rehearse", "small.json")).toContain("\u001b[");
  expect(forced("--no-color", "rehearse", "small.json")).toBe(plain);
  expect(forced("rehearse", "small.json", "--no-color")).toBe(plain);
});

test("assumed numbers are counted, and listed on request with whom they are about", () => {
  const count = /^(\d+) numbers are assumed; --assumed lists them\.$/m.exec(
    inFolder("rehearse", "small.json").out,
  )?.[1];
  const listed = inFolder("rehearse", "small.json", "--assumed").out;
  expect(listed.match(/^- .*: /gm)).toHaveLength(Number(count));
  expect(listed).toContain("- holdoverSeconds 0 s: mon");
});

test("a supply is cut by its name, and whoever hangs on it alone goes off", () => {
  const { status, out } = inFolder("rehearse", "small.json", "--supply-cut", "mon@00:05:00+10s", "--json");
  expect(status).toBe(0);
  const mon = JSON.parse(out).devices.find((each: { id: string }) => each.id === "mon");
  expect(mon.states[1]).toMatchObject({ state: "off", fromSeconds: 300, toSeconds: 310 });
});

test.each([
  ["an empty seed", ["rehearse", "small.json", "--seed", ""], '--seed: expected a text, received ""'],
  [
    "a reboot for a while",
    ["rehearse", "small.json", "--reboot", "foh@00:05:00+90s"],
    "a reboot takes the device's bootSeconds",
  ],
  [
    "a supply where a device is cut",
    ["rehearse", "small.json", "--power-cut", "stage-distro@00:05:00"],
    "a supply is cut with --supply-cut",
  ],
  ["a folder for a record", ["stability", "."], ".: expected a CSV file, received a folder"],
  ["an unknown verb", ["rehears", "small.json"], "pulltest --help lists the verbs"],
  ["no file", ["check"], "pulltest help VERB lists what each takes"],
])("%s is answered with what to do", (_, args, remedy) => {
  const { status, err } = inFolder(...args);
  expect(status).toBe(2);
  expect(err).toContain(remedy);
});

test("the lines of the README that speak of the tour's rig do what it says", () => {
  // What many machines do, each a part, is tried elsewhere.
  const tour = readFileSync("README.md", "utf8").replace(/^## Faults on many machines\n.*?(?=^## )/ms, "");
  const lines = [...tour.matchAll(/^npx pulltest (.*quay\.json.*)$/gm)].map((found) => found[1] as string);
  expect(lines).toHaveLength(5);
  for (const line of lines) {
    const shell = spawnSync("sh", ["-c", `"${process.execPath}" "${resolve("cli/dist/pulltest.cjs")}" ${line}`], {
      cwd: folder,
      encoding: "utf8",
    });
    // With faults that the file did not expect an expectation may be missed; nothing else may go wrong.
    expect([0, 1], `${line}: ${shell.stderr}`).toContain(shell.status);
    expect(shell.stderr).not.toContain("problem");
  }
  execFileSync(process.execPath, [resolve("cli/dist/pulltest.cjs"), "rehearse", "quay.json"], { cwd: folder });
});
