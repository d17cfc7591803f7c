/** The verbs of a library, as a shell runs them: text, JSON, status, files, and what they refuse. */
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { pulltest, scratchFolder } from "./command.ts";

const folder = scratchFolder();
const write = (name: string, value: unknown) =>
  writeFileSync(join(folder, name), typeof value === "string" ? value : JSON.stringify(value, null, 2));
const read = (name: string) => JSON.parse(readFileSync(join(folder, name), "utf8"));
const inFolder = (args: readonly string[], input?: string) => pulltest(args, { cwd: folder, ...(input && { input }) });

const said = (value: number, measured: string) => ({
  origins: { bootSeconds: [{ value, from: "load-in", measured }] },
});
write("a.json", { deviceTypes: { desk: { bootSeconds: 75, ...said(75, "2026-05-02") } } });
write("b.json", { deviceTypes: { desk: { bootSeconds: 80, ...said(80, "2026-06-11") }, box: {} } });
write("broken.json", '{ "deviceTypes": { "desk": { "bootSeconds": "long", "origins": { "bootSecond": [] } } } }');
write("load-in.csv", "type,number,value,date\nbox,boot time,75 s,2026-09-12\n");

test("a library is listed with what each number stands on; the shipped one too", () => {
  const { status, out, err } = inFolder(["library", "a.json"]);
  expect({ status, err }).toEqual({ status: 0, err: "" });
  expect(out).toContain("One device type, one number, 1 measured.");
  expect(out).toContain("  bootSeconds  75 s; measured 2026-05-02 (load-in)\n");
  expect(out).toMatch(/still assumed: .*holdoverSeconds/);
  const { types } = JSON.parse(pulltest(["library", "scenarios/quay.library.json", "--json"]).out);
  expect(types.map(({ type }: { type: string }) => type)).toContain("quay-guest-desk");
});

test("merged, both measurements are in the file and the question is asked", () => {
  const { status, out, err } = inFolder(["library", "merge", "a.json", "b.json", "--out", "both.json"]);
  expect({ status, out }).toEqual({ status: 0, out: "" });
  expect(err).toContain(
    "- desk, bootSeconds: 75 s by a.json and 80 s by b.json? Until somebody answers, 80 s is played.",
  );
  expect(read("both.json").deviceTypes.desk).toMatchObject({ bootSeconds: 80, origins: { bootSeconds: [{}, {}] } });
  const again = inFolder(["library", "merge", "a.json", "b.json", "--out", "both.json"]);
  expect([again.status, again.err]).toEqual([2, expect.stringContaining("both.json is there already; --force")]);
  const { questions, schemaVersion } = JSON.parse(
    inFolder(["library", "merge", "a.json", "b.json", "--out", "both.json", "--force", "--json"]).out,
  );
  expect({ schemaVersion, many: questions.length }).toEqual({ schemaVersion: 1, many: 1 });
});

test("what differs ends with 1, the same with 0", () => {
  expect(inFolder(["library", "changes", "a.json", "b.json"])).toMatchObject({
    status: 1,
    out: expect.stringContaining("  bootSeconds 80 s, was 75 s\n"),
  });
  expect(inFolder(["library", "changes", "a.json", "a.json"])).toMatchObject({ status: 0 });
  expect(JSON.parse(inFolder(["library", "changes", "a.json", "b.json", "--json"]).out).changes).toHaveLength(2);
});

test("measured numbers go into the file itself only when told", () => {
  const before = readFileSync(join(folder, "b.json"), "utf8");
  const { status, out } = inFolder(["library", "measured", "b.json", "--from", "load-in.csv"]);
  expect([status, JSON.parse(out).deviceTypes.box.bootSeconds]).toEqual([0, 75]);
  expect(inFolder(["library", "measured", "b.json", "--from", "load-in.csv", "--out", "b.json"]).status).toBe(2);
  expect(readFileSync(join(folder, "b.json"), "utf8")).toBe(before);
  const told = inFolder(["library", "measured", "b.json", "--from", "load-in.csv", "--out", "b.json", "--force"]);
  expect(told.err).toContain("box, bootSeconds: one measurement; 75 s is played, where nothing stood.");
  expect(read("b.json").deviceTypes.box.origins.bootSeconds[0].measured).toBe("2026-09-12");
});

test("tables of a pull test name devices of a scenario", () => {
  write(
    "pulled.csv",
    "device,what,value,date\nGuest desk,boot time,1 min 35 s,2026-09-12\nFOH desk,surface boot,0:22,2026-09-12\n",
  );
  const args = ["library", "measured", "scenarios/quay.library.json", "--from", join(folder, "pulled.csv")];
  const { status, out, err } = pulltest([...args, "--rig", "scenarios/guest-at-six.json"]);
  expect(status).toBe(0);
  const { deviceTypes } = JSON.parse(out);
  expect(deviceTypes["quay-guest-desk"].origins.bootSeconds).toHaveLength(2);
  expect(err).toContain("quay-guest-desk, bootSeconds: one measurement; 90 s is played as before, which is not what");
  expect(err).toContain("Read 0:22 as minutes and seconds, 22 s (");
  expect(pulltest(args).err).toContain("two problems in the input; nothing was written");
});

test("bad input is told of with all its problems, and nothing is written", () => {
  const { status, out, err } = inFolder(["library", "merge", "broken.json", "missing.json", "--out", "never.json"]);
  expect({ status, out }).toEqual({ status: 2, out: "" });
  expect(err).toContain("three problems in the input; nothing was merged");
  expect(err).toContain("did you mean bootSeconds?");
  expect(existsSync(join(folder, "never.json"))).toBe(false);
  expect(inFolder(["library", "merge", "-", "-"], "{}").status).toBe(2);
  expect(inFolder(["library", "merge", "a.json", "b.json", "--json"]).err).toContain("with --out");
  expect(inFolder(["library", "measured", "a.json"]).status).toBe(2);
  expect(inFolder(["library"]).status).toBe(2);
});
