/** A listener's trouble as five cells. What it is, height and pattern say as well as colour, and words beside it. */
import { FEED_LOOKS, REALIGNED_LOOK, type StateLook } from "../../shared/states.ts";
import { BAR_CELLS, type Bar, type Cell } from "../../sim/trials/alike.ts";
import { svg } from "../dom.ts";
import { bar as stretch } from "../views/sign.ts";

const CELL = 12;
const HEIGHT = 18;
const WIDTH = BAR_CELLS * CELL + 10;

/** Silence is silence, whatever it comes from: the looks of the lanes above. */
const LOOKS: Readonly<Record<Exclude<Cell, "nothing">, { key: string; look: StateLook; height: number }>> = {
  silence: { key: "feed-muted", look: FEED_LOOKS.muted, height: HEIGHT },
  clicks: { key: "feed-slipping", look: FEED_LOOKS.slipping, height: 13 },
  dropout: { key: "mark-realigned", look: REALIGNED_LOOK, height: 8 },
};

export function barDrawing({ cells, isAtFullLevel, mayBeSilent }: Bar): SVGSVGElement {
  const flag = mayBeSilent ? "?" : isAtFullLevel ? "!" : "";
  return drawing(
    WIDTH,
    ...cells.map(cellAt),
    flag === "" ? null : svg("text", { class: "hurt-flag", x: BAR_CELLS * CELL + 2, y: HEIGHT - 4 }, flag),
  );
}

export function cellDrawing(cell: Cell): SVGSVGElement {
  return drawing(CELL, cellAt(cell, 0));
}

function drawing(width: number, ...shapes: readonly (SVGElement | null)[]): SVGSVGElement {
  const size = { width, height: HEIGHT, viewBox: `0 0 ${width} ${HEIGHT}` };
  return svg("svg", { class: "hurt-bar", ...size, "aria-hidden": "true", focusable: "false" }, ...shapes);
}

function cellAt(cell: Cell, place: number): SVGElement {
  const x = place * CELL;
  if (cell === "nothing") return svg("rect", { class: "hurt-nothing", x: x + 4, y: HEIGHT - 3, width: 4, height: 2 });
  const { key, look, height } = LOOKS[cell];
  const shapes = stretch(look, 0, CELL - 1, height);
  return svg("g", { class: `s-${key}`, transform: `translate(${x} ${HEIGHT - height})` }, ...shapes);
}
