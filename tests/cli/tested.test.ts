/** `tested`: a result of a pull test against a scenario, its words, its JSON, and what it writes and does not write. */
import { copyFileSync, mkdirSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { expect, test } from "vitest";
import { readTexts } from "../../sim/plan-of.ts";
import { walkFor } from "../../sim/walk/steps.ts";
import { begun } from "../../viewer/walk/state.ts";
import { shippedTexts } from "../helpers/shipped.ts";
import { pulltest, scratchFolder } from "./command.ts";

const folder = scratchFolder();
const inFolder = (...args: readonly string[]) => pulltest(["tested", ...args], { cwd: folder });
const NAME = "main-out-good-spare.json";
copyFileSync(`scenarios/${NAME}`, join(folder, NAME));

const files = shippedTexts(NAME);
const walk = walkFor(readTexts(files).plan!);
const { results } = begun(walk, files);
const answers: Readonly<Record<string, object>> = {
  "cable-out main": { answer: "expected" },
  "cable-out spare": { answer: "skipped" },
  "reboot foh": { answer: "expected", measuredSeconds: 81.1 },
};
const pulls = results.pulls.map((pull) => ({ ...pull, ...answers[pull.id], date: "2026-11-28" }));
writeFileSync(join(folder, "walk.json"), JSON.stringify({ ...results, pulls }));

test("says what contradicts, what goes into the plan and what stays untested, and writes nothing unasked", () => {
  const before = readdirSync(folder);
  const { status, out, err } = inFolder(NAME, "--walk", "walk.json");
  expect({ status, err }).toEqual({ status: 1, err: "" });
  expect(out).toBe(
    `Pulled with this plan, ${walk.stamp}.\n\n` +
      "The site contradicts the rehearsal:\n" +
      "  Reboot the FOH desk: as expected. Measured 1 min 21 s, the rehearsal has 1 min 15 s: 6 s longer.\n\n" +
      "For the plan:\n  Pulled on 2026-11-28, as expected: the main cable.\n  FOH desk: boot 81 s, was 75 s.\n\n" +
      "Stays untested:\n  No answer, or skipped: one pull of three.\n",
  );
  expect(readdirSync(folder)).toEqual(before);
});

test("writes the files that change into a folder, and nothing that is there without being told to", () => {
  const { status, err } = inFolder(NAME, "--walk", "walk.json", "--out", "after");
  expect({ status, err }).toEqual({ status: 1, err: `Wrote ${join("after", NAME)}.\n` });
  const text = readFileSync(join(folder, "after", NAME), "utf8");
  expect(text).toMatch(/"tested": "2026-11-28 [A-Z0-9]{2}-[A-Z0-9]{2}"/);
  expect(text).toContain('"bootSeconds": 81,');
  expect(readdirSync(join(folder, "after"))).toEqual([NAME]);

  const refused = inFolder(NAME, "--walk", "walk.json", "--out", ".");
  expect(refused.status).toBe(2);
  expect(refused.err).toMatch(
    /^pulltest tested: .* is what is being read, and would be lost; .*; nothing was written\n$/,
  );
  expect(readFileSync(join(folder, NAME), "utf8")).toBe(files.texts[NAME]);

  // A second time there is nothing new in it.
  const again = inFolder(join("after", NAME), "--walk", "walk.json", "--out", "after", "--force");
  expect(again.err).toBe("Nothing was written: nothing is new.\n");
});

test("takes numbers of a table at the devices that it names, with their day, and refuses all that is wrong in it", () => {
  writeFileSync(
    join(folder, "times.csv"),
    "Device,Number,Value,Date,Note\nFOH desk,boot time,1 min 18 s,2026-11-27,load-in\nStage box,offset,3.5,2026-11-27,counter\n",
  );
  const { status, out } = inFolder(NAME, "--from", "times.csv", "--out", "measured");
  expect(status).toBe(0);
  expect(out).toBe(
    "For the plan:\n  FOH desk: boot 78 s, was 75 s.\n  Stage box: oscillator offset 3.5 ppm, was -6.3 ppm.\n",
  );
  const text = readFileSync(join(folder, "measured", NAME), "utf8");
  expect(text).toContain(
    '"origins": { "bootSeconds": [{ "value": 78, "from": "load-in", "measured": "2026-11-27" }] }',
  );
  expect(text).toContain('"oscillator.offsetPpm": [{ "value": 3.5, "from": "counter", "measured": "2026-11-27" }]');

  writeFileSync(
    join(folder, "wrong.csv"),
    "Device,Number,Value,Date\nPiano,boot time,1,2026-11-27\nFOH desk,colour,1,27.11.\n",
  );
  const wrong = inFolder(NAME, "--from", "wrong.csv", "--out", "never");
  expect({ status: wrong.status, out: wrong.out }).toEqual({ status: 2, out: "" });
  expect(wrong.err.match(/wrong\.csv:/g)).toHaveLength(3);
  expect(inFolder(NAME).err).toBe(
    "pulltest tested: name what was found, with --walk, --from or both; nothing was written\n",
  );
});

test("of another plan it says so, thing by thing, in JSON as well", () => {
  writeFileSync(join(folder, "longer.json"), files.texts[NAME]!.replace('"lengthMetres": 80', '"lengthMetres": 85'));
  const { status, out } = inFolder("longer.json", "--walk", "walk.json", "--json");
  expect(status).toBe(1);
  const report = JSON.parse(out);
  expect(report).toMatchObject({ schemaVersion: 1, walkedWith: walk.stamp, tested: [], changedSince: ["main"] });
  expect(report.plan).not.toBe(walk.stamp);
  expect(report.changes.map(({ id }: { id: string }) => id)).toEqual(["main"]);
  expect(report.open).toEqual(["cable-out spare"]);
});

test("what is no result is refused with all that is wrong, and so is a scenario in its place", () => {
  const { status, out, err } = inFolder(NAME, "--walk", NAME, "--out", "nowhere");
  expect({ status, out }).toEqual({ status: 2, out: "" });
  expect(err).toContain('expected "pull test"');
  expect(err).toContain("nothing was written");
  expect(readdirSync(folder)).not.toContain("nowhere");
  expect(inFolder("missing.json", "--walk", "gone.json").err).toMatch(/missing\.json[\s\S]*gone\.json/);
});

test("where one of two files cannot be written, the other is not either", () => {
  const library = '{\n  "format": 1,\n  "deviceTypes": {\n    "desk": { "bootSeconds": 75 }\n  }\n}\n';
  const text = files.texts[NAME]!.replace('"bootSeconds": 75', '"like": "desk"').replace(
    '"rig": {',
    '"library": "./shop/desk.json",\n  "rig": {',
  );
  mkdirSync(join(folder, "two", "shop"), { recursive: true });
  writeFileSync(join(folder, "two", "show.json"), text);
  writeFileSync(join(folder, "two", "shop", "desk.json"), library);
  // A file where the folder would have to be.
  mkdirSync(join(folder, "blocked"));
  writeFileSync(join(folder, "blocked", "shop"), "");
  const { status, err } = inFolder(join("two", "show.json"), "--walk", "walk.json", "--out", "blocked", "--force");
  expect(status).toBe(2);
  expect(err).toMatch(/^pulltest tested: cannot write shop\/desk\.json: .*; nothing was written\n$/);
  expect(readdirSync(join(folder, "blocked"))).toEqual(["shop"]);

  expect(inFolder(join("two", "show.json"), "--walk", "walk.json", "--out", "both").err).toContain("show.json and ");
  expect(readFileSync(join(folder, "both", "shop", "desk.json"), "utf8")).toContain('"measured": "2026-11-28"');
});
