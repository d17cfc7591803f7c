/** The faults as a picture: what stands in the part that lists them, bars beside words. */
import type { PageContext } from "../page.ts";
import { MARGIN, type Picture, sheetFor } from "../takeaway/sheet.ts";
import { at, standalone } from "../takeaway/standalone.ts";

const WORDS_WIDTH = 420;
const BAR_WIDTH = 96;

/** Null: nothing has been tried. */
export function hurtPicture(context: PageContext): Picture | null {
  const tables = [...document.querySelectorAll<HTMLTableElement>("#hurt .hurt-class")];
  const heads = [...(tables[0]?.tHead?.rows[0]?.cells ?? [])].slice(1, -1).map(({ textContent }) => textContent ?? "");
  if (tables.length === 0) return null;
  const sheet = sheetFor(context, WORDS_WIDTH + heads.length * BAR_WIDTH + 2 * MARGIN, "What can hurt");
  const barAt = (place: number) => MARGIN + WORDS_WIDTH + place * BAR_WIDTH;
  for (const said of document.querySelectorAll("#hurt .hurt-partial, #hurt .hurt-worst, #hurt .hurt-audiences li"))
    sheet.line(said.textContent ?? "");
  for (const said of document.querySelectorAll("#hurt .hurt-legend li")) {
    const cell = said.querySelector("svg");
    const x = cell === null ? MARGIN : MARGIN + 20;
    if (cell !== null) sheet.put(at(MARGIN, sheet.y, standalone(cell)));
    sheet.y += Math.max(20, sheet.text(x, sheet.y, said.textContent ?? "", sheet.inner - 20));
  }
  for (const [place, table] of tables.entries()) {
    sheet.y += 10;
    if (place === 0) {
      const heights = heads.map((head, column) => sheet.text(barAt(column), sheet.y, head, BAR_WIDTH - 8));
      sheet.y += Math.max(0, ...heights);
    }
    sheet.line(table.caption?.textContent ?? "", { weight: 600 });
    for (const row of table.tBodies[0]?.rows ?? []) {
      const words = row.cells[0]?.textContent ?? "";
      for (const [column, bar] of [...row.querySelectorAll<SVGSVGElement>(".hurt-bar")].entries())
        sheet.put(at(barAt(column), sheet.y, standalone(bar)));
      sheet.y += Math.max(22, sheet.text(MARGIN, sheet.y, words, WORDS_WIDTH - 16) + 4);
    }
  }
  return sheet.finish();
}
