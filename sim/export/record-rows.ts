/**
 * The record as rows of one table for spreadsheets: what everything is from when to when, every slip by itself, every
 * event. Numbers have a point, whatever the language of the machine.
 */
import { type Ns, secondsFromNs } from "../../shared/time.ts";
import type { Lane } from "../lanes/lane.ts";
import type { Run } from "../rehearse.ts";
import { countBy, slipInstants } from "../slips.ts";
import { eventSentence } from "../tell/events.ts";
import { toldOf } from "../tell/picture.ts";
import { cableIn, grouped, showTime } from "../tell/words.ts";
import { lastSentence } from "../tell.ts";
import { decimal } from "./decimal.ts";

/** A spreadsheet takes a million rows; what is longer than this nobody reads row by row. */
const SLIPS_MOST = 100_000;

export const COLUMNS = ["row", "id", "way", "name", "state", "from_s", "to_s", "samples", "words"] as const;

/** The headings first; every row has a cell for each. */
export function recordRows(run: Run, lanes: readonly Lane[]): readonly (readonly string[])[] {
  return [COLUMNS, planRow(run), ...eventRows(run), ...lanes.flatMap(laneRows), ...slipRows(run)];
}

interface Cells {
  readonly row: string;
  readonly id?: string;
  readonly way?: string;
  readonly name?: string;
  readonly state?: string;
  readonly fromSeconds?: number;
  readonly toSeconds?: number;
  readonly samples?: number;
  readonly words?: string;
}

function cells({ row, id, way, name, state, fromSeconds, toSeconds, samples, words }: Cells): readonly string[] {
  const number = (value: number | undefined) => (value === undefined ? "" : decimal(value));
  const texts = [row, id, way, name, state].map((text) => inert(text ?? ""));
  return [...texts, number(fromSeconds), number(toSeconds), number(samples), inert(words ?? "")];
}

/**
 * A text that a spreadsheet would take for a formula begins with an apostrophe instead, since names come from files of
 * anybody's. The marks that set names apart in running text are for reading only.
 */
function inert(text: string): string {
  const bare = text.replaceAll(/[\u2066-\u2069]/g, "");
  return /^[\s\u00a0\ufeff]*[=+\-@\uff0b\uff0d\uff1d\uff20]/.test(bare) || /^[\t\r\n]/.test(bare) ? `'${bare}` : bare;
}

function planRow({ plan, summary }: Run): readonly string[] {
  const [id, name] = [summary.scenario.sha256, plan.title];
  return cells({
    row: "plan",
    id,
    name,
    fromSeconds: 0,
    toSeconds: summary.runSeconds,
    words: lastSentence(summary.assumed.length),
  });
}

function eventRows(run: Run): readonly (readonly string[])[] {
  const { plan } = run;
  const told = toldOf(run);
  return plan.events.map((event, index) => {
    const words = eventSentence(plan, event, told);
    const fromSeconds = secondsFromNs(event.atNs);
    return cells({ row: "event", id: String(index + 1), state: event.do, fromSeconds, words });
  });
}

function laneRows({ key, kind, id, name, stretches, strips, lines, marks }: Lane): readonly (readonly string[])[] {
  const way = kind === "link" || kind === "stream" ? (key.split(" ").at(-1) ?? "") : "";
  const about = { row: kind, id, way, name };
  const stateOf = (look: string) => look.slice(look.indexOf("-") + 1);
  return [
    ...[...stretches, ...strips, ...lines.flat()].map(({ key, fromSeconds, toSeconds, says }) =>
      cells({ ...about, state: stateOf(key), fromSeconds, toSeconds, words: says }),
    ),
    ...marks.map(({ key, atSeconds, says }) =>
      cells({ ...about, state: stateOf(key), fromSeconds: atSeconds, words: says }),
    ),
  ];
}

function slipRows({ plan, record }: Run): readonly (readonly string[])[] {
  const trains = record.rows.flatMap(({ fact }) => (fact.kind === "slips" ? [fact] : []));
  const countUpTo = (at: Ns) =>
    trains.reduce((sum, train) => {
      if (at < train.fromNs) return sum;
      return sum + (at >= train.toNs ? train.count : Math.min(countBy(train, at), train.count));
    }, 0);
  const total = countUpTo(record.endNs);
  const until = total <= SLIPS_MOST ? record.endNs : latest((at) => countUpTo(at) <= SLIPS_MOST, record.endNs);
  const slips = trains
    .flatMap((train) => slipInstants(train, 0 as Ns, until).map((at) => ({ at, train })))
    .sort((one, other) => one.at - other.at);
  const rows = slips.map(({ at, train: { link, way, sign, slipSamples } }) =>
    cells({
      row: "slip",
      id: link,
      way,
      name: cableIn(plan, link),
      state: sign > 0 ? "drop" : "repeat",
      fromSeconds: secondsFromNs(at),
      samples: slipSamples,
    }),
  );
  if (slips.length === total) return rows;
  const words = `The first ${grouped(slips.length)} of ${grouped(total)} slips are listed, up to ${showTime(secondsFromNs(until))}; the others are left out.`;
  return [cells({ row: "note", words }), ...rows];
}

/** The last whole nanosecond before `end` at which this still holds; it holds at 0. */
function latest(holds: (at: Ns) => boolean, end: Ns): Ns {
  let [low, high] = [0, Number(end)];
  while (high - low > 1) {
    const middle = Math.floor((low + high) / 2);
    if (holds(middle as Ns)) low = middle;
    else high = middle;
  }
  return low as Ns;
}
