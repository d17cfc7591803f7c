/** Questions from the command line: why something is as it is at an instant. */
import { NO_CLOCK, readInstant } from "../shared/as-said.ts";
import { type Issue, quote, withoutLine } from "../shared/issues.ts";
import { nearest } from "../shared/nearest.ts";
import type { Plan } from "../shared/plan.ts";
import type { Ns } from "../shared/time.ts";
import { formatShowTime } from "../shared/units.ts";
import { subjectsNamed, type WhySubject } from "../sim/why.ts";

export interface Question {
  /** As typed: "stage@00:20:00". */
  readonly text: string;
  /** One; several where a device, a link and a feed share an id. */
  readonly subjects: readonly WhySubject[];
  readonly atNs: Ns;
}

/** More ids than this are no help to choose from. */
const IDS_SHOWN = 12;

/** `plan` null: the scenario could not be read, so only the form of the question is looked at. */
export function readQuestions(
  texts: readonly string[],
  plan: Plan | null,
): {
  readonly questions: readonly Question[];
  /** One line for each instant that may mean two things. */
  readonly understood: readonly string[];
  readonly issues: readonly Issue[];
} {
  const questions: Question[] = [];
  const issues: Issue[] = [];
  const understood: string[] = [];
  const clock = plan === null ? NO_CLOCK : { startsAt: plan.startsAt ?? null, lengthNs: plan.lengthNs };
  for (const text of texts) {
    const refuse = (expected: string, received: string, remedy: string) => {
      issues.push({ ...withoutLine(`--why ${text}`), expected, received: quote(received), remedy });
    };
    const at = text.lastIndexOf("@");
    const [what, time] = [text.slice(0, at).trim(), text.slice(at + 1).trim()];
    if (at < 1 || what === "") {
      refuse("WHAT@TIME, of a device, a link or a feed", text, "write it like --why foh@00:20:05");
      continue;
    }
    const read = readInstant(time, clock);
    const atNs = "value" in read ? read.value : null;
    if ("expected" in read) refuse(read.expected, time, read.remedy);
    else if (read.understood !== null) understood.push(`--why ${text}: read ${time} as ${read.understood}.`);
    if (plan !== null && atNs !== null && atNs > plan.lengthNs)
      refuse(
        `an instant within the run, which ends at ${formatShowTime(plan.lengthNs)}`,
        formatShowTime(atNs),
        "choose an earlier one",
      );
    if (plan === null) continue;
    const subjects = subjectsNamed(plan, what);
    if (subjects.length === 0) {
      const ids = [...plan.devices, ...plan.links, ...plan.feeds].map(({ id }) => id);
      const meant = nearest(what, ids);
      refuse(
        "the id of a device, a link or a feed of the scenario",
        what,
        meant === null ? choice(ids) : `did you mean ${meant}`,
      );
    } else if (atNs !== null && atNs <= plan.lengthNs) questions.push({ text, subjects, atNs });
  }
  return { questions, understood, issues };
}

function choice(ids: readonly string[]): string {
  if (ids.length === 0) return "the scenario has none";
  const more = ids.length > IDS_SHOWN ? ` and ${ids.length - IDS_SHOWN} more` : "";
  return `choose one of ${ids.slice(0, IDS_SHOWN).join(", ")}${more}`;
}
