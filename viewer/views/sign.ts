/** A state's sign, and its sample for the legend. */
import type { StateLook } from "../../shared/states.ts";
import { svg } from "../dom.ts";
import { isFramed, patternPath } from "../pattern.ts";

/** The sign in its own box, for use beside the word that says the same. */
export function signIcon(key: string, look: StateLook): SVGSVGElement {
  const icon = svg("svg", { viewBox: "-2 -2 16 16", "aria-hidden": "true", focusable: "false" });
  showSign(icon, key, look);
  return icon;
}

/** Another sign in the same box. */
export function showSign(icon: SVGSVGElement, key: string, look: StateLook): void {
  icon.setAttribute("class", `sign-icon s-${key}`);
  icon.replaceChildren(
    svg("rect", { class: look.dark.fill === null ? "hollow" : "fill", x: -2, y: -2, width: 16, height: 16, rx: 2 }),
    ...signShapes(look),
  );
}

export function signShapes(look: StateLook): readonly SVGPathElement[] {
  const shapes: SVGPathElement[] = [];
  if (look.sign.solid !== "") shapes.push(svg("path", { class: "sign-solid", d: look.sign.solid }));
  if (look.sign.stroke !== "") shapes.push(svg("path", { class: "sign-stroke", d: look.sign.stroke }));
  return shapes;
}

/** A piece of lane as it is drawn in the show. */
export function sample(key: string, look: StateLook, width: number, height: number): SVGSVGElement {
  return svg(
    "svg",
    {
      class: `sample s-${key}`,
      width,
      height,
      viewBox: `0 0 ${width} ${height}`,
      "aria-hidden": "true",
      focusable: "false",
    },
    ...bar(look, 0, width, height),
  );
}

/** Fill, edge and pattern of a stretch that begins at x; no pattern where something truer is drawn on it. */
export function bar(
  look: StateLook,
  x: number,
  width: number,
  height: number,
  isPatterned = true,
): readonly SVGElement[] {
  const isHollow = look.dark.fill === null;
  const shapes: SVGElement[] = [
    svg("rect", {
      class: isFramed(look.pattern, isHollow) ? "fill framed" : "fill",
      x: x + 0.5,
      y: 0.5,
      width: Math.max(width - 1, 1),
      height: height - 1,
    }),
  ];
  const path = isPatterned ? patternPath(look.pattern, width, height) : "";
  if (path !== "")
    shapes.push(svg("path", { class: `pattern p-${look.pattern}`, d: path, transform: `translate(${x} 0)` }));
  return shapes;
}
