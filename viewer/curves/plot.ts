/** The canvas: Chart.js draws lines that were decimated for it; time grid, events, levels and letters are ours. */
import { Chart, LinearScale, LineController, LineElement, type Plugin, PointElement } from "chart.js";
import { GROUND } from "../../shared/states.ts";
import { grouped } from "../../sim/tell/words.ts";
import type { PageContext } from "../page.ts";
import { ticksThatFit, timeTicks } from "../show-time.ts";
import { ground, lineColour } from "../theme.ts";
import { pageFace } from "../views/text-width.ts";
import type { Drawn, Level } from "./charts.ts";
import type { Range } from "./extents.ts";
import { plain } from "./words.ts";

export interface Plot {
  /** `lines` by their number in the chart; those left out are not drawn. */
  show(
    lines: readonly { readonly index: number; readonly drawn: Drawn }[],
    range: Range,
    levels: readonly Level[],
  ): void;
  /** To another window, with the lines that it has. */
  move(): void;
  resize(): void;
}

/** Pixels from one letter to the next, with a digit and without, and from the right edge. */
const LETTER_STEPS = { wide: 22, narrow: 14 } as const;
const EDGE = 4;

/** A…Z, then A1…: each line has one, since colours come again. */
export function letter(index: number): string {
  return String.fromCharCode(65 + (index % 26)) + (index < 26 ? "" : String(Math.floor(index / 26)));
}

export function plotOn(canvas: HTMLCanvasElement, { run, store }: PageContext): Plot {
  Chart.register(LineController, LinearScale, LineElement, PointElement);
  let indices: readonly number[] = [];
  let levels: readonly Level[] = [];

  const marks: Plugin<"line"> = {
    id: "marks",
    beforeDatasetsDraw(chart) {
      const { ctx, chartArea } = chart;
      const { rule, quiet } = GROUND[ground()];
      const { fromSeconds, toSeconds } = store.look();
      const vertical = (seconds: number, colour: string) => {
        const x = chart.scales.x!.getPixelForValue(seconds);
        if (x < chartArea.left || x > chartArea.right) return;
        ctx.fillStyle = colour;
        ctx.fillRect(x - 0.5, chartArea.top, 1, chartArea.bottom - chartArea.top);
      };
      for (const value of timeTicks(fromSeconds, toSeconds, ticksThatFit(chartArea.width, toSeconds)).values)
        vertical(value, rule);
      for (const { atSeconds } of run.summary.events) vertical(atSeconds, quiet);
      ctx.font = `12px ${pageFace()}`;
      ctx.textAlign = "left";
      for (const level of inSight(chart, levels)) {
        ctx.fillStyle = quiet;
        ctx.fillRect(chartArea.left, level.at - 0.5, chartArea.right - chartArea.left, 1);
      }
    },
    afterDatasetsDraw(chart) {
      const { ctx, chartArea } = chart;
      const { paper, quiet } = GROUND[ground()];
      ctx.lineWidth = 4;
      ctx.strokeStyle = paper;
      ctx.font = `12px ${pageFace()}`;
      ctx.textAlign = "center";
      for (const { at, label } of inSight(chart, levels)) {
        const y = at < chartArea.top + 16 ? at + 14 : at - 4;
        const x = (chartArea.left + chartArea.right) / 2;
        ctx.strokeText(label, x, y);
        ctx.fillStyle = quiet;
        ctx.fillText(label, x, y);
      }
      ctx.font = `700 12px ${pageFace()}`;
      ctx.textAlign = "right";
      const step = indices.some((index) => letter(index).length > 1) ? LETTER_STEPS.wide : LETTER_STEPS.narrow;
      const places = Math.max(1, Math.floor((0.9 * (chartArea.right - chartArea.left)) / step));
      indices.forEach((index, dataset) => {
        const right = chartArea.right - EDGE - step * (dataset % places);
        const place = placeOf(chart.getDatasetMeta(dataset).data, right - step / 2);
        if (place === null) return;
        const x = Math.min(right, Math.max(place.x + step / 2, chartArea.left + step));
        const y = Math.min(Math.max(chartArea.top + 12, place.y - 5), chartArea.bottom - 3);
        ctx.strokeText(letter(index), x, y);
        ctx.fillStyle = lineColour(index);
        ctx.fillText(letter(index), x, y);
      });
    },
  };

  const chart = new Chart(canvas, {
    type: "line",
    data: { datasets: [] },
    options: {
      ...{ animation: false, parsing: false, normalized: true, responsive: true, maintainAspectRatio: false },
      // Room for the topmost number, which stands on its line.
      layout: { padding: { top: 16 } },
      events: [],
      scales: {
        x: { type: "linear", display: false },
        y: {
          type: "linear",
          border: { display: false },
          ticks: {
            ...{ mirror: true, padding: 0, labelOffset: -9, maxTicksLimit: 6, includeBounds: false },
            callback: (value, _, ticks) =>
              tickWords(Number(value), Math.abs((ticks[1]?.value ?? 0) - (ticks[0]?.value ?? 0))),
          },
        },
      },
    },
    plugins: [marks],
  });

  // Asked for each time: an update makes them anew.
  const scale = (which: "x" | "y") => chart.options.scales![which] as { ticks?: object };
  const move = () => {
    const { fromSeconds, toSeconds } = store.look();
    Object.assign(scale("x"), { min: fromSeconds, max: toSeconds });
    chart.update("none");
  };
  return {
    move,
    resize: () => chart.resize(),
    show(lines, { low, high }, newLevels) {
      indices = lines.map(({ index }) => index);
      levels = newLevels;
      chart.data.datasets = lines.map(({ index, drawn }) => ({
        ...{ data: drawn.points, stepped: drawn.isStepped, borderColor: lineColour(index) },
        ...{ borderWidth: 2, pointRadius: 0, pointHitRadius: 0, spanGaps: false },
        // A pointed corner would reach beyond its value.
        borderJoinStyle: "bevel" as const,
      }));
      const { quiet, rule } = GROUND[ground()];
      Object.assign(scale("y"), { min: low, max: high, grid: { color: rule, drawTicks: false } });
      Object.assign(scale("y").ticks ?? {}, { color: quiet, font: { family: pageFace(), size: 12 } });
      move();
    },
  };
}

function tickWords(value: number, step: number): string {
  const decimals = step > 0 ? Math.min(9, Math.max(0, Math.ceil(-Math.log10(step) - 1e-9))) : 0;
  return decimals > 0 ? plain(value, decimals) : grouped(Math.round(value)).replace("-", "−");
}

function inSight(chart: Chart<"line">, levels: readonly Level[]) {
  const { top, bottom } = chart.chartArea;
  return levels
    .map(({ y, label }) => ({ at: chart.scales.y!.getPixelForValue(y), label }))
    .filter(({ at }) => at >= top - 1 && at <= bottom + 1);
}

interface Place {
  readonly x: number;
  readonly y: number;
}

/** Where a line is at a pixel column; left of it, where there is none; null for a line without a point. */
function placeOf(points: readonly Place[], x: number): Place | null {
  let [low, high] = [0, points.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (points[middle]!.x <= x) low = middle + 1;
    else high = middle;
  }
  const before = points.slice(0, low).findLast(({ y }) => !Number.isNaN(y));
  const after = points[low];
  if (before === undefined) return points.find(({ y }) => !Number.isNaN(y)) ?? null;
  const isBetween = points[low - 1] === before && after !== undefined && !Number.isNaN(after.y) && after.x > before.x;
  return isBetween ? { x, y: before.y + ((after.y - before.y) * (x - before.x)) / (after.x - before.x) } : before;
}
