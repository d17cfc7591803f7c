/** Two runs held against each other: from when on they differ, in which lanes, and what listeners have of it. */
import { describe, expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { plainName, type ScenarioTexts } from "../../sim/run-data.ts";
import { tell } from "../../sim/tell.ts";
import { differencesOf } from "../../viewer/compare/differences.ts";
import { heardPieces, outcomesOf, turnsSentence } from "../../viewer/compare/outcomes.ts";
import { firstSlipApart } from "../../viewer/compare/slips-apart.ts";
import { removeEvent, setRunLength } from "../../viewer/room/edits.ts";
import { allShipped, shipped } from "../../viewer/room/shipped.ts";
import type { Run } from "../../viewer/run.ts";
import type { FeedSlips } from "../../viewer/slips.ts";
import { buildRun, busyRun, device, feed, link, longRun, slippingRun } from "../browser/fixture.ts";

function playPlan(plan: Plan): Run {
  const run = rehearse(plan);
  return { ...run, format: 1, telling: tell(run) };
}
function play({ main, texts }: ScenarioTexts): Run {
  const bytes = (name: string) => new TextEncoder().encode(texts[name]);
  const { plan, issues } = readScenario({ file: main, bytes: bytes(main) }, (name) => ({
    bytes: bytes(plainName(name)),
  }));
  if (plan === null) throw new Error(JSON.stringify(issues));
  return playPlan(plan);
}
function edited(file: string, change: (text: string) => string): Run {
  const { main, texts } = shipped(file);
  return play({ main, texts: { ...texts, [main]: change(texts[main]!) } });
}
const pairIn = (found: ReturnType<typeof differencesOf>, key: string) => {
  const pair = found.pairs.find((each) => each.key === key);
  expect(pair, key).toBeDefined();
  return pair!;
};

describe("nothing differs", () => {
  test.each(["leader-reboot.json", "festival-day.json", "one-switch-reboots.json", "bad-contact.json"])(
    "between a run and the same once more: %s",
    (file) => {
      const found = differencesOf(play(shipped(file)), play(shipped(file)));
      expect(found.pairs.length).toBeGreaterThan(3);
      expect(found.firstDifference).toBeNull();
      expect(found.instants).toEqual([]);
    },
  );

  test("where only names changed", () => {
    const run = play(shipped("main-out-good-spare.json"));
    const renamed = play({
      main: "a.json",
      texts: {
        "a.json": shipped("main-out-good-spare.json").texts["main-out-good-spare.json"]!.replaceAll(
          "FOH desk",
          "Big desk",
        ),
      },
    });
    expect(renamed.plan.devices.some(({ name }) => name === "Big desk")).toBe(true);
    expect(differencesOf(run, renamed).firstDifference).toBeNull();
    expect(outcomesOf(run, renamed).every(({ turn }) => turn === "same")).toBe(true);
  });

  test("by less than a nanosecond, or by rows that say the same once more", () => {
    const run = play(shipped("main-out-good-spare.json"));
    const shift = <S extends { readonly fromSeconds: number; readonly toSeconds: number }>(one: S): S => ({
      ...one,
      fromSeconds: one.fromSeconds === 0 ? 0 : one.fromSeconds + 3e-10,
      toSeconds: one.toSeconds + 3e-10,
    });
    const { summary, record } = run;
    const near: Run = {
      ...run,
      record: { ...record, rows: record.rows.flatMap((row) => (row.fact.kind === "clock" ? [row, row] : [row])) },
      summary: {
        ...summary,
        devices: summary.devices.map((each) => ({
          ...each,
          // Cut in two where nothing changes.
          states: each.states.map(shift).flatMap((one) => {
            const middle = (one.fromSeconds + one.toSeconds) / 2;
            return [
              { ...one, toSeconds: middle },
              { ...one, fromSeconds: middle },
            ];
          }),
        })),
        feeds: summary.feeds.map((each) => ({ ...each, states: each.states.map(shift) })),
      },
    };
    expect(differencesOf(run, near).instants).toEqual([]);
    const far: Run = {
      ...near,
      summary: {
        ...summary,
        feeds: summary.feeds.map((each) => ({
          ...each,
          states: each.states.map((one) => ({
            ...one,
            fromSeconds: one.fromSeconds === 0 ? 0 : one.fromSeconds + 2e-9,
            toSeconds: one.toSeconds + 2e-9,
          })),
        })),
      },
    };
    const found = differencesOf(run, far);
    const [difference] = pairIn(found, "feed pa-mix").differences;
    expect(found.firstDifference?.fromSeconds).toBe(run.summary.feeds[0]!.states[1]!.fromSeconds);
    expect((difference!.toSeconds - difference!.fromSeconds) * 1e9).toBeCloseTo(2, 3);
  });
});

describe("the cable that is no longer pulled", () => {
  const before = play(shipped("main-out-good-spare.json"));
  const after = edited("main-out-good-spare.json", (text) => removeEvent(text, 0));
  const found = differencesOf(before, after);

  test("differs from the instant of the event on, first in the cable, and says what it is in each", () => {
    const { firstDifference } = found;
    expect(firstDifference?.fromSeconds).toBe(2400);
    expect(firstDifference?.pair.key).toMatch(/^link main/);
    expect(firstDifference?.first).toBe("Down");
    expect(firstDifference?.second).toBe("Carries, clock each way");
    expect(firstDifference?.alsoIn.map(({ key }) => key)).toContain("feed pa-mix");
  });

  test("each lane that differs does so within the fault and what comes of it; the spare only where it took over", () => {
    const differing = found.pairs.filter(({ differences }) => differences.length > 0).map(({ key }) => key);
    expect(differing).toContain("device stage");
    expect(differing).not.toContain("device foh");
    const stage = pairIn(found, "device stage").differences;
    expect(stage.map(({ second }) => second)).toEqual(stage.map(() => "Locked to port 1, \u2068FOH desk\u2069"));
    expect(stage.some(({ first }) => first.startsWith("Locked, later source"))).toBe(true);
    for (const { fromSeconds, toSeconds } of found.pairs.flatMap(({ differences }) => differences)) {
      expect(fromSeconds).toBeGreaterThanOrEqual(2400);
      expect(toSeconds).toBeGreaterThanOrEqual(fromSeconds);
    }
  });

  test("the other way round it is the same instants with the words changed over", () => {
    const back = differencesOf(after, before);
    expect(back.instants).toEqual(found.instants);
    const { fromSeconds, toSeconds, first, second } = pairIn(found, "feed pa-mix").differences[0]!;
    const [turned] = pairIn(back, "feed pa-mix").differences;
    expect(turned).toEqual({ fromSeconds, toSeconds, first: second, second: first });
  });

  test("what the PA has of it", () => {
    const [pa] = outcomesOf(before, after);
    const { silentSeconds, dropouts } = before.summary.feeds[0]!;
    expect(silentSeconds).toBeGreaterThan(0.3);
    expect(pa).toMatchObject({ id: "pa-mix", turn: "better", first: { silentSeconds, dropouts } });
    expect(pa!.second).toMatchObject({ silentSeconds: 0, clicks: 0, dropouts: { whileFaulty: 0, onReturn: 0 } });
    expect(pa!.changes).toContain(`silent ${silentSeconds.toFixed(1)} s less`);
    expect(heardPieces(pa!.second!)).toEqual(["clean"]);
    expect(turnsSentence([pa!])).toBe("Better for the PA.");
    const [worse] = outcomesOf(after, before);
    expect(worse!.turn).toBe("worse");
    expect(worse!.changes).toContain(`silent ${silentSeconds.toFixed(1)} s longer`);
  });
});

test("every instant that is named as the first is one before which all lanes of both runs are alike", () => {
  const words = (run: Run, seconds: number) =>
    JSON.stringify(
      [...run.summary.devices, ...run.summary.links, ...run.summary.feeds].map(({ id, states }) => {
        const now = (states as readonly { readonly fromSeconds: number; readonly toSeconds: number }[]).find(
          (each) => each.fromSeconds <= seconds && seconds < each.toSeconds,
        );
        return [id, { ...now, fromSeconds: 0, toSeconds: 0, slips: 0 }];
      }),
    );
  let compared = 0;
  for (const { file } of allShipped()) {
    const before = play(shipped(file));
    if (before.plan.events.length === 0) continue;
    const after = edited(file, (text) => removeEvent(text, 0));
    const { firstDifference } = differencesOf(before, after);
    if (firstDifference === null) continue;
    const at = firstDifference.fromSeconds;
    const instants = [...before.summary.devices, ...before.summary.links, ...before.summary.feeds]
      .flatMap(({ states }) => states.map(({ fromSeconds }) => fromSeconds))
      .filter((each) => each < at - 1e-9);
    for (const each of instants) expect(words(after, each + 5e-10), file).toBe(words(before, each + 5e-10));
    expect(at, file).toBeGreaterThanOrEqual(before.plan.events[0]!.atNs / 1e9);
    compared += 1;
  }
  expect(compared).toBeGreaterThan(8);
});

describe("clicks", () => {
  test("two feeds that click from the same instant on, at another pace, differ from the first click of one alone", () => {
    const [slow, fast] = [slippingRun(100), slippingRun(200)];
    const found = differencesOf(slow, fast);
    const differences = pairIn(found, "feed split").differences;
    expect(differences[0]!.fromSeconds).toBeCloseTo(1 + (slow.summary.runSeconds - 2) / 200, 6);
    expect(differences[0]!.first).toContain("100 in all");
    expect(differences[0]!.second).toContain("200 in all");
  });

  test("the same clicks are no difference, however many there are, and one more at the end is", () => {
    expect(differencesOf(slippingRun(100_000), slippingRun(100_000)).instants).toEqual([]);
    const [one] = [...differencesOf(longRun(), longRun()).pairs];
    expect(one!.differences).toEqual([]);
  });

  test("a single click in one run alone has no length", () => {
    const run = longRun();
    const { summary } = run;
    const clean: Run = {
      ...run,
      record: { ...run.record, rows: run.record.rows.filter(({ fact }) => fact.kind !== "slips") },
      summary: {
        ...summary,
        feeds: summary.feeds.map((each) => ({
          ...each,
          states: [{ ...each.states[0]!, toSeconds: summary.runSeconds }],
        })),
      },
    };
    const [difference] = pairIn(differencesOf(run, clean), "feed split").differences;
    const at = summary.runSeconds - 3600;
    expect(difference).toEqual({ fromSeconds: at, toSeconds: at, first: "one click", second: "Clean" });
  });

  test("a click that both have is passed over, one that is a nanosecond off is not", () => {
    const slips = (instants: readonly number[]): FeedSlips => ({
      total: instants.length,
      countBy: (seconds) => instants.filter((at) => at <= seconds).length,
      instants(from, to, atMost) {
        const inside = instants.filter((at) => at >= from && at <= to);
        return inside.length > atMost ? null : inside;
      },
    });
    const many = Array.from({ length: 20_000 }, (_, index) => index / 100);
    expect(firstSlipApart(slips(many), slips(many), 0, 200)).toBeNull();
    const late = many.map((at, index) => (index === 15_000 ? at + 1e-9 : at));
    expect(firstSlipApart(slips(many), slips(late), 0, 200)).toBe(150);
    expect(firstSlipApart(slips(many), slips(many.slice(0, -1)), 0, 200)).toBe(199.99);
    const crowd = Array.from({ length: 5000 }, () => 7);
    expect(firstSlipApart(slips(crowd), slips(crowd), 0, 200)).toBeNull();
    expect(firstSlipApart(slips(crowd), slips(crowd.slice(1)), 0, 200)).toBe(7);
  });
});

describe("rigs that are not the same", () => {
  const small = buildRun({
    devices: [device("foh", "FOH desk", ["internal"]), device("mon", "Monitor desk", ["1"])],
    links: [link("one", ["foh", 1], ["mon", 1])],
    feeds: [feed("split", "Split", ["foh", "mon"], [{ link: "one", way: "there" }], ["wedges"])],
  });
  const other = buildRun({
    devices: [device("foh", "FOH desk", ["internal"]), device("mon", "Monitor desk", ["1"])],
    links: [link("two", ["foh", 1], ["mon", 1])],
    feeds: [feed("mix", "Mix", ["foh", "mon"], [{ link: "two", way: "there" }], ["pa"])],
  });

  test("lanes are matched by their ids; what one run alone has is said, and is no instant", () => {
    const { pairs, instants } = differencesOf(small, other);
    const alone = pairs.filter(({ first, second }) => first === null || second === null);
    expect(alone.map(({ key }) => key)).toEqual([
      "link one there",
      "link one back",
      "feed split",
      "link two there",
      "link two back",
      "feed mix",
    ]);
    expect(alone.every(({ differences }) => differences.length === 0)).toBe(true);
    expect(instants).toEqual([]);
    expect(outcomesOf(small, other).map(({ turn }) => turn)).toEqual(["alone", "alone"]);
    expect(turnsSentence(outcomesOf(small, other))).toBe("In one of the two runs alone: the wedges and the PA.");
  });

  test("a run that ends earlier is compared to its end and no further", () => {
    const whole = play(shipped("leader-reboot.json"));
    const half = edited("leader-reboot.json", (text) =>
      setRunLength(text.replace(/"expect": \[[^\]]*\]/s, '"expect": []'), "00:21:00"),
    );
    const { untilSeconds, instants } = differencesOf(whole, half);
    expect(untilSeconds).toBe(1260);
    expect(instants).toEqual([]);
  });

  test("a busy rig against a quiet one: every difference lies in the show and says two things", () => {
    const busy = busyRun();
    const calm = { ...busyRun(), record: { ...busy.record, rows: [] } };
    const { summary } = calm;
    const quiet: Run = {
      ...calm,
      summary: {
        ...summary,
        devices: summary.devices.map((each) => ({
          ...each,
          states: [{ ...each.states[0]!, toSeconds: summary.runSeconds }],
        })),
        feeds: summary.feeds.map((each) => ({
          ...each,
          states: [{ ...each.states[0]!, toSeconds: summary.runSeconds }],
        })),
      },
    };
    const all = differencesOf(busy, quiet).pairs.flatMap(({ differences }) => differences);
    expect(all.length).toBeGreaterThan(5);
    for (const { fromSeconds, toSeconds, first, second } of all) {
      expect(fromSeconds).toBeGreaterThanOrEqual(0);
      expect(toSeconds).toBeLessThanOrEqual(summary.runSeconds);
      expect(first).not.toBe(second);
    }
  });
});
