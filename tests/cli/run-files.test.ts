/** Files of a run beside what is printed of it: nothing is lost for them, and none is written twice. */
import { existsSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { pulltest, scratchFolder, smallRig } from "./command.ts";

const folder = scratchFolder();
const inFolder = (...args: string[]) => pulltest(args, { cwd: folder });
const text = (name: string) => readFileSync(join(folder, name), "utf8");
writeFileSync(
  join(folder, "small.json"),
  JSON.stringify({
    ...smallRig(),
    events: [{ at: "00:05:00", do: "unplug", link: "main", forSeconds: 30 }],
    expect: [
      { feed: "mix", slips: { max: 0 } },
      { feed: "mix", silentSeconds: { max: 1 } },
    ],
  }),
);

const OPTIONS = ["--record-csv", "--vcd", "--trace", "--junit"] as const;

test("all are written in one run, each says what it is, and what is printed stays the same", () => {
  const asked = OPTIONS.flatMap((option) => [option, `all${option}`]);
  const { status, out, err } = inFolder("rehearse", "small.json", "--json", ...asked);
  expect(status).toBe(1);
  expect(out).toBe(inFolder("rehearse", "small.json", "--json").out);
  expect(err).toBe(
    [
      `Wrote all--record-csv: the record, ${text("all--record-csv").split("\r\n").length - 2} rows.`,
      "Wrote all--vcd: value change dump, for wave viewers.",
      "Wrote all--trace: trace events, for trace viewers.",
      "Wrote all--junit: two test cases, 1 not met.",
      "",
    ].join("\n"),
  );
  expect(text("all--record-csv")).toMatch(/^\ufeffrow,id,way,name,state,from_s,to_s,samples,words\r\n/);
  expect(text("all--record-csv")).toContain("\r\nlink,main,there,main,down,300,330,,Down\r\n");
  expect(text("all--vcd")).toContain("\n#300000000000\n");
  expect(JSON.parse(text("all--trace")).traceEvents.length).toBeGreaterThan(10);
  expect(text("all--junit")).toContain('<testsuites name="Pulltest" tests="2" failures="1" errors="0">');
  expect(readdirSync(folder).filter((name) => name.endsWith(".part"))).toEqual([]);
});

describe.each(OPTIONS)("%s", (option) => {
  test("never replaces what is read, a folder, or what somebody else has written", () => {
    const notes = `notes${option}`;
    writeFileSync(join(folder, notes), "load-in at nine");
    const refused = inFolder("rehearse", "small.json", option, notes);
    expect(refused).toMatchObject({ status: 2, out: "" });
    expect(refused.err).toContain(`${notes} is there already`);
    expect(text(notes)).toBe("load-in at nine");
    expect(inFolder("rehearse", "small.json", "--json", option, notes, "--force").status).toBe(1);
    expect(text(notes)).not.toBe("load-in at nine");
    const before = text("small.json");
    expect(inFolder("rehearse", "small.json", option, "small.json", "--force").err).toContain("is what is being read");
    expect(text("small.json")).toBe(before);
    expect(inFolder("rehearse", "small.json", option, ".", "--force").err).toContain("it is a folder");
    expect(inFolder("rehearse", "small.json", option, "no/such/file").err).toContain("there is no such file or folder");
  });

  test("replaces one of ours, as far as one can be known", () => {
    const name = `again${option}`;
    expect(inFolder("rehearse", "small.json", "--json", option, name).status).toBe(1);
    const again = inFolder("rehearse", "small.json", "--json", option, name);
    // A table looks like any other.
    expect(again.status).toBe(option === "--record-csv" ? 2 : 1);
  });
});

test.each([
  [["--vcd", "one", "--trace", "one"], "one cannot be both the value change dump and the trace"],
  [["--record-csv", "one", "--phase-csv", "./one"], "one cannot be both the phases and the record"],
  [["--html", "one", "--vcd", "two", "--junit", "x/../one"], "one cannot be both the page and the test report"],
  [["--vcd", "there", "--trace", "link-to-it"], "link-to-it cannot be both the value change dump and the trace"],
])("two files of one name are refused: %j", (options, words) => {
  if (!existsSync(join(folder, "there"))) {
    expect(inFolder("rehearse", "small.json", "--json", "--vcd", "there").status).toBe(1);
    symlinkSync("there", join(folder, "link-to-it"));
  }
  const { status, out, err } = inFolder("rehearse", "small.json", ...options, "--force");
  expect({ status, out }).toEqual({ status: 2, out: "" });
  expect(err).toContain(words);
  for (const name of ["one", "two"]) expect(existsSync(join(folder, name))).toBe(false);
});

test("a table of faults is written neither over results that are read nor where they are kept", () => {
  const only = ["--only", "cable-out", "--draws", "1"];
  expect(inFolder("faults", "small.json", ...only, "--keep", "kept", "--csv", "./kept").err).toContain(
    "kept cannot be both the table and the file of results",
  );
  expect(existsSync(join(folder, "kept"))).toBe(false);
  expect(inFolder("faults", "small.json", ...only, "--keep", "kept").status).toBe(0);
  const before = text("kept");
  const refused = inFolder("faults", "small.json", ...only, "--from", "kept", "--csv", "kept", "--force");
  expect(refused).toMatchObject({ status: 2, out: "" });
  expect(refused.err).toContain("kept is what is being read, and would be lost");
  expect(text("kept")).toBe(before);
});
