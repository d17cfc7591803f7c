/** Libraries as text: their numbers, what differs, what was added, and what somebody has to answer. */
import { originWords, valueWords } from "../../shared/scenario-origins.ts";
import type { LibraryChange } from "../../sim/library/changes.ts";
import type { Grown } from "../../sim/library/grow.ts";
import type { Question } from "../../sim/library/merge.ts";
import type { TypeNumber, TypeNumbers } from "../../sim/library/numbers.ts";
import { capital, counted, listed } from "../../sim/tell/words.ts";
import type { Ink } from "./ink.ts";
import { oneLine, wrapped } from "./plain.ts";

export function libraryText(
  { title, types }: { readonly title: string | null; readonly types: readonly TypeNumbers[] },
  { ink, columns }: { readonly ink: Ink; readonly columns: number | null },
): string {
  const parts = types.map((type) => {
    const like =
      type.like === null ? "" : `, like ${type.like}${type.isWhole ? "" : ", which is no type of this library"}`;
    const width = Math.max(0, ...type.numbers.map(({ name }) => name.length));
    return [
      ink("bold", oneLine(`${type.type}${like}`)),
      ...type.numbers.map((number) =>
        wrapped(`  ${number.name.padEnd(width)}  ${oneLine(numberWords(number))}`, columns, width + 4),
      ),
      ...(type.assumed.length === 0
        ? []
        : [ink("dim", wrapped(`  still assumed: ${type.assumed.join(", ")}`, columns, 4))]),
    ].join("\n");
  });
  const all = types.flatMap(({ numbers }) => numbers);
  const measured = all.filter((number) => number.measured !== null).length;
  const head = `${title === null ? "" : `${title}: `}${counted(types.length, "device type", "device types")}, ${counted(all.length, "number", "numbers")}, ${measured} measured.`;
  return `${[wrapped(oneLine(capital(head)), columns, 0), ...parts].join("\n\n")}\n`;
}

function numberWords({ name, value, isOfLike, origins }: TypeNumber): string {
  const words = originWords(name, value ?? undefined, origins);
  if (value === null) return `no number stands, so the default is played; ${words.replace(/^not /, "")}`;
  const from = isOfLike ? ", from what it is like" : "";
  return `${valueWords(name, value)}${from}; ${words === "" ? "where it is from is not said" : words}`;
}

export function libraryChangesText(changes: readonly LibraryChange[], columns: number | null): string {
  if (changes.length === 0) return "The two libraries say the same.\n";
  const parts = changes.map(({ type, is, words }) =>
    [
      oneLine(is === "changed" ? `${type}:` : `${type}: ${is}.`),
      ...words.map((line) => wrapped(`  ${oneLine(line)}`, columns, 4)),
    ].join("\n"),
  );
  return `${parts.join("\n")}\n`;
}

export function questionLines(questions: readonly Question[]): string[] {
  if (questions.length === 0) return [];
  return [
    `${capital(counted(questions.length, "number is", "numbers are"))} given differently. Both stay as origins; say which is played:`,
    ...questions.map(({ type, name, given, played }) => {
      const sides = given.map(({ value, by }) => `${valueWords(name, value)} by ${by}`);
      return `- ${type}, ${name}: ${listed(sides, "and")}? Until somebody answers, ${valueWords(name, played)} is played.`;
    }),
  ];
}

export function grownLines(grown: readonly Grown[]): string[] {
  if (grown.length === 0) return ["The table has no rows: nothing was added."];
  return grown.map(({ type, name, added, played, was, isAsked }) => {
    const head = `${type}, ${name}:`;
    const many = added.length === 0 ? "nothing new was measured" : counted(added.length, "measurement", "measurements");
    if (isAsked && was !== undefined && played === was)
      return `${head} ${many}; ${valueWords(name, played)} is played as before, which is not what was measured. --play takes what was measured last.`;
    if (was === undefined) return `${head} ${many}; ${valueWords(name, played)} is played, where nothing stood.`;
    if (JSON.stringify(was) === JSON.stringify(played))
      return `${head} ${many}; ${valueWords(name, played)} is played as before.`;
    return `${head} ${many}; ${valueWords(name, played)} is played, was ${valueWords(name, was)}.`;
  });
}
