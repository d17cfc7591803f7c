import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { formatIssue, formatIssues, ISSUES_SHOWN } from "../../shared/issues.ts";
import { FILE_BYTES_MAX } from "../../shared/read-json.ts";
import { readScenario } from "../../shared/scenario.ts";
import { example } from "../helpers/example.ts";
import { tries } from "../helpers/laws.ts";
import { networkExample } from "../helpers/network-example.ts";
import { noFiles, plan, read } from "../helpers/rig.ts";

const utf8 = (text: string): Uint8Array => new TextEncoder().encode(text);
const bytesRead = (bytes: Uint8Array) => readScenario({ file: "test.json", bytes }, noFiles);
/** Issues of the example with a change made to it. */
function issuesOf(change: (scenario: ReturnType<typeof example>) => void): string[] {
  const scenario = example();
  change(scenario);
  return read(scenario).issues.map(formatIssue);
}

describe("a scenario becomes a plan", () => {
  it("fills every default in, joins types, sorts by id", () => {
    const made = plan(example());
    expect(made.devices.map((each) => each.id)).toEqual(["foh", "mon", "pa", "stage"]);
    const stage = made.devices.find((each) => each.id === "stage");
    expect(stage).toMatchObject({
      kind: "stage-box",
      bootSeconds: 20,
      holdOffSeconds: 0.3,
      steeringPpm: 100,
      power: ["stage"],
    });
    expect(stage?.oscillator).toMatchObject({ type: "crystal", offsetPpm: -6.3, tolerancePpm: 50 });
  });

  it("makes two events of forSeconds, the second with what was in force before", () => {
    const { events } = plan(example());
    const cut = events.findIndex((each) => each.do === "unplug");
    expect(events.find((each) => each.undoes === cut)).toMatchObject({
      do: "plug",
      link: "main",
      into: null,
      atNs: 2_490e9,
    });
    const set = events.findIndex((each) => each.do === "set-clock-sources");
    expect(events.find((each) => each.undoes === set)).toMatchObject({ clockSources: ["1"] });
  });

  it("takes the spare group for a hop that either link could carry, main first", () => {
    const mix = plan(example()).feeds.find((each) => each.id === "pa-mix");
    expect(mix?.hops[0]).toMatchObject({
      spare: "stage-pair",
      channels: 32,
      over: [
        { link: "main", way: "there" },
        { link: "spare", way: "there" },
      ],
    });
  });

  it("lists an assumed number only where a run uses it", () => {
    const { assumed } = plan(example());
    expect(assumed).toContain("holdOffSeconds 0.3 s: stage");
    expect(assumed.some((line) => line.startsWith("bootSeconds"))).toBe(false); // entered where anything reboots
    expect(
      plan({ ...example(), run: { length: "01:30:00", begin: "cold" } }).assumed.some((line) =>
        line.startsWith("bootSeconds 60 s"),
      ),
    ).toBe(true);
  });

  it("does not depend on the order of devices, links, feeds and groups in the file", () => {
    const sorted = JSON.stringify(plan(example()));
    fc.assert(
      fc.property(fc.infiniteStream(fc.nat(1000)), (numbers) => {
        const scenario = example();
        for (const list of [scenario.rig.devices, scenario.rig.links, scenario.rig.feeds] as unknown[][]) {
          list.sort(() => ((numbers.next().value as number) % 2) - 0.5);
        }
        expect(JSON.stringify(plan(scenario))).toBe(sorted);
      }),
      tries(30),
    );
  });

  it("reads comments, trailing commas and a byte-order mark", () => {
    const text = `\uFEFF// the rig of the quay\n${JSON.stringify(example(), null, 1).replace(/\}$/, ", /* that is all */ }")}`;
    expect(bytesRead(utf8(text)).issues).toEqual([]);
  });

  it("reads shows that last for months, which slips between good clocks need", () => {
    expect(plan({ ...example(), run: { length: "1740:00:00" }, events: [], expect: [] }).lengthNs).toBe(
      1740 * 3600 * 1e9,
    );
  });

  it("keeps the sha256 of all texts", () => {
    expect(bytesRead(utf8("{}")).sha256).toBe("44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"); // sha256sum of "{}"
  });
});

describe("files beside the scenario", () => {
  const { rig, ...rest } = example();
  const split = { ...rest, rig: "./quay.rig.json" };

  it("take the rig and a library from files of their own", () => {
    const { deviceTypes, ...bare } = rig;
    const whole = plan(
      { ...split, library: "shop.library.json" },
      { "./quay.rig.json": bare, "shop.library.json": { deviceTypes } },
    );
    expect(JSON.stringify(whole)).toBe(JSON.stringify(plan(example())));
  });

  it("report problems with the file's own name and line", () => {
    const broken = { ...rig, sampleRateHz: 48 };
    const [issue] = read(split, { "./quay.rig.json": broken }).issues.map(formatIssue);
    expect(issue).toBe(
      "quay.rig.json:2:19 › sampleRateHz: expected a number from 31000 to 216000 Hz, received 48; did you mean 48000 (48 kHz)?",
    );
  });

  it.each(["../elsewhere.json", "/etc/hostname", "a/../../b.json", "C:\\rig.json", "..\\rig.json"])(
    "may not lie outside: %s",
    (name) => {
      let asked = 0;
      const { issues } = readScenario(
        { file: "test.json", bytes: utf8(JSON.stringify({ ...split, rig: name })) },
        () => {
          asked += 1;
          return noFiles();
        },
      );
      expect(asked).toBe(0);
      expect(issues.map(formatIssue).join("\n")).toContain("name a file in the same folder or below");
    },
  );

  it("may not include themselves, nor a rig another rig", () => {
    expect(
      read({ ...split, rig: "./test.json" })
        .issues.map(formatIssue)
        .join(),
    ).toContain("none may include itself");
    const nested = read(split, { "./quay.rig.json": { rig: "./other.rig.json" } })
      .issues.map(formatIssue)
      .join("\n");
    expect(nested).toContain('expected a key that is known here, received "rig"');
    expect(
      read({ ...split, rig: "./quay.rig.json" }, { "./quay.rig.json": { ...rig, library: "quay.rig.json" } })
        .issues.map(formatIssue)
        .join(),
    ).toContain("none may include itself");
  });

  it("say what is wrong where one cannot be had", () => {
    expect(read(split).issues.map(formatIssue)).toEqual([
      'test.json:67:10 › rig: expected a file beside the scenario that can be read, received "./quay.rig.json": there is no such file; check the name and the folder',
    ]);
  });
});

describe("bad input gets every problem at once", () => {
  it("names place, expectation, value and remedy", () => {
    const found = issuesOf((scenario) => {
      (scenario.rig.devices[0] as { oscillator: { offsetPpm: number } }).oscillator.offsetPpm = 4500;
      (scenario.rig.devices[1] as Record<string, unknown>).holdoffSeconds = 1;
      (scenario.run as Record<string, unknown>).length = "20:00";
      (scenario.rig.links[2] as Record<string, unknown>).type = "aes-3";
    });
    expect(found.join("\n")).toMatch(
      /offsetPpm: expected a number from -1000 to 1000 ppm, received 4500; did you mean 4\.5 \(4500 ppb\)\?/,
    );
    expect(found.join("\n")).toMatch(/received "holdoffSeconds"; did you mean holdOffSeconds\?/);
    expect(found.join("\n")).toMatch(
      /received "20:00"; write "20:00:00" if it is hours and minutes, "00:20:00" if it is minutes and seconds/,
    );
    expect(found.join("\n")).toMatch(/received "aes-3"; did you mean "aes3"\?/);
    expect(found.every((line) => /^test\.json:\d+:\d+ › /.test(line))).toBe(true);
  });

  // biome-ignore lint/suspicious/noExplicitAny: each case spoils the file in its own way
  const cases: readonly [string, (scenario: any) => void, RegExp][] = [
    ["an id twice", (s) => (s.rig.devices[1].id = "foh"), /expected an id that no other device has/],
    [
      "a port used twice",
      (s) => (s.rig.links[1].to = "foh.1"),
      /a port that no other link uses \("main" has this one\)/,
    ],
    ["a link to itself", (s) => (s.rig.links[0].to = "stage.5"), /another device than at the other end/],
    ["a device that is not there", (s) => (s.rig.links[0].to = "fo.1"), /received "fo\.1"; did you mean "foh"\?/],
    [
      "an event on a thing that is not there",
      (s) => (s.events[0].device = "fho"),
      /received "fho"; did you mean "foh"\?/,
    ],
    ["an event after the end", (s) => (s.events[0].at = "02:00:00"), /an instant within the run, up to 01:30:00/],
    [
      "a path that nothing is laid along",
      (s) => s.events.push({ at: "00:01:00", do: "cut", path: "stage left wall" }),
      /did you mean "stage-left wall"\?/,
    ],
    ["a supply that nothing uses", (s) => (s.events[2].supply = "bakup"), /did you mean "backup"\?/],
    [
      "give and take where the sender always gives",
      (s) => (s.rig.devices[2].ports = { "1": { clock: "take" } }),
      /where the sender always gives/,
    ],
    ["a medium that the type does not have", (s) => (s.rig.links[3].medium = "fibre"), /expected one of category/],
    [
      "from and to on a two-way type",
      (s) => {
        delete s.rig.links[3].ends;
        s.rig.links[3].from = "foh.4";
      },
      /"ends" on AES50/,
    ],
    [
      "ends on a one-way type",
      (s) => {
        s.rig.links[0].ends = ["foh.1", "stage.1"];
      },
      /"from" and "to" on MADI/,
    ],
    ["a source where no link ends", (s) => (s.rig.devices[2].clockSources = ["7"]), /received "7", where no link ends/],
    ["a source where a link only leaves", (s) => (s.rig.devices[0].clockSources = ["3"]), /"to-pa" only leaves/],
    [
      "a buffer without room",
      (s) => (s.rig.links[0].buffer = { slipSamples: 4, depthSamples: 6 }),
      /a depth of at least twice slipSamples/,
    ],
    [
      "a buffer that starts at its edge",
      (s) => (s.rig.links[0].buffer = { slipSamples: 4, depthSamples: 16, startSamples: 14 }),
      /a start from slipSamples to/,
    ],
    [
      "a feed without a link",
      (s) => Object.assign(s.rig.feeds[0], { through: ["stage", "pa"], channels: 2 }),
      /a link that carries audio from "stage" to "pa"/,
    ],
    [
      "a hop that several links could carry",
      (s) => {
        s.rig.spares = [];
      },
      /one link, or one spare group/,
    ],
    ["channels for other hops than there are", (s) => (s.rig.feeds[0].channels = [1, 2, 3]), /2 numbers, one per hop/],
    [
      "a link in two groups",
      (s) => s.rig.spares.push({ id: "again", links: ["main", "to-pa"] }),
      /in no other place of a spare group/,
    ],
    [
      "a group of links between other devices",
      (s) => (s.rig.spares[0].links = ["main", "to-pa"]),
      /a link between stage and foh/,
    ],
    [
      "a plug into an occupied port",
      (s) => s.events.push({ at: "00:40:10", do: "plug", link: "main", end: "to", into: 3 }),
      /a port of "foh" that is free at 00:40:10/,
    ],
    [
      "a choice outside the list then in force",
      (s) => s.events.push({ at: "00:55:30", do: "choose-source", device: "mon", source: "1" }),
      /clock sources that "mon" has at 00:55:30/,
    ],
    ["an expectation on a thing that is not there", (s) => (s.expect[0].feed = "pa-mx"), /did you mean "pa-mix"\?/],
    ["a minimum above the maximum", (s) => (s.expect[0].silentSeconds = { min: 9, max: 1 }), /received from 9 to 1/],
    ["a stretch that ends before it begins", (s) => (s.expect[2].from = "00:20:00"), /ends after it begins/],
    ["a stretch past the end", (s) => (s.expect[1].to = "03:00:00"), /up to 01:30:00/],
    ["an unknown leader", (s) => (s.rig.leaders = ["foo"]), /did you mean "foh"\?/],
    ["a leader twice", (s) => (s.rig.leaders = ["foh", "foh"]), /each leader once/],
    ["an unknown type", (s) => (s.rig.devices[1].like = "boxx"), /did you mean "box"\?/],
    [
      "types in a circle",
      (s) => (s.rig.deviceTypes = { box: { like: "crate" }, crate: { like: "box" } }),
      /box → crate → box/,
    ],
    ["a show of no length", (s) => (s.run.length = "00:00:00"), /a show of some length/],
    ["an end that a one-way link does not have", (s) => (s.events[1].end = "foh"), /"from"|"to"/],
    [
      "a way that a two-way link does not have",
      (s) => s.events.push({ at: "00:01:00", do: "unplug", link: "to-mon", way: "back" }),
      /carries both ways in one cable/,
    ],
    ["another format", (s) => (s.format = 2), /1, the only format so far/],
  ];
  it.each(cases)("%s", (_, change, expected) => {
    expect(issuesOf(change).join("\n")).toMatch(expected);
  });

  it("does not let one broken device hide the next", () => {
    const found = issuesOf((scenario) => {
      (scenario.rig.devices[0] as Record<string, unknown>).bootSeconds = "long";
      scenario.rig.devices[1]!.clockSources = ["9"];
      scenario.events[1]!.link = "mian";
    });
    expect(found).toHaveLength(3);
  });

  it("prints at most so many and counts the rest", () => {
    const { issues } = read({
      ...example(),
      events: Array.from({ length: 400 }, () => ({ at: "00:00:01", do: "reboot", device: "none" })),
    });
    expect(issues.length).toBe(400);
    expect(formatIssues(issues)).toHaveLength(ISSUES_SHOWN + 1);
    expect(formatIssues(issues).at(-1)).toBe("and 200 more");
  });
});

describe("hostile input is refused in words", () => {
  const first = (bytes: Uint8Array): string =>
    formatIssue(bytesRead(bytes).issues[0] as Parameters<typeof formatIssue>[0]);

  it("50 MB, UTF-16, bytes that are no text, an empty file", () => {
    expect(first(new Uint8Array(50e6))).toContain("expected a file of at most 4 MB, received 50.0 MB");
    expect(first(new Uint8Array([0xff, 0xfe, 0x7b, 0]))).toContain("received UTF-16");
    expect(first(new Uint8Array([0x7b, 0x80, 0x7d]))).toContain("received bytes that are not UTF-8");
    expect(first(utf8(""))).toContain("received an empty file");
    expect(FILE_BYTES_MAX).toBe(4_000_000);
  });

  it("deep nesting, an unfinished file, numbers beyond all bounds", () => {
    expect(first(utf8("[".repeat(100_000)))).toContain("objects and lists at most 64 deep");
    expect(first(utf8('{"format": 1, "title": "x'))).toContain("test.json:1:");
    const { issues } = read(JSON.stringify(example()).replace('"lengthMetres":80', '"lengthMetres":1e999'));
    expect(issues.map(formatIssue).join()).toContain(
      "lengthMetres: expected a number from 0 to 100000 m, received Infinity",
    );
  });

  it("keys that would reach a prototype are keys like any other", () => {
    const text = JSON.stringify(example()).replace(
      '"story":',
      '"__proto__": {"polluted": 1}, "constructor": {}, "story":',
    );
    const found = read(text).issues.map(formatIssue).join("\n");
    expect(found).toContain('received "__proto__"; take it away');
    expect(found).toContain('received "constructor"');
    expect(({} as Record<string, unknown>).polluted).toBeUndefined();
  });

  it("a key twice", () => {
    expect(
      read(JSON.stringify(example()).replace('"format":1', '"format":1,"format":1')).issues.map(formatIssue).join(),
    ).toContain('"format" again');
  });

  it("a name of which nothing can be seen", () => {
    for (const blank of [" ", "\u00a0\u2003", "\u202e\u200b"]) {
      const text = JSON.stringify(example()).replace(/"name":"[^"]*"/, `"name":${JSON.stringify(blank)}`);
      expect(text).not.toBe(JSON.stringify(example()));
      const found = read(text).issues.map(formatIssue);
      expect(found).toHaveLength(1);
      expect(found[0]).toMatch(/expected a text .*not of blanks alone.*; write something that can be seen/);
    }
  });

  it("control and direction characters never reach the terminal raw", () => {
    const found = issuesOf((scenario) => (scenario.rig.devices[0]!.id = "\u001b[31mfoh\u202e"));
    expect(found.length).toBeGreaterThan(0);
    // biome-ignore lint/suspicious/noControlCharactersInRegex: they are what is looked for
    expect(found.join("")).not.toMatch(/[\u001b\u202e]/u);
  });

  it("whatever the text, reading ends with a plan or with issues, and throws nothing", () => {
    let refused = 0;
    fc.assert(
      fc.property(
        fc.oneof(
          fc.string({ unit: "binary" }),
          fc.jsonValue().map((value) => JSON.stringify(value)),
          fc.json().map((text) => text.slice(1)),
        ),
        (text) => {
          const { plan: made, issues } = bytesRead(utf8(text));
          if (made === null) refused += 1;
          expect(made !== null || issues.length > 0).toBe(true);
        },
      ),
      tries(300),
    );
    expect(refused).toBeGreaterThan(250);
  });

  it.each([
    ["cables from device to device", example],
    ["networks", networkExample],
  ])("any one value of a scenario replaced by any other: words, never a throw: %s", (_, base) => {
    const text = JSON.stringify(base());
    const values = [...text.matchAll(/:("[^"]*"|[\d.-]+|true)/g)];
    let refused = 0;
    fc.assert(
      fc.property(fc.nat(values.length - 1), fc.jsonValue({ maxDepth: 3 }), (index, value) => {
        const { index: at, 1: old } = values[index] as RegExpMatchArray & { index: number; 1: string };
        const changed = `${text.slice(0, at + 1)}${JSON.stringify(value)}${text.slice(at + 1 + old.length)}`;
        if (read(changed).plan === null) refused += 1;
      }),
      tries(400),
    );
    expect(refused).toBeGreaterThan(200);
  });
});
