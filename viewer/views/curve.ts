/**
 * Slips so far, per feed, over the same window as the lanes: the one chart on a canvas, with a list of its lines and a
 * table of the same facts, because a canvas is mute.
 */
import { Chart, LinearScale, LineController, LineElement, type Plugin, PointElement, Tooltip } from "chart.js";
import { GROUND } from "../../shared/states.ts";
import { grouped, interval, showTime } from "../../sim/tell/words.ts";
import { h, name, table } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { decimalsFor, fineTime, ticksThatFit, timeTicks } from "../show-time.ts";
import { curvePoints, type Point } from "../slips.ts";
import { ground, lineColour, onGroundChange } from "../theme.ts";

export interface Curve {
  readonly element: HTMLElement;
  measure(): void;
}

export function curveView(context: PageContext): Curve {
  const { run, slips, store } = context;
  const lines = run.plan.feeds.flatMap((feed) => {
    const own = slips.get(feed.id);
    return own === undefined || own.total === 0 ? [] : [{ feed, slips: own }];
  });
  const heading = h("h3", { class: "group-name" }, "Slips so far");
  if (lines.length === 0) {
    const none =
      run.plan.feeds.length === 0 ? "No feeds, so no slips that anybody hears." : "No feed slips in this run.";
    return { element: h("div", { class: "curve" }, heading, h("p", { class: "none" }, none)), measure: () => {} };
  }

  Chart.register(LineController, LinearScale, LineElement, PointElement, Tooltip);
  const summary = lines.map(({ feed, slips }) => `${feed.name} ${grouped(slips.total)}`).join(", ");
  const canvas = h("canvas", {
    role: "img",
    "aria-label": `Slips so far over show time, by the end: ${summary}. The table below has each stretch.`,
  });
  const counts = lines.map(() => h("span", { class: "count" }));
  const list = h(
    "ol",
    { class: "curve-lines" },
    ...lines.map(({ feed }, index) =>
      h(
        "li",
        {},
        h("span", { class: "letter", "data-line": index }, letter(index)),
        " ",
        name(feed.name),
        " ",
        counts[index]!,
      ),
    ),
  );
  const element = h(
    "div",
    { class: "curve" },
    heading,
    h(
      "div",
      { class: "row" },
      h("div", { class: "row-name" }, h("span", { class: "lane-note" }, "Drops and repeats, added up from the start.")),
      h("div", { class: "row-plot" }, h("div", { class: "curve-box" }, canvas)),
      h("div", { class: "row-words" }, list),
    ),
    slipTable(context),
  );

  const chart = new Chart(canvas, {
    type: "line",
    data: { datasets: lines.map(() => ({ data: [] as Point[], borderWidth: 2, pointRadius: 0, pointHitRadius: 6 })) },
    options: {
      animation: false,
      parsing: false,
      normalized: true,
      responsive: true,
      maintainAspectRatio: false,
      // Room for the topmost number, which stands on its line.
      layout: { padding: { top: 16 } },
      events: ["mousemove", "mouseout"],
      interaction: { mode: "nearest", axis: "x", intersect: false },
      scales: {
        x: { type: "linear", display: false },
        y: {
          type: "linear",
          border: { display: false },
          ticks: {
            mirror: true,
            padding: 0,
            labelOffset: -9,
            maxTicksLimit: 5,
            precision: 0,
            callback: (value) => grouped(Number(value)),
          },
        },
      },
      plugins: {
        tooltip: {
          displayColors: false,
          callbacks: {
            title: (items) => fineTime(items[0]?.parsed.x ?? 0, decimalsNow()),
            label: ({ datasetIndex, parsed }) =>
              `${letter(datasetIndex)} ${lines[datasetIndex]!.feed.name}: ${grouped(parsed.y ?? 0)}`,
          },
        },
      },
    },
    plugins: [timeLines(context, lines.length)],
  });

  function decimalsNow(): number {
    const { fromSeconds, toSeconds } = store.look();
    return decimalsFor(toSeconds - fromSeconds);
  }
  let width = 0;
  const draw = (what: "window" | "cursor" | "all") => {
    if (width === 0) return;
    const { fromSeconds, toSeconds, cursorSeconds } = store.look();
    lines.forEach(({ slips }, index) => {
      counts[index]!.textContent = grouped(slips.countBy(cursorSeconds));
    });
    if (what === "cursor") {
      chart.draw();
      return;
    }
    lines.forEach(({ slips }, index) => {
      const { points, isStepped } = curvePoints(slips, fromSeconds, toSeconds, width);
      Object.assign(chart.data.datasets[index]!, {
        data: points,
        stepped: isStepped,
        borderColor: lineColour(index),
        pointBackgroundColor: lineColour(index),
      });
    });
    const { quiet, rule, panel, ink } = GROUND[ground()];
    const { x, y } = chart.options.scales as Record<
      "x" | "y",
      { min?: number; max?: number; ticks?: { color?: string }; grid?: object }
    >;
    Object.assign(x, { min: fromSeconds, max: toSeconds });
    // From the lowest to the highest that the window holds: from nought on, ten slips after a thousand would be a flat line.
    const low = Math.min(...lines.map(({ slips }) => slips.countBy(fromSeconds - 1e-9)));
    const high = Math.max(...lines.map(({ slips }) => slips.countBy(toSeconds)), low + 1);
    Object.assign(y, { min: low, max: high, grid: { color: rule, drawTicks: false } });
    Object.assign(y.ticks ?? {}, {
      color: quiet,
      font: { family: getComputedStyle(document.body).fontFamily, size: 12 },
    });
    Object.assign(chart.options.plugins?.tooltip ?? {}, {
      backgroundColor: panel,
      titleColor: ink,
      bodyColor: ink,
      borderColor: quiet,
      borderWidth: 1,
    });
    chart.update("none");
    for (const mark of list.querySelectorAll<HTMLElement>("[data-line]"))
      mark.style.setProperty("--line", lineColour(Number(mark.dataset.line)));
  };
  store.subscribe((before) => {
    const look = store.look();
    draw(before.fromSeconds === look.fromSeconds && before.toSeconds === look.toSeconds ? "cursor" : "window");
  });
  onGroundChange(() => draw("all"));
  return {
    element,
    measure() {
      width = canvas.parentElement?.clientWidth ?? 0;
      chart.resize();
      draw("all");
    },
  };
}

function letter(index: number): string {
  return String.fromCharCode(65 + (index % 26)) + (index < 26 ? "" : String(Math.floor(index / 26)));
}

/** The time grid, event lines, the cursor, and a letter at the end of each line. */
function timeLines({ run, store }: PageContext, lineCount: number): Plugin<"line"> {
  return {
    id: "time-lines",
    beforeDatasetsDraw(chart) {
      const { ctx, chartArea } = chart;
      const { rule, quiet } = GROUND[ground()];
      const { fromSeconds, toSeconds } = store.look();
      const vertical = (seconds: number, colour: string, thickness: number) => {
        const x = chart.scales.x!.getPixelForValue(seconds);
        if (x < chartArea.left || x > chartArea.right) return;
        ctx.fillStyle = colour;
        ctx.fillRect(x - thickness / 2, chartArea.top, thickness, chartArea.bottom - chartArea.top);
      };
      for (const value of timeTicks(fromSeconds, toSeconds, ticksThatFit(chartArea.width, toSeconds)).values)
        vertical(value, rule, 1);
      for (const { atSeconds } of run.summary.events) vertical(atSeconds, quiet, 1);
    },
    afterDatasetsDraw(chart) {
      const { ctx, chartArea } = chart;
      const { accent, paper } = GROUND[ground()];
      const x = chart.scales.x!.getPixelForValue(store.look().cursorSeconds);
      if (x >= chartArea.left && x <= chartArea.right) {
        ctx.fillStyle = accent;
        ctx.fillRect(x - 1, chartArea.top, 2, chartArea.bottom - chartArea.top);
      }
      ctx.font = `700 12px ${getComputedStyle(document.body).fontFamily}`;
      ctx.textAlign = "right";
      for (let index = 0; index < lineCount; index += 1) {
        const last = chart.getDatasetMeta(index).data.at(-1);
        if (last === undefined) continue;
        const y = Math.max(chartArea.top + 12, last.y - 5);
        ctx.lineWidth = 4;
        ctx.strokeStyle = paper;
        ctx.strokeText(letter(index), chartArea.right - 4 - 14 * index, y);
        ctx.fillStyle = lineColour(index);
        ctx.fillText(letter(index), chartArea.right - 4 - 14 * index, y);
      }
    },
  };
}

/** What the chart shows, as a table: every stretch of slips. */
function slipTable({ run, slips }: PageContext): HTMLElement {
  const rows = run.summary.feeds.flatMap((feed) =>
    feed.states
      .filter(({ state, slips }) => state === "slipping" || slips > 0)
      .map((stretch) => [
        name(feed.name),
        showTime(stretch.fromSeconds),
        showTime(stretch.toSeconds),
        stretch.slips < 2 ? "" : interval((stretch.toSeconds - stretch.fromSeconds) / (stretch.slips - 1)),
        grouped(stretch.slips),
        grouped(slips.get(feed.id)?.countBy(stretch.toSeconds) ?? 0),
      ]),
  );
  return h(
    "details",
    { class: "as-table" },
    h("summary", {}, "The curve as a table"),
    table(
      "Stretches with slips",
      [
        { head: "Feed" },
        { head: "From", kind: "number" },
        { head: "Until", kind: "number" },
        { head: "One every", kind: "number" },
        { head: "Slips", kind: "number" },
        { head: "So far", kind: "number" },
      ],
      rows,
    ),
  );
}
