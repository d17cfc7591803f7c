/** What is worked on: steps back and forth, drafts, files that are opened, and events that the form can write. */
import { readFileSync } from "node:fs";
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { parseShowTime } from "../../shared/units.ts";
import { plainName, type ScenarioTexts } from "../../sim/run-data.ts";
import { draftKeeper } from "../../viewer/room/draft.ts";
import { addEvent, eventsIn, moveEvent, removeEvent } from "../../viewer/room/edits.ts";
import { EVENT_KINDS, plainWords, sourcesIn } from "../../viewer/room/event-kinds.ts";
import { libraryAlone, opened, readGiven } from "../../viewer/room/opening.ts";
import { allShipped, shipped } from "../../viewer/room/shipped.ts";
import { lastingIn, numberIn, showLengthIn, showTimeIn } from "../../viewer/room/typed.ts";
import { createWorkspace } from "../../viewer/room/workspace.ts";

const textOf = (file: string) => readFileSync(`scenarios/${file}`, "utf8");
const read = ({ main, texts }: ScenarioTexts) =>
  readScenario({ file: main, bytes: new TextEncoder().encode(texts[main]) }, (name) => ({
    bytes: new TextEncoder().encode(texts[plainName(name)]),
  }));

test("the result of a pull test is no scenario, nor is a table: it is said where they belong, and what is open stays", async () => {
  const files = [
    new File(['{ "format": 1, "what": "pull test", "pulls": [] }'], "pull-test-K7-QF.json"),
    new File(["Device;Type\nFOH;desk\n"], "devices.csv"),
    new File([textOf("own-clock.json")], "own-clock.json"),
    new File([""], "empty.json"),
  ];
  const { given, problems } = await readGiven(files);
  expect(given.map(({ name }) => name)).toEqual(["own-clock.json", "empty.json"]);
  expect(problems).toEqual([
    "pull-test-K7-QF.json is the result of a pull test: open it, or drop it, at Pull test on site.",
    "devices.csv is no scenario, which stands in braces. A list from a spreadsheet goes into The rig as tables: Paste a list.",
  ]);
});

describe("the workspace", () => {
  test("whatever is done, every step back restores every byte, and every step forth as well", () => {
    let deepest = 0;
    fc.assert(
      fc.property(fc.array(fc.nat(3), { maxLength: 30, size: "max" }), (deeds) => {
        const workspace = createWorkspace();
        workspace.open(shipped("leader-reboot.json"));
        const seen = [JSON.stringify(workspace.files())];
        for (const [step, deed] of deeds.entries()) {
          const at = `00:${String(10 + step).padStart(2, "0")}:00`;
          if (deed === 0) workspace.edit("add", (text) => addEvent(text, { at, do: "hang", device: "rec" }));
          else if (deed === 1) workspace.edit("move", (text) => moveEvent(text, 0, at));
          else if (deed === 2) workspace.edit("remove", (text) => removeEvent(text, 0));
          else workspace.setText("typing", "quay.rig.json", `// ${step}\n${workspace.files()!.texts["quay.rig.json"]}`);
          const now = JSON.stringify(workspace.files());
          if (now !== seen.at(-1)) seen.push(now);
        }
        deepest = Math.max(deepest, seen.length);
        for (const text of seen.toReversed()) {
          expect(JSON.stringify(workspace.files())).toBe(text);
          workspace.undo();
        }
        expect(workspace.undoes()).toBeNull();
        expect(workspace.isChanged()).toBe(false);
        for (const text of seen) {
          expect(JSON.stringify(workspace.files())).toBe(text);
          workspace.redo();
        }
        expect(workspace.redoes()).toBeNull();
      }),
    );
    expect(deepest).toBeGreaterThan(10);
  });

  test("a row of keys in one file is one step; anything between begins another; a change ends what could be redone", () => {
    const workspace = createWorkspace();
    workspace.open({ main: "a.json", texts: { "a.json": "{}", "b.json": "{}" } });
    for (const text of ["{ ", "{  ", "{   "]) workspace.setText("typing", "a.json", text, true);
    for (const text of ["[", "[]"]) workspace.setText("typing", "b.json", text, true);
    workspace.undo();
    expect(workspace.files()!.texts).toEqual({ "a.json": "{   ", "b.json": "{}" });
    workspace.undo();
    expect(workspace.files()!.texts["a.json"]).toBe("{}");
    expect([workspace.undoes(), workspace.redoes()]).toEqual([null, "typing"]);
    workspace.setText("other", "a.json", "[]");
    expect([workspace.undoes(), workspace.redoes()]).toEqual(["other", null]);
  });

  test("a text that cannot be changed says why, and stays", () => {
    const workspace = createWorkspace();
    expect(workspace.edit("x", (text) => text)).toContain("no file");
    workspace.open({ main: "a.json", texts: { "a.json": "{ broken" } });
    expect(workspace.edit("x", (text) => removeEvent(text, 0))).toContain("mend it as text");
    expect(workspace.undoes()).toBeNull();
  });

  test("what was changed and left for other files comes back by one step, with the steps before it; what was not is gone", () => {
    const workspace = createWorkspace();
    const look = () => [workspace.files()!.main, workspace.isChanged(), workspace.undoes(), workspace.redoes()];
    workspace.open(shipped("leader-reboot.json"));
    workspace.open(shipped("two-clocks.json"));
    expect(look()).toEqual(["two-clocks.json", false, null, null]);
    workspace.edit("remove", (text) => `${text} `);
    const changed = workspace.files();
    workspace.open(shipped("own-clock.json"));
    workspace.open(shipped("leader-reboot.json"));
    expect(look()).toEqual(["leader-reboot.json", false, "open leader-reboot.json", null]);
    workspace.undo();
    expect(workspace.files()).toBe(changed);
    expect(workspace.original()).toEqual(shipped("two-clocks.json"));
    expect(look()).toEqual(["two-clocks.json", true, "remove", "open leader-reboot.json"]);
    workspace.redo();
    expect(look()).toEqual(["leader-reboot.json", false, "open leader-reboot.json", null]);
    workspace.undo();
    workspace.undo();
    expect(look()).toEqual(["two-clocks.json", false, null, "remove"]);
    workspace.edit("other", (text) => `${text}  `);
    expect(look()).toEqual(["two-clocks.json", true, "other", null]);
  });

  test("saved is unchanged, and going back from there is a change", () => {
    const workspace = createWorkspace();
    workspace.open(shipped("leader-reboot.json"));
    workspace.edit("remove", (text) => removeEvent(text, 0));
    expect(workspace.isChanged()).toBe(true);
    workspace.saved();
    expect(workspace.isChanged()).toBe(false);
    workspace.undo();
    expect(workspace.isChanged()).toBe(true);
  });
});

describe("drafts", () => {
  const storage = () => {
    const kept = new Map<string, string>();
    return {
      getItem: (key: string) => kept.get(key) ?? null,
      setItem: (key: string, text: string) => void kept.set(key, text),
      removeItem: (key: string) => void kept.delete(key),
      kept,
    } as unknown as Storage & { kept: Map<string, string> };
  };
  test("what is kept comes back, and a run's draft is its own", () => {
    const place = storage();
    const workspace = createWorkspace();
    workspace.open(shipped("leader-reboot.json"));
    workspace.edit("remove", (text) => removeEvent(text, 0));
    const keeper = draftKeeper(() => place, null);
    keeper.keep(workspace);
    expect(keeper.problem()).toBeNull();
    expect(draftKeeper(() => place, null).read()).toEqual({
      original: shipped("leader-reboot.json"),
      files: workspace.files(),
      isChanged: true,
    });
    expect(draftKeeper(() => place, "abc").read()).toBeNull();
    keeper.discard();
    expect(keeper.read()).toBeNull();
  });

  test("what is there but is no draft is none; a storage that refuses is said, at any touch", () => {
    const place = storage();
    for (const text of ["", "{", "null", "3", '{"format":1}', '{"format":2,"original":{},"files":{}}']) {
      place.kept.set("pulltest draft", text);
      expect(draftKeeper(() => place, null).read()).toBeNull();
    }
    const refusing = draftKeeper(() => {
      throw new Error("denied");
    }, null);
    expect(refusing.read()).toBeNull();
    expect(refusing.problem()).toContain("keeps no draft");
  });
});

describe("opening", () => {
  test("every shipped scenario is read without a problem, with the files it names", () => {
    expect(allShipped().length).toBeGreaterThan(15);
    for (const { file } of allShipped()) expect(read(shipped(file)).issues, file).toEqual([]);
  });

  test("a scenario among several files is the one to play; a shipped rig that was not given is said", () => {
    const rig = { name: "quay.rig.json", text: textOf("quay.rig.json") };
    const scenario = { name: "mine.json", text: textOf("leader-reboot.json") };
    const both = opened([rig, scenario], null)!;
    expect([both.files.main, both.notes]).toEqual(["mine.json", []]);
    const alone = opened([scenario], null)!;
    expect(alone.notes.join()).toContain("names quay.rig.json, which was not given");
    expect(read(alone.files).issues).toEqual([]);
    const added = opened([{ ...rig, text: `// mine\n${rig.text}` }], alone.files)!;
    expect(added.isAddition).toBe(true);
    expect(added.files.texts["quay.rig.json"]).toMatch(/^\/\/ mine/);
    expect(opened([{ name: "other.json", text: "{}" }], alone.files)!.files.main).toBe("other.json");
    expect(opened([scenario, { ...scenario, name: "two.json" }], null)!.notes.join()).toContain(
      "two.json can be opened",
    );
  });
});

describe("what comes without a scenario", () => {
  const rig = {
    name: "mine.rig.json",
    text: `{ "format": 1, "sampleRateHz": 48000, "leaders": ["a"], "library": "./quay.library.json", // the shop's
      "devices": [{ "id": "a", "like": "quay-desk", "clockSources": ["internal"] }], "links": [], "feeds": [] }`,
  };
  const library = { name: "quay.library.json", text: textOf("quay.library.json") };

  test("a rig that nothing open names has a show begun around it, with what comes along", () => {
    const made = opened([library, rig], shipped("two-clocks.json"))!;
    expect([made.files.main, made.isAddition]).toEqual(["mine.show.json", false]);
    expect(made.notes).toEqual([
      "mine.rig.json is a rig without a show: mine.show.json is an hour with it in which nothing happens yet.",
    ]);
    expect(Object.keys(made.files.texts).toSorted()).toEqual(["mine.rig.json", "mine.show.json", "quay.library.json"]);
    const { plan, issues } = read(made.files);
    expect(issues).toEqual([]);
    expect(plan?.devices.map(({ bootSeconds }) => bootSeconds)).toEqual([75]);
  });

  test("a library alone takes nobody's place, unless the rig that is open names it", () => {
    const open = shipped("two-clocks.json");
    expect(libraryAlone([library], open)).toBe(
      'quay.library.json is a library of device types, and no rig that is open names it: write "library": "./quay.library.json" into the rig, or open it together with a rig that has this line.',
    );
    expect(libraryAlone([library, rig], open)).toBeNull();
    const named = { main: "a.json", texts: { "a.json": '{ "run": {}, "rig": { "library": "./quay.library.json" } }' } };
    expect(libraryAlone([library], named)).toBeNull();
    expect(opened([library], named)?.isAddition).toBe(true);
  });
});

describe("events of the form", () => {
  test("every kind that the file knows can be written, to everything that is offered, and is read without a problem", () => {
    const written = new Set<string>();
    for (const { file } of allShipped()) {
      const files = shipped(file);
      const { plan } = read(files);
      for (const kind of EVENT_KINDS) {
        for (const { value } of kind.things(plan!).slice(0, 2)) {
          const values = Object.fromEntries(
            kind.fields.map((field) => [
              field.name,
              field.type === "choice"
                ? (field.choices(plan!, value)[0]?.value ?? "")
                : field.type === "text"
                  ? field.initial(plan!, value)
                  : String(field.initial),
            ]),
          );
          const text = files.texts[files.main]!;
          const event = {
            at: "00:00:01",
            do: kind.do,
            ...kind.written(value, values),
            ...(kind.canEnd ? { forSeconds: 2 } : {}),
          };
          const changed = addEvent(text, event);
          const again = read({ main: files.main, texts: { ...files.texts, [files.main]: changed } });
          // What two events do to each other, such as a plug in a port that is taken by then, is for the reader to say.
          const own = again.issues.filter(({ expected }) =>
            /^(one of|the id|an event|something that|a supply)/.test(expected),
          );
          expect(own, `${file}: ${JSON.stringify(event)}`).toEqual([]);
          expect(plainWords(plan!, event)).toContain(kind.words);
          if (again.plan !== null) written.add(kind.do);
        }
      }
    }
    const known = /one of (.+)$/.exec(
      read({
        main: "a",
        texts: { a: '{ "format": 1, "rig": {}, "events": [{ "at": "00:00:00", "do": "x" }] }' },
      }).issues.find(({ expected }) => expected.includes("unplug"))!.expected,
    )![1];
    expect([...written].sort()).toEqual(known!.split(", ").sort());
  });

  test("each event of a plan names its place in the file", () => {
    for (const { file } of allShipped()) {
      const files = shipped(file);
      const events = eventsIn(files.texts[files.main]!) as { do: string }[];
      for (const event of read(files).plan!.events)
        if (event.undoes === null && event.do !== "battery-empty")
          expect([event.do, "intermittent"], file).toContain(
            events[event.written!]?.do === "intermittent" ? "intermittent" : events[event.written!]?.do,
          );
    }
    const { plan } = readScenario(
      {
        file: "a.json",
        bytes: new TextEncoder().encode(textOf("leader-reboot.json")),
        moreEvents: [{ at: "00:01:00", do: "hang", device: "rec" }],
      },
      (name) => ({ bytes: readFileSync(`scenarios/${name}`) }),
    );
    expect(plan!.events.map(({ do: deed, written }) => [deed, written])).toEqual([
      ["hang", null],
      ["reboot", 0],
    ]);
  });

  test("what people type", () => {
    expect(sourcesIn("port 1, then port 2, then its own clock")).toEqual(["1", "2", "internal"]);
    expect(sourcesIn("1, internal")).toEqual(["1", "internal"]);
    const clock = { startsAt: null, lengthNs: parseShowTime("01:30:00") };
    const at = (text: string) => showTimeIn(text, clock);
    expect(["00:20:00", "20 min", "0:20:00", "1:2:3.5", "20:00.5"].map(at)).toMatchObject(
      ["00:20:00", "00:20:00", "00:20:00", "01:02:03.500", "00:20:00.500"].map((made) => ({ at: made })),
    );
    expect(at("0:20")).toEqual({ at: "00:20:00", note: "Read 0:20 as hours and minutes, 00:20:00." });
    expect(showTimeIn("18:00", { ...clock, startsAt: "17:30" })).toMatchObject({ at: "00:30:00" });
    expect(at("20:00")).toEqual({ problem: expect.stringContaining("20:00: for 20 min write 00:20:00; as hours") });
    for (const typed of ["x", "90", "00:61:00"]) expect(at(typed), typed).toHaveProperty("problem");
    expect(showLengthIn("1:30")).toMatchObject({ at: "01:30:00" });
    expect(numberIn("0,5", "s", 0, 10)).toEqual({ value: 0.5, note: "" });
    expect(numberIn("1:30", "s", 0, 100)).toEqual({ value: 90, note: "Read 1:30 as minutes and seconds, 90 s." });
    expect(numberIn("1 min", "ppm", 0, 100)).toHaveProperty("problem");
  });

  test("how long something lasts: seconds, or with colons the show time at which it is over", () => {
    const clock = { startsAt: null, lengthNs: parseShowTime("01:30:00") };
    const lasting = (text: string) => lastingIn(text, parseShowTime("00:20:00"), clock);
    expect(lasting("  ")).toEqual({ seconds: undefined, note: "" });
    expect(lasting("0,5")).toEqual({ seconds: 0.5, note: "" });
    expect(lasting("1 min 30 s")).toEqual({ seconds: 90, note: "" });
    expect(lasting("00:21:30")).toEqual({ seconds: 90, note: "" });
    expect(lasting("21:30.5")).toMatchObject({ seconds: 90.5, note: expect.stringContaining("minutes and seconds") });
    expect(lasting("00:20:00")).toEqual({
      problem: expect.stringContaining("It begins at 00:20:00: write a later time for its end."),
    });
    for (const typed of ["0", "soon", "-3", "9000000", "1:99"]) expect(lasting(typed)).toHaveProperty("problem");
  });
});
