/** Parts that the reports on many trials have in common. */
import { listed } from "../../sim/tell/words.ts";
import { REPAIR_SECONDS, type RepairName } from "../../sim/trials/list.ts";
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
export function notATest(assumed: number, repairsGiven: ReadonlySet<RepairName>): readonly string[] {
  const names = Object.keys(REPAIR_SECONDS) as RepairName[];
  const [first, ...others] = names.filter((name) => !repairsGiven.has(name));
  if (first === undefined) return [rehearsalWords(assumed, false)];
  const which = repairsGiven.size === 0 ? "" : ` of ${listed([first, ...others])}`;
  const repairs = `How long a repair${which} takes is assumed: --repair ${first}=5m says otherwise.`;
  return [repairs, rehearsalWords(assumed, true)];
}
