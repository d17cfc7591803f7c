/**
 * From a lesson file to a lesson. Reading says all that is wrong with the file; {@link LessonRead.against} all that does
 * not fit the scenario it plays. No answer is in a lesson: it names quantities, and the run has their values.
 */
import type { Issue, Path } from "./issues.ts";
import { quote } from "./issues.ts";
import { nearest } from "./nearest.ts";
import type { Plan } from "./plan.ts";
import type { JsonFile } from "./read-json.ts";
import { readJson } from "./read-json.ts";
import { FIGURE_WORDS, type Figure, type LessonFile, lessonSchema, PLAN_FIGURES } from "./scenario-lesson.ts";
import { schemaIssues } from "./scenario-messages.ts";
import { secondsFromNs } from "./time.ts";
import { formatShowTime, parseShowTime } from "./units.ts";

export type { Choice, Figure } from "./scenario-lesson.ts";

export interface Lesson {
  /** Of its file's name: "two-clocks". */
  readonly id: string;
  readonly title: string;
  /** What one learns, in one sentence. */
  readonly learns: string;
  /** From the folder of scenarios: "two-clocks.json". */
  readonly scenario: string;
  /** By the name that a text calls them by, in braces. */
  readonly figures: Readonly<Record<string, Figure>>;
  readonly before: readonly LessonStep[];
  /** `told`: the sentence after the answer; `{answer}` in it is what the run found. */
  readonly prediction: LessonFile["prediction"];
  /** Where to look at the answer. */
  readonly answerLook: LessonLook | null;
  readonly after: readonly LessonStep[];
  readonly sound: { readonly feed: string };
}

export interface LessonStep {
  readonly text: string;
  /** Where the page is to look. */
  readonly look: LessonLook | null;
}

export interface LessonLook {
  readonly fromSeconds: number;
  readonly toSeconds: number;
  readonly cursorSeconds: number;
  /** Key of a lane: "feed pa-mix", "device foh", "link main there". */
  readonly lane: string;
}

export interface LessonRead {
  /** Null when anything is wrong. */
  readonly lesson: Lesson | null;
  readonly issues: readonly Issue[];
  /** What does not fit the scenario: ids it does not have, instants beyond its end. */
  against(plan: Plan): readonly Issue[];
}

/** In the folder of scenarios. */
const LESSON_FOLDER = "lessons";

export function readLesson(file: string, bytes: Uint8Array): LessonRead {
  const { json, issues } = readJson(file, bytes);
  if (json === null) return { lesson: null, issues, against: () => [] };
  const found = [...issues];
  const parsed = lessonSchema.safeParse(json.value);
  if (!parsed.success) found.push(...schemaIssues(json, [], parsed.error.issues));
  else found.push(...textIssues(json, parsed.data), ...claimIssues(json, parsed.data));
  if (!parsed.success || found.length > 0) return { lesson: null, issues: found, against: () => [] };
  const { data } = parsed;
  return { lesson: lessonOf(file, data), issues: [], against: (plan) => planIssues(json, data, plan) };
}

function lessonOf(
  file: string,
  { title, learns, scenario, figures, before, prediction, after, sound }: LessonFile,
): Lesson {
  const name = file.slice(file.lastIndexOf("/") + 1);
  return {
    id: name.replace(/(\.lesson)?\.json$/, ""),
    title,
    learns,
    scenario: scenario.startsWith("../") ? scenario.slice(3) : `${LESSON_FOLDER}/${scenario.replace(/^\.\//, "")}`,
    figures,
    before: before.map(stepOf),
    prediction,
    answerLook: lookOf(prediction.look),
    after: after.map(stepOf),
    sound,
  };
}

type LookFile = LessonFile["prediction"]["look"];

function stepOf({ text, look }: LessonFile["before"][number]): LessonStep {
  return { text, look: lookOf(look) };
}

function lookOf(look: LookFile): LessonLook | null {
  if (look === undefined) return null;
  const { from, to, cursor, lane } = look;
  return { fromSeconds: secondsOf(from), toSeconds: secondsOf(to), cursorSeconds: secondsOf(cursor), lane };
}

/** Of a show time that the schema has accepted. */
export function secondsOf(showTime: string): number {
  return secondsFromNs(parseShowTime(showTime) ?? (0 as never));
}

/** What stands in the place of `{answer}`. */
export const ANSWER = "answer";

/** The names in braces of a text, in order. */
export function namesIn(text: string): string[] {
  return [...text.matchAll(/\{([^{}]*)\}/g)].map(([, name = ""]) => name);
}

/** Every text of a lesson with its place, and whether it is read before the prediction. */
function textsOf({ before, prediction, after, learns }: LessonFile): { path: Path; text: string; isBefore: boolean }[] {
  return [
    { path: ["learns"], text: learns, isBefore: true },
    ...before.map(({ text }, index) => ({ path: ["before", index, "text"], text, isBefore: true })),
    { path: ["prediction", "question"], text: prediction.question, isBefore: true },
    { path: ["prediction", "told"], text: prediction.told, isBefore: false },
    ...after.map(({ text }, index) => ({ path: ["after", index, "text"], text, isBefore: false })),
  ];
}

function textIssues(json: JsonFile, file: LessonFile): Issue[] {
  const issues: Issue[] = [];
  const names = Object.keys(file.figures);
  const used = new Set<string>();
  for (const { path, text, isBefore } of textsOf(file)) {
    for (const name of namesIn(text)) {
      used.add(name);
      const figure = Object.hasOwn(file.figures, name) ? file.figures[name] : undefined;
      const received = quote(`{${name}}`);
      if (isBefore && (name === ANSWER || (figure !== undefined && !PLAN_FIGURES.has(figure.is)))) {
        const expected = "only quantities of the plan before the prediction";
        issues.push(json.issue(path, { expected, received, remedy: "tell it in a later step" }));
      } else if (figure === undefined && name !== ANSWER) {
        const near = nearest(name, names);
        const remedy = near === null ? "add it to figures" : `did you mean {${near}}?`;
        issues.push(json.issue(path, { expected: "a name of figures in braces", received, remedy }));
      }
    }
  }
  if (!namesIn(file.prediction.told).includes(ANSWER)) {
    const complaint = { expected: "the answer in it, as {answer}", received: quote(file.prediction.told) };
    issues.push(json.issue(["prediction", "told"], { ...complaint, remedy: "say what the run found" }));
  }
  for (const name of names) {
    if (name === ANSWER) {
      const complaint = { expected: "another name than answer", received: quote(name), remedy: "rename it" };
      issues.push(json.issueAtKey(["figures", name], complaint));
    } else if (!used.has(name)) {
      const complaint = { expected: "a quantity that a text tells", received: quote(name), remedy: "take it away" };
      issues.push(json.issueAtKey(["figures", name], complaint));
    }
  }
  return issues;
}

/** Choices must be able to hold, and no two of them together. */
function claimIssues(json: JsonFile, { prediction }: LessonFile): Issue[] {
  if (!("choices" in prediction)) return [];
  const words = FIGURE_WORDS[prediction.of.is];
  const issues: Issue[] = [];
  prediction.choices.forEach((choice, index) => {
    const path = ["prediction", "choices", index];
    if ("is" in choice) {
      if (choice.is !== null && words !== undefined && !words.includes(choice.is)) {
        const near = nearest(choice.is, words);
        const expected = `one of ${words.join(", ")}`;
        const remedy = near === null ? "choose one of them" : `did you mean "${near}"?`;
        issues.push(json.issue([...path, "is"], { expected, received: quote(choice.is), remedy }));
      }
    } else if (choice.below <= choice.from) {
      const received = `from ${choice.from} to below ${choice.below}`;
      issues.push(json.issue(path, { expected: "a stretch of numbers", received, remedy: "put from before below" }));
    }
    for (const [otherIndex, other] of prediction.choices.slice(0, index).entries()) {
      const isSame =
        "is" in choice
          ? "is" in other && other.is === choice.is
          : "from" in other && choice.from < other.below && other.from < choice.below;
      if (!isSame) continue;
      const received = `what choice ${otherIndex + 1} claims too`;
      issues.push(json.issue(path, { expected: "a claim of its own", received, remedy: "change one of the two" }));
    }
  });
  return issues;
}

function planIssues(json: JsonFile, file: LessonFile, plan: Plan): Issue[] {
  const issues: Issue[] = [];
  const known = {
    feed: plan.feeds.map(({ id }) => id),
    device: plan.devices.map(({ id }) => id),
    link: plan.links.map(({ id }) => id),
  };
  const check = (path: Path, kind: keyof typeof known, id: string): void => {
    if (known[kind].includes(id)) return;
    const near = nearest(id, known[kind]);
    const remedy = near === null ? `name one of ${known[kind].join(", ")}` : `did you mean "${near}"?`;
    issues.push(json.issue(path, { expected: `the id of a ${kind} of ${file.scenario}`, received: quote(id), remedy }));
  };
  const checkTime = (path: Path, time: string): void => {
    if (secondsOf(time) <= secondsFromNs(plan.lengthNs)) return;
    const expected = `an instant within the run, up to ${formatShowTime(plan.lengthNs)}`;
    issues.push(json.issue(path, { expected, received: quote(time), remedy: "choose an earlier one" }));
  };
  const checkFigure = (path: Path, figure: Figure): void => {
    if ("feed" in figure) check([...path, "feed"], "feed", figure.feed);
    if ("device" in figure) check([...path, "device"], "device", figure.device);
    if ("link" in figure) check([...path, "link"], "link", figure.link);
    if ("devices" in figure)
      figure.devices.forEach((id, at) => {
        check([...path, "devices", at], "device", id);
        if (plan.devices.find((each) => each.id === id)?.oscillator.offsetPpm !== null) return;
        const complaint = { expected: "a device whose offsetPpm the file gives", received: quote(id) };
        issues.push(json.issue([...path, "devices", at], { ...complaint, remedy: "give it in the scenario" }));
      });
    for (const key of ["from", "to", "at", "after"] as const) {
      const time = (figure as { readonly [Key in typeof key]?: string | undefined })[key];
      if (time !== undefined) checkTime([...path, key], time);
    }
    if (figure.is === "event-at" && plan.events[figure.event - 1] === undefined) {
      const expected = `one of ${plan.events.length} events`;
      issues.push(json.issue([...path, "event"], { expected, received: String(figure.event), remedy: "count from 1" }));
    }
  };
  for (const [name, figure] of Object.entries(file.figures)) checkFigure(["figures", name], figure);
  checkFigure(["prediction", "of"], file.prediction.of);
  const checkLook = (path: Path, look: LookFile): void => {
    if (look === undefined) return;
    for (const key of ["from", "to", "cursor"] as const) checkTime([...path, key], look[key]);
    const [kind = "", id = ""] = look.lane.split(" ");
    if (kind === "feed" || kind === "device" || kind === "link") check([...path, "lane"], kind, id);
    else {
      const expected = 'a lane: "feed", "device" or "link" and its id';
      issues.push(json.issue([...path, "lane"], { expected, received: quote(look.lane), remedy: "name its kind" }));
    }
  };
  checkLook(["prediction", "look"], file.prediction.look);
  for (const part of ["before", "after"] as const)
    for (const [index, { look }] of file[part].entries()) checkLook([part, index, "look"], look);
  check(["sound", "feed"], "feed", file.sound.feed);
  return issues;
}
