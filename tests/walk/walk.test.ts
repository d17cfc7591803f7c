/** A pull test walked on site: what is expected, what is compared, what goes into the plan and what does not. */
import { describe, expect, test } from "vitest";
import { sheetFromCsv } from "../../cli/tables-csv.ts";
import type { PullResult, PullResults } from "../../shared/scenario-pull-results.ts";
import { readPullResults } from "../../shared/scenario-pull-results.ts";
import { deviceOf, linkOf, spareById } from "../../sim/by-id.ts";
import { measurementsFrom } from "../../sim/library/measurements.ts";
import { readTexts } from "../../sim/plan-of.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { stampOf } from "../../sim/stamp.ts";
import { testedOf, testedWords } from "../../sim/tested.ts";
import { contradicts, measuredWords } from "../../sim/walk/judged.ts";
import { type Walk, walkFor } from "../../sim/walk/steps.ts";
import { takenInto, weighed } from "../../sim/walk/take.ts";
import { weighedWords } from "../../sim/walk/words.ts";
import { begun } from "../../viewer/walk/state.ts";
import { timesCsv } from "../../viewer/walk/times-csv.ts";
import { expectedWords } from "../../viewer/walk/view.ts";
import { shippedTexts } from "../helpers/shipped.ts";

const files = shippedTexts("main-out-good-spare.json");
const planIn = (texts: ScenarioTexts) => {
  const { plan, issues } = readTexts(texts);
  if (plan === null) throw new Error(JSON.stringify(issues));
  return plan;
};
const plan = planIn(files);
const walk = walkFor(plan);
const DAY = "2026-11-28";

/** Answers by the name of the pull; what is not named was not come to. */
function results(answers: Readonly<Record<string, Partial<PullResult>>>, made: Walk = walk, from = files): PullResults {
  const { results: bare } = begun(made, from);
  for (const id of Object.keys(answers)) expect(bare.pulls.map((pull) => pull.id)).toContain(id);
  return {
    ...bare,
    pulls: bare.pulls.map((pull) =>
      answers[pull.id] === undefined ? pull : { ...pull, date: DAY, answer: "expected" as const, ...answers[pull.id] },
    ),
  };
}
const edited = (from: string, to: string): ScenarioTexts => {
  const text = files.texts[files.main]!;
  expect(text).toContain(from);
  return { ...files, texts: { [files.main]: text.replace(from, to) } };
};

describe("the pulls", () => {
  const step = (id: string) => walk.steps.find((each) => each.id === id)!;

  test("say what to do, what is seen and heard, and when sound is back", () => {
    expect(walk.stamp).toBe(stampOf(plan));
    expect(step("cable-out main")).toMatchObject({
      links: ["main"],
      device: null,
      does: "Pull main cable, Stage box port 1 to FOH desk port 1",
      whileOut: ["Spare cable carries", "Stage box: locked to FOH desk (port 2), not its first source"],
      afterwards: [],
      heard: "PA: one dropout",
      switches: ["stage-pair"],
      tested: "untested",
    });
    expect(step("cable-out spare")).toMatchObject({ soundBack: { is: "stays" }, heard: "nothing of it" });
    expect(step("reboot foh")).toMatchObject({ device: "foh", links: [], soundBack: { is: "back" } });
  });

  test("have a supply of those that have two, which is nobody's cable and nobody's boot", () => {
    const power = ["mains a", "mains b"];
    const made = walkFor({ ...plan, devices: plan.devices.map((each) => ({ ...each, power })) });
    const steps = made.steps.filter(({ supply }) => supply !== undefined);
    expect(steps.map(({ supply }) => supply)).toEqual(power);
    expect(steps[0]).toMatchObject({
      ...{ id: "supply-out mains a", does: "Have supply mains a switched off", what: "supply mains a" },
      ...{ links: [], device: null, tested: "untested", whileOut: [], afterwards: [], switches: [] },
    });
    expect(expectedWords(steps[0]!)).toBe(
      "The sound should stay. Leave it off for 1 min, then have it switched on again. Power is for qualified people.",
    );
    const saved = results({ "supply-out mains a": {} }, made);
    expect(readPullResults("kept", new TextEncoder().encode(JSON.stringify(saved))).results).toEqual(saved);
    expect(saved.pulls.find(({ supply }) => supply === "mains a")).toMatchObject({ answer: "expected" });
    expect(weighed(plan, saved)).toMatchObject({ tested: [], refuted: [], fits: [] });
  });

  test("have the times of the rehearsal: noticing and switching, booting and what comes after", () => {
    const back = (id: string) => {
      const { soundBack } = step(id);
      return "seconds" in soundBack ? soundBack.seconds : Number.NaN;
    };
    const { noticeSeconds } = linkOf(plan, "main");
    expect(back("cable-out main")).toBeCloseTo(noticeSeconds + spareById(plan, "stage-pair")!.switchSeconds, 3);
    expect(back("reboot foh")).toBeGreaterThanOrEqual(75);
    expect(back("reboot foh")).toBeLessThan(76);
  });

  test("without a spare sound is back only once the cable is in again", () => {
    const alone = walkFor({
      ...plan,
      spares: [],
      feeds: plan.feeds.map((feed) => ({
        ...feed,
        hops: feed.hops.map((hop) => ({ ...hop, over: hop.over.slice(0, 1), spare: null })),
      })),
    });
    const main = alone.steps.find(({ id }) => id === "cable-out main");
    expect(main?.soundBack.is).toBe("back-in");
    expect(main?.heard).toMatch(/^PA: silent for 1 min/);
  });
});

describe("compared with the rehearsal", () => {
  const [pulled] = results({ "cable-out main": { measuredSeconds: 0.7 } }).pulls;

  test("what a hand cannot tell apart is no contradiction; more is", () => {
    expect(pulled!.id).toBe("cable-out main");
    expect(contradicts(pulled!)).toBe(false);
    expect(measuredWords(pulled!)).toBe(
      "Measured 0.7 s, the rehearsal has 0.3 s: within what a hand on a stopwatch can tell.",
    );
    expect(contradicts({ ...pulled!, measuredSeconds: 2.3 })).toBe(true);
    expect(measuredWords({ ...pulled!, measuredSeconds: 2.3 })).toBe(
      "Measured 2.3 s, the rehearsal has 0.3 s: 2 s longer.",
    );
  });

  test("sound that goes where it should stay contradicts, whatever was answered", () => {
    const [, spare] = results({ "cable-out spare": { measuredSeconds: 3 } }).pulls;
    expect(spare).toMatchObject({ id: "cable-out spare", sound: "stays" });
    expect(contradicts(spare!)).toBe(true);
    const found = weighed(plan, results({ "cable-out spare": { measuredSeconds: 3 } }));
    expect(found.tested).toEqual([]);
    expect(found.refuted).toEqual(["spare"]);
  });
});

describe("taken into the plan", () => {
  const done = results({
    "cable-out main": {},
    "cable-out spare": {},
    "reboot foh": { measuredSeconds: 81.1 },
  });
  const found = weighed(plan, done);
  const taken = takenInto(files, found);
  const after = planIn(taken);

  test("cables that did as expected have the day, and count as tested in the plan with the new numbers", () => {
    expect(found.tested).toEqual([
      { link: "main", date: DAY },
      { link: "spare", date: DAY },
    ]);
    for (const id of ["main", "spare"])
      expect(testedOf(after, linkOf(after, id))).toEqual({ date: DAY, isChanged: false });
    expect(stampOf(after)).not.toBe(stampOf(plan));
  });

  test("a boot time is what explains the stopwatch: rehearsed with it, sound is back when it was", () => {
    expect(deviceOf(after, "foh").bootSeconds).toBeCloseTo(81, 1);
    const again = walkFor(after).steps.find(({ id }) => id === "reboot foh")!.soundBack;
    expect("seconds" in again && again.seconds).toBeCloseTo(81.1, 1);
    expect(taken.texts[taken.main]).toContain(
      `"bootSeconds": 81,\n        "origins": { "bootSeconds": [{ "value": 81, "from": "pull test, FOH desk, stopwatch until sound", "measured": "${DAY}" }] }`,
    );
  });

  test("taken in twice it is the same, and the result is still of that plan", () => {
    const again = weighed(after, done);
    expect(again.otherPlan).toBeNull();
    expect(again.changedSince).toEqual([]);
    expect(takenInto(taken, again)).toEqual(taken);
  });

  test("a switch-over time is taken where a hand can tell it, and where one spare group alone switches", () => {
    const slow = weighed(plan, results({ "cable-out main": { measuredSeconds: 2.31 } }));
    expect(slow.fits.map(({ words }) => words)).toEqual(["Spare group stage-pair: switch 2.3 s, was 0.3 s"]);
    expect(spareById(planIn(takenInto(files, slow)), "stage-pair")?.switchSeconds).toBe(2.3);
    expect(weighed(plan, results({ "cable-out main": { measuredSeconds: 0.7 } })).fits).toEqual([]);
  });

  test("what confirms a number makes it a measured one", () => {
    const [fit] = weighed(plan, results({ "reboot foh": { measuredSeconds: 75.3 } })).fits;
    expect(fit).toMatchObject({ value: 75, said: { value: 75, measured: DAY } });
    expect(fit?.words).toBe("FOH desk: boot 75 s, as it stands");
  });

  test("from what came about otherwise no number is taken, and a day that stood goes", () => {
    const dated = edited('"id": "main",', '"id": "main", "tested": "2026-11-02",');
    const other = weighed(
      planIn(dated),
      results(
        {
          "cable-out main": { answer: "different", measuredSeconds: 9 },
          "reboot foh": { answer: "different", measuredSeconds: 9 },
        },
        walkFor(planIn(dated)),
        dated,
      ),
    );
    expect(other.fits).toEqual([]);
    expect(other.refuted).toEqual(["main"]);
    expect(linkOf(planIn(takenInto(dated, other)), "main").tested).toBeUndefined();
  });

  test("skipped and not come to, nothing is taken", () => {
    const none = weighed(plan, results({ "cable-out main": { answer: "skipped" } }));
    expect(none).toMatchObject({ tested: [], refuted: [], fits: [], contradictions: [] });
    expect(none.open).toHaveLength(3);
    expect(takenInto(files, none)).toEqual(files);
  });

  test("beside the number of a type, where a library describes it, its own number stays", () => {
    const text = files.texts[files.main]!.replace('"bootSeconds": 75', '"like": "desk"').replace(
      '"rig": {',
      '"library": "./shop.library.json",\n  "rig": {',
    );
    const library = '{\n  "format": 1,\n  "deviceTypes": {\n    "desk": { "bootSeconds": 75 }\n  }\n}\n';
    const withLibrary = { main: files.main, texts: { [files.main]: text, "shop.library.json": library } };
    const there = planIn(withLibrary);
    const made = results({ "reboot foh": { measuredSeconds: 81.1 } }, walkFor(there), withLibrary);
    const texts = takenInto(withLibrary, weighed(there, made));
    expect(deviceOf(planIn(texts), "foh").bootSeconds).toBe(81);
    expect(JSON.parse(texts.texts["shop.library.json"]!).deviceTypes.desk).toEqual({
      bootSeconds: 75,
      origins: {
        bootSeconds: [{ value: 81, from: "pull test, FOH desk, stopwatch until sound", measured: DAY }],
      },
    });
  });

  test("the table of times is what a library reads", () => {
    const { sheet } = sheetFromCsv("times.csv", new TextEncoder().encode(timesCsv(found.fits)));
    const read = measurementsFrom(sheet!, { types: { desk: {} } }, [{ id: "foh", name: "FOH desk", like: "desk" }]);
    expect(read.issues).toEqual([]);
    expect(read.measurements).toEqual([
      {
        type: "desk",
        name: "bootSeconds",
        said: { value: 81, from: "pull test, FOH desk, stopwatch until sound", measured: DAY },
      },
    ]);
  });
});

describe("a result of another plan", () => {
  const done = results({ "cable-out main": {}, "cable-out spare": {}, "reboot foh": { measuredSeconds: 75.2 } });

  test("is said to be, thing by thing, and cables that changed since stay untested", () => {
    const now = planIn(edited('"lengthMetres": 80', '"lengthMetres": 85'));
    const found = weighed(now, done);
    expect(found.tested).toEqual([]);
    expect(found.changedSince).toEqual(["main", "spare"]);
    const words = weighedWords(now, done, found);
    expect(words.plan).toBe(`Pulled with another plan, ${stampOf(plan)}. One thing has changed since.`);
    expect(words.changes).toEqual(["The main cable: length 85 m, was 80 m."]);
    expect(words.untested[0]).toBe(
      "Changed since it was pulled: the main cable and the spare cable. To be pulled again.",
    );
  });

  test("counts for cables that are as they were", () => {
    const elsewhere = edited('"offsetPpm": 2.5', '"offsetPpm": 2.6');
    const found = weighed(planIn(elsewhere), done);
    expect(found.otherPlan?.changes.map(({ id }) => id)).toEqual(["pa"]);
    expect(found.tested.map(({ link }) => link)).toEqual(["main", "spare"]);
    const after = planIn(takenInto(elsewhere, found));
    expect(testedWords(after, linkOf(after, "main"))).toBe(`pulled on ${DAY}`);
  });
});

describe("the file of a result", () => {
  const read = (value: unknown) => readPullResults("walk.json", new TextEncoder().encode(JSON.stringify(value)));
  const done = results({ "cable-out main": { note: "tape came off" } });

  test("is read as it was written", () => {
    const { results: again, issues } = read(done);
    expect(issues).toEqual([]);
    expect(again).toEqual(done);
  });

  test("is refused with all that is wrong", () => {
    const { pulls } = done;
    const { results: none, issues } = read({
      ...done,
      plan: "K1",
      pulls: [
        { ...pulls[0], date: undefined },
        { ...pulls[1], answer: "good", outSeconds: -1 },
      ],
    });
    expect(none).toBeNull();
    expect(issues.map(({ path, expected }) => `${path.join(".")}: ${expected}`)).toEqual([
      'plan: the stamp of a plan, such as "K7-QF"',
      "pulls.0.date: the day on which it was answered",
      "pulls.1.outSeconds: a number from 0 to 8985600 s",
      "pulls.1.answer: one of expected, different, skipped",
    ]);
  });
});
