/**
 * A run as a value change dump: read back by another reader and compared with what the run says of itself, then taken
 * through the tools of a wave viewer and back. Those end with status 0 whatever they are given, so contents are compared.
 */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, test } from "vitest";
import type { Ns } from "../../shared/time.ts";
import { SLIPS_SINGLY } from "../../sim/export/signals.ts";
import { vcdText } from "../../sim/export/vcd.ts";
import type { Run } from "../../sim/rehearse.ts";
import { slipInstants } from "../../sim/slips.ts";
import { buildRun, device, feed, link, slippingRun } from "../browser/fixture.ts";
import { type Dump, readVcd, wordsOf } from "./read-vcd.ts";
import { shippedRuns } from "./runs.ts";

const VERSION = "1.2.3";
const dumpOf = (run: Run) => readVcd(vcdText(run, VERSION));

/** Stretches of equal value, in words: [what, from, to] in whole nanoseconds. */
function stretchesIn(dump: Dump, place: string): readonly (readonly [string, number, number])[] {
  const changes = dump.signals.get(place)?.changes ?? [];
  const words = wordsOf(dump).get(place);
  return changes.map(({ at, value }, index) => [
    words?.[value as number] ?? `no word for ${value}`,
    at,
    changes[index + 1]?.at ?? dump.endsAt,
  ]);
}

interface Timed {
  readonly fromSeconds: number;
  readonly toSeconds: number;
}

/** What the summary says, joined where the word stays the same. */
function stretchesOf<T extends Timed>(stretches: readonly T[], wordOf: (stretch: T) => string) {
  const found: [string, number, number][] = [];
  for (const stretch of stretches) {
    const [word, from, to] = [
      wordOf(stretch),
      Math.round(stretch.fromSeconds * 1e9),
      Math.round(stretch.toSeconds * 1e9),
    ];
    // One slip alone: counted, and too short for a state.
    if (from === to) continue;
    const last = found.at(-1);
    if (last?.[0] === word && last[2] === from) last[2] = to;
    else found.push([word, from, to]);
  }
  return found;
}

const source = (name: string | null) => (name === null ? "none" : name === "internal" ? name : `port ${name}`);

describe.each(shippedRuns())("%s", (_, run) => {
  const { summary, record } = run;
  const dump = dumpOf(run);

  test("every state of every device, link and feed is in it, from when to when", () => {
    expect(dump.timescale).toBe("1ns");
    expect(dump.endsAt).toBe(record.endNs);
    for (const { id, states } of summary.devices) {
      expect(stretchesIn(dump, `devices ${id} state`)).toEqual(stretchesOf(states, ({ state }) => state));
      expect(stretchesIn(dump, `devices ${id} source`)).toEqual(stretchesOf(states, (each) => source(each.source)));
    }
    for (const { id, way, states } of summary.links) {
      const place = way === "both" ? `links ${id}` : `links ${id} ${way}`;
      expect(stretchesIn(dump, `${place} state`)).toEqual(stretchesOf(states, ({ state }) => state));
      expect(stretchesIn(dump, `${place} clock`)).toEqual(stretchesOf(states, ({ clock }) => clock));
    }
    for (const { id, states } of summary.feeds) {
      const word = ({ state, silence }: (typeof states)[number]) => (state === "silent" ? `silent-${silence}` : state);
      expect(stretchesIn(dump, `feeds ${id} state`)).toEqual(stretchesOf(states, word));
      expect(stretchesIn(dump, `feeds ${id} because`)).toEqual(stretchesOf(states, ({ because }) => because ?? "none"));
    }
    for (const { id, devices } of summary.networks)
      for (const { device: node, roles } of devices)
        expect(stretchesIn(dump, `networks ${id} ${node} role`)).toEqual(stretchesOf(roles, ({ role }) => role));
  });

  test("every event and every slip is counted at its instant", () => {
    const deeds = new Map<string, number[]>();
    for (const { do: deed, on, atSeconds } of summary.events) {
      const key = `events ${deed}:${on.replaceAll(" ", "%20")}`;
      deeds.set(key, [...(deeds.get(key) ?? []), Math.round(atSeconds * 1e9)]);
    }
    for (const [place, instants] of deeds) expect(countedIn(dump, place)).toEqual(countsOf(instants));
    const slips = new Map<string, number[]>();
    for (const { fact } of record.rows) {
      if (fact.kind !== "slips") continue;
      const place = `links ${fact.link} ${fact.way} ${fact.sign > 0 ? "drops" : "repeats"}`;
      slips.set(place, [...(slips.get(place) ?? []), ...slipInstants(fact, 0 as Ns, record.endNs)]);
    }
    for (const [place, instants] of slips) expect(countedIn(dump, place)).toEqual(countsOf(instants));
    for (const { id, states } of summary.feeds) {
      const slipping = states.filter((stretch) => stretch.slips > 0);
      const sums = slipping.map((_, index) => slipping.slice(0, index + 1).reduce((sum, each) => sum + each.slips, 0));
      const ends = slipping.map(({ toSeconds }, index) => [Math.round(toSeconds * 1e9), sums[index]]);
      expect(countedIn(dump, `feeds ${id} slips`)).toEqual(ends.length === 0 ? [] : [[0, 0], ...ends]);
    }
    const counters = [...dump.signals.keys()].filter((place) => / (drops|repeats)$/.test(place));
    expect(counters.toSorted()).toEqual([...slips.keys()].toSorted());
  });
});

/** [instant, how many by then], one for each instant. */
function countsOf(instants: readonly number[]): readonly (readonly [number, number])[] {
  const counts = new Map<number, number>([[0, 0]]);
  for (const [index, at] of instants.toSorted((one, other) => one - other).entries()) counts.set(at, index + 1);
  return [...counts];
}

function countedIn({ signals }: Dump, place: string) {
  return (signals.get(place)?.changes ?? []).map(({ at, value }) => [at, value]);
}

test("shipped scenarios have what there is to write: slips both ways, networks, converters, jumps, surfaces", () => {
  const places = shippedRuns().flatMap(([, run]) => [...dumpOf(run).signals.keys()]);
  for (const end of ["drops", "repeats", "role", "converter", "realigned", "surface", "decodes", "in_step"])
    expect(places.filter((place) => place.endsWith(` ${end}`)).length, end).toBeGreaterThan(0);
});

test("what a device has beside its state is in it", () => {
  const run = buildRun({
    devices: [device("foh", "FOH desk", ["internal"])],
    leaders: ["foh"],
    facts: [
      { atSeconds: 2, subject: "device foh", fact: { kind: "hung", hung: true } },
      { atSeconds: 3, subject: "device foh", fact: { kind: "surface", works: false } },
      { atSeconds: 4, subject: "device foh", fact: { kind: "re-aligned", bySeconds: 1e-6 } },
    ],
  });
  const dump = dumpOf(run);
  expect(countedIn(dump, "devices foh hung")).toEqual([
    [0, 0],
    [2e9, 1],
  ]);
  expect(countedIn(dump, "devices foh surface")).toEqual([
    [0, 1],
    [3e9, 0],
  ]);
  expect(countedIn(dump, "devices foh realigned")).toEqual([
    [0, 0],
    [4e9, 1],
  ]);
});

test("the same run gives the same bytes", () => {
  const [[, run]] = shippedRuns() as [readonly [string, Run]];
  expect(vcdText(run, VERSION)).toBe(vcdText(structuredClone(run), VERSION));
  expect(vcdText(run, VERSION)).not.toContain("$date");
});

test("names of any kind neither end a comment nor run into one another", () => {
  const run = buildRun({
    devices: [device("2nd", "$end", ["internal"]), device("a-b", "A", ["internal"]), device("a_b", "B", ["internal"])],
    links: [link("tie", ["2nd", 1], ["a-b", 1])],
    feeds: [feed("mix", "Mix", ["2nd", "a-b"], [{ link: "tie", way: "there" }], ["pa"])],
    leaders: ["2nd"],
  });
  const title = "$end $var wire 1 ! x $end\n語 “quay”";
  const dump = dumpOf({ ...run, summary: { ...run.summary, scenario: { ...run.summary.scenario, title } } });
  expect([...dump.signals.keys()]).toEqual(
    expect.arrayContaining(["devices 2nd state", "devices a-b state", "devices a_b state"]),
  );
  expect(dump.comments[0]).toContain("%24end %24var wire 1 ! x %24end%0a%u{8a9e}");
});

test("of more slips than a viewer needs one by one, each change is right, and so are the first and the last", () => {
  const total = 2 * SLIPS_SINGLY + 1;
  const run = slippingRun(total);
  const [train] = run.record.rows.flatMap(({ fact }) => (fact.kind === "slips" ? [fact] : []));
  const instants = slipInstants(train!, 0 as Ns, run.record.endNs);
  const changes = countedIn(dumpOf(run), "links tie there drops");
  expect(instants).toHaveLength(total);
  expect(changes.length).toBeGreaterThan(SLIPS_SINGLY / 2);
  expect(changes.length).toBeLessThanOrEqual(SLIPS_SINGLY + 3);
  for (const [at, value] of changes.slice(1)) expect(instants[(value as number) - 1]).toBe(at);
  expect(changes[1]).toEqual([instants[0], 1]);
  expect(changes.at(-1)).toEqual([instants.at(-1), total]);
});

test("the reader takes no broken dump", () => {
  const [[, run]] = shippedRuns() as [readonly [string, Run]];
  const text = vcdText(run, VERSION);
  expect(() => readVcd(text.replace(/^(b[01]+ )\S+$/m, "$1~~~~"))).toThrow("nothing has the code");
  expect(() => readVcd(text.replace(/^#\d+$(?![\s\S]*^#\d+$)/m, "#1"))).toThrow(/#1 after/);
  expect(() => readVcd(text.replace("$upscope $end", ""))).toThrow();
  expect(() => readVcd(text.replace(/^b[01]+ /m, "b111111111111111111111111111111111111111111 "))).toThrow("bits");
});

const hasTools = ["vcd2fst", "fst2vcd"].every((tool) => spawnSync(tool, ["--help"]).error === undefined);

describe.skipIf(!hasTools)(
  "through a wave viewer's tools and back (skipped without vcd2fst and fst2vcd: Debian's gtkwave)",
  () => {
    let folder = "";
    beforeAll(() => {
      folder = mkdtempSync(join(tmpdir(), "pulltest-vcd-"));
    });
    afterAll(() => rmSync(folder, { recursive: true, force: true }));

    function thereAndBack(text: string): Dump {
      const [there, middle, back] = ["there.vcd", "middle.fst", "back.vcd"].map((name) => join(folder, name)) as [
        string,
        string,
        string,
      ];
      for (const path of [middle, back]) rmSync(path, { force: true });
      writeFileSync(there, text);
      expect(spawnSync("vcd2fst", [there, middle]).status).toBe(0);
      expect(spawnSync("fst2vcd", ["-f", middle, "-o", back]).status).toBe(0);
      return readVcd(readFileSync(back, "utf8"));
    }
    const contentOf = ({ timescale, signals, endsAt }: Dump) => ({ timescale, signals: [...signals], endsAt });

    test.each(shippedRuns())("%s: every signal and every change of it is as it was", (_, run) => {
      const text = vcdText(run, VERSION);
      const before = readVcd(text);
      expect(contentOf(thereAndBack(text))).toEqual(contentOf(before));
    });

    test("there are changes to lose", () => {
      const changed = shippedRuns().filter(([, run]) =>
        [...dumpOf(run).signals.values()].some(({ changes }) => changes.length > 1),
      );
      expect(changed.length).toBeGreaterThan(25);
    });

    test("a change that is lost on the way is seen", () => {
      const [[, run]] = shippedRuns() as [readonly [string, Run]];
      const text = vcdText(run, VERSION);
      const broken = text.replace(/(\n#[1-9]\d*\n)(?:b[01]+ |[01])\S+\n/, "$1");
      expect(broken).not.toBe(text);
      expect(contentOf(thereAndBack(broken))).not.toEqual(contentOf(readVcd(text)));
    });
  },
);
