/** `pulltest paperwork` as a shell sees it. To accept what is written now: npm run golden. */
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { describe, expect, test } from "vitest";
import { sheetFromCsv } from "../../cli/tables-csv.ts";
import { pulltest, scratchFolder, smallRig } from "./command.ts";

const cwd = scratchFolder();
const RIG = resolve("scenarios/main-out-good-spare.json");
const ask = (...args: string[]) => pulltest(["paperwork", ...args], { cwd });
const text = (name: string) => readFileSync(join(cwd, name), "utf8");

describe("a shipped scenario", () => {
  const { status, out, err } = ask(RIG, "--out", "quay/paper");

  test("is written into a folder that was not there, and standard output stays empty", () => {
    expect({ status, out }, err).toEqual({ status: 0, out: "" });
    expect(err).toMatch(/^Wrote 17 files into quay\/paper, \w+ cards among them, plan \w\w-\w\w\.\n/);
    const sheets = ["cables", "channels", "clock-plan", "fault-cards", "power-up", "pull-test", "settings", "symptoms"];
    const files = [...sheets.flatMap((name) => [`${name}.csv`, `${name}.html`]), "index.html"];
    expect(readdirSync(join(cwd, "quay/paper")).toSorted()).toEqual(files.toSorted());
  });

  test("says what it said before", async () => {
    const names = ["clock-plan", "settings", "cables", "channels", "power-up", "pull-test", "symptoms", "fault-cards"];
    const tables = names.map((name) => {
      const { sheet } = sheetFromCsv(name, readFileSync(join(cwd, `quay/paper/${name}.csv`)));
      // Stamp and caution stand in every table; they are looked at elsewhere.
      const rows = sheet!.rows.map((cells) => cells.slice(1, -1).map((cell) => cell.text.replaceAll("\n", " / ")));
      return [`== ${name}`, ...rows.map((cells) => cells.join(" | ").trimEnd()), ""].join("\n");
    });
    await expect(tables.join("\n"), "to accept it: npm run golden").toMatchFileSnapshot(
      "../golden/main-out-good-spare.paperwork.txt",
    );
  });

  test("is the same bytes again, whoever plays it", () => {
    expect(ask(RIG, "--out", "again", "--threads", "2").status).toBe(0);
    for (const name of readdirSync(join(cwd, "again")))
      expect(text(`again/${name}`), name).toBe(text(`quay/paper/${name}`));
  });

  test("what is there is not overwritten without being told to, and nothing of it is touched", () => {
    writeFileSync(join(cwd, "again/cables.html"), "mine");
    writeFileSync(join(cwd, "again/settings.html"), '<meta name="generator" content="Pulltest">');
    const refused = ask(RIG, "--out", "again");
    expect(refused).toMatchObject({ status: 2, out: "" });
    expect(refused.err).toContain("--force overwrites it; nothing was written");
    expect(text("again/cables.html")).toBe("mine");
    expect(text("again/settings.html")).not.toContain("Settings");
    expect(ask(RIG, "--out", "again", "--force").status).toBe(0);
    expect(text("again/cables.html")).toContain("Cable schedule");
  });
});

test("only some sheets; no fault is tried where nobody wants cards", () => {
  expect(ask(RIG, "--out", "some", "--only", "pull-test,cables").status).toBe(0);
  expect(readdirSync(join(cwd, "some")).toSorted()).toEqual(
    ["cables.csv", "cables.html", "index.html", "pull-test.csv", "pull-test.html"].toSorted(),
  );
  expect(text("some/index.html")).not.toContain("fault-cards");
});

test("every wrong option at once, with what to write instead; nothing is written", () => {
  const options = ["--paper", "a5", "--cards", "3", "--only", "pul-test", "--draws", "0", "--repair", "cable=long"];
  const { status, err } = ask(RIG, "--out", "none", ...options, "--at", "99:00:00");
  expect(status).toBe(2);
  for (const said of [
    "of a4, letter",
    "of 1, 4",
    "did you mean pull-test",
    "--draws",
    "--repair",
    "--at",
    "nothing was written",
  ])
    expect(err).toContain(said);
  expect(existsSync(join(cwd, "none"))).toBe(false);
});

test("a picture of each card needs a browser, and says so before anything is written", () => {
  const { status, err } = pulltest(["paperwork", RIG, "--out", "pictures", "--png"], {
    cwd,
    env: { PATH: "/nowhere", CHROMIUM_PATH: "" },
  });
  expect(status).toBe(2);
  expect(err).toContain("CHROMIUM_PATH");
  expect(ask(RIG, "--out", "pictures", "--png", "--only", "cables").err).toContain("fault-cards among the sheets");
  expect(existsSync(join(cwd, "pictures"))).toBe(false);
});

test("what stands where the folder should be is told", () => {
  writeFileSync(join(cwd, "file"), "");
  expect(ask(RIG, "--out", "file", "--only", "cables").err).toContain("cannot make the folder file");
  // Where folders are there and none can be made, Node's own way of making one does not end.
  if (existsSync("/proc/self"))
    expect(ask(RIG, "--out", "/proc/nowhere/sheets", "--only", "cables").err).toContain("cannot make the folder");
  mkdirSync(join(cwd, "taken/cables.html"), { recursive: true });
  expect(ask(RIG, "--out", "taken", "--only", "cables", "--force").err).toContain("it is a folder");
});

test("names from a file are only text, in pages and in spreadsheets", () => {
  const rig = smallRig();
  rig.title = '<img src=x onerror="alert(1)">';
  rig.rig.devices[0]!.name = "=HYPERLINK(1)<script>";
  rig.rig.devices[1]!.name = "Pult \u202e links";
  writeFileSync(join(cwd, "odd.json"), JSON.stringify(rig));
  const { status, err } = ask("odd.json", "--out", "odd", "--draws", "1");
  expect(status, err).toBe(0);
  for (const name of readdirSync(join(cwd, "odd"))) {
    const written = text(`odd/${name}`);
    if (name.endsWith(".html")) expect(written, name).not.toMatch(/<img|<script|onerror="/);
    // The byte-order mark at the beginning is ours.
    expect(written.slice(1), name).not.toMatch(/\u202e/);
  }
  const { sheet } = sheetFromCsv("clock-plan.csv", readFileSync(join(cwd, "odd/clock-plan.csv")));
  const cells = sheet!.rows.flat().map((cell) => cell.text);
  expect(cells).toContain("'=HYPERLINK(1)<script>");
  expect(cells.some((cell) => cell.startsWith("="))).toBe(false);
});
