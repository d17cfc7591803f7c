/** Terminators of a T-ed word-clock line: exactly one belongs on it, at its far end. *Common practice, no source.* */
import type { Finding } from "../../shared/finding.ts";
import { cableOf, isWholeCable } from "../../shared/lines.ts";
import type { LinePlan, Plan } from "../../shared/plan.ts";
import { capital, theCableIn } from "../tell/words.ts";
import { mid, names } from "./finding.ts";

export function wordClockTerminators(plan: Plan): readonly Finding[] {
  return plan.links.filter(isWholeCable).flatMap((link): Finding[] => {
    const { line } = link;
    if (line === undefined) return [];
    const last = line.taps.at(-1) as string;
    if (line.terminatedAt.length === 1 && line.terminatedAt[0] === last) return [];
    const id = cableOf(link);
    return [
      {
        rule: "word-clock-terminators",
        severity: "warning",
        devices: line.terminatedAt.length === 0 ? [last] : [...new Set([...line.terminatedAt, last])].sort(),
        links: [id],
        path: ["links", id, "terminatedAt"],
        ...words(plan, line, last, `${theCableIn(plan, id)} of ${mid(plan, link.a.device)}`),
      },
    ];
  });
}

function words(
  plan: Plan,
  { terminatedAt }: LinePlan,
  last: string,
  line: string,
): Pick<Finding, "what" | "why" | "see" | "remedy"> {
  const end = mid(plan, last);
  const [first] = terminatedAt;
  if (first === undefined)
    return {
      what: `No terminator is named on ${line}.`,
      why: "At an open end the edge comes back along the line, and inputs on the way see it twice.",
      see: "Lock may come and go, and change with every T-piece or cable that is moved.",
      remedy: `One terminator of 75 ohms at ${end}, the last on the line, and none anywhere else; look for one built into an input.`,
    };
  if (terminatedAt.length > 1)
    return {
      what: `${capital(line)} is terminated ${terminatedAt.length} times: at ${names(plan, terminatedAt)}.`,
      why: "Terminators side by side load the sender more than it is built for, and the level falls for everyone.",
      see: "Lock may come and go, or never come, most of all far down the line.",
      remedy: `One terminator, at ${end}, the last on the line; the others off, also those built into inputs.`,
    };
  return {
    what: `${capital(line)} is terminated at ${mid(plan, first)}, which is not its far end.`,
    why: "Behind the terminator the line goes on with an open end, and from there the edge comes back.",
    see: `The lock of ${end} may come and go, and that of others behind ${mid(plan, first)}.`,
    remedy: `Move the terminator from ${mid(plan, first)} to ${end}, the last on the line.`,
  };
}
