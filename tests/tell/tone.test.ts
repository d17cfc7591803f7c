/** How the text speaks, as properties of every line of every shipped scenario and template. */
import { describe, expect, test } from "vitest";
import type { Telling } from "../../shared/telling.ts";
import type { Run } from "../../sim/rehearse.ts";
import { told } from "./stories.ts";

const stories = told();

/** Every sentence of a telling, with the names of the file taken out, so that a name's own digits do not count. */
function sentencesOf({ run, telling }: { run: Run; telling: Telling }): string[] {
  const texts = [
    ...telling.sentences,
    ...telling.timeline.map(({ text }) => text),
    ...telling.heard.map(({ text }) => text),
    ...telling.converters,
    ...(telling.chain === null ? [] : [telling.chain]),
    ...telling.verdict,
    ...(telling.fixFirst === null ? [] : [telling.fixFirst]),
    telling.last,
  ];
  return texts.flatMap((text) => withoutNames(run, text).split(/(?<=[.:])\s+(?=[A-Z])/));
}

function withoutNames({ plan }: Run, text: string): string {
  const names = [...plan.devices, ...plan.feeds]
    .map(({ name }) => name)
    .concat(
      plan.links.map(({ id }) => id),
      plan.links.flatMap(({ laidAlong }) => laidAlong),
    );
  const longestFirst = [...new Set(names)].sort((one, two) => two.length - one.length);
  return longestFirst.reduce(
    (left, name) =>
      left.replace(new RegExp(`(?<![\\w-])${name.replace(/[.*+?^${}()|[\]\\]/g, "\\$&")}(?![\\w-])`, "gi"), "NAME"),
    text,
  );
}

/** A length of time is one figure, an instant is one, "port 1" is a name. */
function figuresIn(sentence: string): number {
  const folded = sentence
    .replace(/\bports? \d+/g, "port")
    .replace(/\d+ (?:h|min) \d+ (?:min|s)\b/g, "9 s")
    .replace(/\d\d+:\d\d:\d\d/g, "9");
  return folded.match(/(?<![\w.])[\d,.]*\d/g)?.length ?? 0;
}

describe.each(stories)("$name", (story) => {
  const { run, telling } = story;
  const sentences = sentencesOf(story);
  const all = sentences.join("\n");

  test("speaks without exclamation, blame, or words that promise", () => {
    expect(all).not.toMatch(/!/);
    expect(all).not.toMatch(/\b(pass(?:es|ed)?|safe(?:ly)?|good|all well|ok|okay|perfect|guarantee\w*)\b/i);
    expect(all).not.toMatch(/\b(forgot|mistake|wrongly|careless|fault of|your fault|should have)\b/i);
    expect(all).not.toMatch(/\b(front desk|radio van|sweep|LD|hits?)\b/);
    expect(all).not.toMatch(/\broutes?\b|\bframes?\b|\bundefined\b|\bNaN\b|\bnull\b|\bInfinity\b/);
  });

  test("has at most three figures in a sentence", () => {
    expect(sentences.filter((sentence) => figuresIn(sentence) > 3)).toEqual([]);
  });

  test("puts sentences together whole: capital first, full stop last, no doubled spaces or articles", () => {
    for (const { text } of telling.timeline) expect(text).toMatch(/^[A-Z].*\.$/);
    for (const { text } of telling.heard) expect(text).toMatch(/^[a-z0-9].*\.$/);
    for (const text of [...telling.sentences, ...telling.verdict]) expect(text).toMatch(/^[A-Z].*\.$/);
    expect(all).not.toMatch(/ {2}|\bthe the\b|\bthe a\b|\.\.|,\.|\s[.,;:]/i);
  });

  test("tells in order of show time, one line per stretch and never one per slip", () => {
    const at = telling.timeline.map((line) => line.at);
    expect([...at].sort()).toEqual(at);
    for (const instant of at) expect(instant).toMatch(/^\d\d+:[0-5]\d:[0-5]\d$/);
    const stretches = run.summary.feeds.reduce((sum, { states }) => sum + states.length, 0);
    const changes = run.summary.devices.reduce((sum, { states }) => sum + states.length, 0);
    expect(telling.timeline.length).toBeLessThanOrEqual(stretches + changes + 2 * run.plan.events.length);
    expect(telling.timeline.length).toBeLessThanOrEqual(40);
  });

  test("has three sentences for the top, a line for each feed, and a verdict", () => {
    expect(telling.sentences).toHaveLength(3);
    expect(telling.heard).toHaveLength(run.plan.feeds.length);
    expect(new Set(telling.heard.map(({ who }) => who)).size).toBe(run.plan.feeds.length);
    expect(telling.verdict.length).toBeGreaterThan(0);
  });

  test("counts what the summary counts: every click told is a click found", () => {
    const clicks = run.summary.feeds.reduce((sum, { slips }) => sum + slips, 0);
    expect(/\bclicks?\b(?! is\b)/i.test(telling.heard.map(({ text }) => text).join(" "))).toBe(clicks > 0);
    for (const [index, line] of telling.heard.entries()) {
      const words = line.text;
      expect(words.startsWith("clean from beginning to end"), `${line.who} (${index}): ${words}`).toBe(
        isClean(run, line.who),
      );
    }
  });

  test("ends with the sentence that says what it is", () => {
    const count = run.summary.assumed.length;
    expect(telling.last).toBe(
      `A rehearsal with ${count} assumed ${count === 1 ? "number" : "numbers"}, not a test. Pull the cables before doors.`,
    );
  });

  test("explains each long word where it stands first, and only there", () => {
    const body = [...telling.timeline, ...telling.heard]
      .map(({ text }) => text)
      .concat(telling.verdict, telling.fixFirst ?? [])
      .join("\n");
    for (const [short, long] of [
      [/\bcoast(?:ing|s)\b/g, "(holdover)"],
      [/\bpull(?:ing|s)? in\b/g, "(acquiring)"],
    ] as const) {
      const first = short.exec(body);
      short.lastIndex = 0;
      if (first !== null)
        expect(body.slice(first.index + first[0].length)).toMatch(new RegExp(`^ \\${long.slice(0, -1)}\\)`));
      expect(body.split(long).length - 1).toBeLessThanOrEqual(1);
    }
  });
});

function isClean(run: Run, who: string): boolean {
  const troubled = run.summary.feeds.filter(
    ({ states, realignedAtSeconds }) => realignedAtSeconds.length > 0 || states.some(({ state }) => state !== "clean"),
  );
  return !troubled.some(({ id }) => stories.some((story) => story.run === run && story.whoOf(id) === who));
}

test("there is something to read, and all that the text can say is said somewhere", () => {
  expect(stories.length).toBeGreaterThanOrEqual(18);
  const all = JSON.stringify(stories.map(({ telling }) => telling));
  for (const said of [
    "clicks every",
    "goes silent",
    "at full level",
    "Fix first",
    "The return did this",
    "stays clean",
    "(acquiring)",
    "(revertive)",
    "Not a spare",
    "This spare works here",
  ]) {
    expect(all).toContain(said);
  }
});
