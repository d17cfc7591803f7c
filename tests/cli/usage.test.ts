import { existsSync, readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { version } from "../../package.json" with { type: "json" };
import { pulltest, scratchFolder } from "./command.ts";

const verbs = [
  ...["new", "csv", "merge", "check", "rehearse", "faults", "compare", "odds", "limits", "assumptions", "changes"],
  ...["library", "stability", "view", "schema"],
];

describe("help", () => {
  test("of the command names every verb and every status, and goes to standard output", () => {
    const { status, out, err } = pulltest(["--help"]);
    expect({ status, err }).toEqual({ status: 0, err: "" });
    for (const verb of verbs) expect(out).toContain(`  ${verb} `);
    for (const word of ["Status: 0", "1 an expectation", "2 bad usage", "3 a fault", "130 interrupted"]) {
      expect(out.replace(/\s+/g, " ")).toContain(word);
    }
  });

  test.each(verbs)("of %s begins with an example that one can type", (verb) => {
    const { status, out, err } = pulltest([verb, "--help"]);
    expect({ status, err }).toEqual({ status: 0, err: "" });
    expect(out).toMatch(new RegExp(`^ {2}pulltest ${verb}\\b`));
    expect(pulltest(["help", verb]).out).toBe(out);
  });

  test("--version prints the version of the package alone", () => {
    expect(pulltest(["--version"])).toEqual({ status: 0, out: `${version}\n`, err: "" });
  });
});

describe("schema", () => {
  test.each([
    [[], "scenario"],
    [["scenario"], "scenario"],
    [["rig"], "rig"],
    [["library"], "library"],
    [["lesson"], "lesson"],
  ])("%j prints the one that is shipped", (args, kind) => {
    const { status, out, err } = pulltest(["schema", ...args]);
    expect({ status, err }).toEqual({ status: 0, err: "" });
    expect(JSON.parse(out)).toEqual(JSON.parse(readFileSync(`scenarios/${kind}.schema.json`, "utf8")));
  });

  test("of no such kind is answered with those there are", () => {
    const { status, out, err } = pulltest(["schema", "lessons"]);
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toBe(
      'pulltest schema: there is no schema of "lessons". Did you mean lesson? There are: scenario, rig, library, lesson.\n',
    );
  });
});

describe("what was typed wrongly ends with 2, on standard error, with what was meant", () => {
  test.each([
    [["rehears", "x.json"], "unknown command 'rehears'", "Did you mean rehearse?"],
    [["rehearse", "x.json", "--rebot", "foh@00:20:00"], "unknown option '--rebot'", "Did you mean --reboot?"],
    [["rehearse"], "missing required argument 'file'", ""],
    [["new", "two-desk"], 'no template "two-desk"', "Did you mean two-desks?"],
    [["check", "a.json", "b.json"], "too many arguments", ""],
    [[], "Usage: pulltest", "rehearse"],
  ])("%j", (args, message, meant) => {
    const { status, out, err } = pulltest(args);
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toContain(message);
    expect(err).toContain(meant);
    expect(err).not.toMatch(/\n\s+at /);
  });

  test("a table where a scenario belongs is one problem, with the way from one to the other", () => {
    const { status, out, err } = pulltest(["check", "tests/tables/lantern-quay/cables.csv"]);
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toContain("one problem in the input");
    expect(err).toContain("expected a scenario, received a table; make one of it first: pulltest new --from-csv");
  });

  test("the name of a device where its id belongs is answered with the id that it has", () => {
    const file = "scenarios/leader-reboot.json";
    const { status, err } = pulltest(["rehearse", file, "--reboot", "Monitor desk@00:10:00"]);
    expect(status).toBe(2);
    expect(err).toContain('received "Monitor desk"; its id is mon: write that');
    expect(pulltest(["rehearse", file, "--reboot", "Moniter desk@00:10:00"]).err).not.toContain("its id is");
  });

  test("what is typed cannot write to the terminal", () => {
    const { err } = pulltest(["\u001b[2Jboo", "\u009b31m"]);
    expect(err).toContain("boo");
    expect(err).not.toMatch(/(?!\n)\p{Cc}/u);
  });
});

describe("new", () => {
  const folder = scratchFolder();

  test("without a name lists the templates, each with what it is", () => {
    const { status, out } = pulltest(["new"]);
    expect(status).toBe(0);
    for (const name of ["two-desks", "spares", "festival-guest", "broadcast-split", "house-clock", "network-pair"])
      expect(out).toMatch(new RegExp(`^ {2}${name} +\\w`, "m"));
  });

  test("writes to standard output, or to a file that is not there yet", () => {
    const { out } = pulltest(["new", "two-desks"]);
    expect(out).toContain('"title": "Two desks and a box"');
    const written = pulltest(["new", "two-desks", "--out", "rig.json"], { cwd: folder });
    expect(written).toEqual({ status: 0, out: "", err: "Wrote rig.json. Play it: pulltest rehearse rig.json\n" });
    const again = pulltest(["new", "spares", "--out", "rig.json"], { cwd: folder });
    expect(again).toEqual({
      status: 2,
      out: "",
      err: "pulltest new: rig.json is there already; --force overwrites it\n",
    });
    const forced = pulltest(["new", "spares", "--out", "rig.json", "--force"], { cwd: folder });
    expect(forced.status).toBe(0);
    expect(readdirSync(folder)).toEqual(["rig.json"]);
  });

  test("says why when it cannot write, and leaves nothing behind", () => {
    const { status, err } = pulltest(["new", "two-desks", "--out", "nowhere/rig.json"], { cwd: folder });
    expect({ status, err }).toEqual({
      status: 2,
      err: "pulltest new: cannot write nowhere/rig.json: there is no such file or folder\n",
    });
    expect(existsSync(join(folder, "nowhere"))).toBe(false);
  });
});
