/** What each fault does to a run: contacts, batteries, devices that stick or come back otherwise, sync, T-ed lines. */
import { describe, expect, it } from "vitest";
import type { Row } from "../../shared/record.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { faultsOf } from "../../sim/faults.ts";
import { powerChanges, sourcesChanges } from "../../sim/lives.ts";
import type { Run } from "../../sim/rehearse.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { looksOf } from "../../sim/timeline.ts";
import { whyOf } from "../../sim/why.ts";
import { example } from "../helpers/example.ts";
import { lineExample } from "../helpers/line-example.ts";
import { plan } from "../helpers/rig.ts";

type Example = ReturnType<typeof example>;

function played(events: readonly object[], change: (rig: Example["rig"]) => object = (rig) => rig): Run {
  const scenario = example();
  const run = { length: "00:30:00", seed: "quay-1" };
  return rehearse(plan({ ...scenario, run, rig: change(scenario.rig), events, expect: [] }));
}

/** A field of one device of the rig. */
const withField = (id: string, field: object) => (rig: Example["rig"]) => ({
  ...rig,
  devices: rig.devices.map((device) => (device.id === id ? { ...device, ...field } : device)),
});

/** "locked 1" from an instant on, as [seconds, state and source]. */
function states({ record }: Run, device: string, from = 0.001): [number, string][] {
  return record.rows.flatMap(({ subject, fact, atNs }): [number, string][] =>
    subject === `device ${device}` && fact.kind === "clock" && atNs >= from * 1e9
      ? [[Math.round(atNs / 1e6) / 1e3, fact.source === null ? fact.state : `${fact.state} ${fact.source}`]]
      : [],
  );
}

function linkStates({ record }: Run, subject: string): [number, string][] {
  return record.rows.flatMap(({ subject: own, fact, atNs }): [number, string][] =>
    own === subject && fact.kind === "link" && atNs > 0 ? [[atNs / 1e9, fact.state]] : [],
  );
}

const feedOf = ({ summary }: Run, id: string) => summary.feeds.find((feed) => feed.id === id)!;

describe("a cable that comes and goes", () => {
  const flaps = { at: "00:05:00", do: "intermittent", link: "main", everySeconds: 30, outSeconds: 0.4, count: 4 };
  const outs = (run: Run) => linkStates(run, "link main there").filter(([, state]) => state === "down");

  it("is down at each turn, with the event of that turn as its cause", () => {
    const run = played([flaps]);
    const breaks = run.record.rows.filter(
      ({ subject, fact }) =>
        subject === "link main there" && fact.kind === "link" && fact.state === "down" && !fact.noticed,
    );
    expect(breaks.map(({ atNs }) => atNs / 1e9)).toEqual([300, 330, 360, 390]);
    const turns = breaks.map(({ cause }) => {
      const { fact } = run.record.rows[cause] as Row;
      return fact.kind === "event" && fact.event.do === "lose-contact" ? fact.event.intermittent.turn : null;
    });
    expect(turns).toEqual([1, 2, 3, 4]);
  });

  it("is one fault: nothing between two turns belongs to a return, only what comes after the last", () => {
    const run = played([{ ...flaps, everySeconds: 20, outSeconds: 5 }]);
    const faults = faultsOf(run.plan, looksOf(run.record));
    expect(faults.map(({ repairedNs }) => repairedNs / 1e9)).toEqual([365, 365, 365, 365]);
    const { dropouts } = feedOf(run, "pa-mix");
    expect(dropouts.whileFaulty).toBeGreaterThanOrEqual(4);
    expect(dropouts.onReturn).toBe(0);
    // The same breaks as so many faults of their own.
    const four = [0, 20, 40, 60].map((after) => ({
      at: `00:0${after < 60 ? 5 : 6}:${String(after % 60).padStart(2, "0")}`,
      do: "unplug",
      link: "main",
      forSeconds: 5,
    }));
    expect(linkStates(run, "link main there")).toEqual(linkStates(played(four), "link main there"));
  });

  it("takes one way where one is named, and the other goes on", () => {
    const run = played([{ ...flaps, way: "back" }]);
    expect(outs(run)).toEqual([]);
    expect(linkStates(run, "link main back").filter(([, state]) => state === "down").length).toBeGreaterThanOrEqual(4);
  });

  it("neither mends a cut nor puts in a plug that somebody has pulled meanwhile", () => {
    const cut = played([flaps, { at: "00:05:20", do: "cut", path: "stage-left wall", forSeconds: 300 }]);
    expect(linkStates(cut, "link main there").filter(([at]) => at > 320 && at < 620)).toEqual([[320.01, "down"]]);
    const pulled = played([flaps, { at: "00:05:20", do: "unplug", link: "main" }]);
    expect(linkStates(pulled, "link main there").filter(([at]) => at > 320)).toEqual([[320.01, "down"]]);
  });
});

describe("a device that sticks", () => {
  const stick = { at: "00:05:00", do: "stick", device: "stage" };
  const out = { at: "00:06:00", do: "unplug", link: "main", forSeconds: 60 };

  it("takes no other source when its own is lost, and that one again when it is back", () => {
    expect(states(played([out]), "stage").map(([, state]) => state)).toContain("locked 2");
    const stuck = states(played([stick, out]), "stage");
    expect(stuck.map(([, state]) => state)).toEqual(["free-run", "acquiring 1", "locked 1"]);
    expect(stuck[0]![0]).toBeCloseTo(360.01, 6);
    expect(stuck[1]![0]).toBeGreaterThan(420);
  });

  it("still coasts where it can", () => {
    const run = played([stick, { ...out, forSeconds: 600 }], withField("stage", { holdoverSeconds: 30 }));
    expect(states(run, "stage").slice(0, 2)).toEqual([
      [360.01, "holdover"],
      [390.01, "free-run"],
    ]);
  });

  it("does not do what it is told; what its list says counts from when it is let go", () => {
    const choose = { at: "00:06:00", do: "choose-source", device: "stage", source: "2" };
    const set = { at: "00:07:00", do: "set-clock-sources", device: "stage", clockSources: ["2"] };
    expect(states(played([choose]), "stage").map(([, state]) => state)).toContain("locked 2");
    const run = played([stick, choose, set, { ...stick, at: "00:08:00", forSeconds: 60 }]);
    expect(states(run, "stage").filter(([at]) => at < 540)).toEqual([]);
    const after = states(run, "stage");
    expect(after[0]![0]).toBeGreaterThanOrEqual(540);
    expect(after.map(([, state]) => state)).toEqual(["acquiring 2", "locked 2"]);
    const [row] = whyOf(run.plan, run.record, { kind: "device", id: "stage" }, nsFromSeconds(600)).chains[0]!.slice(-1);
    expect(row!.fact).toMatchObject({ kind: "event", event: { do: "unstick" } });
  });

  it("lets go when it boots", () => {
    const run = played([stick, { at: "00:05:30", do: "reboot", device: "stage" }, out]);
    expect(states(run, "stage", 360).map(([, state]) => state)).toContain("locked 2");
    const [fault] = faultsOf(run.plan, looksOf(run.record));
    expect(fault).toEqual({ fromNs: 300e9, repairedNs: 330e9 });
  });

  it("sticks to nothing while it is off or booting", () => {
    const run = played([{ at: "00:04:50", do: "reboot", device: "stage" }, stick, out]);
    expect(states(run, "stage", 360).map(([, state]) => state)).toContain("locked 2");
  });

  it("stays on its own clock if it is there, though a source comes", () => {
    const set = { at: "00:04:00", do: "set-clock-sources", device: "stage", clockSources: ["internal"] };
    const back = { ...set, at: "00:06:00", clockSources: ["1", "2"] };
    expect(states(played([set, back]), "stage").at(-1)![1]).toBe("locked 1");
    expect(states(played([set, stick, back]), "stage").at(-1)![1]).toBe("free-run internal");
  });
});

describe("a device that comes back otherwise", () => {
  const wrong = withField("stage", { afterReboot: { clockSources: ["internal"] } });
  const end = (events: readonly object[], change = wrong) => states(played(events, change), "stage", 0).at(-1)![1];

  it("has those sources after a reboot and after power, and blames what made it boot", () => {
    const reboot = { at: "00:05:00", do: "reboot", device: "stage" };
    expect(end([reboot], (rig) => rig)).toBe("locked 1");
    expect(end([reboot])).toBe("free-run internal");
    expect(end([{ at: "00:05:00", do: "power-cut", supply: "stage", forSeconds: 5 }])).toBe("free-run internal");
    const run = played([reboot], wrong);
    const chain = whyOf(run.plan, run.record, { kind: "device", id: "stage" }, nsFromSeconds(600)).chains[0]!;
    expect(chain.at(-1)!.fact).toMatchObject({ kind: "event", event: { do: "reboot" } });
    expect(feedOf(run, "pa-mix").slips).toBeGreaterThan(10);
  });

  it("keeps what it has where only the surface reboots, at its first boot, or where nothing of it goes", () => {
    expect(end([{ at: "00:05:00", do: "reboot", device: "stage", part: "surface" }])).toBe("locked 1");
    expect(end([{ at: "00:05:00", do: "power-cut", supply: "foh", forSeconds: 5 }])).toBe("locked 1");
    const late = withField("stage", { atStart: "off", afterReboot: { clockSources: ["internal"] } });
    const on = { at: "00:02:00", do: "power-back", device: "stage" };
    expect(end([on], late)).toBe("locked 1");
    expect(end([on, { at: "00:05:00", do: "reboot", device: "stage" }], late)).toBe("free-run internal");
    // Off: there is nothing to reboot.
    const off = [{ at: "00:01:00", do: "reboot", device: "stage" }, on];
    expect(end(off, late)).toBe("locked 1");
  });

  it("may listen to a port that nothing but this makes it listen to, until somebody sets it again", () => {
    const port = withField("stage", { clockSources: ["1"], afterReboot: { clockSources: ["2"] } });
    const reboot = { at: "00:05:00", do: "reboot", device: "stage" };
    expect(end([reboot], port)).toBe("locked 2");
    const set = { at: "00:10:00", do: "set-clock-sources", device: "stage", clockSources: ["1"] };
    expect(end([reboot, set], port)).toBe("locked 1");
    const run = played([reboot, set, { ...reboot, at: "00:20:00" }], port);
    const device = run.plan.devices.find(({ id }) => id === "stage")!;
    expect(
      sourcesChanges(run.plan, device).map(({ clockSources, isAfterReboot }) => [...clockSources, isAfterReboot]),
    ).toEqual([
      ["2", true],
      ["1", false],
      ["2", true],
    ]);
  });
});

describe("a supply with a battery", () => {
  const battery = (rig: Example["rig"]) => ({ ...rig, supplies: [{ id: "pa", batterySeconds: 90 }] });
  const cut = { at: "00:05:00", do: "power-cut", supply: "pa" };
  const paStates = (events: readonly object[]) =>
    states(played(events, battery), "pa").map(([at, state]) => [at, state]);

  it("keeps its devices going until it is empty", () => {
    expect(states(played([cut]), "pa")).toEqual([[300, "off"]]);
    expect(paStates([cut])).toEqual([[390, "off"]]);
    expect(paStates([{ ...cut, forSeconds: 89 }])).toEqual([]);
    const long = paStates([{ ...cut, forSeconds: 120 }]);
    expect(long.slice(0, 2)).toEqual([
      [390, "off"],
      [420, "starting"],
    ]);
    const run = played([{ ...cut, forSeconds: 120 }], battery);
    const pa = run.plan.devices.find(({ id }) => id === "pa")!;
    expect(powerChanges(run.plan, pa).map(({ atNs, on }) => [atNs / 1e9, on])).toEqual([
      [0, true],
      [390, false],
      [420, true],
    ]);
    // From the mains on it is one fault; the battery is none of its own.
    expect(faultsOf(run.plan, looksOf(run.record))).toEqual([{ fromNs: 300e9, repairedNs: 420e9 }]);
  });
});

describe("a leader without sync", () => {
  const rig = (profile: string) => ({
    sampleRateHz: 48_000,
    leaders: ["foh"],
    networks: [{ id: "red", profile }],
    devices: [
      { id: "foh", kind: "desk", clockSources: ["internal"], oscillator: { offsetPpm: 4 }, ptp: { priority1: 100 } },
      { id: "mon", kind: "desk", clockSources: ["1"], oscillator: { offsetPpm: -3 }, ptp: { priority1: 110 } },
      {
        id: "stage",
        kind: "stage-box",
        clockSources: ["1"],
        oscillator: { offsetPpm: -6 },
        holdoverSeconds: 10,
        ptp: { followerOnly: true },
      },
      { id: "sw", kind: "switch", clockSources: ["internal"] },
    ],
    links: ["foh", "mon", "stage"].map((id, index) => ({
      id: `to-${id}`,
      type: "ethernet",
      ends: [`${id}.1`, `sw.${index + 1}`],
    })),
  });
  const run = (profile: string, ...events: object[]) =>
    rehearse(
      plan({
        format: 1,
        title: "Half a leader",
        run: { length: "00:15:00", seed: "quay-1" },
        rig: rig(profile),
        events,
      }),
    );
  const elections = ({ record }: Run) =>
    record.rows.filter(({ fact, atNs }) => fact.kind === "election" && atNs > 100e9).length;
  const stop = { at: "00:05:00", do: "stop-sync", device: "foh", forSeconds: 120 };

  it("leaves followers to themselves, and nobody elects another", () => {
    const half = run("aes67", stop);
    const found = states(half, "stage", 100);
    expect(found.slice(0, 2).map(([, state]) => state)).toEqual(["holdover", "free-run"]);
    const [lost, free] = found.map(([at]) => at) as [number, number];
    expect(lost).toBeGreaterThanOrEqual(300);
    expect(lost).toBeLessThan(302);
    expect(free - lost).toBeCloseTo(10, 3);
    expect(elections(half)).toBe(0);
    expect(found.at(-1)).toMatchObject([expect.any(Number), "locked 1"]);
    expect(faultsOf(half.plan, looksOf(half.record))).toEqual([{ fromNs: 300e9, repairedNs: 420e9 }]);
    // The loss has its cause.
    const { chains } = whyOf(half.plan, half.record, { kind: "device", id: "stage" }, nsFromSeconds(305));
    expect(chains[0]!.at(-1)!.fact).toMatchObject({ kind: "event", event: { do: "stop-sync" } });
  });

  it("makes roles flap where sync that does not come ages what was announced", () => {
    expect(elections(run("802.1as", stop))).toBeGreaterThan(100);
    expect(elections(run("802.1as"))).toBe(0);
  });

  it("sends it again after a reboot, and is whole again from when that begins", () => {
    const reboot = { at: "00:06:00", do: "reboot", device: "foh" };
    const never = run("aes67", { ...stop, forSeconds: undefined });
    expect(states(never, "stage", 100).at(-1)![1]).toBe("free-run");
    const booted = run("aes67", { ...stop, forSeconds: undefined }, reboot);
    expect(states(booted, "stage", 100).at(-1)![1]).toBe("locked 1");
    expect(faultsOf(booted.plan, looksOf(booted.record))[0]).toEqual({ fromNs: 300e9, repairedNs: 360e9 });
  });
});

describe("a T-ed line", () => {
  const run = (...events: object[]) => rehearse(plan({ ...lineExample(), events }));
  const taps = ["word", "word:mon", "word:rec"];
  const downAt = (one: Run) =>
    taps.map((id) => linkStates(one, `link ${id} there`).flatMap(([at, state]) => (state === "down" ? [at] : []))[0]);

  it("goes down as one cable, and at one tap only for that one", () => {
    expect(downAt(run({ at: "00:05:00", do: "unplug", link: "word" }))).toEqual([300, 300, 300]);
    expect(downAt(run({ at: "00:05:00", do: "unplug", link: "word", end: "from" }))).toEqual([300, 300, 300]);
    expect(downAt(run({ at: "00:05:00", do: "cut", path: "cable trough" }))).toEqual([300, 300, 300]);
    const one = run({ at: "00:05:00", do: "unplug", link: "word", end: "mon", forSeconds: 60 });
    expect(downAt(one)).toEqual([undefined, 300, undefined]);
    expect(states(one, "foh")).toEqual([]);
    expect(states(one, "mon").map(([, state]) => state)).toContain("free-run internal");
    expect(states(one, "mon").at(-1)![1]).toBe("locked 1");
  });

  it("goes with the sender's plug into another of its ports", () => {
    const moved = run(
      { at: "00:05:00", do: "unplug", link: "word", end: "from" },
      { at: "00:06:00", do: "plug", link: "word", end: "from", into: 4 },
    );
    for (const id of ["foh", "mon", "rec"]) expect(states(moved, id).at(-1)![1]).toBe("locked 1");
    expect(faultsOf(moved.plan, looksOf(moved.record))).toEqual([{ fromNs: 300e9, repairedNs: 360e9 }]);
  });
});
