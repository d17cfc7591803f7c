/**
 * The schema of a lesson file: a scenario, a few steps, a prediction, and from which quantities of the run its answer and
 * its words are made. No answer stands in the file. What one place asks of another, and of the scenario, stands in
 * `lesson.ts`; messages are expectations in words, as in `scenario-values.ts`.
 */
import * as z from "zod/mini";
import { DEVICE_STATES, LINK_CLOCKS } from "./record.ts";
import { filePath, format, matching, only, schemaKey, showTime, told } from "./scenario-values.ts";

function textUpTo(characters: number) {
  return matching(new RegExp(`^\\P{Cc}{1,${characters}}$`, "u"), `a text of 1 to ${characters} characters in one line`);
}

function listFrom<T extends z.ZodMiniType>(item: T, least: number, most: number, what: string) {
  const expected = `a list of ${least} to ${most} ${what}`;
  return z
    .array(item, { error: expected })
    .check(z.minLength(least, { error: expected }), z.maxLength(most, { error: expected }));
}

const id = told(
  z.string({ error: "an id of the scenario" }).check(z.minLength(1, { error: "an id of the scenario" })),
  "An id of the scenario.",
);
const stretch = {
  from: z.optional(told(showTime, "From when on. Default: the beginning.")),
  to: z.optional(told(showTime, "Until when. Default: the end.")),
};

const isThe = <const Name extends string>(name: Name) => z.literal(name, { error: `"${name}"` });

const of = <const Name extends string, T extends z.core.$ZodLooseShape>(name: Name, shape: T, description: string) =>
  told(only({ is: isThe(name), ...shape }, `a quantity: an object with "is": "${name}"`), description);

/** Quantities of the plan alone: these may be told before the learner predicts. */
const planFigures = [
  of(
    "apart-ppm",
    { devices: told(z.tuple([id, id], { error: "two devices" }), "The two devices.") },
    "Fractional frequency offset of the first of two oscillators less that of the second, without sign, in ppm.",
  ),
  of("boot-seconds", { device: id }, "How long a device takes to boot."),
  of(
    "event-at",
    {
      event: told(
        z.int({ error: "a whole number from 1" }).check(z.minimum(1, { error: "a whole number from 1" })),
        "Which one, counted from 1.",
      ),
    },
    "Instant of an event of the file.",
  ),
] as const;

const runFigures = [
  of("slips", { feed: id, ...stretch }, "How many slips a feed has."),
  of(
    "seconds-between-clicks",
    { feed: id, ...stretch },
    "From the first to the last slip of the stretch, over their number less one; none below two slips.",
  ),
  of("silent-seconds", { feed: id }, "How long a feed is silent in all."),
  of("outcome", { feed: id, ...stretch }, "What is worst on a feed in the stretch."),
  of("first-audible", { feed: id }, "When trouble on a feed is first heard, in show time; none: never."),
  of(
    "seconds-until-audible",
    { feed: id, after: told(showTime, "From when on.") },
    "From an instant until the next trouble on a feed; none: there is no more.",
  ),
  of(
    "troubled",
    { feed: id },
    "Whether dropouts of a feed fall while something is failed, on the return, both or never.",
  ),
  of("dropouts-on-return", { feed: id }, "How many dropouts a feed has when something comes back."),
  of("clicking-feeds", {}, 'Feeds that have slips, their ids in order, "pa-mix ears-mix"; none: no feed has.'),
  of("state", { device: id, at: told(showTime, "When.") }, "What a device is at an instant."),
  of("link-clock", { link: id, at: told(showTime, "When.") }, "Who gives clock over a link at an instant."),
  of(
    "offset-ppm",
    { device: id },
    "Clock of a device against nominal at the end of the run; none: it gives none then.",
  ),
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
    only(
      {
        text: told(textUpTo(120), "What the learner reads."),
        is: told(z.nullable(matching(/./u, "a word")), "What the quantity then is, as a word; null: none."),
      },
      "a choice: text and is",
    ),
    only(
      {
        text: told(textUpTo(120), "What the learner reads."),
        from: told(number, "The quantity is then at least this."),
        below: told(number, "And less than this."),
      },
      "a choice: text, from and below",
    ),
  ],
  { error: "a choice: text with is, or with from and below" },
);

const look = z.optional(
  told(
    only(
      {
        from: told(showTime, "Where the window begins."),
        to: told(showTime, "Where it ends."),
        cursor: told(showTime, "Where the cursor stands."),
        lane: told(textUpTo(200), 'Which lane is chosen, such as "device foh", "link main there", "feed pa-mix".'),
      },
      "a look: an object",
    ),
    "Where the page is to look.",
  ),
);

const question = told(textUpTo(240), "What the learner is asked.");
const asked = told(figure, "The quantity that is the answer, as the run has it.");
const answerTold = told(
  textUpTo(600),
  "What is said once the answer is shown; {answer} and figures by name in braces.",
);

const prediction = z.union(
  [
    only(
      {
        question,
        of: asked,
        choices: told(
          listFrom(choice, 2, 5, "choices"),
          "What there is to choose from; the run decides which is right.",
        ),
        told: answerTold,
        look,
      },
      "a prediction: question, of, choices, told",
    ),
    only(
      {
        question,
        of: asked,
        unit: told(textUpTo(20), "What the learner's number counts."),
        withinPercent: told(
          number.check(z.gt(0, { error: "a number above 0" }), z.maximum(50, { error: "a number up to 50" })),
          "How far off a prediction may be and still be near enough.",
        ),
        told: answerTold,
        look,
      },
      "a prediction: question, of, unit, withinPercent, told",
    ),
  ],
  { error: "a prediction: an object with question, of, told, and choices or a unit" },
);

const step = only(
  {
    text: told(textUpTo(600), "What the learner reads; figures by name in braces, such as {apart}."),
    look,
  },
  "a step: an object with text",
);

export const lessonSchema = only(
  {
    $schema: schemaKey,
    format,
    title: told(textUpTo(60), "One line."),
    learns: told(textUpTo(200), "What one learns, in a sentence."),
    scenario: told(filePath, 'The scenario that is played, such as "../two-clocks.json".'),
    figures: told(
      z.record(matching(/^[a-z][a-zA-Z]{0,30}$/u, "a name in small letters"), figure, {
        error: "an object of quantities by name",
      }),
      "Quantities that texts call by name. Before the prediction only those of the plan may be told.",
    ),
    before: told(listFrom(step, 1, 4, "steps"), "What is read before the run is shown."),
    prediction: told(prediction, "What the learner is asked before the run is shown."),
    after: told(listFrom(step, 1, 5, "steps"), "What is read once the answer is shown."),
    sound: told(only({ feed: told(id, "Its id.") }, "an object with feed"), "The feed that can be listened to."),
  },
  "a lesson: an object",
);

export type LessonFile = z.infer<typeof lessonSchema>;
export type Figure = z.infer<typeof figure>;
export type Choice = z.infer<typeof choice>;
