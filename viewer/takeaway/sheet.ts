/** A sheet that a picture is put together on: title and plan above, drawings below each other, in the page's colours. */
import { GROUND } from "../../shared/states.ts";
import { stampOf } from "../../sim/stamp.ts";
import { isolated, svg } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { decimalsFor, fineTime } from "../show-time.ts";
import { ground } from "../theme.ts";
import { textWidth } from "../views/text-width.ts";

export const MARGIN = 24;
/** Another machine's plain face may be wider than the one that the page measures with. */
const SLACK = 1.12;

export interface Picture {
  readonly drawing: SVGSVGElement;
  readonly width: number;
  readonly height: number;
}

export interface TextLook {
  readonly size?: number;
  readonly weight?: number;
  readonly colour?: string;
}

export interface Sheet {
  readonly width: number;
  readonly inner: number;
  readonly colours: (typeof GROUND)["dark" | "light"];
  /** Where the next thing goes. */
  y: number;
  put(shape: SVGElement | null): void;
  /** Lines of text that break at `width`; returns the height that they take. */
  text(x: number, y: number, text: string, width: number, look?: TextLook): number;
  /** The same at the left, and goes on below. */
  line(text: string, look?: TextLook): void;
  finish(): Picture;
}

export function sheetFor({ run, store }: PageContext, width: number, subject: string): Sheet {
  const colours = GROUND[ground()];
  const shapes: SVGElement[] = [];
  const inner = width - 2 * MARGIN;
  const sheet: Sheet = {
    width,
    inner,
    colours,
    y: MARGIN,
    put(shape) {
      if (shape !== null) shapes.push(shape);
    },
    text(x, y, text, room, { size = 12, weight = 400, colour = colours.ink } = {}) {
      const height = Math.round(size * 1.35);
      const lines = broken(text, size, room / (weight > 400 ? SLACK * 1.06 : SLACK));
      for (const [index, line] of lines.entries()) {
        const look = { "font-size": size, "font-weight": weight, fill: colour, "unicode-bidi": "plaintext" };
        shapes.push(svg("text", { x, y: y + size + index * height, ...look }, line));
      }
      return lines.length * height;
    },
    line(text, look) {
      sheet.y += sheet.text(MARGIN, sheet.y, text, inner, look) + 2;
    },
    finish() {
      sheet.y += 10;
      sheet.line(run.telling.last, { weight: 600 });
      const height = Math.ceil(sheet.y + MARGIN - 10);
      const drawing = svg(
        "svg",
        { width, height, viewBox: `0 0 ${width} ${height}`, "font-family": "sans-serif", role: "img" },
        svg("title", {}, `${run.telling.title}: ${subject}`),
        svg("rect", { width, height, fill: colours.paper }),
        ...shapes,
      );
      return { drawing, width, height };
    },
  };
  const { fromSeconds, toSeconds, cursorSeconds, cursorBSeconds } = store.look();
  const time = (seconds: number) => fineTime(seconds, decimalsFor(toSeconds - fromSeconds));
  const { scenario, seed } = run.summary;
  const cursorB = cursorBSeconds === null ? "" : ` Cursor B ${time(cursorBSeconds)}.`;
  sheet.line(run.telling.title, { size: 20, weight: 700 });
  sheet.line(subject, { size: 14, weight: 600 });
  sheet.line(
    `Window ${time(fromSeconds)} to ${time(toSeconds)}. Cursor ${time(cursorSeconds)}.${cursorB} Plan ${stampOf(run.plan)}, files ${scenario.sha256.slice(0, 12)}, seed ${isolated(seed)}.`,
    { colour: colours.quiet },
  );
  sheet.y += 10;
  return sheet;
}

/** Breaks at spaces; a word that is wider than the room is cut where it has to be. */
function broken(text: string, size: number, room: number): readonly string[] {
  const lines: string[] = [];
  let line = "";
  for (const word of text.split(" ")) {
    const longer = line === "" ? word : `${line} ${word}`;
    if (textWidth(longer, size) <= room) {
      line = longer;
      continue;
    }
    if (line !== "") lines.push(line);
    line = "";
    for (const letter of word) {
      if (line !== "" && textWidth(line + letter, size) > room) {
        lines.push(line);
        line = "";
      }
      line += letter;
    }
  }
  lines.push(line);
  return lines;
}
