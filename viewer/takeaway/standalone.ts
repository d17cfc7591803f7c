/**
 * Drawings of the page as drawings that stand alone: what the style sheet says of each shape is written on it, so that
 * they look the same in any program. Patterns are lines already.
 */
import { svg } from "../dom.ts";

/** Properties that shapes take from what they are in, with what SVG has where nobody says anything. */
const INHERITED: Readonly<Record<string, string>> = {
  fill: "rgb(0, 0, 0)",
  "fill-opacity": "1",
  stroke: "none",
  "stroke-opacity": "1",
  "stroke-width": "1",
  "stroke-dasharray": "none",
  "stroke-linecap": "butt",
  "stroke-linejoin": "miter",
  "paint-order": "normal",
  "font-size": "16",
  "font-weight": "400",
  "letter-spacing": "normal",
  "text-anchor": "start",
};
/** What only the page has a use for. */
const OF_THE_PAGE = /^(class|style|id|role|tabindex|focusable|font-family|aria-.*|data-.*)$/;
const NOTHING = "rgba(0, 0, 0, 0)";

type Styles = Readonly<Record<string, string>>;

/** A copy of a drawing that is in the page; null where nothing of it is to be seen. */
export function standalone(drawing: SVGElement): SVGElement | null {
  return copied(drawing, INHERITED);
}

function copied(original: SVGElement, around: Styles): SVGElement | null {
  if (original.localName === "title") return original.cloneNode(true) as SVGElement;
  const style = getComputedStyle(original);
  if (style.display === "none") return null;
  const own: Record<string, string> = {};
  for (const property of Object.keys(INHERITED)) own[property] = plainValue(property, style.getPropertyValue(property));
  const copy = original.cloneNode(false) as SVGElement;
  for (const { name } of [...copy.attributes]) if (OF_THE_PAGE.test(name)) copy.removeAttribute(name);
  for (const [property, value] of Object.entries(own)) {
    if (value === around[property]) copy.removeAttribute(property);
    else copy.setAttribute(property, value);
  }
  if (style.opacity !== "1") copy.setAttribute("opacity", style.opacity);
  if (original.localName === "text") copy.setAttribute("unicode-bidi", "plaintext");
  for (const child of original.childNodes) {
    if (child instanceof SVGElement) copy.append(copied(child, own) ?? "");
    else if (child.nodeType === Node.TEXT_NODE) copy.append(child.cloneNode());
  }
  return isSeen(copy, own, style) ? copy : null;
}

function plainValue(property: string, value: string): string {
  if (value === NOTHING) return "none";
  if (property === "stroke-dasharray") return value.replaceAll("px", "").replaceAll(",", "");
  return value.replace(/^([\d.]+)px$/, "$1");
}

/** Shapes that are hidden, or only there to be hit by a finger, are left out. */
function isSeen(copy: SVGElement, { fill, stroke }: Styles, { visibility }: CSSStyleDeclaration): boolean {
  if (/^(svg|g|text|tspan)$/.test(copy.localName)) return copy.childNodes.length > 0;
  return visibility === "visible" && (fill !== "none" || stroke !== "none");
}

/** Text of an SVG file. What XML 1.0 (section 2.2) has no place for becomes a visible mark. */
export function svgText(drawing: SVGSVGElement): string {
  const text = new XMLSerializer()
    .serializeToString(drawing)
    .replace(/[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\u{10000}-\u{10ffff}]/gu, "\ufffd");
  return `<?xml version="1.0" encoding="UTF-8"?>\n${text}\n`;
}

export function at(x: number, y: number, drawing: SVGElement | null): SVGGElement | null {
  return drawing === null ? null : svg("g", { transform: `translate(${x} ${y})` }, drawing);
}
