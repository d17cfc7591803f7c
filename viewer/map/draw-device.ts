/** A device on the map: its name, what it is on its networks, and a strip with its state as in the lanes. */
import type { DevicePlan } from "../../shared/plan.ts";
import type { StateLook } from "../../shared/states.ts";
import type { LayoutNode, Place } from "../../sim/map/layout.ts";
import { isolated, svg } from "../dom.ts";
import type { Mark } from "../room/changed.ts";
import { planPlate } from "../views/plan-mark.ts";
import { bar, signShapes } from "../views/sign.ts";
import { heavyWidth, textWidth } from "../views/text-width.ts";
import type { Moment } from "./moments.ts";

export interface DeviceDrawing {
  readonly element: SVGGElement;
  put(place: Place): void;
  show(moment: Moment | undefined): void;
  /** Null: it is as it was in the plan before. */
  mark(mark: Mark | null): void;
  /** The whole of it, for those who do not see it. */
  say(words: string): void;
}

const NAME_SIZE = 13;
const ROLE_SIZE = 11;
const WORD_SIZE = 11;
const LINE = 16;
const ROLE_LINE = 15;
const STRIP = 20;
const PADDING = 7;
const WIDTHS = { wide: { device: 152, switch: 112 }, compact: { device: 104, switch: 92 } } as const;

interface Shape extends LayoutNode {
  readonly lines: readonly string[];
}

/** Its size follows from its name and from how many networks it is on. */
export function shapeOf(device: DevicePlan, hops: number, networks: number, isCompact: boolean): Shape {
  const isSwitch = device.kind === "switch";
  const width = WIDTHS[isCompact ? "compact" : "wide"][isSwitch ? "switch" : "device"];
  const lines = wrapped(device.name, width - 2 * PADDING, isCompact ? 3 : 2);
  const height = 5 + lines.length * LINE + networks * ROLE_LINE + 4 + STRIP;
  return { id: device.id, hops, width, height, lines };
}

export function deviceDrawing({ id, width, height, lines }: Shape, networks: readonly string[]): DeviceDrawing {
  const [left, top] = [-width / 2, -height / 2];
  const names = lines.map((line, index) =>
    svg("text", { class: "map-name", x: left + PADDING, y: top + 4 + (index + 0.78) * LINE }, isolated(line)),
  );
  const roles = networks.map((_, index) =>
    svg("text", { class: "map-role", x: left + PADDING, y: top + 4 + lines.length * LINE + (index + 0.7) * ROLE_LINE }),
  );
  const strip = svg("g", { transform: `translate(${left} ${top + height - STRIP})` });
  const element = svg(
    "g",
    { class: "map-device", role: "button", tabindex: -1, "data-device": id },
    svg("rect", { class: "map-ring", x: left - 5, y: top - 5, width: width + 10, height: height + 10, rx: 4 }),
    svg("rect", { class: "map-box", x: left, y: top, width, height, rx: 2 }),
    ...names,
    ...roles,
    strip,
  );
  const plate = svg("g", { transform: `translate(${left + width} ${top})` });
  element.append(plate);
  let shown = "";
  return {
    element,
    mark: (mark) => plate.replaceChildren(...(mark === null ? [] : [planPlate(mark)])),
    put: ({ x, y }) => element.setAttribute("transform", `translate(${x} ${y})`),
    // What can be seen is its name.
    say: (words) => element.setAttribute("aria-description", words),
    show(moment) {
      const beside = moment?.beside.at(-1);
      const key = [moment?.stretch.key, beside?.key, ...(moment?.lines.map((line) => line.key) ?? [])].join(" ");
      if (key === shown) return;
      shown = key;
      for (const [index, text] of roles.entries()) {
        const line = moment?.lines[index];
        const role = line?.key.replace("role-", "") ?? "";
        const word = role === "follows" || role === "leads" ? role : (line?.look.short.toLowerCase() ?? "");
        const network = (networks[index] ?? "").replace(/\s+network$/iu, "");
        text.textContent = cutToFit(`${network}: ${word}`, width - 2 * PADDING, ROLE_SIZE);
      }
      if (moment === undefined) return strip.replaceChildren();
      const { stretch } = moment;
      const room = beside === undefined ? width : width / 2;
      strip.replaceChildren(
        piece(stretch.key, stretch.look, 0, room),
        ...(beside === undefined ? [] : [piece(beside.key, beside.look, room, room)]),
      );
    },
  };
}

/** A piece of the strip: pattern, sign, and the word on a plain ground as far as it fits. */
function piece(key: string, look: StateLook, x: number, width: number): SVGGElement {
  const word = 20 + textWidth(look.short, WORD_SIZE) + 8 <= width ? look.short : "";
  const back = word === "" ? 22 : 26 + textWidth(word, WORD_SIZE) * 1.08;
  return svg(
    "g",
    { class: `s-${key}`, transform: `translate(${x} 0)` },
    ...bar(look, 0, width, STRIP),
    svg("rect", { class: "label-back", x: 2, y: 3.5, width: back, height: STRIP - 7 }),
    svg("g", { transform: "translate(6 4)" }, ...signShapes(look)),
    svg("text", { class: "map-state", x: 23, y: STRIP - 6 }, word),
  );
}

/** In lines of this width, broken at spaces; what is left over is cut. */
function wrapped(text: string, width: number, most: number): readonly string[] {
  const lines: string[] = [];
  let line = "";
  for (const word of text.split(/\s+/u)) {
    const longer = line === "" ? word : `${line} ${word}`;
    if (line !== "" && heavyWidth(longer, NAME_SIZE) > width) {
      lines.push(line);
      line = word;
    } else line = longer;
  }
  lines.push(line);
  const kept = lines.length <= most ? lines : [...lines.slice(0, most - 1), lines.slice(most - 1).join(" ")];
  return kept.map((each) => cutToFit(each, width, NAME_SIZE));
}

function cutToFit(text: string, width: number, size: number): string {
  if (heavyWidth(text, size) <= width) return text;
  let cut = [...text];
  while (cut.length > 1 && heavyWidth(`${cut.join("")}…`, size) > width) cut = cut.slice(0, -1);
  return `${cut.join("").trimEnd()}…`;
}
