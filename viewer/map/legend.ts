/** What the lines of the map mean: those that this rig can have. */
import type { Plan } from "../../shared/plan.ts";
import { isUntested } from "../../sim/tested.ts";
import { h, svg } from "../dom.ts";
import { tagShape } from "./draw-wire.ts";

/** @param changed the entry of what is not as it was, which comes and goes */
export function mapLegend(plan: Plan, changed: HTMLElement): HTMLElement {
  const entries: readonly (readonly [name: string, words: string])[] = [
    ["cable yes", "carries"],
    ["cable yes clock", "brings a clock, this way"],
    ["cable dead", "dead: a gap with a cross"],
    ...(plan.spares.length > 0 ? [["cable yes spare", "thin, “spare”: a spare"] as const] : []),
    ...(plan.links.some(({ stream }) => stream !== undefined)
      ? [["stream yes", "a stream over the network"] as const]
      : []),
  ];
  return h(
    "ul",
    { class: "map-legend" },
    ...entries.map(([name, words]) => h("li", {}, sampleLine(name), words)),
    plan.links.some((link) => isUntested(plan, link))
      ? h(
          "li",
          {},
          sampleLine("cable yes", tagShape()),
          "with a tag, “untested”: nobody has pulled it on site, as it is",
        )
      : null,
    h("li", {}, sampleOutline(), "outlined together: on one clock"),
    changed,
  );
}

function sampleLine(name: string, tag: SVGGElement | null = null): SVGSVGElement {
  const isDead = name.includes("dead");
  const look = isDead ? "s-link-down" : "s-link-up";
  return svg(
    "svg",
    { width: 46, height: 14, viewBox: "0 0 46 14", "aria-hidden": "true", focusable: "false" },
    svg(
      "g",
      { class: `map-wire ${name} ${look}` },
      ...(isDead
        ? [
            svg("path", { class: "map-line", d: "M0 7H14M32 7H46" }),
            svg("path", { class: "map-cross", d: "M18 2L28 12M28 2L18 12" }),
          ]
        : [svg("path", { class: "map-line", d: "M0 7H46" })]),
      name.includes("clock") ? svg("path", { class: "map-head", d: "M46 7 35 1.5V12.5Z" }) : null,
      tag === null ? null : svg("g", { transform: "translate(23 7)" }, tag),
    ),
  );
}

function sampleOutline(): SVGSVGElement {
  return svg(
    "svg",
    { width: 46, height: 14, viewBox: "0 0 46 14", "aria-hidden": "true", focusable: "false" },
    svg("rect", { class: "map-domain-sample", x: 1, y: 1, width: 44, height: 12, rx: 5 }),
  );
}
