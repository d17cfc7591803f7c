/** A library grown by a table, what differs between two, and what one still assumes. */
import { expect, test } from "vitest";
import { sheetFromCsv } from "../../cli/tables-csv.ts";
import { formatIssue } from "../../shared/issues.ts";
import { libraryChanges } from "../../sim/library/changes.ts";
import { grownLibrary } from "../../sim/library/grow.ts";
import { measurementsFrom } from "../../sim/library/measurements.ts";
import { numbersOfTypes } from "../../sim/library/numbers.ts";
import { libraryFromText, libraryOf } from "./libraries.ts";

const loadIn = { value: 75, from: "load-in", measured: "2026-05-02" };
const shop = libraryOf({
  "quay-desk": { bootSeconds: 75, origins: { bootSeconds: [loadIn] } },
  "guest-desk": { like: "quay-desk" },
  "stage-box": {},
});

function measured(csv: string, library = shop) {
  const { sheet } = sheetFromCsv("load-in.csv", new TextEncoder().encode(csv));
  return measurementsFrom(sheet!, library);
}
const grown = (csv: string, plays = false, library = shop) => {
  const { measurements, issues } = measured(csv, library);
  expect(issues.map(formatIssue)).toEqual([]);
  return grownLibrary(library, measurements, { plays });
};

test("a measurement becomes an origin, and the number only where none stood", () => {
  const csv =
    "Type,What,Value,Date,Note,Times\nQuay desk,boot time,78 s,2026-09-12,load-in,2\nstage-box,boot time,1.5 min,2026-09-12,,\n";
  const made = grown(csv);
  const { types } = libraryFromText(made.text);
  expect(types["quay-desk"]).toEqual({
    bootSeconds: 75,
    origins: { bootSeconds: [loadIn, { value: 78, from: "load-in", measured: "2026-09-12", times: 2 }] },
  });
  expect(types["stage-box"]).toEqual({
    bootSeconds: 90,
    origins: { bootSeconds: [{ value: 90, from: "pull test", measured: "2026-09-12" }] },
  });
  expect(made.grown).toMatchObject([
    { type: "quay-desk", played: 75, was: 75, isAsked: true },
    { type: "stage-box", played: 90, was: undefined, isAsked: false },
  ]);
  expect(libraryFromText(grown(csv, true).text).types["quay-desk"]?.bootSeconds).toBe(78);
});

test("a time by type of link, and a number of the oscillator, are measured like any other", () => {
  const csv =
    "type,number,value,date\nstage-box,comingUpSeconds.madi,400 ms,2026-09-12\nstage-box,offset,-6.3 ppm,2026-09-12\n";
  expect(libraryFromText(grown(csv).text).types["stage-box"]).toMatchObject({
    comingUpSeconds: { madi: 0.4 },
    oscillator: { offsetPpm: -6.3 },
    origins: { "comingUpSeconds.madi": [{ value: 0.4 }], "oscillator.offsetPpm": [{ value: -6.3 }] },
  });
});

test("the same table twice adds nothing the second time", () => {
  const csv = "type,number,value,date\nquay-desk,bootSeconds,78,2026-09-12\nquay-desk,bootSeconds,78,2026-09-12\n";
  const once = grown(csv).text;
  const twice = grown(csv, false, libraryFromText(once));
  expect(twice.text).toBe(once);
  expect(libraryFromText(once).types["quay-desk"]?.origins?.bootSeconds).toHaveLength(2);
  expect(twice.grown.flatMap(({ added }) => added)).toEqual([]);
});

test("what a type has from another is its own once it was measured and differs", () => {
  const csv = "type,number,value,date\nguest-desk,bootSeconds,90,2026-09-12\n";
  expect(libraryFromText(grown(csv).text).types["guest-desk"]?.bootSeconds).toBeUndefined();
  expect(libraryFromText(grown(csv, true).text).types["guest-desk"]?.bootSeconds).toBe(90);
});

test("all that is wrong with a table is told at once, each at its cell", () => {
  const { measurements, issues } = measured(
    "type,number,value,date,times\n" +
      "quay dsk,boot time,78 s,2026-09-12,\nquay-desk,bot,x,12.9.2026,\nquay-desk,whileBooting,noise,2026-01-01,\n" +
      "quay-desk,boot time,-3,2026-01-01,\nquay-desk,boot time,,2026-01-01,0.5\nstage-box,boot time,34,2026-01-01,\n",
  );
  expect(measurements.map(({ type }) => type)).toEqual(["stage-box"]);
  expect(issues.map(({ line, path }) => `${line} ${path.join()}`)).toEqual([
    ...["2 type", "3 number", "3 date", "4 value", "5 value", "6 value"],
  ]);
  expect(formatIssue(issues[0]!)).toContain('did you mean "quay-desk"?');
  expect(measured("a,b\n1,2\n").issues[0]?.expected).toContain("type, number, value and date");
});

test("a table may name devices in place of their types", () => {
  const devices = [
    { id: "foh", name: "FOH desk", like: "quay-desk" },
    { id: "pa", name: null, like: null },
    { id: "rec", name: "Recorder", like: "recorder" },
  ];
  const { sheet } = sheetFromCsv(
    "pulled.csv",
    new TextEncoder().encode(
      [
        "Device,What,Value,Date",
        "foh desk,boot,78,2026-09-12",
        "pa,boot,3,2026-09-12",
        "Recorder,boot,3,2026-09-12",
      ].join("\n"),
    ),
  );
  const { measurements, issues } = measurementsFrom(sheet!, shop, devices);
  expect(measurements).toMatchObject([{ type: "quay-desk", name: "bootSeconds", said: { value: 78 } }]);
  expect(issues.map(({ line, received }) => `${line} ${received}`)).toEqual([
    '3 "pa", which is like no type',
    '4 "Recorder", which is like "recorder"',
  ]);
});

test("what differs between two libraries is said number by number and measurement by measurement", () => {
  const after = libraryFromText(
    grown("type,number,value,date,note\nquay-desk,boot time,78,2026-09-12,load-in\n", true).text,
  );
  expect(libraryChanges(shop.types, after.types)).toEqual([
    {
      ...{ type: "quay-desk", is: "changed" },
      words: ["bootSeconds 78 s, was 75 s", "bootSeconds: new, 78 s measured 2026-09-12 (load-in)"],
    },
  ]);
  expect(libraryChanges(after.types, shop.types)[0]?.words[1]).toBe(
    "bootSeconds: gone, 78 s measured 2026-09-12 (load-in)",
  );
  expect(libraryChanges(shop.types, { ...shop.types, pa: {} })).toEqual([{ type: "pa", is: "new", words: [] }]);
  expect(libraryChanges(shop.types, libraryOf({}).types).map(({ is }) => is)).toEqual(["gone", "gone", "gone"]);
  expect(libraryChanges(shop.types, shop.types)).toEqual([]);
});

test("a library tells what it has, what that stands on, and what a run would assume", () => {
  const [desk, guest, box] = numbersOfTypes(shop);
  expect(desk?.numbers).toMatchObject([{ name: "bootSeconds", value: 75, isOfLike: false, measured: "2026-05-02" }]);
  expect(guest?.numbers).toMatchObject([{ name: "bootSeconds", value: 75, isOfLike: true, measured: "2026-05-02" }]);
  expect(desk?.assumed).not.toContain("bootSeconds");
  expect(box?.assumed).toEqual(expect.arrayContaining(["bootSeconds", "holdoverSeconds", "muteOutOfStep"]));
  const outside = libraryOf({ box: { like: "in-the-rig", origins: { bootSeconds: [loadIn] } } });
  expect(numbersOfTypes(outside)).toMatchObject([
    { like: "in-the-rig", isWhole: false, numbers: [{ name: "bootSeconds", value: null, measured: null }] },
  ]);
});
