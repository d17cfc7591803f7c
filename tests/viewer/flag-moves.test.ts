/** Events moved, copied and taken away at their flags: what the file says of it, and that its comments stay. */
import { describe, expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { type FlagMoves, flagMoves } from "../../viewer/lanes/flag-moves.ts";
import { flagPart, indexOfPart } from "../../viewer/lanes/flag-part.ts";
import { stepWords } from "../../viewer/lanes/move-step.ts";
import type { PageContext } from "../../viewer/page.ts";
import { createWorkspace } from "../../viewer/room/workspace.ts";
import { createStore } from "../../viewer/store.ts";

const MAIN = "rig.json";
const TEXT = `{
  "format": 1,
  "title": "Two desks",
  "run": { "length": "01:00:00" },
  "rig": {
    "sampleRateHz": 48000,
    "leaders": ["a"],
    "supplies": [{ "id": "mains", "batterySeconds": 60 }],
    "devices": [
      { "id": "a", "clockSources": ["internal"], "power": ["mains"] },
      { "id": "b", "clockSources": ["1", "internal"] }
    ],
    "links": [{ "id": "main", "type": "madi", "from": "a.1", "to": "b.1" }]
  },
  "events": [
    { "at": "00:05:00", "do": "hang", "device": "b", "forSeconds": 20 /* s */ }, // the interval
    { "at": "00:10:00", "do": "intermittent", "link": "main", "everySeconds": 5, "outSeconds": 1, "count": 3 }, // bad contact
    // the forklift
    { "at": "00:20:00", "do": "power-cut", "supply": "mains", "forSeconds": 120 },
    { "at": "00:40:00", "do": "reboot", "device": "a" }
  ]
}
`;

function planOf(text: string) {
  const { plan, issues } = readScenario({ file: MAIN, bytes: new TextEncoder().encode(text) }, () => {
    throw new Error("It names no other file.");
  });
  expect(issues).toEqual([]);
  return plan!;
}

function opened(text = TEXT) {
  const plan = planOf(text);
  const files = { main: MAIN, texts: { [MAIN]: text } };
  const workspace = createWorkspace();
  workspace.open(files);
  const store = createStore(3600, 0);
  const said: string[] = [];
  const moves: FlagMoves = flagMoves({
    run: { plan, files },
    store,
    room: { workspace, edit: (what: string, change: (text: string) => string) => void workspace.edit(what, change) },
    announce: (words: string) => void said.push(words),
  } as unknown as PageContext);
  const index = (at: string, deed: string) => {
    const found = plan.events.findIndex(
      (event) => event.do === deed && at === new Date(event.atNs / 1e6).toISOString().slice(11, 19),
    );
    expect(found, `${deed} at ${at}`).toBeGreaterThanOrEqual(0);
    return found;
  };
  return { plan, moves, workspace, store, said, index, text: () => workspace.files()!.texts[MAIN]! };
}

describe("what a flag stands for", () => {
  test("a beginning, an end, or nothing that is written: a battery runs down by itself", () => {
    const { plan, index } = opened();
    expect(flagPart(plan, index("00:05:00", "hang"))).toEqual({ written: 0, ends: null });
    expect(flagPart(plan, index("00:05:20", "unhang"))).toEqual({ written: 0, ends: index("00:05:00", "hang") });
    expect(flagPart(plan, index("00:22:00", "power-back"))).toEqual({
      written: 2,
      ends: index("00:20:00", "power-cut"),
    });
    expect(flagPart(plan, index("00:21:00", "battery-empty"))).toBeNull();
    expect(flagPart(plan, index("00:10:00", "lose-contact"))).toEqual({ written: 1, ends: null });
    expect(flagPart(plan, index("00:10:05", "lose-contact"))).toBeNull();
    for (const at of plan.events.keys()) {
      const part = flagPart(plan, at);
      if (part !== null) expect(indexOfPart(plan, part.written, part.ends !== null)).toBe(at);
    }
  });
});

describe("dragged", () => {
  test("an end changes how long it lasts, in whole steps of the window; comments stay, and one step back restores it", () => {
    const { moves, workspace, store, index, text, said } = opened();
    const end = index("00:05:20", "unhang");
    store.set({ fromSeconds: 0, toSeconds: 600 });
    for (const seconds of [330, 340.2, 352.4]) expect(moves.drag(end, seconds)).toBe(true);
    expect(text()).toBe(TEXT);
    expect(moves.secondsOf(end)).toBe(352);
    expect(store.look()).toMatchObject({ event: end, cursorSeconds: 352 });
    expect(said.at(-1)).toBe("Moved to 00:05:52");
    moves.drop();
    expect(text()).toBe(TEXT.replace('"forSeconds": 20 /*', '"forSeconds": 52 /*'));
    expect(planOf(text()).events.some(({ atNs, do: deed }) => deed === "unhang" && secondsFromNs(atNs) === 352)).toBe(
      true,
    );
    workspace.undo();
    expect(text()).toBe(TEXT);
  });

  test("a beginning takes its end along, on the screen and in the file", () => {
    const { moves, index, text } = opened();
    const [start, end] = [index("00:20:00", "power-cut"), index("00:22:00", "power-back")];
    moves.drag(start, 1500);
    expect([moves.secondsOf(start), moves.secondsOf(end)]).toEqual([1500, 1620]);
    moves.drop();
    expect(text()).toBe(TEXT.replace("00:20:00", "00:25:00"));
  });

  test("while the run of a move is under way one goes on moving from where it has come to", () => {
    const { moves, index, text, workspace } = opened();
    const [start, end] = [index("00:05:00", "hang"), index("00:05:20", "unhang")];
    moves.drag(end, 400);
    moves.drop();
    moves.drag(start, 200);
    expect([moves.secondsOf(start), moves.secondsOf(end)]).toEqual([200, 300]);
    moves.drop();
    expect(text()).toBe(TEXT.replace("00:05:00", "00:03:20").replace('"forSeconds": 20', '"forSeconds": 100'));
    moves.drag(end, 250);
    moves.drop();
    expect(text()).toContain('"00:03:20", "do": "hang", "device": "b", "forSeconds": 50 /* s */');
    // What somebody takes back, or writes otherwise, is not what is shown here.
    for (let step = 0; step < 3; step += 1) workspace.undo();
    expect([moves.secondsOf(start), moves.secondsOf(end)]).toEqual([300, 320]);
    workspace.setText("another hand", MAIN, TEXT.replace('"forSeconds": 20', '"forSeconds": 21'));
    expect(moves.drag(end, 500)).toBe(false);
  });

  test("no end comes before its beginning, nothing leaves the show, and what is given up changes nothing", () => {
    const { moves, index, text } = opened();
    const [start, end] = [index("00:05:00", "hang"), index("00:05:20", "unhang")];
    moves.drag(end, 10);
    expect(moves.secondsOf(end)).toBe(300.001);
    moves.drag(end, 99_999);
    expect(moves.secondsOf(end)).toBe(3600);
    moves.cancel();
    expect(moves.secondsOf(end)).toBe(320);
    moves.drag(start, -50);
    expect(moves.secondsOf(start)).toBe(0);
    moves.cancel();
    moves.drop();
    expect(text()).toBe(TEXT);
    expect(moves.drag(index("00:21:00", "battery-empty"), 5)).toBe(false);
  });
});

describe("typed, copied, taken away", () => {
  test("a typed time is the end's, or is refused with the time at which it begins", () => {
    const { moves, index, text } = opened();
    const end = index("00:05:20", "unhang");
    expect(moves.write(end, "00:04:00", false)).toBe("It begins at 00:05:00: write a later time for its end.");
    expect(text()).toBe(TEXT);
    expect(moves.write(end, "00:05:00.250", false)).toBeNull();
    expect(text()).toContain('"forSeconds": 0.25 /* s */ }, // the interval');
  });

  test("a copy stands beside, and an end that is taken away leaves what began", () => {
    const one = opened();
    one.moves.copy(one.index("00:40:00", "reboot"));
    expect(
      planOf(one.text())
        .events.filter((event) => event.do === "reboot")
        .map(({ atNs }) => atNs / 1e9),
    ).toEqual([2400, 2410]);
    const other = opened();
    expect(other.moves.remove(other.index("00:22:00", "power-back"))).toBe(true);
    expect(other.text()).toBe(TEXT.replace(', "forSeconds": 120', ""));
    // It no longer stands as it was played.
    expect(other.moves.remove(other.index("00:20:00", "power-cut"))).toBe(false);
    expect(other.moves.remove(other.index("00:05:00", "hang"))).toBe(true);
    expect(planOf(other.text()).events.some((event) => event.do === "hang")).toBe(false);
  });
});

test("steps in words", () => {
  expect([0.001, 0.01, 0.1, 1, 10, 60, 600, 3600].map(stepWords)).toEqual([
    ...["1 ms", "10 ms", "100 ms", "1 s", "10 s", "1 min", "10 min", "1 h"],
  ]);
});
