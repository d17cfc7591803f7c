/** The rig map as a picture: as it stands on the page at the cursor, devices where they have been put. */
import { svg } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { MARGIN, type Picture, sheetFor } from "./sheet.ts";
import { at, standalone } from "./standalone.ts";

/** Narrower, and the lines above the map would be many and short. */
const WIDTH_LEAST = 480;
const LEGEND_SAMPLE = 46;

/** Null: there is no map on the page. */
export function mapPicture(context: PageContext): Picture | null {
  const drawing = document.querySelector<SVGSVGElement>("#map .map-drawing");
  const copy = drawing === null ? null : standalone(drawing);
  if (drawing === null || copy === null) return null;
  // Words may reach beyond the frame that the page has for it.
  const { x, y, width, height } = drawing.getBBox();
  copy.setAttribute("viewBox", `${x} ${y} ${width} ${height}`);
  copy.setAttribute("width", String(width));
  copy.setAttribute("height", String(height));
  const sheet = sheetFor(context, Math.max(WIDTH_LEAST, Math.ceil(width) + 2 * MARGIN), "The rig at the cursor");
  for (const summary of document.querySelectorAll("#map .when"))
    sheet.line(summary.textContent ?? "", { colour: sheet.colours.quiet });
  sheet.y += 8;
  sheet.put(at(MARGIN, sheet.y, copy));
  sheet.y += height + 12;
  for (const entry of document.querySelectorAll(".map-legend li")) {
    const line = entry.querySelector("svg");
    if (line !== null) sheet.put(at(MARGIN, sheet.y, svg("g", {}, standalone(line) ?? "")));
    const left = MARGIN + LEGEND_SAMPLE + 10;
    sheet.y += Math.max(18, sheet.text(left, sheet.y - 1, entry.textContent ?? "", sheet.inner - LEGEND_SAMPLE - 10));
  }
  return sheet.finish();
}
