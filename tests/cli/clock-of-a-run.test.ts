/** The stability of a rehearsed clock, straight from the scenario and by way of a table of phase. */
import { existsSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import type { StabilityReport } from "../../cli/verbs/stability.ts";
import { pulltest, scratchFolder, smallRig } from "./command.ts";

const folder = scratchFolder();
const inFolder = (...args: string[]) => pulltest(args, { cwd: folder });
const text = (name: string) => readFileSync(join(folder, name), "utf8");
const write = (name: string, value: object) => writeFileSync(join(folder, name), JSON.stringify(value, null, 2));

const wandering = { ...smallRig(), run: { length: "00:10:00", seed: "quay-1", wander: true } };
const eventful = {
  ...wandering,
  events: [{ at: "00:06:00", do: "power-cut", device: "mon", forSeconds: 30 }],
};
write("small.json", smallRig());
write("wander.json", wandering);
write("cut.json", eventful);

const report = (...args: string[]) => {
  const { status, out, err } = inFolder("stability", ...args, "--json");
  expect({ status, err }).toEqual({ status: 0, err: "" });
  return JSON.parse(out) as StabilityReport;
};

describe("stability --device", () => {
  test("plays the scenario and says whose clock, which stretch, how far off, and every statistic", () => {
    const { status, out, err } = inFolder("stability", "wander.json", "--device", "mon");
    expect({ status, err }).toEqual({ status: 0, err: "" });
    expect(out).toContain(
      "wander.json, mon (Monitor desk) against true time, rehearsed with seed quay-1: 601 points of phase, 1 s apart, 600 s long, no gaps.",
    );
    expect(out).toContain("From 00:00:00 to 00:10:00: the longest unbroken stretch in which it was locked or leading");
    expect(out).toMatch(/On average 4\.\d+ ppm fast\./);
    for (const head of ["(ADEV)", "(OADEV)", "(MDEV)", "(TDEV)", "(TOTDEV)", "(MTIE)", "Masks"])
      expect(out).toContain(head);
    expect(out).not.toContain("wander is off");
  });

  test("against another clock: the cable is in the phase, and AES11's limits are compared at the rig's rate", () => {
    const found = report("wander.json", "--device", "mon", "--against", "foh");
    expect(found.run).toMatchObject({ device: "mon", against: "foh", stretch: "in-lock", jumps: 0 });
    expect(found.run!.oscillatorsWander).toBe(true);
    const aes11 = found.masks.filter(({ id }) => id.startsWith("aes11"));
    expect(aes11.map(({ outcome }) => outcome)).toEqual(["below", "below"]);
    // 50 m of coax at 5.05 ns/m, and the wander that the loop lets through on top.
    expect(aes11[0]!.nearest!.valueSeconds * 1e9).toBeGreaterThan(252.5);
    expect(aes11[0]!.nearest!.valueSeconds * 1e9).toBeLessThan(260);
    expect(aes11[0]!.nearest!.limitSeconds).toBeCloseTo(0.05 / 48_000, 15);
  });

  test("against true time AES11 has nothing to be compared with, and a mask that is asked for all the same ends with 1", () => {
    const { status, out } = inFolder("stability", "wander.json", "--device", "mon", "--mask", "aes11-output-phase");
    expect(status).toBe(1);
    expect(out).toMatch(/not judged {2}Output within 5 %.*name one with --against/);
    const against = ["--against", "foh", "--mask", "aes11-output-phase"];
    expect(inFolder("stability", "wander.json", "--device", "mon", ...against).status).toBe(0);
  });

  test("steady oscillators are said to be so, with what turns wander on", () => {
    const { status, out } = inFolder("stability", "small.json", "--device", "foh", "--statistics", "oadev,mtie");
    expect(status).toBe(0);
    expect(out).toContain("steady: wander is off");
    expect(out).toContain('"run": { "wander": true }');
    expect(out).toContain("straight line within the rounding");
    const found = report("small.json", "--device", "foh");
    expect(found.run).toMatchObject({ oscillatorsWander: false, isStraight: true });
    expect(found.run!.meanFrequency).toBeCloseTo(4.2e-6, 12);
    for (const { cells } of found.rows)
      if ("value" in cells.oadev) expect(cells.oadev.value).toBeLessThan(10 * found.run!.roundingSeconds);
  });

  test("the default stretch leaves out what came before the device was back; --from and --to take it in, gap and all", () => {
    const found = report("cut.json", "--device", "mon");
    expect(found.run).toMatchObject({ fromSeconds: 0, toSeconds: 359, stretch: "in-lock" });
    expect(found.missing).toBe(0);
    const asked = report("cut.json", "--device", "mon", "--from", "00:05:00", "--to", "00:10:00");
    expect(asked.run).toMatchObject({ fromSeconds: 300, toSeconds: 600, stretch: "asked" });
    // Off for 30 s, and 60 s to start.
    expect(asked.missing).toBe(90);
    const { out } = inFolder("stability", "cut.json", "--device", "mon", "--from", "00:05:00");
    expect(out).toContain("90 values missing");
    expect(out).toContain("a device puts out no clock");
  });

  test("a step, a seed, and standard input", () => {
    const found = report("wander.json", "--device", "foh", "--step", "5");
    expect(found).toMatchObject({ tau0Seconds: 5, points: 121 });
    const again = report("wander.json", "--device", "foh", "--step", "5", "--seed", "quay-1");
    expect(again.rows).toEqual(found.rows);
    const other = report("wander.json", "--device", "foh", "--step", "5", "--seed", "quay-2");
    expect(other.rows).not.toEqual(found.rows);
    const piped = pulltest(["stability", "-", "--device", "foh", "--step", "5", "--json"], {
      input: JSON.stringify(wandering),
    });
    expect((JSON.parse(piped.out) as StabilityReport).rows).toEqual(found.rows);
    const fine = inFolder("stability", "wander.json", "--device", "foh", "--step", "0.5", "--statistics", "oadev");
    expect(fine.out).toContain("Wander is known every 1 s");
  });

  test.each([
    ["an id that is near", ["--device", "mno"], ["--device: expected the id of a device", "did you mean mon"]],
    ["an id that is not", ["--device", "truck"], ["choose one of foh, mon"]],
    ["two that are not", ["--device", "mno", "--against", "fho"], ["two problems", "did you mean foh"]],
    ["itself", ["--device", "mon", "--against", "mon"], ["--against: expected another device"]],
    [
      "an end before the beginning",
      ["--device", "mon", "--from", "00:05:00", "--to", "00:02:00"],
      ["a time after --from"],
    ],
    ["a time beyond the run", ["--device", "mon", "--from", "01:00:00"], ["which ends at 00:10:00"]],
    ["no time", ["--device", "mon", "--from", "noon"], ["an instant of the show", "00:20:00"]],
    ["a step too fine", ["--device", "mon", "--step", "1e-7"], ["--step: expected at most 10000000 samples"]],
    ["a step too long", ["--device", "mon", "--from", "00:00:01", "--step", "3600"], ["give a shorter step"]],
    ["no step", ["--device", "mon", "--step", "0"], ["--step: expected a number above 0"]],
    [
      "options of a record",
      ["--device", "mon", "--tau0", "1", "--column", "x"],
      ["two problems", "the scenario says it"],
    ],
    ["no device", [], ["what looks like a scenario", "name one of its devices with --device"]],
    ["options of a run alone", ["--against", "foh", "--step", "1"], ["expected --device beside --against"]],
    ["no seed", ["--device", "mon", "--seed", ""], ["--seed: expected a text"]],
    [
      "an unknown statistic as well",
      ["--device", "mno", "--statistics", "oadv"],
      ["two problems", "did you mean oadev"],
    ],
  ])("%s is answered with what to do, and nothing is computed", (_, args, words) => {
    const { status, out, err } = inFolder("stability", "wander.json", ...args);
    expect({ status, out }).toEqual({ status: 2, out: "" });
    for (const word of words) expect(err).toContain(word);
    expect(err).not.toMatch(/\n\s+at /);
  });

  test("a stretch without a clock, a device that never has one, and a file that is no scenario", () => {
    const off = inFolder("stability", "cut.json", "--device", "mon", "--from", "00:06:05", "--to", "00:06:20");
    expect(off.status).toBe(2);
    expect(off.err).toContain("--from: expected a stretch with a clock to sample, received 00:06:05 to 00:06:20");
    const rig = smallRig();
    (rig.rig.devices[1] as unknown as { atStart: string }).atStart = "off";
    write("off.json", rig);
    const never = inFolder("stability", "off.json", "--device", "mon");
    expect(never.status).toBe(2);
    expect(never.err).toContain("--device: expected a device that puts out a clock, received mon");
    writeFileSync(join(folder, "clock.csv"), "phase_s\n1\n2\n");
    const csv = inFolder("stability", "clock.csv", "--device", "mon");
    expect(csv.status).toBe(2);
    expect(csv.err).toContain("clock.csv: expected a scenario, received a table");
    expect(inFolder("stability", "nowhere.json", "--device", "mon").err).toContain("received a name that nothing has");
  });
});

describe("rehearse --phase-csv", () => {
  test("has seconds first, one column per device, every digit, and empty cells where there is no clock", () => {
    const { status, err } = inFolder("rehearse", "cut.json", "--json", "--phase-csv", "phase.csv");
    expect({ status, err }).toEqual({
      ...{ status: 0, err: "Wrote phase.csv: phase against true time, two devices, 601 rows, 1 s apart.\n" },
    });
    const lines = text("phase.csv").split("\r\n");
    expect(lines[0]).toBe("seconds,foh_phase_s,mon_phase_s");
    expect(lines).toHaveLength(603);
    expect(lines.at(-1)).toBe("");
    expect(lines[361]).toMatch(/^360,[-\d.e]+,$/);
    expect(lines.filter((line) => line.endsWith(","))).toHaveLength(90);
    expect(readdirSync(folder).filter((name) => name.endsWith(".part"))).toEqual([]);
  });

  test.each([
    ["foh", "wander.json", []],
    ["mon", "wander.json", []],
    ["mon", "cut.json", ["--from", "00:00:00"]],
    ["mon", "wander.json", ["--step", "2.5"]],
  ])("read again by stability it is %s of %s to the last digit", (id, file, args) => {
    const step = args[0] === "--step" ? ["--phase-step", args[1]!] : [];
    expect(inFolder("rehearse", file, "--json", "--phase-csv", "again.csv", "--force", ...step).status).toBe(0);
    const table = (out: string) => out.slice(out.indexOf("Allan deviation"), out.indexOf("Masks"));
    const direct = inFolder("stability", file, "--device", id, ...args);
    const read = inFolder("stability", "again.csv", "--column", id);
    expect({ direct: direct.status, read: read.status }).toEqual({ direct: 0, read: 0 });
    expect(table(direct.out).split("\n").length).toBeGreaterThan(80);
    expect(table(read.out)).toBe(table(direct.out));
  });

  test("a column that is not there is answered with one that is", () => {
    inFolder("rehearse", "wander.json", "--json", "--phase-csv", "columns.csv");
    expect(inFolder("stability", "columns.csv").err).toContain("choose one with --column foh_phase_s");
    const near = inFolder("stability", "columns.csv", "--column", "mno");
    expect(near.status).toBe(2);
    expect(near.err).toContain('did you mean "mon"');
  });

  test("no file is lost: what is there, what is read, a folder, and the page of the same run", () => {
    writeFileSync(join(folder, "measured.csv"), "time_s,phase_s\n0,1\n");
    const refused = inFolder("rehearse", "small.json", "--phase-csv", "measured.csv");
    expect(refused).toMatchObject({ status: 2, out: "" });
    expect(refused.err).toContain("measured.csv is there already; --force overwrites it");
    expect(text("measured.csv")).toBe("time_s,phase_s\n0,1\n");
    expect(inFolder("rehearse", "small.json", "--phase-csv", "measured.csv", "--force").status).toBe(0);
    expect(text("measured.csv")).toMatch(/^seconds,/);

    symlinkSync("small.json", join(folder, "link.csv"));
    for (const name of ["small.json", "link.csv", `../${folder.split("/").at(-1)}/small.json`]) {
      const { status, err } = inFolder("rehearse", "small.json", "--phase-csv", name, "--force");
      expect(status).toBe(2);
      expect(err).toContain("is what is being read, and would be lost");
    }
    expect(JSON.parse(text("small.json"))).toEqual(smallRig());
    expect(inFolder("rehearse", "small.json", "--phase-csv", ".", "--force").err).toContain("it is a folder");
    const both = inFolder("rehearse", "small.json", "--phase-csv", "x.html", "--html", "./x.html");
    expect(both).toMatchObject({ status: 2, out: "" });
    expect(both.err).toContain("cannot be both the page and the phases");
    expect(existsSync(join(folder, "x.html"))).toBe(false);
    const nowhere = inFolder("rehearse", "small.json", "--phase-csv", "no/such/folder.csv");
    expect(nowhere).toMatchObject({ status: 2, out: "" });
    expect(nowhere.err).toContain("there is no such file or folder");
  });

  test.each([
    ["a step and no file", ["--phase-step", "1"], "expected --phase-csv beside it"],
    ["no step", ["--phase-csv", "y.csv", "--phase-step", "0"], "a number of seconds, at least 1e-9"],
    ["too many rows", ["--phase-csv", "y.csv", "--phase-step", "1e-5"], "give a step of 0.00012 s or more"],
  ])("%s is answered before anything is played", (_, args, words) => {
    const { status, out, err } = inFolder("rehearse", "small.json", ...args);
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toContain(words);
    expect(err).toContain("nothing was played");
    expect(existsSync(join(folder, "y.csv"))).toBe(false);
  });
});
