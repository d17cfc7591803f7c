/** `pulltest faults` as a shell sees it: the same bytes whoever plays what, and nothing lost on the way. */
import { spawn, spawnSync } from "node:child_process";
import { appendFileSync, existsSync, readFileSync, truncateSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { describe, expect, test } from "vitest";
import { pulltest, scratchFolder } from "../cli/command.ts";

const cwd = scratchFolder();
const RIG = resolve("scenarios/leader-reboot.json");
const COMMAND = resolve("cli/dist/pulltest.cjs");
const ask = (...args: string[]) => pulltest(["faults", RIG, "--draws", "3", ...args], { cwd });
const whole = ask("--json").out;

describe("who plays what makes no difference", () => {
  test("one thread, two or five", () => {
    for (const threads of ["1", "2", "5"]) expect(ask("--json", "--threads", threads).out).toBe(whole);
    const { missing, trials, faults } = JSON.parse(whole);
    expect({ missing, trials }).toEqual({ missing: 0, trials: 3 * faults.length });
    expect(faults.length).toBeGreaterThan(40);
  });

  test("one machine or three, in whatever order they are put together", () => {
    for (const part of ["1", "2", "3"]) {
      const { status, out, err } = ask("--shard", `${part}/3`, "--keep", `part-${part}`);
      expect({ status, out }).toEqual({ status: 0, out: "" });
      expect(err).toContain(`Part ${part} of 3`);
    }
    expect(ask("--json", "--from", "part-3", "part-1", "part-2").out).toBe(whole);
    // What is missing is played; what is there twice counts once.
    expect(ask("--json", "--from", "part-2", "part-2").out).toBe(whole);
  });

  test.skipIf(spawnSync("parallel", ["--version"]).status !== 0)("by GNU parallel", () => {
    const script = `"${process.execPath}" "${COMMAND}" faults "${RIG}" --draws 3 --shard {}/4 --keep job-{}`;
    const { status, stderr } = spawnSync("parallel", ["--jobs", "2", script, ":::", "1", "2", "3", "4"], {
      cwd,
      encoding: "utf8",
    });
    expect({ status, stderr: stderr.includes("Part 4 of 4") }).toEqual({ status: 0, stderr: true });
    expect(ask("--json", "--from", "job-1", "job-2", "job-3", "job-4").out).toBe(whole);
  });
});

describe("results that are kept", () => {
  const kept = (name: string) => readFileSync(join(cwd, name));

  test("an interrupt keeps what is done, says so, and is gone on from", async () => {
    const args = [COMMAND, "faults", RIG, "--draws", "400", "--threads", "1", "--keep", "long"];
    const child = spawn(process.execPath, args, { cwd, stdio: ["ignore", "pipe", "pipe"] });
    let out = "";
    child.stdout.on("data", (text) => {
      out += text;
    });
    while (!existsSync(join(cwd, "long")) || kept("long").length < 20_000)
      await new Promise((done) => setTimeout(done, 20));
    child.kill("SIGINT");
    const status = await new Promise((done) => child.on("close", done));
    expect(status).toBe(130);
    expect(out).toContain("PARTIAL: ");
    expect(out).toMatch(/What is missing may be worse/);
  });

  test("a process that is killed, a line cut short: the same bytes in the end", async () => {
    expect(ask("--keep", "straight").status).toBe(0);
    const child = spawn(process.execPath, [COMMAND, "faults", RIG, "--draws", "3", "--keep", "cut"], {
      cwd,
      stdio: "ignore",
    });
    while (!existsSync(join(cwd, "cut")) || kept("cut").length < 9000) await new Promise((done) => setTimeout(done, 5));
    child.kill("SIGKILL");
    await new Promise((done) => child.on("close", done));
    const size = kept("cut").length;
    expect(size).toBeLessThan(kept("straight").length + 1);
    truncateSync(join(cwd, "cut"), size - 17);
    expect(ask("--keep", "cut").err).toContain("--resume goes on from it");
    expect(ask("--keep", "cut", "--resume", "--json").out).toBe(whole);
    expect(kept("cut").equals(kept("straight"))).toBe(true);
  });

  test("a line that is none, and results of another plan, are refused where they stand", () => {
    expect(ask("--keep", "odd").status).toBe(0);
    const lines = kept("odd").toString().split("\n");
    lines[4] = '{"index": 3, "harms": "none"}';
    writeFileSync(join(cwd, "odd"), lines.join("\n"));
    const odd = ask("--from", "odd");
    expect(odd.status).toBe(2);
    expect(odd.err).toContain("odd, line 5: expected the result of a trial");
    expect(pulltest(["faults", RIG, "--draws", "2", "--from", "odd"], { cwd }).err).toContain(
      "of another plan, or of other options",
    );
    appendFileSync(join(cwd, "list"), "bread\nmilk\n");
    expect(ask("--from", "list").err).toContain("list, line 1: expected results of pulltest faults");
    expect(ask("--from", "nowhere").err).toContain("there is no such file");
  });

  test.skipIf(process.platform === "win32")(
    "a disk that takes no more is told, and what stands there is gone on from",
    () => {
      // A limit on the size of files, in blocks of half or a whole kilobyte.
      const script = `ulimit -f 24; "${process.execPath}" "${COMMAND}" faults "${RIG}" --draws 3 --threads 1 --keep full`;
      const { status, stderr } = spawnSync("sh", ["-c", script], { cwd, encoding: "utf8" });
      expect(status).toBe(2);
      expect(stderr).toContain("cannot write full");
      expect(stderr).toContain("what stands in it is whole, and --resume goes on from there");
      expect(ask("--keep", "full", "--resume", "--json").out).toBe(whole);
    },
  );
});

describe("what is typed wrong", () => {
  test("comes back all at once, and nothing is tried", () => {
    const { status, err, out } = ask(
      ...["--at", "noon", "--only", "reboots", "--repair", "cable=soon", "--repair", "walk=9s", "--order", "pa loud"],
      ...["--shard", "9/8", "--resume", "--threads", "0"],
    );
    expect({ status, out }).toEqual({ status: 2, out: "" });
    for (const said of [
      "--at: expected",
      "--only: expected of cable-out,",
      "did you mean reboot",
      "--repair: expected a duration behind =",
      "--order: expected of ears level",
      "--shard: expected which part of how many",
      "--resume: expected --keep FILE beside it",
      "--threads: expected a whole number from 1",
      "nothing was tried",
    ])
      expect(err).toContain(said);
  });

  test("a plan that does not say who hears what is refused, lest it look best", () => {
    const scenario = JSON.parse(pulltest(["new", "two-desks"]).out.replace(/^\s*\/\/.*$/gm, ""));
    delete scenario.rig.feeds;
    delete scenario.expect;
    writeFileSync(join(cwd, "deaf.json"), JSON.stringify(scenario));
    for (const args of [
      ["faults", "deaf.json"],
      ["limits", "deaf.json"],
      ["compare", RIG, "deaf.json"],
    ]) {
      const { status, out, err } = pulltest(args, { cwd });
      expect({ status, out }).toEqual({ status: 2, out: "" });
      expect(err).toContain("deaf.json: expected feeds, which say who hears what, received none");
    }
  });

  test("one name for two files", () => {
    const { status, err } = ask("--csv", "same", "--keep", "same");
    expect(status).toBe(2);
    expect(err).toContain("cannot be both");
  });

  test("an instant behind the end, and --at beside --every-moment", () => {
    expect(ask("--at", "20:00:00").err).toContain("--at: expected an instant within the show");
    expect(ask("--at", "00:10:00", "--every-moment").err).toContain("not both");
  });
});

describe("what is printed", () => {
  test("worst first, alike together, what nobody hears apart, and no verdict", () => {
    const { out } = ask("--all");
    expect(out).toContain("each alone and with its repair");
    expect(out).toContain("faults alike, the worst of them");
    expect(out).toContain("not heard by anybody");
    expect(out).toMatch(/A rehearsal .*, not a test\. Pull the cables before doors\.\n$/);
    expect(out).not.toMatch(/\b(pass|passed|safe|good)\b|all well/i);
    const { faults } = JSON.parse(whole);
    for (const { words } of faults) expect(out).toContain(words);
  });

  test("the table has a row for each fault and listener", () => {
    expect(ask("--csv", "matrix.csv").status).toBe(0);
    const rows = readFileSync(join(cwd, "matrix.csv"), "utf8").trim().split("\r\n");
    const { faults } = JSON.parse(whole);
    expect(rows).toHaveLength(1 + faults.length * faults[0].feeds.length);
  });

  test("longer repairs are longer silences", () => {
    const silence = (args: string[]) => {
      const { faults } = JSON.parse(ask("--only", "cable-out", "--json", ...args).out);
      return faults
        .find(({ id }: { id: string }) => id === "cable-out foh-pa")
        .feeds.find(({ feed }: { feed: string }) => feed === "pa-mix").silentSeconds;
    };
    expect(silence(["--repair", "cable=5m"]) - silence([])).toBeCloseTo(210, 6);
  });
});
