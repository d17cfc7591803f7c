/** Parts that the reports on many trials have in common. */
import { rehearsalWords } from "../../sim/trials/words-faults.ts";
import { oneLine, wrapped } from "./plain.ts";

export interface Sheet {
  readonly paragraph: (text: string, indent?: number) => string;
}

export function sheetOf(columns: number | null): Sheet {
  return { paragraph: (text, indent = 0) => wrapped(oneLine(text), columns, indent) };
}

/** Groups of lines, an empty line between two of them. */
export function grouped(parts: readonly (readonly string[])[]): string {
  return `${parts
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join("\n"))
    .join("\n\n")}\n`;
}

/** The last two lines of every report that takes repairs for granted. */
export function notATest(assumed: number): readonly string[] {
  return ["How long a repair takes is assumed: --repair cable=5m says otherwise.", rehearsalWords(assumed)];
}
