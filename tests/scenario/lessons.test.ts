/** The lessons that are shipped: each fits its scenario, its answer is what the run finds, and its words keep the tone. */
import { readdirSync, readFileSync } from "node:fs";
import { Ajv } from "ajv";
import { describe, expect, test } from "vitest";
import { publishedSchemas } from "../../cli/json-schemas.ts";
import { formatIssue, formatIssues } from "../../shared/issues.ts";
import type { Lesson } from "../../shared/lesson.ts";
import { readLesson } from "../../shared/lesson.ts";
import type { Plan } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";
import { lessonSchema } from "../../shared/scenario-lesson.ts";
import { type Run, rehearse } from "../../sim/rehearse.ts";
import { slipAt } from "../../sim/slips.ts";
import { claims, figureValue, filled, isBorneOut, wordsOf } from "../../viewer/lessons/figures.ts";

const FOLDER = "scenarios/lessons";
const files = readdirSync(FOLDER).filter((name) => name.endsWith(".lesson.json"));

function planOf(name: string): Plan {
  const { plan, issues } = readScenario({ file: name, bytes: readFileSync(`scenarios/${name}`) }, (wanted) => ({
    bytes: readFileSync(`scenarios/${wanted.replace(/^\.\//, "")}`),
  }));
  if (plan === null) throw new Error(formatIssues(issues).join("\n"));
  return plan;
}

function lessonOf(file: string): Lesson {
  const { lesson, issues } = readLesson(file, readFileSync(`${FOLDER}/${file}`));
  if (lesson === null) throw new Error(formatIssues(issues).join("\n"));
  return lesson;
}

const played = new Map<string, Run>();
function runOf({ scenario }: Lesson): Run {
  const known = played.get(scenario) ?? rehearse(planOf(scenario));
  played.set(scenario, known);
  return known;
}

/** Every text as a learner reads it. */
function textsOf(lesson: Lesson, run: Run): string[] {
  const { title, learns, before, prediction, after } = lesson;
  const choices = "choices" in prediction ? prediction.choices.map(({ text }) => text) : [];
  const steps = [...before, ...after].map(({ text }) => text);
  return [
    title,
    learns,
    ...choices,
    ...[...steps, prediction.question, prediction.told].map((text) => filled(run, lesson, text)),
  ];
}

test("there are seven lessons and more, each of its own scenario, and the shipped folder holds nothing else", () => {
  expect(files.length).toBeGreaterThanOrEqual(7);
  const lessons = files.map(lessonOf);
  expect(new Set(lessons.map(({ scenario }) => scenario)).size).toBe(lessons.length);
  expect(new Set(lessons.map(({ id }) => id)).size).toBe(lessons.length);
  expect(readdirSync(FOLDER).filter((name) => !files.includes(name))).toEqual(["README.md"]);
  const readme = readFileSync(`${FOLDER}/README.md`, "utf8");
  for (const file of files) expect(readme).toContain(`[${file}](${file})`);
});

interface Described {
  readonly description?: string;
  readonly properties?: Readonly<Record<string, Described>>;
  readonly items?: unknown;
  readonly additionalProperties?: unknown;
  readonly anyOf?: readonly unknown[];
  readonly oneOf?: readonly unknown[];
}

describe("the published JSON Schema", () => {
  const published = JSON.parse(JSON.stringify(publishedSchemas().get("lesson"))) as object;
  const judge = new Ajv({ strict: false, allErrors: true, unicodeRegExp: true }).compile(published);
  const parsed = (file: string) => JSON.parse(readFileSync(`${FOLDER}/${file}`, "utf8")) as Record<string, unknown>;

  test("is as fresh as the schema it comes from, and every lesson names it", () => {
    expect(JSON.parse(readFileSync("scenarios/lesson.schema.json", "utf8")), "run npm run schema").toEqual(published);
    for (const file of files) expect(parsed(file).$schema).toBe("../lesson.schema.json");
  });

  test("says of every field what it is", () => {
    const silent: string[] = [];
    const look = (schema: Described, path: string) => {
      for (const [key, field] of Object.entries(schema.properties ?? {})) {
        // What "$schema", "format" and "is" are their only value says.
        if (field.description === undefined && !["$schema", "format", "is"].includes(key))
          silent.push(`${path}.${key}`);
        look(field, `${path}.${key}`);
      }
      for (const inner of [schema.items, schema.additionalProperties, ...(schema.anyOf ?? []), ...(schema.oneOf ?? [])])
        if (typeof inner === "object") look(inner as Described, path);
    };
    look(published, "");
    expect(silent).toEqual([]);
    expect(JSON.stringify(published).match(/"description":/g)?.length).toBeGreaterThan(50);
  });

  test("accepts every shipped lesson, and refuses each with one thing in it spoilt, as the reader does", () => {
    let refused = 0;
    for (const file of files) {
      expect(judge(parsed(file)), JSON.stringify(judge.errors)).toBe(true);
      for (const key of Object.keys(parsed(file)))
        for (const value of [undefined, 7, { more: 1 }, []]) {
          const spoilt = { ...parsed(file), [key]: value };
          if (value === undefined) delete spoilt[key];
          const isRead = lessonSchema.safeParse(spoilt).success;
          expect(judge(spoilt), `${file}, ${key}: ${JSON.stringify(value)}`).toBe(isRead);
          if (!isRead) refused += 1;
        }
      expect(judge({ ...parsed(file), titel: "" })).toBe(false);
    }
    expect(refused).toBeGreaterThan(30 * files.length);
  });
});

describe.each(files)("%s", (file) => {
  const lesson = lessonOf(file);
  const run = runOf(lesson);
  const { prediction } = lesson;
  const value = figureValue(run, prediction.of);
  const texts = textsOf(lesson, run);

  test("fits its scenario", () => {
    const { against } = readLesson(file, readFileSync(`${FOLDER}/${file}`));
    expect(against(run.plan).map(formatIssue)).toEqual([]);
  });

  test("has one answer that the run bears out, and none of the others", () => {
    if ("choices" in prediction) {
      const right = prediction.choices.filter((choice) => claims(choice, value));
      expect(right).toHaveLength(1);
      const borneOut = prediction.choices.filter((_, choice) => isBorneOut(lesson, { choice }, value));
      expect(borneOut).toEqual(right);
      expect(prediction.choices.length).toBeGreaterThan(1);
    } else {
      const is = value as number;
      const margin = prediction.withinPercent / 100;
      expect(is).toBeGreaterThan(0);
      expect(isBorneOut(lesson, { number: is * (1 + 0.9 * margin) }, value)).toBe(true);
      expect(isBorneOut(lesson, { number: is * (1 - 0.9 * margin) }, value)).toBe(true);
      expect(isBorneOut(lesson, { number: is * (1 + 1.1 * margin) }, value)).toBe(false);
      expect(isBorneOut(lesson, { number: is * (1 - 1.1 * margin) }, value)).toBe(false);
    }
    expect(isBorneOut(lesson, "choices" in prediction ? { number: 1 } : { choice: 0 }, value)).toBe(false);
  });

  test("tells the answer that was computed, and leaves no brace open", () => {
    expect(filled(run, lesson, prediction.told)).toContain(wordsOf(run, prediction.of, value));
    expect(texts.join("\n")).not.toMatch(/[{}]|undefined|NaN|null/);
    expect(texts.join("\n")).not.toMatch(/\bwithout a state\b/);
  });

  test("would be told otherwise by a run in which nothing was heard", () => {
    const { summary, plan, record } = run;
    const feeds = summary.feeds.map((feed) => ({
      ...feed,
      slips: 0,
      silentSeconds: 0,
      dropouts: { whileFaulty: 0, onReturn: 0 },
      firstAudibleAtSeconds: null,
      realignedAtSeconds: [],
      states: [
        {
          state: "clean" as const,
          silence: null,
          because: null,
          slips: 0,
          fromSeconds: 0,
          toSeconds: summary.runSeconds,
        },
      ],
    }));
    const rows = record.rows.filter(
      ({ fact }) => fact.kind !== "slips" && fact.kind !== "clock" && fact.kind !== "link",
    );
    const silent = { plan, record: { ...record, rows }, summary: { ...summary, feeds } };
    const isQuiet = prediction.of.is === "outcome" && value === "clean";
    expect(filled(silent, lesson, prediction.told) === filled(run, lesson, prediction.told)).toBe(false);
    expect(figureValue(silent, prediction.of) === value).toBe(isQuiet);
  });

  test("keeps the tone: no exclamation, no blame, nothing that promises, three figures a sentence at most", () => {
    const all = texts.join("\n");
    expect(all).not.toMatch(/!/);
    expect(all).not.toMatch(/\b(pass(?:es|ed)?|safe(?:ly)?|good|all well|ok|okay|perfect|guarantee\w*)\b/i);
    expect(all).not.toMatch(/\b(forgot|mistake|wrongly|careless|fault of|your fault|should have)\b/i);
    expect(all).not.toMatch(/\b(front desk|radio van|sweep|LD|hits?|routes?|frames?)\b/);
    expect(all).not.toMatch(/ {2}|\bthe the\b|\bthe a\b|\.\.|,\.|\s[.,;]/i);
    for (const text of texts.slice(1)) expect(text).toMatch(/^[A-Z]/);
    const sentences = texts.flatMap((text) => text.split(/(?<=[.:?])\s+(?=[A-Z])/));
    expect(sentences.filter((sentence) => figuresIn(sentence) > 3)).toEqual([]);
    expect(sentences.filter((sentence) => sentence.split(" ").length > 34)).toEqual([]);
  });
});

/** A length of time is one figure, an instant is one, "port 1" and "AES50" are names. */
function figuresIn(sentence: string): number {
  const folded = sentence
    .replace(/\bports? \d+|\bAES\d+/g, "port")
    .replace(/\d+ (?:h|min) \d+ (?:min|s)\b/g, "9 s")
    .replace(/\d\d+:\d\d:\d\d/g, "9");
  return folded.match(/(?<![\w.])[\d,.]*\d/g)?.length ?? 0;
}

describe("quantities, found another way", () => {
  const of = (id: string) => runOf(lessonOf(`${id}.lesson.json`));

  test("slips and the time between them, straight from the trains of the record", () => {
    const run = of("1-two-clocks");
    const instants = run.record.rows.flatMap(({ fact }) =>
      fact.kind === "slips" ? Array.from({ length: fact.count }, (_, k) => slipAt(fact, k + 1) / 1e9) : [],
    );
    expect(figureValue(run, { is: "slips", feed: "guest-mix" })).toBe(instants.length);
    expect(instants.length).toBe(907);
    const gap = (instants.at(-1)! - instants[0]!) / (instants.length - 1);
    expect(figureValue(run, { is: "seconds-between-clicks", feed: "guest-mix" })).toBeCloseTo(gap, 9);
    // 10.5 ppm of 48,000 samples a second.
    expect(gap).toBeCloseTo(1 / 0.504, 3);
    const few = { feed: "guest-mix", from: "00:00:00", to: "00:00:10" };
    expect(figureValue(run, { is: "slips", ...few })).toBe(instants.filter((at) => at <= 10).length);
    expect(figureValue(run, { is: "seconds-between-clicks", ...few, to: "00:00:03" })).toBeNull();
  });

  test("what each kind says of one evening", () => {
    const run = of("5-leader-returns");
    const feed = (id: string) => run.summary.feeds.find((one) => one.id === id)!;
    expect(figureValue(run, { is: "silent-seconds", feed: "pa-mix" })).toBe(feed("pa-mix").silentSeconds);
    expect(figureValue(run, { is: "troubled", feed: "ears-mix" })).toBe("on-return");
    expect(figureValue(run, { is: "outcome", feed: "ears-mix", to: "00:21:00" })).toBe("clean");
    expect(figureValue(run, { is: "outcome", feed: "ears-mix", from: "00:21:00" })).toBe("dropout");
    expect(figureValue(run, { is: "outcome", feed: "pa-mix" })).toBe("silent");
    expect(figureValue(run, { is: "seconds-until-audible", feed: "pa-mix", after: "00:19:00" })).toBe(60);
    expect(figureValue(run, { is: "seconds-until-audible", feed: "pa-mix", after: "01:00:00" })).toBeNull();
    expect(figureValue(run, { is: "clicking-feeds" })).toBeNull();
    expect(figureValue(run, { is: "state", device: "foh", at: "00:20:30" })).toBe("starting");
    expect(() => figureValue(run, { is: "boot-seconds", device: "nobody" })).toThrow("nobody");
  });
});

describe("a lesson that is wrong", () => {
  const right = JSON.parse(readFileSync(`${FOLDER}/1-two-clocks.lesson.json`, "utf8"));
  const linesOf = (value: unknown) => {
    const { lesson, issues } = readLesson("x.lesson.json", new TextEncoder().encode(JSON.stringify(value)));
    expect(lesson === null).toBe(issues.length > 0);
    return formatIssues(issues);
  };

  test("is told all its problems at once, each with its place and a remedy", () => {
    expect(linesOf(right)).toEqual([]);
    const lines = linesOf({
      ...right,
      title: "",
      learn: "x",
      figures: { slips: { is: "slips", feed: "guest-mix", from: "25" } },
      before: [],
    });
    expect(lines).toHaveLength(4);
    expect(lines.join("\n")).toMatch(/title: expected a text of 1 to 60 characters/);
    expect(lines.join("\n")).toMatch(/learn: expected a key that is known here.*did you mean learns/);
    expect(lines.join("\n")).toMatch(/figures\.slips\.from: expected a show time/);
    expect(lines.join("\n")).toMatch(/before: expected a list of 1 to 4 steps/);
    for (const line of lines) expect(line).toMatch(/^x\.lesson\.json:\d+:\d+ › .*, received .*; /);
  });

  test("may not tell of the run before the prediction, nor leave the answer out, nor name what it does not have", () => {
    const lines = linesOf({
      ...right,
      before: [{ text: "There are {slips} clicks and {apar} ppm." }],
      prediction: { ...right.prediction, told: "So it is." },
    });
    expect(lines.join("\n")).toMatch(/before\[0\]\.text: expected only quantities of the plan.*"\{slips\}"/);
    expect(lines.join("\n")).toMatch(/before\[0\]\.text: .*"\{apar\}"; did you mean \{apart\}/);
    expect(lines.join("\n")).toMatch(/prediction\.told: expected the answer in it/);
    expect(lines.join("\n")).toMatch(/figures\.apart: expected a quantity that a text tells/);
  });

  test("may not have two choices that can both be right, nor one that can never be", () => {
    const { question, told } = right.prediction;
    const choices = [
      { text: "Clicks", is: "clicks" },
      { text: "Clicks again", is: "clicks" },
      { text: "Noise", is: "klicks" },
    ];
    const lines = linesOf({
      ...right,
      prediction: { question, told, of: { is: "outcome", feed: "guest-mix" }, choices },
    });
    expect(lines.join("\n")).toMatch(/choices\[1\]: expected a claim of its own/);
    expect(lines.join("\n")).toMatch(/choices\[2\]\.is: expected one of clean.*did you mean "clicks"/);
    const numbers = [
      { text: "Few", from: 0, below: 5 },
      { text: "Some", from: 4, below: 9 },
      { text: "None", from: 9, below: 9 },
    ];
    const others = linesOf({
      ...right,
      prediction: { question, told, of: { is: "slips", feed: "guest-mix" }, choices: numbers },
    });
    expect(others.join("\n")).toMatch(/choices\[1\]: expected a claim of its own/);
    expect(others.join("\n")).toMatch(/choices\[2\]: expected a stretch of numbers/);
  });

  test("must fit its scenario: feeds, devices, lanes and instants that are there", () => {
    const value = {
      ...right,
      figures: { apart: { is: "apart-ppm", devices: ["foh", "gest"] }, slips: { is: "slips", feed: "mix" } },
      after: [{ text: "{slips}", look: { from: "00:00:00", to: "09:00:00", cursor: "00:00:01", lane: "feed mix" } }],
      sound: { feed: "guest-mx" },
    };
    const { lesson, issues, against } = readLesson("x.lesson.json", new TextEncoder().encode(JSON.stringify(value)));
    expect(issues).toEqual([]);
    expect(lesson).not.toBeNull();
    const lines = formatIssues(against(planOf("two-clocks.json"))).join("\n");
    expect(lines).toMatch(/figures\.apart\.devices\[1\]: .*did you mean "guest"/);
    expect(lines).toMatch(/figures\.slips\.feed/);
    expect(lines).toMatch(/after\[0\]\.look\.to: expected an instant within the run/);
    expect(lines).toMatch(/after\[0\]\.look\.lane/);
    expect(lines).toMatch(/sound\.feed: .*did you mean "guest-mix"/);
  });

  test("that is no JSON, or no object, is told so", () => {
    for (const text of ["", "[", "[]", "1", "null", '"x"']) {
      const { lesson, issues } = readLesson("x.lesson.json", new TextEncoder().encode(text));
      expect(lesson).toBeNull();
      expect(issues.length).toBeGreaterThan(0);
    }
  });
});
