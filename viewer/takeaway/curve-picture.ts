/** Curves as a picture: lines and axes as vectors, where the page has a canvas. */
import { line, scaleLinear } from "d3";
import { atCursors, bWords } from "../curves/at-cursors.ts";
import { type ChartKey, type ChartPlan, chartsOf, type Drawn } from "../curves/charts.ts";
import { extentOf, rangeOf } from "../curves/extents.ts";
import { letter } from "../curves/plot.ts";
import { decimalsOf } from "../curves/words.ts";
import { createWork } from "../curves/work.ts";
import { isolated, svg } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { decimalsFor, fineTime, ticksThatFit, timeTicks } from "../show-time.ts";
import { lineColour } from "../theme.ts";
import { MARGIN, type Picture, type Sheet, sheetFor } from "./sheet.ts";

const WIDTH = 1280;
const HEIGHT = 420;
/** For the numbers beside the axis, and for the letters of the lines. */
const AXIS = 72;
const LETTERS = 28;
const LIST_COLUMNS = 2;

/** Null: the run has none of these curves. */
export async function curvePicture(context: PageContext, key: ChartKey): Promise<Picture | null> {
  const chart = chartsOf(context)(key);
  if (chart.lines.length === 0) return null;
  const sheet = sheetFor(context, WIDTH, chart.title);
  const width = sheet.inner - AXIS - LETTERS;
  const { fromSeconds, toSeconds } = context.store.look();
  const drawn = await drawnLines(chart, fromSeconds, toSeconds, width);
  const extents = drawn.flatMap(({ points }, index) => extentOf(chart.lines[index]!.name, points) ?? []);
  const { low, high } = rangeOf(chart, extents);
  const y = scaleLinear([low, high], [sheet.y + HEIGHT, sheet.y]);
  const x = scaleLinear([fromSeconds, toSeconds], [MARGIN + AXIS, MARGIN + AXIS + width]);
  putAxes(sheet, context, chart, x, y);
  for (const [index, { points, isStepped }] of drawn.entries()) {
    const path = line<{ x: number; y: number }>()
      .defined((point) => !Number.isNaN(point.y))
      .x((point) => x(point.x))
      .y((point) => y(point.y))
      .digits(2);
    const d = path(isStepped ? stepped(points) : points);
    const look = { fill: "none", stroke: lineColour(index), "stroke-width": 1.75, "stroke-linejoin": "bevel" };
    if (d !== null) sheet.put(svg("path", { d, ...look }));
  }
  putLetters(sheet, drawn, y);
  sheet.y += HEIGHT + 26;
  putList(sheet, context, chart, decimalsOf(high - low, key === "slips" ? 0 : 2));
  return sheet.finish();
}

/** In slices, since curves with wander in them take a while. */
function drawnLines(chart: ChartPlan, from: number, to: number, width: number): Promise<readonly Drawn[]> {
  const drawn: Drawn[] = [];
  function* job(): Generator<void> {
    for (const each of chart.lines) {
      drawn.push(yield* each.draw(from, to, Math.ceil(width)));
      yield;
    }
  }
  return new Promise((done) => {
    createWork().start(job(), (isDone) => isDone && done(drawn), true);
  });
}

type Scale = ReturnType<typeof scaleLinear<number, number>>;

function putAxes(sheet: Sheet, { run, store }: PageContext, chart: ChartPlan, x: Scale, y: Scale): void {
  const { quiet, rule, accent, paper } = sheet.colours;
  const [left = 0, right = 0] = x.range();
  const [bottom = 0, top = 0] = y.range();
  const { fromSeconds, toSeconds, cursorSeconds, cursorBSeconds } = store.look();
  const ruled = (x1: number, y1: number, x2: number, y2: number, stroke: string, width = 1) =>
    sheet.put(svg("line", { x1, y1, x2, y2, stroke, "stroke-width": width }));
  const text = (x: number, y: number, anchor: string, words: string) =>
    sheet.put(svg("text", { x, y, "text-anchor": anchor, "font-size": 12, fill: quiet }, words));
  const words = y.tickFormat(6);
  for (const value of y.ticks(6)) {
    ruled(left, y(value), right, y(value), rule);
    text(left - 8, y(value) + 4, "end", words(value).replaceAll(",", " "));
  }
  const { values, decimals } = timeTicks(fromSeconds, toSeconds, ticksThatFit(right - left, toSeconds));
  for (const value of values) {
    ruled(x(value), top, x(value), bottom, rule);
    const anchor = x(value) < left + 32 ? "start" : x(value) > right - 32 ? "end" : "middle";
    text(x(value), bottom + 16, anchor, fineTime(value, decimals));
  }
  for (const { atSeconds } of run.summary.events)
    if (atSeconds >= fromSeconds && atSeconds <= toSeconds) ruled(x(atSeconds), top, x(atSeconds), bottom, quiet);
  const [low = 0, high = 0] = y.domain();
  for (const level of chart.levels) {
    if (level.y < low || level.y > high) continue;
    ruled(left, y(level.y), right, y(level.y), quiet);
    text((left + right) / 2, y(level.y) - 4, "middle", level.label);
  }
  ruled(left, bottom, right, bottom, quiet);
  const inside = (seconds: number | null) => seconds !== null && seconds >= fromSeconds && seconds <= toSeconds;
  if (cursorBSeconds !== null) {
    // As on the page: hollow, and what lies between is tinted.
    const ends = [cursorSeconds, cursorBSeconds].map((at) => Math.min(Math.max(x(at), left), right));
    const box = { x: Math.min(...ends), y: top, width: Math.abs(ends[0]! - ends[1]!), height: bottom - top };
    sheet.put(svg("rect", { ...box, fill: accent, "fill-opacity": 0.08 }));
    if (inside(cursorBSeconds)) {
      const hollow = { fill: paper, stroke: accent, "stroke-width": 1.5 };
      sheet.put(svg("rect", { x: x(cursorBSeconds) - 2, y: top, width: 4, height: bottom - top, ...hollow }));
    }
  }
  if (inside(cursorSeconds)) ruled(x(cursorSeconds), top, x(cursorSeconds), bottom, accent, 2);
  // One cursor needs no name; of two each has its letter, away from the other.
  if (cursorBSeconds === null) return;
  const isAFirst = cursorSeconds < cursorBSeconds;
  for (const [at, word, isFirst] of [
    [cursorSeconds, "A", isAFirst],
    [cursorBSeconds, "B", !isAFirst],
  ] as const) {
    if (!inside(at)) continue;
    const isLeft = isFirst ? x(at) > left + 20 : x(at) > right - 20;
    text(x(at) + (isLeft ? -6 : 6), top + 12, isLeft ? "end" : "start", word);
  }
}

const LETTER_HEIGHT = 12;

/** At the end of each line, moved apart where several end at the same height. */
function putLetters(sheet: Sheet, drawn: readonly Drawn[], y: Scale): void {
  const [bottom = 0, top = 0] = y.range();
  const ends = drawn
    .flatMap(({ points }, index) => {
      const last = points.findLast((point) => !Number.isNaN(point.y));
      return last === undefined ? [] : [{ index, wanted: y(last.y) }];
    })
    .sort((one, other) => one.wanted - other.wanted);
  const fits = Math.max(1, Math.floor((bottom - top) / LETTER_HEIGHT));
  let free = top;
  for (const [rank, { index, wanted }] of ends.entries()) {
    // More lines than fit below each other have their letters in the list alone.
    if (rank >= fits) return;
    const at = Math.max(free, Math.min(wanted, bottom - (Math.min(ends.length, fits) - rank - 1) * LETTER_HEIGHT));
    free = at + LETTER_HEIGHT;
    const look = { "font-size": 12, "font-weight": 700, fill: lineColour(index) };
    sheet.put(svg("text", { x: sheet.width - MARGIN - LETTERS + 6, y: at + 4, ...look }, letter(index)));
  }
}

function putList(sheet: Sheet, { store }: PageContext, chart: ChartPlan, decimals: number): void {
  const { cursorSeconds, cursorBSeconds, fromSeconds, toSeconds } = store.look();
  const time = (seconds: number) => fineTime(seconds, decimalsFor(toSeconds - fromSeconds));
  const b = cursorBSeconds === null ? "" : `; cursor B, ${time(cursorBSeconds)}`;
  sheet.line(`At the cursor, ${time(cursorSeconds)}${b}`, { size: 13, weight: 600, colour: sheet.colours.quiet });
  const width = sheet.inner / LIST_COLUMNS;
  for (let first = 0; first < chart.lines.length; first += LIST_COLUMNS) {
    let height = 0;
    for (const [column, each] of chart.lines.slice(first, first + LIST_COLUMNS).entries()) {
      const [x, index] = [MARGIN + column * width, first + column];
      const is = atCursors(chart, each, cursorSeconds, cursorBSeconds, decimals);
      const words = [is.here, ...bWords(is)].join("; ");
      sheet.text(x, sheet.y, letter(index), 30, { weight: 700, colour: lineColour(index) });
      height = Math.max(height, sheet.text(x + 30, sheet.y, `${isolated(each.name)}: ${words}`, width - 40));
    }
    sheet.y += height + 4;
  }
  sheet.y += 4;
  sheet.line(chart.note, { size: 11, colour: sheet.colours.quiet });
}

function stepped(points: Drawn["points"]): Drawn["points"] {
  return points.flatMap((point, index) => {
    const before = points[index - 1];
    return before === undefined ? [point] : [{ x: point.x, y: before.y }, point];
  });
}
