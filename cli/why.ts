/** Questions from the command line: why something is as it is at an instant. */
import { type Issue, quote } from "../shared/issues.ts";
import { nearest } from "../shared/nearest.ts";
import type { Plan } from "../shared/plan.ts";
import { type Ns, nsFromSeconds } from "../shared/time.ts";
import { formatShowTime, parseShowTime } from "../shared/units.ts";
import { subjectsNamed, type WhySubject } from "../sim/why.ts";
import { durationSeconds } from "./faults.ts";

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
): { readonly questions: readonly Question[]; readonly issues: readonly Issue[] } {
  const questions: Question[] = [];
  const issues: Issue[] = [];
  for (const text of texts) {
    const refuse = (expected: string, received: string, remedy: string) => {
      issues.push({ file: `--why ${text}`, line: 0, column: 0, path: [], expected, received: quote(received), remedy });
    };
    const at = text.lastIndexOf("@");
    const [what, time] = [text.slice(0, at).trim(), text.slice(at + 1).trim()];
    if (at < 1 || what === "") {
      refuse("WHAT@TIME, of a device, a link or a feed", text, "write it like --why foh@00:20:05");
      continue;
    }
    const atNs = readInstant(time);
    if (atNs === null)
      refuse(
        'a show time like 00:20:05 or 00:20:05.250, or how far into the show, like "72 min"',
        time,
        "write it like --why foh@00:20:05",
      );
    else if (plan !== null && atNs > plan.lengthNs)
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
  return { questions, issues };
}

function choice(ids: readonly string[]): string {
  if (ids.length === 0) return "the scenario has none";
  const more = ids.length > IDS_SHOWN ? ` and ${ids.length - IDS_SHOWN} more` : "";
  return `choose one of ${ids.slice(0, IDS_SHOWN).join(", ")}${more}`;
}

/** "01:12:07", "72 min", "1h12m": an instant of show time; null for anything else. */
function readInstant(text: string): Ns | null {
  const seconds = durationSeconds(text.replaceAll(" ", ""));
  return parseShowTime(text) ?? (seconds === null ? null : nsFromSeconds(seconds));
}
