/** `changes` of two files: words, JSON, status, and what it refuses. */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { pulltest, scratchFolder, smallRig } from "./command.ts";

const folder = scratchFolder();
const write = (name: string, text: string) => writeFileSync(join(folder, name), text);
const inFolder = (args: readonly string[], input?: string) => pulltest(args, { cwd: folder, ...(input && { input }) });

const before = smallRig();
const after = smallRig();
after.rig.devices = after.rig.devices.map((device, index) => (index === 0 ? { ...device, bootSeconds: 90 } : device));
write("monday.json", JSON.stringify(before));
write("same.json", `// the same rig\n${JSON.stringify({ ...before, title: "Another night" }, null, 4)}`);
write("tuesday.json", JSON.stringify(after));
write("broken.json", JSON.stringify({ ...before, rig: { ...before.rig, devices: [] } }));

test("the same rig in other words has the same stamp, and ends with 0", () => {
  const { status, out, err } = inFolder(["changes", "monday.json", "same.json"]);
  expect({ status, err }).toEqual({ status: 0, err: "" });
  expect(out).toMatch(/^Plan (..-..) \([A-Za-z -]+, [A-Za-z -]+\) in both files: the rig is the same\.\n$/);
  const [, stamp] = /^Plan (..-..)/.exec(out)!;
  expect(inFolder(["rehearse", "same.json"]).out).toContain(`same.json, plan ${stamp}, sha256 `);
  expect(inFolder(["check", "monday.json"]).out).toContain(`Plan ${stamp} was read, not played`);
});

test("what differs is told thing by thing, with both stamps, and ends with 1", () => {
  const { status, out } = inFolder(["changes", "monday.json", "tuesday.json"]);
  expect(status).toBe(1);
  expect(out).toMatch(
    /^Plan ..-.. \(.*\) was changed to plan ..-.. \(.*\)\.\n\n[^\n]*: boot 90 s, was 60 s\.\n\nOne thing changed\./,
  );
  const report = JSON.parse(inFolder(["changes", "monday.json", "tuesday.json", "--json"]).out);
  expect(Object.keys(report)).toEqual(["schemaVersion", "before", "after", "changes"]);
  expect(report.before.stamp).not.toBe(report.after.stamp);
  expect(report.changes).toHaveLength(1);
  expect(report.changes[0]).toMatchObject({ what: "devices", is: "changed" });
});

test("a file that cannot be read is told of with all its problems, the other one too", () => {
  const { status, out, err } = inFolder(["changes", "broken.json", "missing.json"]);
  expect({ status, out }).toEqual({ status: 2, out: "" });
  expect(err).toContain("broken.json:");
  expect(err).toContain("missing.json");
  const twice = inFolder(["changes", "-", "-"], "{}");
  expect(twice.status).toBe(2);
  expect(twice.err).toBe("pulltest changes: only one of the two can come from standard input\n");
});
