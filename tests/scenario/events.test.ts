/** What events and files beside the scenario come to. */
import { describe, expect, it } from "vitest";
import { formatIssue } from "../../shared/issues.ts";
import type { EventPlan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";
import { example } from "../helpers/example.ts";
import { noFiles, plan, read } from "../helpers/rig.ts";

const events = (...written: object[]): EventPlan[] => [...plan({ ...example(), events: written, expect: [] }).events];
const problems = (...written: object[]): string =>
  read({ ...example(), events: written, expect: [] })
    .issues.map(formatIssue)
    .join("\n");

describe("forSeconds", () => {
  it.each([
    [
      { do: "unplug", link: "main", end: "to", way: "back" },
      { do: "plug", link: "main", end: "b", way: "back", into: null },
    ],
    [
      { do: "unplug", link: "to-mon", end: "mon" },
      { do: "plug", link: "to-mon", end: "b", way: null, into: null },
    ],
    [
      { do: "cut", path: "stage-left wall" },
      { do: "mend", path: "stage-left wall" },
    ],
    [
      { do: "power-cut", device: "pa" },
      { do: "power-back", device: "pa", supply: null },
    ],
    [
      { do: "hang", device: "foh" },
      { do: "unhang", device: "foh" },
    ],
    [
      { do: "step-frequency", device: "foh", offsetPpm: 9 },
      { do: "step-frequency", device: "foh", offsetPpm: null },
    ],
    [
      { do: "set-port-clock", device: "mon", port: 1, clock: "give" },
      { do: "set-port-clock", device: "mon", port: 1, clock: "take" },
    ],
    [
      { do: "set-port-clock", device: "foh", port: 4, clock: "take" },
      { do: "set-port-clock", device: "foh", port: 4, clock: "give" },
    ],
    [
      { do: "set-clock-sources", device: "stage", clockSources: ["2"] },
      { do: "set-clock-sources", device: "stage", clockSources: ["1", "2"] },
    ],
  ])("%j comes back as %j", (first, second) => {
    const [, back, ...more] = events({ at: "00:10:00", ...first, forSeconds: 0.25 });
    expect(back).toEqual({ atNs: 600.25e9, undoes: 0, ...second });
    expect(more).toEqual([]);
  });

  it("past the end brings nothing back", () => {
    expect(events({ at: "01:29:00", do: "hang", device: "foh", forSeconds: 61 })).toHaveLength(1);
    expect(events({ at: "01:29:00", do: "hang", device: "foh", forSeconds: 60 })).toHaveLength(2);
  });

  it("brings back what was in force at its own instant, and points at its own event", () => {
    const sources = (at: string, list: string[], forSeconds: number) => ({
      at,
      do: "set-clock-sources",
      device: "stage",
      clockSources: list,
      forSeconds,
    });
    // Written in the wrong order; the second begins inside the first and ends after it.
    const found = events(sources("00:10:30", ["internal"], 60), sources("00:10:00", ["2"], 60));
    expect(
      found.map(({ atNs, undoes, ...deed }) => [
        atNs / 1e9,
        undoes,
        (deed as unknown as { clockSources: string[] }).clockSources,
      ]),
    ).toEqual([
      [600, null, ["2"]],
      [630, null, ["internal"]],
      [660, 0, ["1", "2"]],
      [690, 1, ["2"]],
    ]);
  });
});

describe("at one instant", () => {
  it("events stay as written", () => {
    const at = "00:10:00";
    const found = events(
      { at, do: "hang", device: "pa" },
      { at, do: "reboot", device: "foh" },
      { at, do: "hang", device: "foh" },
    );
    expect(found.map((event) => `${event.do} ${(event as { device: string }).device}`)).toEqual([
      "hang pa",
      "reboot foh",
      "hang foh",
    ]);
  });
});

describe("a plug into another port", () => {
  const out = { at: "00:10:00", do: "unplug", link: "main", end: "to" };
  const into = { at: "00:10:10", do: "plug", link: "main", end: "to", into: 9 };

  it("needs the plug to be out, an end to be named, the port to be free", () => {
    expect(events(out, into)[1]).toMatchObject({ do: "plug", end: "b", into: 9 });
    expect(problems(into)).toMatch(
      /"main" to be out at "foh" at 00:10:10, received plugged into port 1; unplug it there first/,
    );
    expect(problems(out, { ...into, end: undefined })).toMatch(/expected an end as well/);
    expect(problems(out, { ...into, into: 2 })).toMatch(
      /a port of "foh" that is free at 00:10:10, received port 2, which "spare" is in/,
    );
  });

  it("may take a port that another cable has left, which then cannot come back there", () => {
    const leave = { at: "00:09:00", do: "unplug", link: "spare", end: "to" };
    expect(events(leave, out, { ...into, into: 2 })).toHaveLength(3);
    expect(problems({ ...leave, forSeconds: 120 }, out, { ...into, into: 2 })).toMatch(
      /events\[0\]\.forSeconds: expected a port of "foh" that is free at 00:11:00, received port 2, which "main" is in/,
    );
  });

  it("makes the port one that can be listened to", () => {
    const listen = { at: "00:20:00", do: "set-clock-sources", device: "foh", clockSources: ["9"] };
    expect(problems(listen)).toMatch(
      /a port of "foh" that a link brings clock to, received "9", where no link ends; choose from "1", "2", "4" and "internal"/,
    );
    expect(events(out, into, listen)).toHaveLength(3);
  });
});

describe("events of the command line", () => {
  const reading = (moreEvents: unknown[]) =>
    readScenario(
      { file: "test.json", bytes: new TextEncoder().encode(JSON.stringify(example())), moreEvents, seed: "other" },
      noFiles,
    );

  it("join those of the file, in order of time, with the seed", () => {
    const { plan: made } = reading([{ at: "00:00:01", do: "reboot", device: "pa" }]);
    expect(made?.events[0]).toMatchObject({ atNs: 1e9, do: "reboot", device: "pa", part: "all" });
    expect(made?.events).toHaveLength(plan(example()).events.length + 1);
    expect(made?.seed).toBe("other");
  });

  it("are checked like those of the file", () => {
    const { issues } = reading([
      { at: "00:00:01", do: "reboot", device: "ap" },
      { at: "soon", do: "reboot", device: "pa" },
    ]);
    expect(issues.map((issue) => [issue.file, issue.path])).toEqual([
      ["(command line)", ["events", 0, "device"]],
      ["(command line)", ["events", 1, "at"]],
    ]);
  });
});

describe("files in folders below", () => {
  const { rig, ...rest } = example();
  const { deviceTypes, ...bare } = rig;
  const asks = (library: string, rigName = "./rigs/quay.rig.json") => {
    const asked: string[] = [];
    const bytes = (value: object) => ({ bytes: new TextEncoder().encode(JSON.stringify(value)) });
    const outcome = readScenario({ file: "show/test.json", ...bytes({ ...rest, rig: rigName }) }, (name) => {
      asked.push(name);
      return bytes(asked.length === 1 ? { ...bare, library } : { deviceTypes });
    });
    return { asked, ...outcome };
  };

  it("name their libraries from where they are", () => {
    expect(asks("./shop.library.json")).toMatchObject({
      issues: [],
      asked: ["./rigs/quay.rig.json", "rigs/./shop.library.json"],
    });
    expect(asks("../shop.library.json")).toMatchObject({
      issues: [],
      asked: ["./rigs/quay.rig.json", "rigs/../shop.library.json"],
    });
  });

  it.each(["../../shop.library.json", "/shop.library.json", "https://example.org/shop.library.json"])(
    "never lead out: %s",
    (library) => {
      const { asked, issues } = asks(library);
      expect(asked).toHaveLength(1);
      expect(issues.map(formatIssue).join("\n")).toContain("show/rigs/quay.rig.json:1:");
    },
  );

  it("are told apart from each other and from the scenario", () => {
    expect(asks("quay.rig.json").issues.map(formatIssue).join()).toContain("none may include itself");
    expect(asks("../test.json").issues.map(formatIssue).join()).toContain("none may include itself");
  });
});

describe("assumed numbers", () => {
  const assumed = (change: object, ...written: object[]) =>
    plan({ ...example(), ...change, events: written, expect: [] }).assumed;
  const names = (lines: readonly string[]) => lines.map((line) => line.split(" ")[0]);

  it("of starting stand there only if something starts", () => {
    const starting = ["whileBooting", "bootSeconds", "oscillator.warmUpPpm"];
    expect(names(assumed({}))).not.toEqual(expect.arrayContaining(["whileBooting"]));
    expect(names(assumed({}, { at: "00:01:00", do: "reboot", device: "pa", part: "surface" }))).not.toContain(
      "bootSeconds",
    );
    const rebooted = assumed({}, { at: "00:01:00", do: "reboot", device: "pa" });
    expect(rebooted).toContain("bootSeconds 60 s: pa");
    expect(names(rebooted)).not.toContain("oscillator.warmUpPpm"); // a reboot keeps the oscillator warm
    expect(names(assumed({}, { at: "00:01:00", do: "power-cut", device: "pa" }))).toEqual(
      expect.arrayContaining(starting),
    );
  });

  it("of waiting stand there for devices that have something to choose from", () => {
    expect(assumed({})).toContain("holdOffSeconds 0.3 s: stage");
    expect(
      assumed({}, { at: "00:01:00", do: "set-clock-sources", device: "mon", clockSources: ["1", "internal"] }),
    ).toContain("holdOffSeconds 0.3 s: mon, stage");
  });

  it("come in the order of the tables, and spares apart from devices", () => {
    const lines = assumed({}, { at: "00:01:00", do: "unplug", link: "main" });
    expect(lines).toContain("spare revertive true: stage-pair");
    expect(names(lines).indexOf("capturePpm")).toBeLessThan(names(lines).indexOf("muteWhile"));
    expect(lines.at(-1)).toBe("madi.noticeSeconds 0.01 s: main, spare");
  });
});
