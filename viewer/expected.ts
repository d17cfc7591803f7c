/**
 * Expectations in the words of the lanes, with the file's word in brackets: "mon is on its own clock (free-run) from …".
 * A run that was not judged in the form known here keeps its sentences as they came.
 */
import { DEVICE_LOOKS, LINK_CLOCK_LOOKS, longWord, type StateLook } from "../shared/states.ts";
import type { ExpectSummary } from "../shared/summary.ts";
import { secondsFromNs } from "../shared/time.ts";
import { formatShowTime } from "../shared/units.ts";
import type { Lane } from "../sim/lanes/lane.ts";
import type { Run } from "./run.ts";

/** The same run with its expectations, and the verdict that quotes them, in those words. */
export function inPageWords(run: Run, lanes: readonly Lane[]): Run {
  const expect = run.summary.expect.map((each) => reworded(each, run, lanes));
  const quotes = new Map(run.summary.expect.map((each, index) => [quoted(each), quoted(expect[index]!)]));
  return {
    ...run,
    summary: { ...run.summary, expect },
    telling: { ...run.telling, verdict: run.telling.verdict.map((line) => quotes.get(line) ?? line) },
  };
}

function quoted({ expected, found }: ExpectSummary): string {
  return `Expected ${expected}; found ${found}.`;
}

const EXPECTED = /^(the clock of )?(.+) is (\S+) (from \S+ to \S+)$/s;
const FOUND = /^(\S+) (throughout|at \S+)$/;

function reworded(each: ExpectSummary, run: Run, lanes: readonly Lane[]): ExpectSummary {
  const [expected, found] = [EXPECTED.exec(each.expected), FOUND.exec(each.found)];
  if (expected === null || found === null) return each;
  const [, clockOf = "", id = "", wanted = "", span = ""] = expected;
  const [, seen = "", where = ""] = found;
  const looks: Readonly<Record<string, StateLook>> = clockOf === "" ? DEVICE_LOOKS : LINK_CLOCK_LOOKS;
  const isLed = clockOf === "" && seen === "free-run" && where === "throughout" && leadsAllOf(id, span, run, lanes);
  return {
    ...each,
    expected: `${clockOf}${id} is ${midWord(looks[wanted], wanted)} ${span}`,
    found: `${midWord(isLed ? DEVICE_LOOKS.leading : looks[seen], seen)} ${where}`,
  };
}

/** In the middle of a sentence. */
function midWord(look: StateLook | undefined, otherwise: string): string {
  if (look === undefined) return otherwise;
  const text = longWord(look);
  return text.charAt(0).toLowerCase() + text.slice(1);
}

function leadsAllOf(id: string, span: string, { plan }: Run, lanes: readonly Lane[]): boolean {
  const expect = plan.expect.find(
    (each) =>
      each.kind === "device" &&
      each.device === id &&
      `from ${formatShowTime(each.fromNs)} to ${formatShowTime(each.toNs)}` === span,
  );
  if (expect?.kind !== "device") return false;
  const [from, to] = [secondsFromNs(expect.fromNs), secondsFromNs(expect.toNs)];
  const lane = lanes.find(({ key }) => key === `device ${id}`);
  const inside = (lane?.stretches ?? []).filter((one) => one.fromSeconds < to && one.toSeconds > from);
  return inside.length > 0 && inside.every(({ key }) => key === "device-leading");
}
