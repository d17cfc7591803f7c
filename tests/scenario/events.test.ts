/** What events and files beside the scenario come to. */
import { describe, expect, it } from "vitest";
import { formatIssue } from "../../shared/issues.ts";
import type { EventPlan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";
import { example } from "../helpers/example.ts";
import { networkExample } from "../helpers/network-example.ts";
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
      { do: "stick", device: "stage" },
      { do: "unstick", device: "stage" },
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
    expect(back).toEqual({ atNs: 600.25e9, undoes: 0, written: 0, ...second });
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

describe("a cable that comes and goes", () => {
  const flaps = { at: "00:10:00", do: "intermittent", link: "main", everySeconds: 30, outSeconds: 0.4 };
  const outline = (...written: object[]) =>
    events(...written).map((event) => [event.do, event.atNs / 1e9, event.undoes, turnOf(event)]);
  const turnOf = (event: EventPlan) => ("intermittent" in event ? event.intermittent.turn : null);

  it("is two events a turn, each back its own out", () => {
    expect(outline({ ...flaps, count: 3 })).toEqual([
      ["lose-contact", 600, null, 1],
      ["make-contact", 600.4, 0, 1],
      ["lose-contact", 630, null, 2],
      ["make-contact", 630.4, 2, 2],
      ["lose-contact", 660, null, 3],
      ["make-contact", 660.4, 4, 3],
    ]);
    expect(events({ ...flaps, end: "to", way: "back", count: 1 })[0]).toEqual({
      atNs: 600e9,
      undoes: null,
      written: 0,
      do: "lose-contact",
      link: "main",
      end: "b",
      way: "back",
      intermittent: { turn: 1, turns: 1, everySeconds: 30, outSeconds: 0.4 },
    });
  });

  it("begins no turn when forSeconds are over, nor after the end of the run, whose last turn may stay open", () => {
    expect(events({ ...flaps, forSeconds: 60 })).toHaveLength(4);
    expect(events({ ...flaps, forSeconds: 60.001 })).toHaveLength(6);
    const toTheEnd = events({ ...flaps, at: "01:29:00" });
    expect(toTheEnd.map((event) => [event.do, event.atNs / 1e9])).toEqual([
      ["lose-contact", 5340],
      ["make-contact", 5340.4],
      ["lose-contact", 5370],
      ["make-contact", 5370.4],
      ["lose-contact", 5400],
    ]);
    expect(toTheEnd.map((event) => "intermittent" in event && event.intermittent.turns)).toEqual([3, 3, 3, 3, 3]);
  });

  it("is refused with its remedy where it could not come back, says two things, or never ends", () => {
    expect(problems({ ...flaps, outSeconds: 30, count: 2 })).toMatch(/outSeconds: expected less than everySeconds, 30/);
    expect(problems({ ...flaps, count: 2, forSeconds: 60 })).toMatch(/count: expected count or forSeconds, not both/);
    expect(problems({ ...flaps, everySeconds: 1 })).toMatch(/at most 1000 turns in the run, received 4801 of them/);
    expect(problems({ ...flaps, link: "mian", count: 2 })).toMatch(/did you mean "main"/);
    expect(problems({ ...flaps, end: "foh", count: 2 })).toMatch(/expected "from" or "to", received "foh"/);
    expect(problems({ ...flaps, link: "to-mon", way: "there", count: 2 })).toMatch(/carries both ways in one cable/);
  });
});

describe("a supply with a battery", () => {
  const withBattery = (...written: object[]) => {
    const scenario = example();
    const rig = { ...scenario.rig, supplies: [{ id: "backup", batterySeconds: 20 }] };
    return plan({ ...scenario, rig, events: written, expect: [] }).events.map(({ atNs, ...deed }) => [
      deed.do,
      atNs / 1e9,
      deed.undoes,
      ...("batterySeconds" in deed ? [deed.batterySeconds] : []),
    ]);
  };
  const cut = { at: "00:10:00", do: "power-cut", supply: "backup" };

  it("is dead when the battery is empty, unless it is back by then", () => {
    expect(withBattery(cut)).toEqual([
      ["power-cut", 600, null, 20],
      ["battery-empty", 620, null],
    ]);
    expect(withBattery({ ...cut, forSeconds: 20 })).toEqual([
      ["power-cut", 600, null, 20],
      ["power-back", 620, 0],
    ]);
    expect(withBattery({ ...cut, forSeconds: 20.001 }).map(([what]) => what)).toEqual([
      "power-cut",
      "battery-empty",
      "power-back",
    ]);
    expect(withBattery(cut, { at: "00:10:19", do: "power-back", supply: "backup" })).toHaveLength(2);
    expect(withBattery({ ...cut, at: "01:29:50" })).toHaveLength(1);
  });

  it("is full again when the supply is back, and runs down once however often it is cut", () => {
    const again = withBattery({ ...cut, forSeconds: 10 }, { ...cut, at: "00:10:11" });
    expect(again.at(-1)).toEqual(["battery-empty", 631, null]);
    const twice = withBattery(cut, { ...cut, at: "00:10:05" });
    expect(twice.filter(([what]) => what === "battery-empty")).toEqual([["battery-empty", 620, null]]);
  });

  it("must be somebody's, and stand there once; a supply without a battery is cut at once", () => {
    const scenario = example();
    const issues = (...supplies: object[]) =>
      read({ ...scenario, rig: { ...scenario.rig, supplies }, events: [] })
        .issues.map(formatIssue)
        .join("\n");
    expect(issues({ id: "bakcup", batterySeconds: 20 })).toMatch(
      /rig\.supplies\[0\]\.id: expected a supply that a device has in its power.*did you mean "backup"/,
    );
    expect(issues({ id: "foh" }, { id: "foh", batterySeconds: 5 })).toMatch(/an id that no other supply has/);
    expect(issues({ id: "foh", batterySeconds: 0 })).toMatch(/a number above 0/);
    expect(withBattery({ ...cut, supply: "foh" })).toEqual([["power-cut", 600, null]]);
  });
});

describe("what a device comes back with", () => {
  const stageAfter = (clockSources: string[], ...written: object[]) => {
    const scenario = example();
    const devices = scenario.rig.devices.map((device) =>
      device.id === "stage" ? { ...device, afterReboot: { clockSources } } : device,
    );
    return read({ ...scenario, rig: { ...scenario.rig, devices }, events: written, expect: [] });
  };
  const choose = { at: "00:20:00", do: "choose-source", device: "stage", source: "1" };

  it("is what it can be told to go to from then on, after a reboot and after power", () => {
    expect(stageAfter(["2"], choose).issues).toEqual([]);
    for (const before of [
      { at: "00:10:00", do: "reboot", device: "stage", part: "engine" },
      { at: "00:10:00", do: "power-cut", supply: "stage", forSeconds: 1 },
    ])
      expect(stageAfter(["2"], before, choose).issues.map(formatIssue).join()).toMatch(/choose one of "2"/);
    expect(
      stageAfter(["2"], { at: "00:10:00", do: "reboot", device: "stage", part: "surface" }, choose).issues,
    ).toEqual([]);
  });

  it("is checked like its clock sources", () => {
    expect(stageAfter(["7", "2", "2"]).issues.map(({ path }) => path)).toEqual([
      ["rig", "devices", 1, "afterReboot", "clockSources", 0],
      ["rig", "devices", 1, "afterReboot", "clockSources", 2],
    ]);
  });
});

describe("sync", () => {
  it("can be stopped only at a device with an ethernet link", () => {
    const stop = { at: "00:10:00", do: "stop-sync", forSeconds: 5 };
    expect(problems({ ...stop, device: "foh" })).toMatch(/a device with an ethernet link.*this rig has no network/);
    const network = networkExample();
    const on = (device: string) => read({ ...network, events: [{ ...stop, device }] });
    expect(on("amp").issues.map(formatIssue).join()).toMatch(/a device with an ethernet link.*name one such as "foh"/);
    expect(on("foh").plan?.events).toEqual([
      { atNs: 600e9, undoes: null, written: 0, do: "stop-sync", device: "foh" },
      { atNs: 605e9, undoes: 0, written: 0, do: "start-sync", device: "foh" },
    ]);
  });
});

describe("a stream", () => {
  it("has no contact that could be bad: its ethernet cables have", () => {
    const flaps = { at: "00:10:00", do: "intermittent", everySeconds: 5, outSeconds: 1, count: 2 };
    const on = (link: string) => read({ ...networkExample(), events: [{ ...flaps, link }] });
    expect(on("stage-foh").issues.map(formatIssue).join()).toMatch(/link: expected a cable: .*name an ethernet cable/);
    expect(on("trunk").plan?.events).toHaveLength(4);
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
