/** What a file says of an oscillator, and what becomes of it. */
import { Ajv } from "ajv";
import { describe, expect, it } from "vitest";
import { formatIssue } from "../../shared/issues.ts";
import { allanDeviationOf, powerLawFromWander } from "../../shared/noise-numbers.ts";
import { oscillatorType } from "../../shared/oscillators.ts";
import type { OscillatorPlan, Plan } from "../../shared/plan.ts";
import { jsonSchemas, scenarioSchema } from "../../shared/scenario-schema.ts";
import { example } from "../helpers/example.ts";
import { plan, read } from "../helpers/rig.ts";

interface Words {
  readonly oscillator?: object;
  /** More of the device itself. */
  readonly device?: object;
  readonly run?: object;
  readonly types?: object;
  readonly events?: readonly object[];
}

/** A scenario of the PA processor alone, with an oscillator as told. */
function scenario({ oscillator, device = {}, run = {}, types = {}, events = [] }: Words) {
  return {
    format: 1,
    title: "One oscillator",
    run: { length: "01:30:00", ...run },
    rig: {
      sampleRateHz: 48000,
      deviceTypes: types,
      devices: [{ id: "pa", ...(oscillator && { oscillator }), ...device }],
    },
    events,
  };
}

const planned = (words: Words): Plan => plan(scenario(words));
const oscillatorOf = (words: Words): OscillatorPlan =>
  (planned(words).devices[0] as Plan["devices"][number]).oscillator;
const issuesOf = (words: Words): string[] => read(scenario(words)).issues.map(formatIssue);
const wanderOf = (wander: unknown, run: object = {}) => oscillatorOf({ oscillator: { wander }, run }).wander;

const STEADY = null;
const none = { sigma1: 0, sigma2: 0, sigma3: 0, hMinus1: 0 };

describe("wander", () => {
  it("is off unless somebody turns it on", () => {
    expect(oscillatorOf({}).wander).toBe(STEADY);
    expect(wanderOf(false)).toBe(STEADY);
  });

  it("by one word of the run, for everybody who does not say otherwise", () => {
    const { sigma1, sigma2, hMinus1 } = oscillatorType("crystal");
    const byType = { sigma1: sigma1.value, sigma2: sigma2.value, sigma3: 0, hMinus1: hMinus1.value };
    expect(oscillatorOf({ run: { wander: true } }).wander).toEqual(byType);
    expect(wanderOf(true)).toEqual(byType);
    expect(wanderOf(false, { wander: true })).toBe(STEADY);
    expect(wanderOf({ sigma1: 1e-10, sigma2: 0 }, { wander: true })).toEqual({ ...none, sigma1: 1e-10 });
    const made = plan({ ...example(), run: { length: "01:30:00", wander: true } });
    expect(made.devices.map(({ oscillator }) => oscillator.wander)).toEqual([byType, byType, byType, byType]);
  });

  it("by deviations, by power law, by points: three ways to say one thing", () => {
    const tcxo = { h0: 2e-19, hMinus1: 7e-21, hMinus2: 2e-20 };
    const byLaw = wanderOf(tcxo);
    if (byLaw === null) throw new Error("steady");
    expect(powerLawFromWander(byLaw).h0).toBeCloseTo(2e-19, 33);
    expect(wanderOf({ sigma1: byLaw.sigma1, sigma2: byLaw.sigma2, hMinus1: 7e-21 })).toEqual(byLaw);
    const allan = [0.1, 1, 10, 100].map((seconds) => ({ seconds, deviation: allanDeviationOf(byLaw, seconds) }));
    const byPoints = wanderOf({ allan });
    if (byPoints === null) throw new Error("steady");
    expect(byPoints.sigma1 / byLaw.sigma1).toBeCloseTo(1, 10);
    expect(byPoints.sigma2 / byLaw.sigma2).toBeCloseTo(1, 10);
    expect(byPoints.hMinus1 / byLaw.hMinus1).toBeCloseTo(1, 10);
  });

  it("with random-walk drift where it is given, and without noise where all of it is 0", () => {
    expect(wanderOf({ sigma1: 0, sigma2: 0, sigma3: 1e-16 })).toEqual({ ...none, sigma3: 1e-16 });
    expect(wanderOf({ sigma1: 0, sigma2: 0 })).toBe(STEADY);
    expect(wanderOf({ h0: 0, hMinus1: 4e-24, hMinus2: 0 })).toEqual({ ...none, hMinus1: 4e-24 });
  });

  it("takes the points of a data sheet that are a little off, and says where they are far off", () => {
    const sheet = [
      { seconds: 1, deviation: 2e-12 },
      { seconds: 10, deviation: 1.1e-12 },
      { seconds: 100, deviation: 1e-12 },
      { seconds: 1000, deviation: 3.3e-12 },
    ];
    const fit = wanderOf({ allan: sheet });
    if (fit === null) throw new Error("steady");
    for (const { seconds, deviation } of sheet) {
      const ratio = allanDeviationOf(fit, seconds) / deviation;
      expect(ratio).toBeGreaterThan(1 / 1.25);
      expect(ratio).toBeLessThan(1.25);
    }
    const steep = [1, 10, 100].map((seconds) => ({ seconds, deviation: 1e-9 / seconds }));
    expect(issuesOf({ oscillator: { wander: { allan: steep } } })).toEqual([
      expect.stringMatching(
        /allan\[0\]\.deviation: expected points within 25 % of a sum of white, flicker and random-walk FM, received 1e-9 at 1 s, where the nearest such sum has 1\.\de-10; check that point; leave out those where/,
      ),
    ]);
  });

  const cases: readonly [string, unknown, RegExp][] = [
    [
      "a word",
      "yes",
      /wander: expected true, false, or an object with sigma1 and sigma2, with h0 and hMinus2, or with allan, received "yes"/,
    ],
    [
      "half of the deviations",
      { sigma1: 1e-9 },
      /wander\.sigma2: expected a number from 0 to 0\.000001 s\^−½, received nothing; add "sigma2"/,
    ],
    [
      "half of a power law",
      { h0: 1e-20 },
      /wander\.hMinus2: expected a number from 0 to 1e-12 per s, received nothing; add "hMinus2"/,
    ],
    ["a slip of the pen", { h0: 1e-20, hMinus2: 1e-20, hMinus3: 1 }, /received "hMinus3"; did you mean hMinus[12]\?/],
    [
      "a negative noise",
      { sigma1: -1e-9, sigma2: 0 },
      /sigma1: expected a number from 0 to 0\.000001 s\^½, received -1e-9; choose a number in that range/,
    ],
    [
      "parts per million",
      { allan: [{ seconds: 1, deviation: 0.001 }] },
      /deviation: expected a number from 1e-18 to 0\.000001 as a fraction of the frequency \(1e-9 is 1 ppb\), received 0\.001/,
    ],
    [
      "pairs",
      { allan: [[1, 1e-9]] },
      /allan\[0\]: expected a point: an object such as \{ "seconds": 1, "deviation": 1e-9 \}, received \[1, 1e-9\]; write an object/,
    ],
    ["no point", { allan: [] }, /allan: expected a list of at least one point/],
    [
      "points out of order",
      {
        allan: [
          { seconds: 10, deviation: 1e-9 },
          { seconds: 1, deviation: 1e-9 },
        ],
      },
      /allan\[1\]\.seconds: expected more than in the point before \(10 s\), received 1; put the points in rising order of seconds, each once/,
    ],
  ];
  it.each(cases)("%s is refused in words", (_, wander, expected) => {
    expect(issuesOf({ oscillator: { wander } }).join("\n")).toMatch(expected);
  });

  it("in the published JSON Schema as in the reader's", () => {
    const ajv = new Ajv({ strict: false, unicodeRegExp: true }).compile(
      jsonSchemas()["scenario.schema.json"] as object,
    );
    const sound = [
      true,
      { sigma1: 0, sigma2: 1e-10, sigma3: 1e-14 },
      { h0: 1e-20, hMinus2: 0 },
      { allan: [{ seconds: 1, deviation: 1e-9 }] },
    ];
    const broken = [
      ...cases.slice(0, 8).map(([, wander]) => wander),
      { sigma1: 0, hMinus2: 0 },
      { allan: [], h0: 0 },
      null,
      3,
    ];
    for (const wander of [...sound, ...broken]) {
      const file = scenario({ oscillator: { wander } });
      expect(ajv(file), JSON.stringify(wander)).toBe(sound.includes(wander as boolean));
      expect(scenarioSchema.safeParse(file).success, JSON.stringify(wander)).toBe(sound.includes(wander as boolean));
    }
  });
});

describe("temperature", () => {
  const table = [
    { celsius: -10, ppm: -3 },
    { celsius: 20, ppm: 1 },
    { celsius: 30, ppm: 3 },
  ];

  it("by a table counts from 25 °C, whatever the table counts from", () => {
    const { tempcoTable, tempcoPpmPerCelsius } = oscillatorOf({ oscillator: { tempcoTable: table } });
    // 2 ppm at 25 °C.
    expect(tempcoTable).toEqual([
      { celsius: -10, ppm: -5 },
      { celsius: 20, ppm: -1 },
      { celsius: 30, ppm: 1 },
    ]);
    expect(tempcoPpmPerCelsius).toBe(0);
    expect(oscillatorOf({}).tempcoTable).toBeNull();
  });

  it("by a table that ends below 25 °C counts from its last point", () => {
    const cold = table.slice(0, 2);
    expect(oscillatorOf({ oscillator: { tempcoTable: cold } }).tempcoTable?.map(({ ppm }) => ppm)).toEqual([-4, 0]);
  });

  it("of a type gives way to what the device says, either way round", () => {
    const types = { box: { oscillator: { tempcoTable: table } }, hut: { oscillator: { tempcoPpmPerCelsius: 0.3 } } };
    expect(oscillatorOf({ types, device: { like: "box" } }).tempcoTable).toHaveLength(3);
    const linear = oscillatorOf({ types, device: { like: "box" }, oscillator: { tempcoPpmPerCelsius: 0.2 } });
    expect([linear.tempcoPpmPerCelsius, linear.tempcoTable]).toEqual([0.2, null]);
    const byTable = oscillatorOf({ types, device: { like: "hut" }, oscillator: { tempcoTable: table } });
    expect([byTable.tempcoPpmPerCelsius, byTable.tempcoTable?.length]).toEqual([0, 3]);
    const kept = oscillatorOf({ types, device: { like: "hut" }, oscillator: { offsetPpm: 1 } });
    expect([kept.offsetPpm, kept.tempcoPpmPerCelsius]).toEqual([1, 0.3]);
  });

  it("at the start: the device's, else the run's, else 25 °C", () => {
    expect(oscillatorOf({}).startCelsius).toBe(25);
    expect(oscillatorOf({ run: { startCelsius: 12 } }).startCelsius).toBe(12);
    expect(oscillatorOf({ run: { startCelsius: 12 }, device: { startCelsius: -5 } }).startCelsius).toBe(-5);
    expect(oscillatorOf({ types: { truck: { startCelsius: -5 } }, device: { like: "truck" } }).startCelsius).toBe(-5);
  });

  it("is refused in words, once, in a type that nobody uses as well", () => {
    const oscillator = { tempcoPpmPerCelsius: 0.1, tempcoTable: [...table, { celsius: 30, ppm: 4 }] };
    const found = issuesOf({ types: { box: { oscillator } } });
    expect(found).toEqual([
      expect.stringMatching(
        /box\.oscillator\.tempcoTable: expected either tempcoPpmPerCelsius or tempcoTable, received both; keep the one that was measured/,
      ),
      expect.stringMatching(
        /box\.oscillator\.tempcoTable\[3\]\.celsius: expected more than in the point before \(30 °C\), received 30; put the points in rising order of celsius, each once/,
      ),
    ]);
    expect(issuesOf({ types: { box: { oscillator } }, device: { like: "box" } })).toEqual(found);
    expect(issuesOf({ oscillator: { tempcoTable: [{ celsius: 25, ppm: 0 }] } }).join()).toMatch(
      /expected a list of at least two points/,
    );
    expect(
      issuesOf({
        oscillator: {
          tempcoTable: [
            [25, 0],
            [30, 1],
          ],
        },
      }).join(),
    ).toMatch(
      /tempcoTable\[0\]: expected a point: an object such as \{ "celsius": -10, "ppm": -3 \}, received \[25, 0\]/,
    );
    expect(issuesOf({ device: { startCelsius: 300 } }).join()).toMatch(
      /startCelsius: expected a number from -50 to 100 °C/,
    );
  });
});

describe("ageing by type", () => {
  const perDay = (run: object, type = "tcxo") =>
    oscillatorOf({ oscillator: { type, offsetPpm: 0 }, run }).ageingPpbPerDay;

  it("counts in a run of more than a day only", () => {
    expect(perDay({ length: "24:00:00" })).toBe(0);
    expect(perDay({ length: "24:00:00.001" })).toBe(1.37);
    expect(perDay({ length: "96:00:00" }, "ocxo")).toBe(0.0137);
    expect(perDay({ length: "96:00:00" }, "gnss")).toBe(0);
  });

  it("gives way to what the file says, in any run", () => {
    const entered = { type: "tcxo", ageingPpbPerDay: -2 };
    expect(oscillatorOf({ oscillator: entered }).ageingPpbPerDay).toBe(-2);
    expect(
      oscillatorOf({ oscillator: { ...entered, ageingPpbPerDay: 0 }, run: { length: "96:00:00" } }).ageingPpbPerDay,
    ).toBe(0);
  });
});

describe("holdover", () => {
  it("keeps what the file says of average and error, and the plain case else", () => {
    const [held] = planned({
      device: { holdoverSeconds: 600, holdoverAverageSeconds: 60, holdoverErrorPpb: -3 },
    }).devices;
    expect(held).toMatchObject({ holdoverAverageSeconds: 60, holdoverErrorPpb: -3 });
    expect(planned({}).devices[0]).toMatchObject({ holdoverAverageSeconds: 0, holdoverErrorPpb: 0 });
  });
});

describe("a run says which numbers of oscillators it assumed", () => {
  const about = (words: Words, start: string): string[] =>
    planned(words).assumed.filter((line) => line.startsWith(start));

  it("a drawn offset, as long as it is drawn", () => {
    expect(about({}, "oscillator.offsetPpm")).toEqual(["oscillator.offsetPpm drawn within its tolerance: pa"]);
    expect(oscillatorOf({}).offsetPpm).toBeNull();
    expect(about({ oscillator: { offsetPpm: 0 } }, "oscillator.offsetPpm")).toEqual([]);
  });

  it("wander by type where it is assumed and played, and the grid it stands on", () => {
    const crystal = { run: { wander: true }, oscillator: { offsetPpm: 0 } };
    expect(about(crystal, "oscillator.")).toEqual([
      "oscillator.type crystal: pa",
      "oscillator.hMinus1 7.21e-19: pa",
      "oscillator.sigma1 1e-9 s^½: pa",
      "oscillator.sigma2 1e-9 s^−½: pa",
    ]);
    expect(about(crystal, "wanderGridSeconds")).toEqual(["wanderGridSeconds 1 s: the run"]);
    expect(about({ run: { wander: true, wanderGridSeconds: 0.5 } }, "wanderGridSeconds")).toEqual([]);
    expect(about({ oscillator: { offsetPpm: 0 } }, "wander")).toEqual([]);
    // The handbook's numbers are not assumed; of the disciplined one only what is not 0.
    expect(about({ oscillator: { type: "ocxo", offsetPpm: 0, wander: true } }, "oscillator.")).toEqual([]);
    expect(about({ oscillator: { type: "gnss", offsetPpm: 0, wander: true } }, "oscillator.")).toEqual([
      "oscillator.sigma1 2.9e-11 s^½: pa",
    ]);
    expect(about({ oscillator: { offsetPpm: 0, wander: { sigma1: 0, sigma2: 1e-9 } } }, "oscillator.")).toEqual([]);
  });

  it("heat where it moves something", () => {
    const warm = { events: [{ at: "00:10:00", do: "temperature", toCelsius: 35, overSeconds: 600 }] };
    const cold = { device: { startCelsius: -5 } };
    expect(about({}, "startCelsius")).toEqual([]);
    expect(about(warm, "startCelsius")).toEqual(["startCelsius 25 °C: pa"]);
    expect(about(warm, "oscillator.tempco")).toEqual(["oscillator.tempcoPpmPerCelsius 0.1 ppm/°C: pa"]);
    expect(about({ ...warm, ...cold }, "startCelsius")).toEqual([]);
    expect(about(cold, "oscillator.tempco")).toEqual(["oscillator.tempcoPpmPerCelsius 0.1 ppm/°C: pa"]);
    expect(about({ ...warm, oscillator: { type: "gnss" } }, "startCelsius")).toEqual([]);
    expect(about({}, "oscillator.tempco")).toEqual([]);
  });

  it("ageing of a plain crystal over days", () => {
    expect(about({ run: { length: "72:00:00" } }, "oscillator.ageing")).toEqual([
      "oscillator.ageingPpbPerDay 10 ppb/day: pa",
    ]);
    expect(about({ run: { length: "12:00:00" } }, "oscillator.ageing")).toEqual([]);
  });

  it("how a follower coasts, where one does", () => {
    const lines = (holdoverSeconds: number) => {
      const changed = example();
      (changed.rig.devices[1] as { holdoverSeconds: number }).holdoverSeconds = holdoverSeconds;
      return plan(changed).assumed.filter((line) => /^holdover(Average|Error)/.test(line));
    };
    expect(lines(0)).toEqual([]);
    expect(lines(60)).toEqual(["holdoverAverageSeconds 0 s: stage", "holdoverErrorPpb 0 ppb: stage"]);
  });
});
