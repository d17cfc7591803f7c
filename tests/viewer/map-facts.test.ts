/** What the map draws and says at an instant, from real runs, without a page. */
import { readFileSync } from "node:fs";
import { dirname, join } from "node:path";
import { describe, expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { lanesOf } from "../../sim/lanes/lane.ts";
import { hopsOf } from "../../sim/map/hops.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";
import { clockReader } from "../../viewer/map/clocks.ts";
import { createMoments } from "../../viewer/map/moments.ts";
import { nearestIn, type Walkable, walked } from "../../viewer/map/walk.ts";
import { deviceSaid, linkSaid, sentence, summaryWords, testedSentence } from "../../viewer/map/words.ts";
import { inPageOrder } from "../../viewer/order.ts";
import type { Run } from "../../viewer/run.ts";
import { buildRun, device, link } from "../browser/fixture.ts";

function played(file: string) {
  const load = (name: string) => ({ bytes: readFileSync(join(dirname(file), name)) });
  const { plan } = readScenario({ file, bytes: readFileSync(file) }, load);
  if (plan === null) throw new Error(`${file} cannot be read`);
  const made = rehearse(plan);
  const run: Run = inPageOrder({ format: 1, ...made, telling: tell(made) });
  const lanes = lanesOf(run);
  const moments = createMoments(lanes.all);
  const reader = clockReader(run);
  const at = (seconds: number) => {
    const following = lanes.followers.at(seconds);
    const clocks = reader.at(seconds, following, (link, out) => moments.carries(link, out, seconds));
    const links = run.plan.links.flatMap(({ id }) => moments.link(id, seconds) ?? []);
    return {
      clocks,
      summary: summaryWords(following, clocks, links).replaceAll(/[\u2068\u2069]/g, ""),
      domains: clocks.domains.map(({ leader, members }) => `${leader}: ${members.join(" ")}`),
      arrivals: [...clocks.arrivals].sort(),
      device: (id: string) =>
        sentence(deviceSaid(moments.device(id, seconds)!, following, run.summary.runSeconds)).replaceAll(
          /[\u2068\u2069]/g,
          "",
        ),
      link: (id: string) => {
        const link = run.plan.links.find((each) => each.id === id)!;
        const said = linkSaid(run.plan, link, moments.link(id, seconds)!, clocks, run.summary.runSeconds);
        return sentence(said).replaceAll(/[\u2068\u2069]/g, "");
      },
      word: (id: string) => `${moments.link(id, seconds)!.carries} ${moments.link(id, seconds)!.word}`.trim(),
    };
  };
  return { run, at };
}

describe("the leader reboots", () => {
  const { at } = played("scenarios/leader-reboot.json");

  test("before: one domain, and clock comes out of each cable at the follower's end", () => {
    const before = at(1199);
    expect(before.domains).toHaveLength(1);
    expect(before.domains[0]).toMatch(/^foh: /);
    expect(before.clocks.domains[0]!.members).toHaveLength(7);
    expect(before.arrivals).toHaveLength(6);
    expect(before.summary).toBe("FOH desk leads, and everybody is on that clock; no cable is dead.");
  });

  test("at the break the cable is dead at once, and nothing arrives over it, though the device has not noticed", () => {
    const then = at(1200);
    expect(then.word("foh-stage")).toBe("dead DOWN");
    expect(then.arrivals).not.toContain("foh-stage a");
    expect(at(1199).arrivals).toContain("foh-stage a");
    // The stage box still goes on in terms of a clock that is gone.
    expect(then.domains.some((domain) => domain.startsWith("foh: ") && domain.includes("stage"))).toBe(true);
    expect(then.device("stage")).toContain("Locked");
  });

  test("after: the deputy leads those who have found it", () => {
    const after = at(1202);
    expect(after.clocks.domains.find(({ leader }) => leader === "mon")!.members).toContain("stage");
    expect(after.device("foh")).toBe(
      "FOH desk: Booting, since 00:20:00.000; listens to nobody; next: On its own clock at 00:21:15.000.",
    );
    expect(after.summary).toMatch(/^Monitor desk leads, /);
  });
});

test("a spare says whose it is, and both are dead when the wall is", () => {
  const { at } = played("scenarios/spare-that-was-none.json");
  expect(at(100).word("spare")).toBe("yes");
  expect(at(2400).link("spare")).toBe(
    "Spare cable between Stage box and FOH desk (a spare for the main cable): Down, since 00:40:00.000; nobody has a clock over it; next: Coming up at 00:50:00.000; untested on site.",
  );
  expect(at(2400).summary).toContain("two cables are dead");
});

test("a ring is one domain that nobody leads, and each gives clock to the next", () => {
  const { at } = played("scenarios/ring-of-sources.json");
  const rings = [100, 900, 1800, 3000].map((seconds) =>
    at(seconds).clocks.domains.filter(({ leader, members }) => leader === null && members.length > 1),
  );
  expect(rings.some(({ length }) => length > 0)).toBe(true);
});

test("both ends give, in words", () => {
  const { run, at } = played("scenarios/still-giving.json");
  const words = new Set<string>();
  for (let seconds = 0; seconds < run.summary.runSeconds; seconds += 5)
    for (const { id } of run.plan.links) words.add(at(seconds).word(id));
  expect([...words]).toContain("yes BOTH GIVE");
});

describe("a network", () => {
  const { run, at } = played("scenarios/one-switch-reboots.json");

  test("switches stand on the way between leader and followers", () => {
    const hops = hopsOf(run.plan);
    const kinds = run.plan.devices.map(({ id, kind }) => `${kind === "switch" ? "switch" : "device"} ${hops.get(id)}`);
    expect(new Set(kinds)).toEqual(new Set(["device 0", "switch 1", "switch 2", "device 3"]));
  });

  test("clock goes over every cable between leader and follower, and over none that is dead", () => {
    const [before, while_] = [at(1700), at(1801)];
    const follower = before.clocks.domains[0]!.members.find((id) => id !== before.clocks.domains[0]!.leader)!;
    const ends = run.plan.links.flatMap(({ id, a, b }) => [
      { end: `${id} a`, device: a.device },
      { end: `${id} b`, device: b.device },
    ]);
    const into = (id: string, arrivals: readonly string[]) =>
      ends.filter(({ end, device }) => device === id && arrivals.includes(end));
    expect(into(follower, before.arrivals)).toHaveLength(1);
    const switches = run.plan.devices.filter(({ kind }) => kind === "switch").map(({ id }) => id);
    expect(switches.filter((id) => into(id, before.arrivals).length > 0).length).toBeGreaterThan(1);
    const dead = run.plan.links.filter(({ id }) => while_.word(id).startsWith("dead")).map(({ id }) => id);
    expect(dead.length).toBeGreaterThan(2);
    for (const id of dead) expect(while_.arrivals.some((end) => end.startsWith(`${id} `))).toBe(false);
    expect(while_.summary).toMatch(/cables and .* streams are dead/);
  });

  test("a switch that passes packets on is in nobody's domain, and a stream carries no clock", () => {
    const plain = run.plan.devices
      .filter(({ kind, bridge }) => kind === "switch" && bridge?.timing !== "boundary")
      .map(({ id }) => id);
    expect(plain.length).toBeGreaterThan(0);
    expect(
      at(10)
        .clocks.domains.flatMap(({ members }) => members)
        .filter((id) => plain.includes(id)),
    ).toEqual([]);
    const stream = run.plan.links.find((link) => link.stream !== undefined)!;
    expect(at(10).link(stream.id)).toContain("carries no clock");
  });
});

describe("arrow keys", () => {
  const map: Walkable = {
    devices: new Map([
      ["foh", { x: 0, y: 0 }],
      ["stage", { x: 300, y: 0 }],
      ["mon", { x: 300, y: 100 }],
      ["alone", { x: 0, y: 200 }],
    ]),
    wires: [
      { key: "main", a: "stage", b: "foh", middle: { x: 150, y: -6 } },
      { key: "spare", a: "stage", b: "foh", middle: { x: 150, y: 6 } },
      { key: "tie", a: "foh", b: "mon", middle: { x: 150, y: 50 } },
    ],
  };

  test("lead along a cable to its other end, and from cable to cable", () => {
    expect(walked(map, "foh", "right")).toBe("main");
    expect(walked(map, "main", "right")).toBe("stage");
    expect(walked(map, "main", "left")).toBe("foh");
    expect(walked(map, "main", "down")).toBe("spare");
    expect(walked(map, "spare", "down")).toBe("tie");
    expect(walked(map, "tie", "right")).toBe("mon");
  });

  test("reach what no cable leads to, and stop where there is nothing", () => {
    expect(walked(map, "foh", "down")).toBe("alone");
    expect(walked(map, "foh", "left")).toBeNull();
    expect(nearestIn("up", { x: 0, y: 0 }, [])).toBeNull();
  });
});

describe("what nobody has pulled on site", () => {
  const links = [link("main", ["foh", 1], ["stage", 1]), link("spare", ["foh", 2], ["stage", 2])];
  const onSite = (dates: Readonly<Record<string, string>>) => {
    const dated = links.map((each) => (dates[each.id] === undefined ? each : { ...each, tested: dates[each.id]! }));
    const run = buildRun({
      devices: [device("foh", "FOH desk", ["internal"]), device("stage", "Stage box", ["1", "2"])],
      links: dated,
      spares: [
        {
          id: "pair",
          links: ["main", "spare"],
          mode: "standby",
          switchSeconds: 0.3,
          revertive: true,
          waitToRestoreSeconds: 0,
        },
      ],
    });
    const moments = createMoments(lanesOf(run).all);
    const clocks = { arrivals: new Set<string>(), domains: [] };
    const said = (id: string) => {
      const found = run.plan.links.find((each) => each.id === id)!;
      return linkSaid(run.plan, found, moments.link(id, 0)!, clocks, 5400);
    };
    return { main: said("main"), spare: said("spare"), all: testedSentence(run.plan) };
  };

  test("is told of each cable and of all of them", () => {
    const none = onSite({});
    expect(none.main.onSite).toBe("untested on site");
    expect(sentence(none.main)).toMatch(/; untested on site\.$/);
    expect(none.all).toBe("Every cable is untested: no date says that anybody pulled one on site.");
    expect(onSite({ main: "2026-11-20" }).all).toBe("One cable is untested, of two.");
    expect(onSite({ main: "2026-11-20", spare: "2026-11-18" }).all).toBe(
      "Every cable has been pulled on site, the first of them on 2026-11-18.",
    );
    expect(
      testedSentence({
        ...buildRun({ devices: [device("foh", "FOH desk", ["internal"])], links: [] }).plan,
        links: [],
      }),
    ).toBe("");
  });

  test("a spare that was pulled has not taken over by that: its main has to be pulled", () => {
    expect(onSite({ spare: "2026-11-20" }).spare.onSite).toBe(
      "pulled on site on 2026-11-20, but not the main cable: its taking over is untested",
    );
    expect(onSite({ main: "2026-11-19", spare: "2026-11-20" }).spare.onSite).toBe("pulled on site on 2026-11-20");
  });
});
