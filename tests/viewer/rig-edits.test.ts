/** Changes to what a rig is made of: every name follows, nothing is left dangling, and the rest stands as it was typed. */
import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { formatIssues } from "../../shared/issues.ts";
import { EditError } from "../../shared/json-text.ts";
import type { Plan } from "../../shared/plan.ts";
import { changesBetween } from "../../sim/changes.ts";
import { mentionsOf, rigFilesOf } from "../../sim/rig-files.ts";
import { plainName, type ScenarioTexts } from "../../sim/run-data.ts";
import { stampOf } from "../../sim/stamp.ts";
import { TEMPLATES } from "../../sim/templates/index.ts";
import { proposedCable, withCable } from "../../viewer/room/cable-edits.ts";
import { freeId, renamed, setClockSources, setName, withDevice } from "../../viewer/room/rig-edits.ts";
import { removed } from "../../viewer/room/rig-removal.ts";
import { fromTemplate } from "../../viewer/room/shipped.ts";
import { dangling, idsOf, readFiles } from "../helpers/rig-files.ts";
import { SHIPPED } from "../helpers/shipped.ts";

const FOLDER = "scenarios";
const textOf = (name: string) => readFileSync(`${FOLDER}/${name}`, "utf8");

function filesOf(main: string): ScenarioTexts {
  const text = textOf(main);
  const { rig, library } = JSON.parse(text) as { rig: string | { library?: string }; library?: string };
  const texts = { [main]: text };
  const named = [typeof rig === "string" ? rig : rig.library, library].filter((name) => name !== undefined);
  for (const name of named) texts[plainName(name)] = textOf(plainName(name));
  return { main, texts };
}

function planOf(files: ScenarioTexts) {
  const { plan, issues } = readFiles(files);
  if (plan === null) throw new Error(formatIssues(issues).join("\n"));
  return plan;
}

/** Two bridges of two networks. */
function joinsNetworks(plan: Plan, one: string, other: string): boolean {
  const networkOf = (id: string) => {
    if (plan.devices.find((device) => device.id === id)?.bridge === undefined) return undefined;
    return plan.links.find(({ ethernet, a, b }) => ethernet && [a.device, b.device].includes(id))?.ethernet?.network;
  };
  const [a, b] = [networkOf(one), networkOf(other)];
  return a !== undefined && b !== undefined && a !== b;
}

const RIGS = [
  ...SHIPPED.map((name) => [name, filesOf(name)] as const),
  ...TEMPLATES.map(({ name }) => [`template ${name}`, fromTemplate(name)] as const),
];

describe.each(RIGS)("%s", (_, files) => {
  test("a rename goes everywhere, and back to the same bytes", () => {
    let count = 0;
    for (const kind of ["device", "link", "network", "spare", "feed"] as const)
      for (const [index, id] of idsOf(files, kind).entries()) {
        // Every third: each costs some twenty readings of the text.
        if (index % 3 > 0) continue;
        const there = renamed(files, kind, id, "zz-unheard-of");
        expect(dangling(there)).toEqual([]);
        expect(mentionsOf(rigFilesOf(there))).toHaveLength(mentionsOf(rigFilesOf(files)).length);
        expect(mentionsOf(rigFilesOf(there)).some((one) => one.kind === kind && one.id === id)).toBe(false);
        expect(renamed(there, kind, "zz-unheard-of", id)).toEqual(files);
        count++;
      }
    // The reader knows better than we do what is a name: all of them another at once.
    let all = files;
    for (const kind of ["device", "link", "network", "spare", "feed"] as const)
      for (const [index, id] of idsOf(files, kind).entries()) all = renamed(all, kind, id, `zz-${kind}-${index}`);
    expect(formatIssues(readFiles(all).issues)).toEqual([]);
    expect(count).toBeGreaterThan(2);
  });

  test.each(["device", "link"] as const)("any %s can be taken out, and nothing goes on naming it", (kind) => {
    for (const id of idsOf(files, kind)) {
      const { files: left } = removed(files, kind, id);
      const unread = readFiles(left).issues.filter(({ expected }) => !/one link, or one spare group/.test(expected));
      expect(formatIssues(unread), `${kind} ${id}`).toEqual([]);
      expect(dangling(left), `${kind} ${id}`).toEqual([]);
      expect(idsOf(left, kind)).not.toContain(id);
    }
  });

  test("any two devices can be joined, and a new one follows whom it is joined to", () => {
    const before = planOf(files);
    for (const [index, one] of before.devices.entries())
      for (const other of before.devices.slice(index + 1, index + 2)) {
        const cable = { id: "zz-cable", ...proposedCable(files, one.id, other.id) };
        if (joinsNetworks(before, one.id, other.id)) {
          expect(() => withCable(files, cable)).toThrow("both pass packets on");
          continue;
        }
        const changes = changesBetween(before, planOf(withCable(files, cable)));
        const others = changes.filter(({ is }) => is !== "changed").map(({ what, id, is }) => [what, id, is]);
        expect(others).toEqual([["links", "zz-cable", "new"]]);
      }
    for (const { id } of before.devices) {
      const with1 = withDevice(files, { id: "zz-new", name: "Guest", kind: "desk" });
      const cable = proposedCable(with1, id, "zz-new");
      const joined = withCable(with1, { id: "zz-cable", ...cable });
      expect(planOf(joined).devices.find((one) => one.id === "zz-new")?.clockSources).toEqual(["1"]);
      const { files: without } = removed(joined, "device", "zz-new");
      // Words that a feed was given so that it goes on its way may stay.
      expect(stampOf(planOf(without))).toBe(stampOf(before));
    }
  });

  test("every cable can have a spare, which stands behind it", () => {
    const before = planOf(files);
    let spares = 0;
    for (const link of before.links) {
      if (link.line !== undefined) continue;
      const cable = proposedCable(files, link.a.device, link.b.device, link.id);
      expect([cable.type, cable.spareOf]).toEqual([link.type, link.id]);
      const made = planOf(withCable(files, { id: "zz-spare", ...cable }));
      const group = made.spares.find(({ links }) => links.includes("zz-spare"));
      if (link.channels > 0) expect(group?.links).toContain(link.id);
      if (group !== undefined) spares++;
      const listened = (plan: typeof before) =>
        plan.devices.reduce((sum, { clockSources }) => sum + clockSources.length, 0);
      expect(listened(made)).toBeGreaterThanOrEqual(listened(before));
    }
    expect(spares).toBeGreaterThan(0);
  });
});

const COMMENTED = `{
  // One act.
  "format": 1,
  "title": "Two desks",
  "run": { "length": "01:00:00" },
  "rig": {
    "sampleRateHz": 48000,
    "leaders": ["foh"], // nobody is next
    "devices": [
      // The one that leads:
      { "id": "foh", "name": "FOH desk", "kind": "desk", "clockSources": ["internal"] }, // new this year
      // Under the stage.
      {
        "id": "stage",
        "kind": "stage-box", // the small one
        "clockSources": ["1"]
      },
      { "id": "pa", "kind": "processor", "clockSources": ["1"], "power": ["rack"] }
    ],
    "links": [
      { "id": "main", "type": "madi", "from": "stage.1", "to": "foh.1", "return": true, "lengthMetres": 60, "laidAlong": ["wall"] }, // coax
      // AES3 to the amplifiers
      { "id": "to-pa", "type": "aes3", "from": "foh.2", "to": "pa.1" }
    ],
    "supplies": [{ "id": "rack", "batterySeconds": 600 }],
    "feeds": [{ "id": "mix", "through": ["stage", "foh", "pa"], "channels": [32, 2] }]
  },
  "events": [
    // First the box,
    { "at": "00:10:00", "do": "reboot", "device": "stage" },
    // then its cable,
    { "at": "00:20:00", "do": "unplug", "link": "main", "end": "to", "forSeconds": 5 }, // a foot
    { "at": "00:25:00", "do": "cut", "path": "wall", "forSeconds": 5 },
    // then power.
    { "at": "00:30:00", "do": "power-cut", "supply": "rack" },
    { "at": "00:40:00", "do": "power-cut", "supply": "stage", "forSeconds": 5 }
  ],
  "expect": [{ "feed": "mix", "dropouts": { "max": 9 } }, { "device": "foh", "is": "free-run" }]
}
`;
const commented: ScenarioTexts = { main: "a.json", texts: { "a.json": COMMENTED } };
const textIn = ({ texts, main }: ScenarioTexts) => texts[main]!;
/** Lines that one text has and the other has not. */
const gone = (from: string, to: string) => from.split("\n").filter((line) => !to.split("\n").includes(line));

describe("what stands around it", () => {
  test("is a file", () => {
    expect(planOf(commented).devices).toHaveLength(3);
  });

  test("stays where a device gets another id, and its own supply goes by the new one", () => {
    const there = textIn(renamed(commented, "device", "stage", "box"));
    expect(there).toBe(COMMENTED.replaceAll(/"stage(\.1)?"/g, (_, port = "") => `"box${port}"`));
  });

  test("stays where a device goes: only what named it goes along, comments do not", () => {
    const { files, goes } = removed(commented, "device", "stage");
    expect(goes).toEqual({
      links: ["main"],
      spares: [],
      feeds: ["mix"],
      supplies: [],
      events: 4,
      expectations: 1,
      accepted: 0,
      heardThere: [],
      leftAlone: [],
    });
    const text = textIn(files);
    for (const comment of [
      "// One act.",
      "// nobody is next",
      "// Under the stage.",
      "// First the box,",
      "// then power.",
    ])
      expect(text).toContain(comment);
    expect(gone(text, COMMENTED)).toEqual([
      '    "feeds": []',
      '    { "at": "00:30:00", "do": "power-cut", "supply": "rack" }',
      '  "expect": [{ "device": "foh", "is": "free-run" }]',
    ]);
    expect(planOf(files).devices.map(({ id }) => id)).toEqual(["foh", "pa"]);
  });

  test("a supply goes with the last device on it, and a device without its only clock is left on its own", () => {
    expect(removed(commented, "device", "pa").goes).toMatchObject({ supplies: ["rack"], events: 1, feeds: ["mix"] });
    const { files, goes } = removed(commented, "link", "main");
    expect(goes).toMatchObject({ links: [], feeds: ["mix"], events: 2, heardThere: ["stage"], leftAlone: ["stage"] });
    expect(textIn(files)).toContain('"clockSources": ["internal"]\n      },');
    expect(textIn(files)).toContain("// the small one");
  });

  test("a second way leaves a feed on the one it had", () => {
    const made = withCable(commented, { id: "more", ...proposedCable(commented, "stage", "foh") });
    expect(textIn(made)).toContain('"channels": [32, 2], "over": ["main"] }');
    expect(textIn(made)).toContain(
      '{ "id": "more", "type": "madi", "from": "stage.2", "to": "foh.3", "return": true, "lengthMetres": 60 }',
    );
    expect(textIn(made)).toContain("// AES3 to the amplifiers");
  });

  test("a spare is listened to behind its main, and is one group with it", () => {
    const cable = proposedCable(commented, "foh", "stage", "main");
    const text = textIn(withCable(commented, { id: "spare", ...cable }));
    expect(text).toContain('"clockSources": ["1", "2"]');
    expect(text).toContain('"spares": [{ "id": "main-pair", "links": ["main", "spare"] }]');
    expect(text).not.toContain('"over"');
  });
});

test("names, ids and clock sources", () => {
  expect(textIn(setName(commented, "device", "stage", "Stage box"))).toContain('"kind": "stage-box", // the small one');
  expect(planOf(setName(commented, "device", "stage", "Stage box")).devices[2]?.name).toBe("Stage box");
  expect(textIn(setName(commented, "device", "foh", " "))).toContain('{ "id": "foh", "kind": "desk"');
  expect(freeId(commented, "device", "Élan, FOH  desk (2)")).toBe("elan-foh-desk-2");
  expect([freeId(commented, "device", "Stage"), freeId(commented, "link", "±")]).toEqual(["stage-2", "link"]);
  expect(textIn(setClockSources(commented, "stage", ["1", "internal"]))).toContain('"clockSources": ["1", "internal"]');
  expect(() => setClockSources(commented, "stage", [])).toThrow(EditError);
  expect(() => renamed(commented, "device", "stage", "foh")).toThrow('Another device has the id "foh".');
  expect(() => renamed(commented, "device", "stage", "rack")).toThrow('A supply has the name "rack" already.');
  expect(() => renamed(commented, "device", "stage", "on stage")).toThrow("is no id");
  expect(() => removed(commented, "link", "stage")).toThrow('There is no cable "stage" in the rig.');
});

test("what was accepted of the things that go, goes", () => {
  const { files, goes } = removed(fromTemplate("broadcast-split"), "device", "truck");
  expect(goes).toMatchObject({ links: ["split"], feeds: ["broadcast-mix"], expectations: 1, accepted: 1 });
  expect(planOf(files).accepted).toBeUndefined();
  const { goes: without } = removed(fromTemplate("broadcast-split"), "device", "pa");
  expect(without.accepted).toBe(0);
});

test("a line loses the tap of a device that goes, and with one receiver left it is a cable like any other", () => {
  const line = filesOf("word-clock-line.json");
  const taps = planOf(line).links.filter((link) => link.line !== undefined);
  expect(taps.length).toBeGreaterThan(2);
  const last = taps.at(-1)!;
  const left = taps.slice(0, -1).reduce((files, { b }) => removed(files, "device", b.device).files, line);
  const lead = planOf(left).links.find(({ id }) => id === last.line!.id)!;
  expect([lead.b.device, lead.line]).toEqual([last.b.device, undefined]);
});

test("a rig in a file of its own is changed there, the scenario beside it where it names the thing", () => {
  const files = filesOf("leader-reboot.json");
  const there = renamed(files, "device", "foh", "front");
  expect(Object.keys(there.texts)).toEqual(["leader-reboot.json", "quay.rig.json"]);
  for (const name of Object.keys(there.texts)) expect(there.texts[name]).not.toBe(files.texts[name]);
  const alone: ScenarioTexts = { main: files.main, texts: { [files.main]: files.texts[files.main]! } };
  expect(() => renamed(alone, "device", "foh", "front")).toThrow("quay.rig.json, where the rig stands, is not open.");
});
