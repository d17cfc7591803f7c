/** The three tables as text edits: what a cell shows, what is typed into it, lists of a spreadsheet, and back again. */
import { readFileSync } from "node:fs";
import fc from "fast-check";
import { parse } from "jsonc-parser";
import { describe, expect, test } from "vitest";
import { formatIssues } from "../../shared/issues.ts";
import { readScenario } from "../../shared/scenario.ts";
import { rigFilesOf } from "../../sim/rig-files.ts";
import { plainName, type ScenarioTexts } from "../../sim/run-data.ts";
import { shapeOf } from "../../sim/tables/columns.ts";
import { knownSheet } from "../../sim/tables/sheet.ts";
import { tablesFromScenario } from "../../sim/tables/write.ts";
import { benchOf, columnsOf, itemsIn, RIG_TABLES, type RigTable } from "../../viewer/tables/bench.ts";
import { addRow, removeRow, setCell } from "../../viewer/tables/edits.ts";
import { labelOf } from "../../viewer/tables/labels.ts";
import { NEW_RIG } from "../../viewer/tables/new-rig.ts";
import { issueWords, pathInRig, placeOf, questionsOf } from "../../viewer/tables/notes.ts";
import { pasted } from "../../viewer/tables/paste.ts";
import { shownCell, sortedRows } from "../../viewer/tables/shown.ts";
import { PATIENCE_MS, tries } from "../helpers/laws.ts";
import { fileOfPlan } from "../helpers/plan-file.ts";
import { plans } from "../helpers/random-rig.ts";
import { quayFile } from "../tables/sheets.ts";

const oneText = (value: unknown): ScenarioTexts => ({ main: "a.json", texts: { "a.json": JSON.stringify(value) } });
const mainOf = ({ main, texts }: ScenarioTexts) => texts[main] as string;
const read = ({ main, texts }: ScenarioTexts) =>
  readScenario({ file: main, bytes: new TextEncoder().encode(texts[main]) }, (name) => ({
    bytes: new TextEncoder().encode(texts[plainName(name)] ?? ""),
  }));
const bench = (files: ScenarioTexts) => benchOf(rigFilesOf(files));
const rigIn = (files: ScenarioTexts) => bench(files).rig;
const keysOf = (table: RigTable) => columnsOf(table).map(({ key }) => key);
const rows = (files: ScenarioTexts, table: RigTable) => itemsIn(rigIn(files), table).map((_, index) => index);
const cell = (files: ScenarioTexts, table: RigTable, index: number, key: string) =>
  shownCell(bench(files), table, index, key);
const atEnd = (files: ScenarioTexts, table: RigTable, key = "id") => {
  const all = rows(files, table);
  return { table, rows: all, row: all.length, keys: keysOf(table), key };
};
const put = (files: ScenarioTexts, text: string, table: RigTable = "devices") =>
  pasted(files, text, atEnd(files, table));
const asTabs = (all: readonly (readonly string[])[]) =>
  all
    .map((row) => row.map((text) => (/[\t\n"]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text)).join("\t"))
    .join("\n");

/** Every cell typed in as it is shown; how many said something. */
function retyped(files: ScenarioTexts): { files: ScenarioTexts; said: number } {
  let [made, said] = [files, 0];
  for (const table of RIG_TABLES)
    for (const index of rows(files, table))
      for (const key of keysOf(table)) {
        const { text } = cell(made, table, index, key);
        if (text !== "") said++;
        made = setCell(made, table, index, key, { text });
      }
  return { files: made, said };
}

describe("a cell typed in as it is shown changes nothing, to the byte", () => {
  test("of random rigs", { timeout: PATIENCE_MS }, () => {
    const reached = { cells: 0, spares: 0, second: 0 };
    const runs = tries(4);
    fc.assert(
      fc.property(plans({ spares: true, secondSources: true, bending: true, heatTables: true }), (plan) => {
        const files = oneText(fileOfPlan(plan));
        const back = retyped(files);
        expect(mainOf(back.files)).toBe(mainOf(files));
        reached.cells += back.said;
        if (plan.spares.length > 0) reached.spares++;
        if (plan.devices.some(({ clockSources }) => clockSources.length > 1)) reached.second++;
      }),
      runs,
    );
    expect(reached.cells).toBeGreaterThan(500);
    expect(Math.min(reached.spares, reached.second)).toBeGreaterThan((runs.numRuns as number) / 10);
  });

  // A rig in a file of its own with types, lines with T-pieces, networks and streams, converters, a table of heat.
  const shipped = [
    "leader-reboot",
    "word-clock-line",
    "one-switch-reboots",
    "guests-through-converters",
    "winter-truck",
  ];
  test.each(shipped)("of %s", (name) => {
    const main = `${name}.json`;
    const texts: Record<string, string> = { [main]: readFileSync(`scenarios/${main}`, "utf8") };
    readScenario({ file: main, bytes: readFileSync(`scenarios/${main}`) }, (name) => {
      texts[plainName(name)] = readFileSync(`scenarios/${name}`, "utf8");
      return { bytes: readFileSync(`scenarios/${name}`) };
    });
    const back = retyped({ main, texts });
    expect(back.said).toBeGreaterThan(10);
    expect(back.files.texts).toEqual(texts);
  });
});

test("a rig that is pasted into empty tables, list by list, is the same plan", { timeout: PATIENCE_MS }, () => {
  let reached = 0;
  const runs = tries(25);
  fc.assert(
    fc.property(plans({ secondSources: true, heatTables: true, eventCount: [0, 0] }), (plan) => {
      const file = fileOfPlan(plan) as { rig: Record<string, unknown> };
      const before = read(oneText(file));
      if (before.plan === null) return;
      const empty = oneText({ ...file, rig: { ...file.rig, leaders: [], devices: [], links: [], feeds: [] } });
      const made = tablesFromScenario(file, {})
        .filter(({ name }) => RIG_TABLES.some((table) => table === name))
        .reduce((all, table) => (table.rows.length > 1 ? put(all, asTabs(table.rows)).files : all), empty);
      const after = read(made);
      expect(formatIssues(after.issues)).toEqual([]);
      expect(after.plan).toEqual(before.plan);
      reached++;
    }),
    runs,
  );
  expect(reached).toBeGreaterThan((runs.numRuns as number) / 2);
});

// ---- the lists of Lantern Quay, as people type them

const LISTS = ["devices", "cables", "feeds"].map((name) => quayFile(`${name}.csv`));
const quay = () => LISTS.reduce((files, list) => put(files, list).files, NEW_RIG);

describe("lists of a spreadsheet, pasted one after another into a new rig", () => {
  test("names that nothing answers to yet wait as they were typed, and are ids and ports as soon as something does", () => {
    const devices = put(NEW_RIG, LISTS[0] as string).files;
    expect(itemsIn(rigIn(devices), "devices").map(({ clockSources }) => clockSources)).toEqual([
      ["internal"],
      ["Stage box", "internal"],
      ["FOH desk", "spare"],
      ["Monitor desk"],
      ["FOH desk"],
      undefined,
    ]);
    expect(rigIn(devices).leaders).toEqual(["foh-desk", "monitor-desk"]);
    const files = quay();
    expect(itemsIn(rigIn(files), "devices").map(({ clockSources }) => clockSources)).toEqual([
      ["internal"],
      ["1", "internal"],
      ["1", "2"],
      ["1"],
      ["1"],
      undefined,
    ]);
    expect(rigIn(files).spares).toEqual([{ id: "Main-and-spare", links: ["Main", "Spare"] }]);
    expect(cell(files, "devices", 2, "clockSources").words).toBe(
      "listens to port 1 (FOH desk), then port 2 (FOH desk)",
    );
    expect(cell(files, "cables", 2, "lengthMetres").text).toBe("15.24");
    expect(cell(files, "feeds", 0, "through").words).toBe("Stage box > FOH desk > PA processor");
  });

  test("in any order the rig is the same, and no column is lost", () => {
    const files = quay();
    const other = [LISTS[2], LISTS[1], LISTS[0]].reduce((made, list) => put(made, list as string).files, NEW_RIG);
    const sorted = (made: ScenarioTexts) => JSON.stringify(rigIn(made));
    expect(sorted(other)).toBe(sorted(files));
    for (const comment of ["Owner: hire", "Colour: red", "Label: PA left"])
      expect(mainOf(files)).toContain(`// ${comment}`);
    // Counted on the patch sheet, which these tables do not take.
    expect(read(files).issues.map(({ path }) => path)).toEqual([["rig", "feeds", 2, "channels"]]);
    expect(read(setCell(files, "feeds", 2, "channels", { text: "6" })).plan?.devices).toHaveLength(6);
  });

  test("pasted once more they change nothing, and what differs is changed where it stands", () => {
    const files = quay();
    for (const list of LISTS) expect(mainOf(put(files, list).files)).toBe(mainOf(files));
    const again = put(files, "Cable\tLength\nSpare\t120 m\nMore\t3 m\n", "cables");
    expect(again.says).toEqual(["Pasted two cables: 1 added, 1 changed."]);
    expect(cell(again.files, "cables", 1, "lengthMetres").text).toBe("120");
    expect(rows(again.files, "cables")).toHaveLength(10);
  });
});

describe("cell by cell", () => {
  const COMMENTED = `{
  "format": 1, "title": "Two", "run": { "length": "00:10:00" },
  "rig": {
    "sampleRateHz": 48000, // as the truck has it
    "leaders": ["a"],
    "deviceTypes": { "box": { "kind": "stage-box", "oscillator": { "offsetPpm": 3 } } },
    "devices": [
      { "id": "a", "name": "FOH desk", "clockSources": ["internal"] },
      // the rented one
      { "id": "b", "like": "box", "clockSources": ["1"] } // until Friday
    ],
    "links": [{ "id": "main", "type": "madi", "from": "a.1", "to": "b.1", "lengthMetres": 80 /* measured */ }],
    "feeds": [{ "id": "mix", "through": ["b", "a"], "channels": 2 }] // for now
  },
  "expect": [{ "feed": "mix", "slips": { "max": 0 } }]
}
`;
  const commented: ScenarioTexts = { main: "two.json", texts: { "two.json": COMMENTED } };
  const set = (files: ScenarioTexts, table: RigTable, index: number, key: string, text: string) =>
    setCell(files, table, index, key, { text });

  test("what is typed replaces its value and nothing else", () => {
    const typed: [RigTable, number, string, string, string, string][] = [
      ["cables", 0, "lengthMetres", "30 ft", '"lengthMetres": 80', '"lengthMetres": 9.144'],
      ["cables", 0, "lengthMetres", "about 80", '"lengthMetres": 80', '"lengthMetres": "about 80"'],
      ["cables", 0, "from", "FOH desk port 2", '"from": "a.1"', '"from": "a.2"'],
      ["cables", 0, "to", "nobody 3", '"to": "b.1"', '"to": "nobody 3"'],
      ["cables", 0, "return", "yes", "80 /* measured */ }", '80, "return": true /* measured */ }'],
      ["devices", 0, "bootSeconds", "1.5 min", '["internal"] }', '["internal"], "bootSeconds": 90 }'],
      ["devices", 1, "~leads", "1", '"leaders": ["a"]', '"leaders": ["b", "a"]'],
      ["devices", 1, "clockSources", "FOH desk, then own clock", '["1"]', '["1", "internal"]'],
      ["devices", 1, "clockSources", "as assumed", ', "clockSources": ["1"] }', " }"],
      ["devices", 1, "oscillator.offsetPpm", "-2", '["1"] }', '["1"], "oscillator": { "offsetPpm": -2 } }'],
      ["feeds", 0, "through", "b > FOH desk > nobody", '["b", "a"]', '["b", "a", "nobody"]'],
      ["feeds", 0, "heardBy", "IEMs, wedge", '"channels": 2', '"channels": 2, "heardBy": ["in-ears", "wedges"]'],
    ];
    for (const [table, index, key, text, before, after] of typed)
      expect(mainOf(set(commented, table, index, key, text)), `${key}: ${text}`).toBe(COMMENTED.replace(before, after));
  });

  test("what comes from a type is shown as such, until a cell says something of its own", () => {
    expect(cell(commented, "devices", 1, "kind")).toEqual({ text: "", words: "stage-box", type: "box" });
    expect(cell(commented, "devices", 1, "oscillator.offsetPpm").words).toBe("3");
    const own = set(commented, "devices", 1, "kind", "recorder");
    expect(cell(own, "devices", 1, "kind")).toEqual({ text: "recorder", words: "recorder", type: null });
    expect(mainOf(set(own, "devices", 1, "kind", ""))).toBe(COMMENTED);
  });

  test("another type of cable keeps the ends, whichever way they are written", () => {
    const both = set(commented, "cables", 0, "type", "aes50");
    expect(itemsIn(rigIn(both), "cables")[0]).toEqual({
      id: "main",
      type: "aes50",
      lengthMetres: 80,
      ends: ["a.1", "b.1"],
    });
    expect(cell(both, "cables", 0, "to").text).toBe("b port 1");
    expect(rigIn(set(both, "cables", 0, "type", "AES/EBU")).links).toEqual([
      { id: "main", type: "aes3", lengthMetres: 80, from: "a.1", to: "b.1" },
    ]);
  });

  test("another id goes everywhere; a row that is taken away takes along what named it", () => {
    const renamed = set(commented, "devices", 1, "id", "box-1");
    expect(mainOf(renamed)).toContain('"to": "box-1.1"');
    expect(mainOf(renamed)).toContain('"through": ["box-1", "a"]');
    const without = removeRow(commented, "feeds", 0).files;
    expect(parse(mainOf(without))).toMatchObject({ rig: { feeds: [] }, expect: [] });
    expect(rigIn(removeRow(commented, "devices", 1).files)).toMatchObject({ links: [], feeds: [] });
    expect(mainOf(without)).toContain("// until Friday");
    expect(removeRow(commented, "devices", 1).says).toBe(
      "With it go the main cable, the feed mix and one expectation.",
    );
  });

  test("a row begins with whichever cell is typed first, and is called by its name as soon as it has one", () => {
    const kind = addRow(commented, "devices", "kind", { text: "Mixer" });
    expect(itemsIn(rigIn(kind), "devices")[2]).toEqual({ id: "device-3", kind: "desk" });
    const named = set(kind, "devices", 2, "name", "Guest desk");
    expect(itemsIn(rigIn(named), "devices")[2]).toEqual({ id: "guest-desk", kind: "desk", name: "Guest desk" });
    expect(rigIn(addRow(commented, "devices", "~leads", { text: "2" })).leaders).toEqual(["a", "device-3"]);
    const cable = addRow(commented, "cables", "from", { text: "FOH desk" });
    expect(itemsIn(rigIn(cable), "cables")[1]).toEqual({ id: "cable-2", from: "a.2" });
  });

  test("who leads is said with a number, and nothing else is written", () => {
    expect(() => set(commented, "devices", 1, "~leads", "perhaps")).toThrow("Write 1 for the device that leads");
    expect(rigIn(set(commented, "devices", 0, "~leads", "")).leaders).toEqual([]);
  });

  test("a block of cells goes in from where somebody is, in the order that is shown, and over the last row", () => {
    const spot = { table: "devices" as const, rows: [1, 0], keys: ["name", "kind", "~leads"], row: 0, key: "name" };
    const { files, what } = pasted(commented, 'Stage box\tbox\n"FOH\ndesk 2"\tdesk\nPA\tprocessor\t2', spot);
    expect(what).toBe("paste of three rows");
    expect(itemsIn(rigIn(files), "devices").map(({ id, name, kind }) => [id, name, kind])).toEqual([
      ["a", "FOH desk 2", "desk"],
      ["b", "Stage box", "stage-box"],
      ["pa", "PA", "processor"],
    ]);
    expect(rigIn(files).leaders).toEqual(["a", "pa"]);
    expect(mainOf(files)).toContain("// the rented one");
    const wide = pasted(commented, "1\t2\t3", { ...spot, key: "~leads" });
    expect(wide.says[0]).toContain("two columns");
  });

  test("what is no list of the three is refused in words", () => {
    expect(() => put(commented, "Time\tEvent\n0:10:00\treboot")).toThrow("a table of events");
  });

  test("sorting goes by what is shown, numbers as numbers, and blanks last either way", () => {
    const files = put(NEW_RIG, "Name,Boot time\nSlow,100\nOpen,\nQuick,20").files;
    expect(sortedRows(bench(files), "devices", "bootSeconds", false)).toEqual([2, 0, 1]);
    expect(sortedRows(bench(files), "devices", "bootSeconds", true)).toEqual([0, 2, 1]);
    expect(sortedRows(bench(files), "devices", "name", false)).toEqual([1, 2, 0]);
  });

  test("every column is found again by what the page calls it", () => {
    for (const table of RIG_TABLES) {
      const keys = keysOf(table);
      const sheet = { file: "", rows: [keys.map((key, column) => ({ text: labelOf(table, key), line: 1, column }))] };
      const found = knownSheet(sheet, [{ ...shapeOf(table), needs: [] }]);
      if (!("shape" in found)) throw new Error("no headings");
      expect(found.headings.map(({ column }) => column?.key)).toEqual(keys);
    }
  });
});

describe("what there is to say of cells", () => {
  test("each issue of the file is found at its cell, by the rules of tables where these know more", () => {
    const list = "Cable,Type,From,To,Both ways,Length\nMain,madi,foh 1,box,ja,80 yd\n";
    const files = put(put(NEW_RIG, "Name,Clock\nFOH,own clock\nBox,FOH; attic").files, list).files;
    const rigFiles = rigFilesOf(files);
    const said = read(files).issues.map((issue) => {
      const path = pathInRig(rigFiles, issue);
      const place = path && placeOf(rigFiles.rig, path);
      return place && [place.table, place.index, place.key, issueWords(rigFiles.rig, place, issue)];
    });
    expect(said).toEqual([
      ["devices", 1, "clockSources", "Nothing here is called attic: name a port, a device, a cable, or own clock."],
      ["cables", 0, "return", "Expected yes or no."],
      [
        "cables",
        0,
        "lengthMetres",
        "Expected a length, such as 12 m, 12,5, 40 ft or 39' 4\"; write the number of metres, or with a unit behind each number, like 39 ft 4 in.",
      ],
    ]);
  });

  test("what nobody has said is asked", () => {
    expect(questionsOf(bench(NEW_RIG))).toHaveLength(1);
    const files = put(NEW_RIG, "Name\nFOH\nBox").files;
    expect(questionsOf(bench(files)).map((question) => question.split("?")[0])).toEqual([
      "Who leads the clock",
      "What do FOH and Box listen to",
      "Which cables join the devices",
      "Which feeds go through the rig, and who hears them",
    ]);
    const led = put(files, "Name\tLeader\tClock\nFOH\t1\town clock").files;
    expect(questionsOf(bench(led))[0]).toBe("What does Box listen to? Until somebody says, to its own clock.");
  });
});
