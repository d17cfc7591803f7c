/**
 * Failure rates and repair times from a table: `what` (a kind of fault, one fault, or "repair cable"), `mtbf` in hours or
 * `time` in seconds, as one number or as two with "to" between: "2000 to 8000".
 */
import { dsvFormat } from "d3";
import { type Issue, quote } from "../../shared/issues.ts";
import { nearest } from "../../shared/nearest.ts";
import type { Plan } from "../../shared/plan.ts";
import { FAULT_KINDS, faultsIn, REPAIR_SECONDS, type Repairs } from "../../sim/trials/list.ts";
import type { Range, Rate, Rates } from "../../sim/trials/rates.ts";

export interface RatesRead {
  readonly rates: Rates;
  readonly issues: readonly Issue[];
}

const REPAIR = /^repair\s+/i;

export function readRates(file: string, text: string, plan: Plan): RatesRead {
  const [head = "", ...body] = text.replace(/^\ufeff/, "").split(/\r\n|\n|\r/);
  const delimiter = [",", ";", "\t"].find((each) => head.includes(each)) ?? ",";
  const format = dsvFormat(delimiter);
  const headings = (format.parseRows(head)[0] ?? []).map((heading) => heading.trim().toLowerCase());
  const issues: Issue[] = [];
  const refuse = (line: number, column: number, expected: string, received: string, remedy: string) =>
    issues.push({ file, line, column, path: [], expected, received: quote(received), remedy });
  const place = (...names: string[]) => headings.findIndex((heading) => names.some((name) => heading.startsWith(name)));
  const [what, mtbf, time] = [place("what", "fault"), place("mtbf"), place("time", "repair")];
  if (what < 0 || (mtbf < 0 && time < 0))
    refuse(1, 1, "the headings what, and mtbf_h or time_s or both", head, "begin with a line like: what,mtbf_h,time_s");
  const rates: Rate[] = [];
  const repairs: Partial<Record<keyof Repairs, Range>> = {};
  const known = new Set<string>([...FAULT_KINDS, ...faultsIn(plan).map(({ id }) => id)]);
  const repairable = Object.keys(REPAIR_SECONDS) as (keyof Repairs)[];
  for (const [index, row] of issues.length > 0 ? [] : body.entries()) {
    const line = index + 2;
    const cells = format.parseRows(row)[0] ?? [];
    const name = (cells[what] ?? "").trim();
    if (cells.every((cell) => cell.trim() === "") || name.startsWith("#")) continue;
    const range = (column: number, unit: string): Range | null => {
      const cell = column < 0 ? "" : (cells[column] ?? "").trim();
      const numbers = cell.split(/\s*(?:to|–|\.\.)\s*/).map(Number);
      const [low = Number.NaN, high = low] = numbers;
      if (cell !== "" && low > 0 && high >= low && Number.isFinite(high) && numbers.length <= 2) return { low, high };
      refuse(line, column + 1, `${unit} above 0, one number or two like 2000 to 8000`, cell, `write how many ${unit}`);
      return null;
    };
    if (REPAIR.test(name)) {
      const asked = name.replace(REPAIR, "").toLowerCase();
      const repair = repairable.find((each) => each === asked);
      if (repair === undefined)
        refuse(line, what + 1, `repair of ${repairable.join(", ")}`, name, `write it like repair ${repairable[0]}`);
      else {
        const seconds = range(time, "seconds");
        if (seconds !== null) repairs[repair] = seconds;
      }
    } else if (known.has(name)) {
      const mtbfHours = range(mtbf, "hours");
      if (mtbfHours !== null) rates.push({ fault: name, mtbfHours });
    } else {
      const meant = nearest(name, [...known]);
      const remedy = meant === null ? "pulltest faults --json lists the names of all" : `did you mean ${meant}`;
      refuse(line, what + 1, "a kind of fault, a fault of this plan, or repair and what", name, remedy);
    }
  }
  if (issues.length === 0 && rates.length === 0)
    refuse(1, 1, "at least one line with a rate", "none", "add one like: cable-out,5000,");
  return { rates: { rates, repairs }, issues };
}
