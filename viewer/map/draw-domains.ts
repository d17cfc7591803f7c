/**
 * Outlines around those who are on one clock: around their boxes and along the cables over which they have it, so that
 * nobody is inside who is not on that clock. Drawn twice, wider and narrower: what remains of the wider is the outline.
 */

import type { Place } from "../../sim/map/layout.ts";
import { counted } from "../../sim/tell/words.ts";
import { isolated, svg } from "../dom.ts";
import type { Domain } from "./clocks.ts";
import type { Wire } from "./wires.ts";

const EDGE = 1;
/** From a box, and from the middle of a line, to the outline. */
const ROOM = 8;
const BESIDE_LINE = 5.5;

export interface DomainsDrawing {
  readonly element: SVGGElement;
  /** The words, to stand above all else. */
  readonly words: SVGGElement;
  show(domains: readonly Domain[]): void;
  put(places: ReadonlyMap<string, Place>, wires: ReadonlyMap<string, Wire>, width: number): void;
}

export function domainsDrawing(nameOf: (device: string) => string): DomainsDrawing {
  const element = svg("g", { class: "map-domains", "aria-hidden": "true" });
  const words = svg("g", { "aria-hidden": "true" });
  let domains: readonly Domain[] = [];
  let places: ReadonlyMap<string, Place> = new Map();
  let wires: ReadonlyMap<string, Wire> = new Map();
  let drawn = "";
  let middle = 0;
  const draw = () => {
    element.replaceChildren();
    words.replaceChildren();
    // Large ones first: a small one may lie across one of their cables.
    for (const domain of [...domains].sort((one, other) => other.members.length - one.members.length)) {
      element.append(layer(domain, EDGE, "map-domain-edge"), layer(domain, 0, "map-domain-ground"));
      const isIn = domain.leader !== null && domain.members.includes(domain.leader);
      const at = places.get(isIn && domain.leader !== null ? domain.leader : domain.members[0]!);
      if (domain.members.length < 2 || at === undefined) continue;
      const text =
        domain.leader === null
          ? "one clock, led by nobody: a ring"
          : isIn
            ? `leads ${counted(domain.members.length - 1, "other", "others")}`
            : `on the clock of ${isolated(nameOf(domain.leader))}`;
      // Towards the middle of the map, so that it is not cut off at its border.
      const isLeft = at.x < middle;
      const x = at.x + (isLeft ? -at.width : at.width) / 2;
      const y = at.y - at.height / 2 - ROOM - 6;
      words.append(svg("text", { class: "map-word domain", x, y, "text-anchor": isLeft ? "start" : "end" }, text));
    }
  };
  const layer = ({ members, links }: Domain, edge: number, name: string): SVGGElement => {
    const room = ROOM + edge;
    const boxes = members.flatMap((id) => {
      const place = places.get(id);
      if (place === undefined) return [];
      const { x, y, width, height } = place;
      return svg("rect", {
        x: x - width / 2 - room,
        y: y - height / 2 - room,
        width: width + 2 * room,
        height: height + 2 * room,
        rx: room,
      });
    });
    const lines = links.flatMap((id) => {
      const wire = wires.get(id);
      return wire === undefined ? [] : svg("path", { d: wire.path, "stroke-width": 2 * (BESIDE_LINE + edge) });
    });
    return svg("g", { class: name }, ...lines, ...boxes);
  };
  return {
    element,
    words,
    show(next) {
      const key = next.map(({ members, links, leader }) => `${leader} ${members} ${links}`).join("|");
      if (key === drawn) return;
      [drawn, domains] = [key, next];
      draw();
    },
    put(newPlaces, newWires, width) {
      middle = width / 2;
      [places, wires] = [newPlaces, newWires];
      draw();
    },
  };
}
