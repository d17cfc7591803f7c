/** The lanes as a picture: those that the page shows, drawn once more at a width of their own, with their legend. */
import { ALL_LOOKS, longWord } from "../../shared/states.ts";
import type { Lane } from "../../sim/lanes/lane.ts";
import { h, svg } from "../dom.ts";
import { flagMoves } from "../lanes/flag-moves.ts";
import type { PageContext } from "../page.ts";
import { laneRows } from "../views/lane-rows.ts";
import { rail } from "../views/rail.ts";
import { sample, signIcon } from "../views/sign.ts";
import { MARGIN, type Picture, type Sheet, sheetFor } from "./sheet.ts";
import { at, standalone } from "./standalone.ts";

const WIDTH = 1280;
const NAMES = 210;
const WORDS = 210;
const GAP = 16;
/** As the style sheet has it for `.picture-stage`. */
const PLOT = WIDTH - 2 * MARGIN - NAMES - WORDS - 2 * GAP;
const SIGN = 14;

export function lanesPicture(context: PageContext): Picture {
  const shown = shownLanes(context);
  const stage = h("div", { class: "picture-stage", "aria-hidden": "true" });
  // Drawn once and thrown away: nothing may go on listening.
  const once = { ...context, store: { ...context.store, subscribe: () => () => {} } };
  const [rows, top] = [laneRows(once, "all"), rail(once, flagMoves(once))];
  stage.style.setProperty("--plot", `${PLOT}px`);
  stage.append(top.element, rows.element);
  document.body.append(stage);
  try {
    for (const draw of [rows.measure(), top.measure()]) draw();
    const sheet = sheetFor(context, WIDTH, "Lanes over show time");
    const left = MARGIN + NAMES + GAP;
    const railDrawing = stage.querySelector<SVGSVGElement>(".rail-drawing")!;
    sheet.put(at(left, sheet.y, standalone(railDrawing)));
    const begin = sheet.y + railDrawing.height.baseVal.value;
    sheet.y = begin + 4;
    let heading = "";
    for (const element of stage.querySelectorAll<HTMLElement>(".rows > .group-name, .rows > .lane")) {
      if (element.matches(".group-name")) heading = element.textContent ?? "";
      const lane = shown.find(({ key }) => key === element.dataset.lane);
      if (lane === undefined) continue;
      if (heading !== "") sheet.line(heading, { size: 13, weight: 600, colour: sheet.colours.quiet });
      heading = "";
      putLane(sheet, lane, element, context.store.look().lane === lane.key);
    }
    const overlay = stage.querySelector<SVGSVGElement>(".overlay")!;
    overlay.setAttribute("height", String(sheet.y - begin));
    sheet.put(at(left, begin, standalone(overlay)));
    sheet.y += 8;
    putLegend(sheet, stage, keysIn(shown, context));
    return sheet.finish();
  } finally {
    stage.remove();
  }
}

/** Quiet lanes are folded away on the page where there are many. */
function shownLanes({ lanes }: PageContext): readonly Lane[] {
  const visible = [...document.querySelectorAll<HTMLElement>("#show .lane")].filter((row) => row.offsetParent !== null);
  const keys = new Set(visible.map((row) => row.dataset.lane));
  return lanes.all.filter(({ key }) => keys.has(key));
}

function putLane(sheet: Sheet, lane: Lane, element: HTMLElement, isChosen: boolean): void {
  const { y, colours } = sheet;
  const [left, right] = [MARGIN + NAMES + GAP, MARGIN + NAMES + PLOT + 2 * GAP];
  let names = sheet.text(MARGIN, y, lane.name, NAMES, { weight: 600 });
  for (const text of [lane.note, lane.warning])
    if (text !== "") names += sheet.text(MARGIN, y + names, text, NAMES, { size: 11, colour: colours.quiet });
  const drawing = element.querySelector<SVGSVGElement>(".lane-drawing")!;
  sheet.put(at(left, y, standalone(drawing)));
  let words = 0;
  for (const spoken of element.querySelectorAll(".spoken")) {
    sheet.put(icon(spoken.querySelector<SVGSVGElement>("svg"), right, y + words));
    const room = WORDS - SIGN - 6;
    words += sheet.text(right + SIGN + 6, y + words, spoken.textContent ?? "", room, { size: 11 }) + 2;
  }
  const height = Math.max(names, drawing.height.baseVal.value, words);
  if (isChosen) sheet.put(svg("rect", { x: MARGIN - 10, y, width: 4, height, fill: colours.accent }));
  sheet.y = y + height + 5;
}

/** What can be seen in the window, so that the legend explains that and no more. */
function keysIn(lanes: readonly Lane[], { store }: PageContext): ReadonlySet<string> {
  const { fromSeconds, toSeconds } = store.look();
  const keys = lanes.flatMap(({ stretches, strips, lines, marks }) => [
    ...[...stretches, ...strips, ...lines.flat()]
      .filter((stretch) => stretch.fromSeconds <= toSeconds && stretch.toSeconds >= fromSeconds)
      .map(({ key }) => key),
    ...marks.filter(({ atSeconds }) => atSeconds >= fromSeconds && atSeconds <= toSeconds).map(({ key }) => key),
  ]);
  return new Set(keys);
}

const LEGEND_COLUMNS = 3;
const LEGEND_SAMPLE = 44;

function putLegend(sheet: Sheet, stage: HTMLElement, keys: ReadonlySet<string>): void {
  sheet.line("What the lanes show", { size: 13, weight: 600, colour: sheet.colours.quiet });
  const width = sheet.inner / LEGEND_COLUMNS;
  const used = ALL_LOOKS.filter(({ key }) => keys.has(key));
  for (let first = 0; first < used.length; first += LEGEND_COLUMNS) {
    let height = 22;
    for (const [column, { key, look }] of used.slice(first, first + LEGEND_COLUMNS).entries()) {
      const x = MARGIN + column * width;
      const [bar, sign] = [sample(key, look, LEGEND_SAMPLE, 18), signIcon(key, look)];
      stage.append(bar, sign);
      sheet.put(at(x, sheet.y, standalone(bar)));
      sheet.put(icon(sign, x + LEGEND_SAMPLE + 8, sheet.y + 2));
      const left = LEGEND_SAMPLE + SIGN + 16;
      height = Math.max(height, 4 + sheet.text(x + left, sheet.y + 2, longWord(look), width - left - 8));
    }
    sheet.y += height;
  }
}

/** A sign has the size of the text beside it, which only the page knows. */
function icon(sign: SVGSVGElement | null, x: number, y: number): SVGElement | null {
  const copy = sign === null ? null : standalone(sign);
  copy?.setAttribute("width", String(SIGN));
  copy?.setAttribute("height", String(SIGN));
  return at(x, y, copy);
}
