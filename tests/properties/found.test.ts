/** What the laws have found, each as the smallest rig that shows it. */
import { describe, expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import type { Moment } from "../../sim/engine.ts";
import { startEngine } from "../../sim/engine.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { buildRig } from "../../sim/rig.ts";
import { readClocks, readSlips } from "../helpers/reading.ts";
import { at, cable, device, plan, plug, unplug } from "../oracle/hand-rig.ts";

const leader = device("foh", ["internal"], { offsetPpm: 5, bootSeconds: 4 });

function clockRows(run: ReturnType<typeof rehearse>, id: string): string[] {
  return run.record.rows.flatMap(({ atNs, subject, fact }) =>
    fact.kind === "clock" && subject === `device ${id}`
      ? [`${(atNs / 1e9).toFixed(3)} ${fact.state} ${fact.source ?? "-"}`]
      : [],
  );
}

/** The row that a row names as its cause: "link main there up". */
function becauseOf(rows: readonly Row[], subject: string, isIt: (fact: Row["fact"]) => boolean): string {
  const row = rows.find((each) => each.subject === subject && isIt(each.fact));
  const cause = rows[row?.cause ?? -1];
  if (cause === undefined) return "start";
  const { fact } = cause;
  return `${cause.subject} ${fact.kind === "event" ? fact.event.do : fact.kind === "clock" || fact.kind === "link" ? fact.state : fact.kind}`;
}

describe("slips", () => {
  test("are not counted where no audio arrives: word clock has no buffer", () => {
    const guest = device("guest", ["internal"], { offsetPpm: -5 });
    const run = rehearse(plan(30, [leader, guest], [cable("foh.1", "guest.1", { type: "word-clock", channels: 0 })]));
    expect(readSlips(run.record.rows).size).toBe(0);
    const withAudio = rehearse(plan(30, [leader, guest], [cable("foh.1", "guest.1")]));
    expect(readSlips(withAudio.record.rows).get("foh.1 guest.1 there")?.length).toBe(14); // 10 ppm: one in 2.0833 s
  });

  test("of a train that turns are counted however its last nanosecond is rounded", () => {
    // 1.618 ppm fast, so 0.98572 samples gained at 12.692 s; then it cools, which takes 2 ppm a second off: the fill
    // passes its depth, turns 0.804 s later and comes back. One drop, which a turning rounded down used to lose.
    for (let nudgePpb = 0; nudgePpb < 24; nudgePpb++) {
      const drift = { tempcoPpmPerCelsius: 0.3 };
      const rig = plan(
        15,
        [
          device("foh", ["internal"], { offsetPpm: 1.618 + nudgePpb / 1000, oscillator: drift }),
          device("guest", ["internal"]),
        ],
        [cable("foh.1", "guest.1")],
        [at(12.692, { do: "temperature", device: "foh", toCelsius: 5.143999999999998, overSeconds: 2.961 })],
      );
      expect(readSlips(rehearse(rig).record.rows).get("foh.1 guest.1 there")?.length, `${nudgePpb} ppb`).toBe(1);
    }
  });

  test("do not fall in a burst when a sender's power blinks: its buffer starts anew", () => {
    // Power is gone for 35 ms, less than the cable needs to notice; the new life of its oscillator begins at x = 0.
    const sender = device("foh", ["internal"], { offsetPpm: 30, whileBooting: "own-clock", bootSeconds: 5 });
    const link = cable("foh.1", "guest.1", { noticeSeconds: 0.05 });
    const off = { device: "foh", supply: null };
    const rig = plan(
      22,
      [sender, device("guest", ["internal"])],
      [link],
      [at(20, { do: "power-cut", ...off }), at(20.035, { do: "power-back", ...off })],
    );
    const slips =
      readSlips(rehearse(rig).record.rows).get(link.id) ??
      readSlips(rehearse(rig).record.rows).get(`${link.id} there`) ??
      [];
    // 30 ppm are 1.44 samples a second: 28 drops in 20 s, and two after 20.035 s, at 0.694 and 1.389 s.
    expect(slips.filter(({ atNs }) => atNs < 20e9).length).toBe(28);
    expect(slips.filter(({ atNs }) => atNs > 20e9).map(({ atNs }) => (atNs / 1e9).toFixed(2))).toEqual([
      "20.73",
      "21.42",
    ]);
  });

  test("are not counted between two ends that both boot at a wrong rate", () => {
    const words = { whileBooting: "wrong-rate" as const, bootSeconds: 10 };
    const rig = plan(
      9,
      [
        device("foh", ["internal"], { ...words, offsetPpm: 40 }),
        device("guest", ["internal"], { ...words, offsetPpm: -40 }),
      ],
      [cable("foh.1", "guest.1")],
      [],
      "cold",
    );
    const { rows } = rehearse(rig).record;
    expect(readSlips(rows).size).toBe(0);
    expect(rows.some(({ fact }) => fact.kind === "input" && fact.decodes)).toBe(false);
  });
});

describe("a settled beginning", () => {
  test("judges a source by the clock it carries, not by one that its sender refuses itself", () => {
    // The box would follow the far desk, which is out of its range, and so is on its own clock; the PA follows the box.
    const rig = plan(
      5,
      [
        device("far", ["internal"], { offsetPpm: 60 }),
        device("box", ["1", "internal"], { offsetPpm: 1, capturePpm: 50 }),
        device("pa", ["1"], { offsetPpm: -3, capturePpm: 50 }),
      ],
      [cable("far.1", "box.1"), cable("box.2", "pa.1")],
    );
    const run = rehearse(rig);
    expect(clockRows(run, "box")).toEqual(["0.000 free-run internal"]);
    expect(clockRows(run, "pa")).toEqual(["0.000 locked 1"]);
  });
});

describe("choosing", () => {
  test("a device that boots takes no orders", () => {
    const stage = device("stage", ["1", "2"], { bootSeconds: 4, revertive: false });
    const rig = plan(
      20,
      [leader, device("mon", ["internal"], { offsetPpm: 5 }), stage],
      [cable("foh.1", "stage.1"), cable("mon.1", "stage.2")],
      [
        at(5, { do: "reboot", device: "stage", part: "all" }),
        at(7, { do: "choose-source", device: "stage", source: "2" }),
      ],
    );
    expect(clockRows(rehearse(rig), "stage").filter((row) => row.endsWith("2"))).toEqual([]);
  });

  test("the capture range is tested when a source could be chosen, not whenever something happens", () => {
    // Port 1 goes to 51 ppm and back to 48 while the stage box is on port 2 by choice; told to, it takes port 1.
    const stage = device("stage", ["2", "1"], { revertive: false, capturePpm: 50 });
    const rig = plan(
      40,
      [leader, device("mon", ["internal"], { offsetPpm: 5 }), stage],
      [cable("foh.1", "stage.1"), cable("mon.1", "stage.2")],
      [
        at(4, { do: "set-clock-sources", device: "stage", clockSources: ["1", "2"] }),
        at(5, { do: "choose-source", device: "stage", source: "2" }),
        at(8, { do: "step-frequency", device: "foh", offsetPpm: 51 }),
        at(12, { do: "step-frequency", device: "foh", offsetPpm: 48 }),
        at(20, { do: "choose-source", device: "stage", source: "1" }),
      ],
    );
    expect(clockRows(rehearse(rig), "stage").filter((row) => row.startsWith("20."))).toEqual(["20.010 acquiring 1"]);
  });

  test("a source lost before it was ever locked is not taken up again as if nothing had been", () => {
    // A dwell of 5 s: still pulling in when the cable goes. Back after 0.1 s, inside the hold-off of 0.3 s.
    const stage = device("stage", ["1"], { bootSeconds: 1, dwellSeconds: 5 });
    const rig = plan(
      20,
      [device("foh", ["internal"], { bootSeconds: 1 }), stage],
      [cable("foh.1", "stage.1", { id: "wire" })],
      [unplug(3, "wire"), plug(3.1, "wire")],
      "cold",
    );
    expect(clockRows(rehearse(rig), "stage")).toEqual([
      "0.000 starting -",
      "1.000 free-run -",
      "1.010 acquiring 1",
      "3.000 free-run -",
      "3.310 acquiring 1",
      "8.310 locked 1",
    ]);
  });
});

describe("the printed bound", () => {
  /** How far two quanta are apart at the end of a run, in samples, and what the coarser one prints as its bound. */
  function apartAtEnd(rig: Plan, id: string): { apart: number; bound: number } {
    const runs = [rehearse(rig), rehearse(rig, { quantumSamples: 1e-8 })];
    const { timebases } = buildRig(rig);
    const end = (rig.lengthNs - 1) as Ns;
    const [a, b] = runs.map(({ record }) => readClocks(record.rows, timebases).phaseSecondsAt(id, end) as number);
    return {
      apart: Math.abs((a as number) - (b as number)) * 48_000,
      bound: runs[0]?.record.worstErrorSamples as number,
    };
  }
  const step = at(2, { do: "step-frequency", device: "foh", offsetPpm: 25 });
  const follower = (id: string) =>
    device(id, ["1"], {
      offsetPpm: -30,
      holdoverSeconds: 60,
      dwellSeconds: 0.1,
      loop: { naturalFrequencyHz: 10, damping: 1 },
    });

  test("holds through a holdover that begins while the loop still swings a little", () => {
    // What is left of the transient is below half a quantum, yet the control that holdover keeps is off by it times ω.
    for (let n = 0; n < 20; n++) {
      const lostAt = 2.05 + n * 0.01;
      const rig = plan(
        lostAt + 20,
        [leader, follower("stage")],
        [cable("foh.1", "stage.1", { id: "wire" })],
        [step, unplug(lostAt, "wire")],
      );
      const { apart, bound } = apartAtEnd(rig, "stage");
      expect(apart, `lost at ${lostAt} s`).toBeLessThanOrEqual(bound);
    }
  });

  test("holds through a holdover behind a loop that is told in pieces", () => {
    // A piece is off by up to a quantum for some milliseconds, and the second loop's integrator takes it for frequency.
    let most = 0;
    for (let n = 0; n < 20; n++) {
      const lostAt = 2.01 + n * 0.01;
      const rig = plan(
        lostAt + 60,
        [leader, follower("box"), follower("stage")],
        [cable("foh.1", "box.1"), cable("box.2", "stage.1", { id: "wire" })],
        [step, unplug(lostAt, "wire")],
      );
      const { apart, bound } = apartAtEnd(rig, "stage");
      expect(apart, `lost at ${lostAt} s`).toBeLessThanOrEqual(bound);
      most = Math.max(most, apart);
    }
    // Several quanta's worth: without its own term the bound would not have held.
    expect(most).toBeGreaterThan(5e-4);
  });
});

describe("causes", () => {
  const mon = device("mon", ["internal"], { offsetPpm: 5 });

  test("a source is chosen because of what made it wanted, not because of the last thing that came up", () => {
    // Both cables are whole again at 12 s; the spare one is up 5 ms after the main, within the reaction time of 10 ms.
    const wall = { laidAlong: ["wall"] };
    const rig = plan(
      15,
      [leader, mon, device("stage", ["1", "2"])],
      [
        cable("foh.1", "stage.1", { ...wall, id: "main", comingUpSeconds: 0.1 }),
        cable("mon.1", "stage.2", { ...wall, id: "spare", comingUpSeconds: 0.105 }),
      ],
      [at(10, { do: "cut", path: "wall" }), at(12, { do: "mend", path: "wall" })],
    );
    const { rows } = rehearse(rig).record;
    expect(becauseOf(rows, "device stage", (fact) => fact.kind === "re-aligned")).toBe("link main there up");
    expect(becauseOf(rows, "device stage", (fact) => fact.kind === "clock" && fact.state === "acquiring")).toBe(
      "device stage re-aligned",
    );
  });

  test("of two signals that meet in one cable each has its own cause", () => {
    const step = (id: string, offsetPpm: number) => at(5, { do: "step-frequency", device: id, offsetPpm });
    const rig = plan(
      10,
      [device("a", ["internal"]), device("b", ["internal"])],
      [cable("a.1", "b.1", { id: "wire", twoWay: true, clockIsAgreed: true })],
      [step("a", 10), step("b", -10)],
    );
    const { rows } = rehearse(rig).record;
    const outOfStep = (fact: Row["fact"]) => fact.kind === "input" && !fact.inStep;
    expect(becauseOf(rows, "port a.1", outOfStep)).toBe("device b flow");
    expect(becauseOf(rows, "port b.1", outOfStep)).toBe("device a flow");
  });

  test("a holdover ends, a boot is over and a surface works again because of what began them", () => {
    const stage = device("stage", ["1"], {
      holdoverSeconds: 5,
      bootSeconds: 6,
      oscillator: { tempcoPpmPerCelsius: 0.1 },
    });
    const warm = (seconds: number) =>
      at(seconds, { do: "temperature", device: "stage", toCelsius: 20 + seconds / 10, overSeconds: 1 });
    const rig = plan(
      40,
      [leader, stage],
      [cable("foh.1", "stage.1", { id: "main" })],
      [
        unplug(10, "main"),
        warm(12),
        plug(20, "main"),
        at(25, { do: "reboot", device: "stage", part: "surface" }),
        warm(28),
        at(33, { do: "reboot", device: "stage", part: "engine" }),
        warm(36),
      ],
    );
    const { rows } = rehearse(rig).record;
    const because = (isIt: (fact: Row["fact"]) => boolean) => becauseOf(rows, "device stage", isIt);
    expect(because((fact) => fact.kind === "clock" && fact.reason === "its holdover has run out")).toBe(
      "link main there down",
    );
    expect(because((fact) => fact.kind === "surface" && fact.works)).toBe("world reboot");
    expect(because((fact) => fact.kind === "clock" && fact.reason.startsWith("it has started"))).toBe("world reboot");
  });
});

test("a moment written as text and read again goes on as the same run", () => {
  // It boots on its own clock: when it has, what leaves it is what left before, which is no news.
  const desk = device("foh", ["internal"], { offsetPpm: 5, bootSeconds: 4, whileBooting: "own-clock" });
  const rig = plan(
    30,
    [desk, device("stage", ["1"])],
    [cable("foh.1", "stage.1")],
    [at(5, { do: "reboot", device: "foh", part: "engine" })],
  );
  const engine = startEngine(buildRig(rig));
  engine.playTo(7e9 as Ns);
  const copy = JSON.parse(JSON.stringify(engine.moment())) as Moment;
  expect(startEngine(buildRig(rig), copy).finish(rig.lengthNs)).toEqual(engine.finish(rig.lengthNs));
});
