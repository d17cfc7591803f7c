/** Broken sheets: what is wrong is said at its cell, everything at once, and nothing crashes. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { formatIssue, formatIssues } from "../../shared/issues.ts";
import { PATIENCE_MS, tries } from "../helpers/laws.ts";
import { fromTexts, QUAY, quayFile, readText } from "./sheets.ts";

const DEVICES = "Device,Leader,Listens to\nFOH desk,1,own clock\nStage box,,1\n";
const CABLES = "Cable,From,To,Type,Two way,Length\nMain,FOH desk 1,Stage box 1,MADI,y,80\n";
/** Needs no cable. */
const ALONE = "Device,Leader,Listens to\nFOH desk,1,own clock\n";
const PATCH = "Ch,Source,Box,Socket,Desk\n1,Kick,Stage box,1,FOH desk\n";

const said = (texts: Record<string, string>) => fromTexts(texts).issues.map(formatIssue);

test("the tables that the rest is changed from have no issue", () => {
  expect(said({ "devices.csv": DEVICES, "cables.csv": CABLES, "patch.csv": PATCH })).toEqual([]);
});

describe("each at its row and column, with what was expected, what was there, what to do", () => {
  test.each<[string, Record<string, string>, RegExp[]]>([
    [
      "a name twice",
      { "devices.csv": `${ALONE}foh DESK,,own clock\n` },
      [/^devices\.csv:3:1 › Device: expected .*, received "?foh-desk"?.*; /],
    ],
    [
      "a cable to nowhere",
      {
        "devices.csv": DEVICES,
        "cables.csv": `${CABLES}Two,FOH desk 2,,MADI,,8\nThree,FOH desk 3,Stag box 3,MADI,,8\n`,
      },
      [
        /^cables\.csv:3:16 › To: expected a device and its port, such as stage\.1, received nothing; write where/,
        /^cables\.csv:4:18 › To: expected a device of the table of devices, received "Stag box 3"; did you mean "Stage box"\? If not, add it there: does it lead\? What/,
      ],
    ],
    [
      "a source that no cable brings: never the same name as a guess",
      { "devices.csv": DEVICES.replace(",,1", ",,FOH desk") },
      [
        /^devices\.csv:3:12 › "Listens to": .*received "FOH desk"; no cable brings this device a clock from there: add one/,
      ],
    ],
    [
      "a port twice",
      { "devices.csv": DEVICES, "cables.csv": `${CABLES}Two,FOH desk 1,Stage box 2,MADI,,8\n` },
      [/^cables\.csv:3:5 › From: expected a port that no other link uses/],
    ],
    [
      "a socket twice and a channel twice",
      { "devices.csv": DEVICES, "cables.csv": CABLES, "patch.csv": `${PATCH}1,Snare,Stage box,1,FOH desk\n` },
      [
        /^patch\.csv:3:1 › Ch: expected a channel of/,
        /^patch\.csv:3:19 › Socket: expected a socket of "Stage box" that no other source is in \("Kick" is in this one\), received "1"; /,
      ],
    ],
    [
      "a length in words",
      { "devices.csv": DEVICES, "cables.csv": CABLES.replace("80", "long") },
      [/^cables\.csv:2:36 › Length: expected a length, such as 12 m, 12,5, 40 ft or 39' 4", received "long"; /],
    ],
    [
      "a thousand or one",
      { "devices.csv": DEVICES, "cables.csv": CABLES.replace("80", '"1,000"') },
      [/^cables\.csv:2:36 › Length: .*received "1,000"; write 1000 for a thousand/],
    ],
    [
      "a type that is none",
      { "devices.csv": DEVICES, "cables.csv": CABLES.replace("MADI", "string") },
      [/^cables\.csv:2:29 › Type: expected one of aes3, madi/],
    ],
    [
      "a clock from nobody",
      { "devices.csv": DEVICES.replace(",,1", ",,Organ"), "cables.csv": CABLES },
      [
        /^devices\.csv:3:12 › "Listens to": expected a port that a cable arrives at, the device or the cable that it comes from, or own clock, received "Organ"; /,
      ],
    ],
    [
      "a patch to a desk that is not there",
      { "devices.csv": DEVICES, "cables.csv": CABLES, "patch.csv": `${PATCH}2,Snare,Stage box,2,Truck\n` },
      [
        /^patch\.csv:3:21 › Desk: expected a device of the table of devices, received "Truck"; add it there: does it lead/,
      ],
    ],
    ["no kind of table", { "lunch.csv": "day,soup\nMonday,leek\n" }, [/^lunch\.csv:1:1: expected a row of headings/]],
    ["nothing at all", { "empty.csv": "" }, [/^empty\.csv:1:1: expected a row of headings .*received an empty table/]],
    [
      "quotes that do not close",
      { "devices.csv": `${ALONE}"Wing box,,1\n` },
      [/^devices\.csv:3:1: expected a closing quote/],
    ],
    [
      "text behind quotes",
      { "devices.csv": `${ALONE}"Wing" box,,own clock\n` },
      [/^devices\.csv:3:7: expected the end of the cell after a closing quote/],
    ],
    [
      "a cell too many",
      { "devices.csv": `${ALONE}Wing box,,own clock,upstage\n` },
      [
        /^devices\.csv:3:21: expected at most 3 cells, one under each heading, received "upstage"; put a text with a comma/,
      ],
    ],
    [
      "a time of two parts",
      { "devices.csv": DEVICES, "cables.csv": CABLES, "events.csv": "At,Do,What\n20:00,reboot,FOH desk\n" },
      [
        /^events\.csv:2:1 › At: expected an instant of the show, .* as hours and minutes it is 20:00:00: write that, or 00:20:00;/,
      ],
    ],
    [
      "a time of day outside of the show, and one that arrives and is there",
      {
        "show.csv": "Show,Length,Starts at\nLantern Quay,1:30,17:30\n",
        "devices.csv":
          "Device,Leads,Listens to,Arrives,At the start\nFOH desk,1,own clock,,\nStage box,,FOH desk,17:00,on\n",
        "cables.csv": CABLES,
      },
      [
        /^devices\.csv:\d+:\d+ › Arrives: .* by the clock the show goes from 17:30 to 19:00/,
        /^devices\.csv:\d+:\d+ › Arrives: expected nothing, or off at the start/,
      ],
    ],
  ])("%s", (_, texts, wanted) => {
    const lines = said(texts);
    expect(lines.length, lines.join("\n")).toBe(wanted.length);
    wanted.forEach((pattern, index) => {
      expect(lines[index]).toMatch(pattern);
    });
  });

  test("all of them at once, by file and place", () => {
    const lines = said({
      "devices.csv": DEVICES.replace("own clock", "moon"),
      "cables.csv": CABLES.replace("80", "long").replace("MADI", "string"),
      "patch.csv": PATCH.replace("FOH desk", "Truck"),
    });
    expect(lines.map((line) => line.split(" ")[0])).toEqual([
      "devices.csv:2:12",
      "cables.csv:2:29",
      "cables.csv:2:38",
      "patch.csv:2:20",
    ]);
  });

  test("lines are counted through quoted line breaks", () => {
    const lines = said({ "devices.csv": 'Device,Listens to\n"FOH\n\ndesk",own clock\nStage,Organ\n' });
    expect(lines).toHaveLength(1);
    expect(lines[0]).toMatch(/^devices\.csv:5:7 › /);
  });

  test("a table in another encoding is refused as such", () => {
    const texts = { "devices.csv": "Device\n\0\0\n" };
    expect(said(texts)[0]).toMatch(
      /^devices\.csv:1:1: expected a table in UTF-8, received another encoding; save it as CSV in UTF-8$/,
    );
  });

  test("nothing of a cell becomes part of the file", () => {
    const { text, issues } = fromTexts({
      "devices.csv": 'Device,Listens to,Remark\nFOH,own clock,"x\u2028""y"" */\r\n}, { ""id"": ""ghost"" }"\n',
    });
    expect(formatIssues(issues)).toEqual([]);
    expect(readText(text as string).plan?.devices.map(({ id }) => id)).toEqual(["foh"]);
  });
});

test("sheets broken by chance: issues at a row and column of theirs, or a file that is read; never a crash", {
  timeout: PATIENCE_MS,
}, () => {
  const whole = Object.fromEntries(QUAY.map((name) => [name, quayFile(name)]));
  const wounds = fc.array(
    fc.record({
      file: fc.constantFrom(...QUAY),
      at: fc.nat(5000),
      length: fc.nat(12),
      put: fc.oneof(
        fc.constantFrom(
          '"',
          '""',
          ",",
          ";",
          "\t",
          "\n",
          "\r\n",
          "\0",
          "=1+1",
          "'",
          "[",
          "{",
          "-",
          "1,000",
          "\u2028",
          "💡",
          "__proto__",
          "constructor",
          "[",
        ),
        fc.string({ maxLength: 6 }),
      ),
    }),
    { minLength: 1, maxLength: 6 },
  );
  const reached = { refused: 0, read: 0 };
  const runs = tries(150);
  fc.assert(
    fc.property(wounds, (all) => {
      const texts: Record<string, string> = { ...whole };
      for (const { file, at, length, put } of all) {
        const text = texts[file] as string;
        const start = at % (text.length + 1);
        texts[file] = text.slice(0, start) + put + text.slice(start + length);
      }
      const { text, issues } = fromTexts(texts);
      if (text === null) reached.refused++;
      else reached.read++;
      expect(text === null).toBe(issues.length > 0);
      for (const issue of issues) {
        const lines = (texts[issue.file] as string).split(/\r\n|\n|\r/);
        expect(issue.line).toBeGreaterThanOrEqual(1);
        expect(issue.line).toBeLessThanOrEqual(lines.length);
        expect(issue.column).toBeGreaterThanOrEqual(1);
        expect(issue.column).toBeLessThanOrEqual((lines[issue.line - 1] as string).length + 1);
        for (const words of [issue.expected, issue.received, issue.remedy]) expect(words).not.toBe("");
      }
      if (text !== null) expect(readText(text).issues).toEqual([]);
    }),
    runs,
  );
  const least = (runs.numRuns as number) / 20;
  expect(reached.refused).toBeGreaterThan(least);
  expect(reached.read).toBeGreaterThan(least);
});
