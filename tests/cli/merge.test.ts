/** `merge` of two files: what is printed, written and refused. */
import { existsSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { house, tour } from "../merge/helpers.ts";
import { pulltest, scratchFolder } from "./command.ts";

const folder = scratchFolder();
const write = (name: string, value: unknown) =>
  writeFileSync(join(folder, name), typeof value === "string" ? value : JSON.stringify(value, null, 2));
const merge = (...args: string[]) => pulltest(["merge", ...args], { cwd: folder });
write("house.json", house());
write("tour.json", `// comments are welcome\n${JSON.stringify(tour(), null, 2)}`);
const FILES = ["house.json", "tour.json"];
const JOIN = ["--join", "matrix.8=foh.7"];

test("without a cable it lists the conflicts, asks, and says what could be typed", () => {
  const { status, out, err } = merge(...FILES);
  expect({ status, err }).toEqual({ status: 0, err: "" });
  expect(out).toContain("Two leaders: matrix of House and foh of Tour.");
  expect(out).toContain("Which cables join the two?");
  const [, typed = ""] = /\n {2}pulltest (merge house\.json tour\.json --join \S+)\n/.exec(out) ?? [];
  expect(pulltest(typed.split(" "), { cwd: folder })).toMatchObject({ status: 0, err: "" });
});

test("with one, ways stand beside each other, in words that promise nothing", () => {
  const { status, out, err } = merge(...FILES, ...JOIN);
  expect({ status, err }).toEqual({ status: 0, err: "" });
  for (const words of ["House leads, plan ", "Tour leads, plan ", "Converters, plan ", "House clock, plan "])
    expect(out).toContain(words);
  expect(out).toContain("By what listeners hear then, no two ways can be told apart.");
  expect(out).toContain("not a test. Pull the cables before doors.");
  expect(out).not.toMatch(/!|\b(pass(?:es|ed)?|safe(?:ly)?|good|all well|best|undefined|NaN|null)\b/i);
  expect(merge(...FILES, ...JOIN).out).toBe(out);
});

test("as data: one shape, with and without a cable", () => {
  const asked = JSON.parse(merge(...FILES, "--json").out);
  expect(Object.keys(asked)).toEqual(["schemaVersion", "companies", "conflicts", "joins", "outcome"]);
  expect(asked).toMatchObject({ schemaVersion: 1, joins: [], outcome: null });
  const { conflicts, companies, outcome } = JSON.parse(merge(...FILES, ...JOIN, "--json").out);
  expect(conflicts[0]).toMatchObject({ kind: "two-leaders", places: [{ file: "house.json" }, { file: "tour.json" }] });
  expect(companies.map(({ name }: { name: string }) => name)).toEqual(["house", "tour"]);
  expect(Object.keys(outcome)).toEqual(["cases", "feeds", "alone", "ways", "alike"]);
  expect(outcome.ways[0]).toMatchObject({ id: "one-leader-house", whyNot: null, leaders: ["matrix", "foh", "mon"] });
  expect(outcome.ways[0].heard).toHaveLength(outcome.cases.length);
});

test("--out writes a scenario for each way, which the other verbs read; nothing is replaced without being told", () => {
  const { status, err } = merge(...FILES, ...JOIN, "--out", "joined");
  expect(status).toBe(0);
  expect(err).toBe("Wrote four scenarios into joined; comments stay in the two files.\n");
  const names = readdirSync(join(folder, "joined")).sort();
  expect(names).toEqual(["converters.json", "house-clock.json", "one-leader-house.json", "one-leader-tour.json"]);
  for (const name of names)
    expect(pulltest(["rehearse", `joined/${name}`], { cwd: folder })).toMatchObject({ err: "" });

  write("joined/house-clock.json", "mine");
  write("joined/converters.json", "mine");
  const refused = merge(...FILES, ...JOIN, "--out", "joined");
  expect(refused).toMatchObject({ status: 2, out: "" });
  expect(refused.err).toContain("is there already; --force overwrites it");
  expect(readFileSync(join(folder, "joined/house-clock.json"), "utf8")).toBe("mine");
  expect(merge(...FILES, ...JOIN, "--out", "joined", "--force").status).toBe(0);
  expect(readFileSync(join(folder, "joined/converters.json"), "utf8")).toContain(
    '"title": "House and Tour: converters"',
  );
});

test("what is being read is never replaced", () => {
  mkdirSync(join(folder, "own"));
  write("own/converters.json", house());
  const { status, err } = merge("own/converters.json", "tour.json", ...JOIN, "--out", "own", "--force");
  expect(status).toBe(2);
  expect(err).toContain("is what is being read, and would be lost");
  expect(readdirSync(join(folder, "own"))).toEqual(["converters.json"]);
});

test("a conflict that leaves no file ends with 2, and nothing is written", () => {
  const { status, out, err } = merge(...FILES, "--join", "matrix.1=foh.7", "--out", "never");
  expect(status).toBe(2);
  expect(out).toMatch(/\nto settle first {2}Port 1 of matrix \(House\) is to have a joining cable/);
  expect(err).toBe("pulltest merge: one conflict has to be settled first; nothing was joined\n");
  expect(existsSync(join(folder, "never"))).toBe(false);
});

test("all that was typed wrongly is told at once, with what is wrong in the files", () => {
  write("broken.json", { ...house(), title: 7 });
  const typed = ["matrix.8", "matrix.8=foh.7:midi", "matrix.8=foh.7:aes50:there", "foh.8=foh.7", "matrix.8=fog.7"];
  const { status, out, err } = merge(...FILES, ...typed.flatMap((text) => ["--join", text]), "--names", "one");
  expect({ status, out }).toEqual({ status: 2, out: "" });
  expect(err).toContain("pulltest: six problems in the input; nothing was joined.");
  expect(err).toContain("--join matrix.8: expected DEVICE.PORT=DEVICE.PORT");
  expect(err).toContain("did you mean madi");
  expect(err).toContain("aes50 carries both ways in one cable");
  expect(err).toContain("it is in tour.json: the ends stand in the order of the files");
  expect(err).toContain("did you mean foh");
  expect(err).toContain("--names house,tour");
  const read = merge("broken.json", "missing.json", "--join", "x");
  expect(read.status).toBe(2);
  for (const words of ["broken.json:", "missing.json", "--join x"]) expect(read.err).toContain(words);
  expect(merge("-", "-").err).toBe("pulltest merge: only one of the two can come from standard input\n");
  expect(merge(...FILES, "--out", "x").err).toContain("--out needs a cable that joins the two");
});

test("two files of one name and one title, and the same file twice, are told apart", () => {
  const { status, out } = merge("house.json", "house.json");
  expect(status).toBe(0);
  expect(out).toContain("Until then they are two, a-matrix and b-matrix.");
  expect(merge("house.json", "house.json", "--join", "matrix.8=matrix.9").status).toBe(0);
});
