/**
 * The file that a pull test on site leaves behind: which pulls were done, what came about, how long it took, and the files
 * that the plan was read from, so that what has changed since can be said thing by thing.
 */
import * as z from "zod/mini";
import type { Issue } from "./issues.ts";
import { readJson } from "./read-json.ts";
import { schemaIssues } from "./scenario-messages.ts";
import {
  format,
  id,
  label,
  listOf,
  matching,
  numberFrom,
  oneOf,
  only,
  SECONDS_MAX,
  schemaKey,
} from "./scenario-values.ts";
import { DATE_EXPECTED, DATE_PATTERN, STAMP_PATTERN } from "./units.ts";

export const PULL_ANSWERS = ["expected", "different", "skipped"] as const;
export const SOUNDS = ["stays", "back", "back-in", "gone"] as const;

const seconds = numberFrom(0, SECONDS_MAX, "s");
const text = z.string({ error: "a text" });

const pull = only(
  {
    /** "cable-out main" */
    id: label,
    does: text,
    /** Cables that are out as a whole. */
    links: listOf(id, "cables"),
    /** That is rebooted. */
    device: z.optional(id),
    /** That is switched off. */
    supply: z.optional(label),
    /** Of the rehearsal: whether the sound stays, is back by itself or once the cable is in again, or is gone. */
    sound: oneOf(SOUNDS),
    /** Until it is back: from the pull or the reboot; of "back-in" from when it is in again. */
    expectedSeconds: z.optional(seconds),
    /** How long it is out, or boots. */
    outSeconds: seconds,
    /** Spare groups of which another cable carries meanwhile. */
    switches: listOf(id, "spare groups"),
    /** Left out: it was not come to. */
    answer: z.optional(oneOf(PULL_ANSWERS)),
    date: z.optional(matching(DATE_PATTERN, DATE_EXPECTED)),
    measuredSeconds: z.optional(seconds),
    note: z.optional(label),
  },
  "a pull: an object",
).check(
  z.refine(({ answer, date }) => answer === undefined || date !== undefined, {
    error: "the day on which it was answered",
    path: ["date"],
  }),
  z.refine(
    ({ sound, expectedSeconds }) => (sound === "back" || sound === "back-in") === (expectedSeconds !== undefined),
    {
      error: "how long until the sound is back, where it comes back",
      path: ["expectedSeconds"],
    },
  ),
);

const results = only(
  {
    $schema: schemaKey,
    format,
    what: z.literal("pull test", { error: '"pull test"' }),
    title: text,
    /** Stamp of the plan that was walked with. */
    plan: matching(STAMP_PATTERN, 'the stamp of a plan, such as "K7-QF"'),
    pulls: listOf(pull, "pulls"),
    files: only({ main: text, texts: z.record(text, text, { error: "texts by name" }) }, "files: main and texts"),
  },
  "results of a pull test: an object",
);

export type PullResult = z.infer<typeof pull>;
export type PullResults = z.infer<typeof results>;

export interface PullResultsRead {
  /** Null when anything is wrong. */
  readonly results: PullResults | null;
  readonly issues: readonly Issue[];
}

export function readPullResults(file: string, bytes: Uint8Array): PullResultsRead {
  const { json, issues } = readJson(file, bytes);
  if (json === null) return { results: null, issues };
  const judged = results.safeParse(json.value);
  const found = [...issues, ...(judged.success ? [] : schemaIssues(json, [], judged.error.issues))];
  return { results: judged.success && found.length === 0 ? judged.data : null, issues: found };
}
