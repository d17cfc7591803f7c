/**
 * The schema of a lesson file: a scenario, a few steps, a prediction, and from which quantities of the run its answer and
 * its words are made. No answer stands in the file. What one place asks of another, and of the scenario, stands in
 * `lesson.ts`; messages are expectations in words, as in `scenario-values.ts`.
 */
import * as z from "zod/mini";
import { DEVICE_STATES, LINK_CLOCKS } from "./record.ts";
import { filePath, format, matching, only, schemaKey, showTime } from "./scenario-values.ts";

function textUpTo(characters: number) {
  return matching(new RegExp(`^\\P{Cc}{1,${characters}}$`, "u"), `a text of 1 to ${characters} characters in one line`);
}

function listFrom<T extends z.ZodMiniType>(item: T, least: number, most: number, what: string) {
  const expected = `a list of ${least} to ${most} ${what}`;
  return z
    .array(item, { error: expected })
    .check(z.minLength(least, { error: expected }), z.maxLength(most, { error: expected }));
}

const id = z.string({ error: "an id of the scenario" }).check(z.minLength(1, { error: "an id of the scenario" }));
const stretch = { from: z.optional(showTime), to: z.optional(showTime) };

const isThe = <const Name extends string>(name: Name) => z.literal(name, { error: `"${name}"` });

const of = <const Name extends string, T extends z.core.$ZodLooseShape>(name: Name, shape: T) =>
  only({ is: isThe(name), ...shape }, `a quantity: an object with "is": "${name}"`);

/** Quantities of the plan alone: these may be told before the learner predicts. */
const planFigures = [
  /** Fractional frequency offset of the first of two oscillators less that of the second, without sign, ppm. */
  of("apart-ppm", { devices: z.tuple([id, id], { error: "two devices" }) }),
  of("boot-seconds", { device: id }),
  /** Instant of an event of the file, from 1. */
  of("event-at", {
    event: z.int({ error: "a whole number from 1" }).check(z.minimum(1, { error: "a whole number from 1" })),
  }),
] as const;

const runFigures = [
  of("slips", { feed: id, ...stretch }),
  /** From the first to the last slip of the stretch, over their number less one; null below two. */
  of("seconds-between-clicks", { feed: id, ...stretch }),
  of("silent-seconds", { feed: id }),
  /** What is worst in the stretch. */
  of("outcome", { feed: id, ...stretch }),
  /** Show time; null: never. */
  of("first-audible", { feed: id }),
  /** From an instant until the next trouble; null: none. */
  of("seconds-until-audible", { feed: id, after: showTime }),
  /** Whether its dropouts fall while something is failed, on the return, both or never. */
  of("troubled", { feed: id }),
  of("dropouts-on-return", { feed: id }),
  /** Feeds that have slips, their ids in order, "pa-mix ears-mix"; null: none. */
  of("clicking-feeds", {}),
  of("state", { device: id, at: showTime }),
  of("link-clock", { link: id, at: showTime }),
  /** Against nominal at the end of the run; null: it gives none then. */
  of("offset-ppm", { device: id }),
] as const;

export const PLAN_FIGURES: ReadonlySet<string> = new Set(planFigures.flatMap(({ shape }) => shape.is.def.values));

const figure = z.discriminatedUnion("is", [...planFigures, ...runFigures], {
  error: `a quantity, one of ${[...planFigures, ...runFigures].flatMap(({ shape }) => shape.is.def.values).join(", ")}`,
});

export const OUTCOMES = ["clean", "dropout", "clicks", "not-carried", "silent"] as const;
export const TROUBLED = ["never", "while-faulty", "on-return", "both"] as const;

/** What a quantity in words can be; the others are numbers or ids. */
export const FIGURE_WORDS: Readonly<Record<string, readonly string[]>> = {
  outcome: OUTCOMES,
  troubled: TROUBLED,
  state: DEVICE_STATES,
  "link-clock": LINK_CLOCKS,
};

const number = z.number({ error: "a number" });

/** What a choice claims of the quantity: a word, or from a number up to below another; `is` null: there is none. */
const choice = z.union(
  [
    only({ text: textUpTo(120), is: z.nullable(matching(/./u, "a word")) }, "a choice: text and is"),
    only({ text: textUpTo(120), from: number, below: number }, "a choice: text, from and below"),
  ],
  { error: "a choice: text with is, or with from and below" },
);

/** Where the page is to look. */
const look = z.optional(
  only({ from: showTime, to: showTime, cursor: showTime, lane: textUpTo(200) }, "a look: an object"),
);

const prediction = z.union(
  [
    only(
      { question: textUpTo(240), of: figure, choices: listFrom(choice, 2, 5, "choices"), told: textUpTo(600), look },
      "a prediction: question, of, choices, told",
    ),
    only(
      {
        question: textUpTo(240),
        of: figure,
        unit: textUpTo(20),
        /** How far off a prediction may be and still be near enough. */
        withinPercent: number.check(
          z.gt(0, { error: "a number above 0" }),
          z.maximum(50, { error: "a number up to 50" }),
        ),
        told: textUpTo(600),
        look,
      },
      "a prediction: question, of, unit, withinPercent, told",
    ),
  ],
  { error: "a prediction: an object with question, of, told, and choices or a unit" },
);

const step = only(
  {
    text: textUpTo(600),
    look,
  },
  "a step: an object with text",
);

export const lessonSchema = only(
  {
    $schema: schemaKey,
    format,
    title: textUpTo(60),
    learns: textUpTo(200),
    scenario: filePath,
    figures: z.record(matching(/^[a-z][a-zA-Z]{0,30}$/u, "a name in small letters"), figure, {
      error: "an object of quantities by name",
    }),
    before: listFrom(step, 1, 4, "steps"),
    prediction,
    after: listFrom(step, 1, 5, "steps"),
    /** The feed that can be listened to. */
    sound: only({ feed: id }, "an object with feed"),
  },
  "a lesson: an object",
);

export type LessonFile = z.infer<typeof lessonSchema>;
export type Figure = z.infer<typeof figure>;
export type Choice = z.infer<typeof choice>;
