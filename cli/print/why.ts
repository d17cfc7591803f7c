/** Answers to why, as text and as data. */

import type { Plan } from "../../shared/plan.ts";
import type { Fact, RunRecord } from "../../shared/record.ts";
import type { Summary } from "../../shared/summary.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { stampOf } from "../../sim/stamp.ts";
import { type WhyTold, whyTold } from "../../sim/tell/why.ts";
import { lastSentence } from "../../sim/tell.ts";
import { whyOf } from "../../sim/why.ts";
import type { Question } from "../why.ts";
import type { Ink } from "./ink.ts";
import { oneLine, wrapped } from "./plain.ts";
import { identity } from "./rehearsal.ts";

export interface WhyPrint {
  /** As typed. */
  readonly file: string;
  readonly version: string;
  readonly plan: Plan;
  readonly record: RunRecord;
  readonly summary: Summary;
  readonly questions: readonly Question[];
}

function answers({ plan, record }: WhyPrint, { subjects, atNs }: Question) {
  return subjects.map((subject) => {
    const why = whyOf(plan, record, subject, atNs);
    return { why, told: whyTold(plan, record, why) };
  });
}

export function whyText(
  print: WhyPrint,
  { ink, columns }: { readonly ink: Ink; readonly columns: number | null },
): string {
  const paragraph = (text: string) => wrapped(oneLine(text), columns, 0);
  const answer = ({ head, lines, note }: WhyTold): string[] => {
    const width = Math.max(0, ...lines.map(({ at }) => at.length));
    return [
      ink("bold", paragraph(head)),
      ...lines.map(({ at, text }) => wrapped(`${at.padEnd(width)}  ${oneLine(text)}`, columns, width + 2)),
      ...(note === null ? [] : [ink("dim", paragraph(note))]),
    ];
  };
  const parts = [
    [
      ink("bold", paragraph(print.plan.title)),
      ink("dim", paragraph(identity({ ...print, stamp: stampOf(print.plan) }))),
    ],
    ...print.questions.flatMap((question) => answers(print, question).flatMap(({ told }) => told.map(answer))),
    [paragraph(lastSentence(print.summary.assumed.length))],
  ];
  return `${parts.map((lines) => lines.join("\n")).join("\n\n")}\n`;
}

export function whyJson(print: WhyPrint) {
  const { summary, questions } = print;
  return {
    schemaVersion: 1,
    scenario: summary.scenario,
    seed: summary.seed,
    why: questions.map((question) => ({
      asked: question.text,
      atSeconds: secondsFromNs(question.atNs),
      answers: answers(print, question).flatMap(({ why, told }) =>
        told.map(({ head, lines, note }, index) => ({
          subject: why.subject,
          says: head,
          note,
          steps: (why.chains[index] ?? []).map((step) => ({
            row: step.row,
            atSeconds: secondsFromNs(step.atNs),
            subject: step.subject,
            by: step.by,
            fact: factJson(step.fact),
            // Two rows that one line tells have it at the last of them.
            says: lines.find(({ steps }) => steps.at(-1) === step)?.text ?? null,
          })),
        })),
      ),
    })),
    assumed: summary.assumed,
  };
}

/** Without the numbers of clocks and fills, which are no part of an answer. */
function factJson(fact: Fact) {
  switch (fact.kind) {
    case "event":
      return { kind: fact.kind, index: fact.index, do: fact.event.do };
    case "flow":
      return { kind: fact.kind, leaves: fact.flow !== null };
    case "slips":
      return { kind: fact.kind, link: fact.link, way: fact.way, count: fact.count };
    default:
      return fact;
  }
}
