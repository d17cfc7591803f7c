/** Tables through the real command: out, in, never over what is there. */
import { spawnSync } from "node:child_process";
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { describe, expect, test } from "vitest";
import { QUAY } from "../tables/sheets.ts";
import { pulltest, scratchFolder, smallRig } from "./command.ts";

const folder = scratchFolder();
const inFolder = (...args: string[]) => pulltest(args, { cwd: folder });
const text = (name: string) => readFileSync(join(folder, name), "utf8");
const quay = QUAY.map((name) => resolve("tests/tables/lantern-quay", name));

const scenario = smallRig();
scenario.events.push({ at: "00:02:00", do: "reboot", device: "foh" });
writeFileSync(join(folder, "small.json"), JSON.stringify(scenario));
writeFileSync(join(folder, "devices.csv"), "Device,Listens to\nFOH,own clock\nStage,Organ\n");

describe("csv", () => {
  test("writes tables that new --from-csv makes the same rehearsal of", () => {
    const out = inFolder("csv", "small.json", "--out", "tables");
    expect(out).toEqual({
      ...{ status: 0, out: "" },
      err: "Wrote five tables to tables: show.csv, devices.csv, cables.csv, feeds.csv, events.csv.\n",
    });
    const bytes = text("tables/devices.csv");
    expect(bytes.startsWith("\ufeffid,name,leads,kind,")).toBe(true);
    expect(bytes.match(/(?<!\r)\n/g)).toBeNull();
    const files = readdirSync(join(folder, "tables")).map((name) => `tables/${name}`);
    const made = inFolder("new", "--from-csv", ...files, "--out", "again.json");
    expect(made).toEqual({ status: 0, out: "", err: "Wrote again.json. Play it: pulltest rehearse again.json\n" });
    const [before, after] = ["small.json", "again.json"].map((file) => {
      const { sha256, ...rest } = JSON.parse(inFolder("rehearse", file, "--json").out).scenario;
      expect(sha256).toMatch(/^[0-9a-f]{64}$/);
      return { ...JSON.parse(inFolder("rehearse", file, "--json").out), scenario: rest };
    });
    expect(after).toEqual(before);
  });

  test("overwrites nothing unless told to, and then all of them", () => {
    mkdirSync(join(folder, "taken"));
    writeFileSync(join(folder, "taken", "events.csv"), "mine");
    const refused = inFolder("csv", "small.json", "--out", "taken");
    expect(refused).toMatchObject({ status: 2, out: "" });
    expect(refused.err).toContain("events.csv is there already; --force overwrites it");
    expect(readdirSync(join(folder, "taken"))).toEqual(["events.csv"]);
    expect(text("taken/events.csv")).toBe("mine");
    expect(inFolder("csv", "small.json", "--out", "taken", "--force").status).toBe(0);
    expect(text("taken/events.csv")).toContain("reboot");
  });

  test("says what stands in no table", () => {
    writeFileSync(join(folder, "told.json"), `// why\n${JSON.stringify(scenario)}`);
    expect(inFolder("csv", "told.json", "--out", "told").err).toContain("Comments of the file stand in no table.");
  });
});

describe("new --from-csv", () => {
  test("tables typed by hand, checked and rehearsed", () => {
    const made = inFolder("new", "--from-csv", ...quay, "--out", "quay.json");
    expect(made.status).toBe(0);
    expect(made.err).toContain("Of one device no table says enough: recorder. Does it lead? What does it listen to?");
    expect(made.err).toContain("Kept as comments, since no field is called so: Owner (");
    expect(inFolder("check", "quay.json").status).toBe(0);
    expect(inFolder("rehearse", "quay.json").out).toContain("00:20:00  FOH desk reboots");
  });

  test("bad tables: everything at once, nothing written, what is there stays", () => {
    const { status, out, err } = inFolder("new", "--from-csv", "devices.csv", "gone.csv", "--out", "none.json");
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toMatch(/^pulltest: two problems in the input; nothing was written\.\n/);
    expect(err).toContain('devices.csv:3:7 › "Listens to": expected a port that a cable arrives at');
    expect(err).toContain("gone.csv: expected a CSV file that can be read, received a name that nothing has");
    expect(existsSync(join(folder, "none.json"))).toBe(false);
    const kept = inFolder("new", "--from-csv", ...quay, "--out", "small.json");
    expect(kept).toMatchObject({
      status: 2,
      err: "pulltest new: small.json is there already; --force overwrites it\n",
    });
    expect(JSON.parse(text("small.json"))).toEqual(scenario);
    const table = text("devices.csv");
    writeFileSync(join(folder, "alone.csv"), "Device,Listens to\nFOH,own clock\n");
    expect(inFolder("new", "--from-csv", "alone.csv", "--out", "alone.csv", "--force").err).toContain("would be lost");
    expect(text("devices.csv")).toBe(table);
  });

  test("a table from standard input, the file to standard output", () => {
    const { status, out } = pulltest(["new", "--from-csv", "-"], { input: "Device,Listens to\nFOH,own clock\n" });
    expect(status).toBe(0);
    expect(out).toContain('"id": "foh", "name": "FOH"');
  });
});

const office = ["soffice", "libreoffice"].find((name) => spawnSync(name, ["--version"]).status === 0);

test("a spreadsheet program opens the tables and saves them, and they are still read", ({ skip }) => {
  if (office === undefined) return skip("no spreadsheet program here: neither soffice nor libreoffice is on the path");
  inFolder("csv", "small.json", "--out", "office");
  const files = readdirSync(join(folder, "office")).map((name) => join(folder, "office", name));
  const profile = `-env:UserInstallation=file://${join(folder, "profile")}`;
  const saved = spawnSync(office, [
    profile,
    "--headless",
    "--convert-to",
    "csv",
    "--outdir",
    join(folder, "saved"),
    ...files,
  ]);
  expect(saved.status).toBe(0);
  const again = readdirSync(join(folder, "saved")).map((name) => `saved/${name}`);
  expect(inFolder("new", "--from-csv", ...again)).toMatchObject({ status: 0 });
});
