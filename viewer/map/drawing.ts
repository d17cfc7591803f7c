/** The drawing of the rig: its layers, what is drawn in them, and where all of it stands in the width that there is. */
import type { DevicePlan } from "../../shared/plan.ts";
import { hopsOf } from "../../sim/map/hops.ts";
import { type Direction, type Layout, layoutOf } from "../../sim/map/layout.ts";
import { isUntested } from "../../sim/tested.ts";
import { h, svg } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { type DeviceDrawing, deviceDrawing, shapeOf } from "./draw-device.ts";
import { type DomainsDrawing, domainsDrawing } from "./draw-domains.ts";
import { type WireDrawing, wireDrawing } from "./draw-wire.ts";
import { type Moving, mapMoving } from "./moving.ts";
import { type Wire, wiresOf } from "./wires.ts";
import { spareOf } from "./words.ts";

/** Narrower than this, columns become rows. */
const DOWN_BELOW = 640;
const MOST_IN_COLUMN = 9;
/** A narrow card with what is beside it. */
const NARROW_CARD = 123;
/** Drawn smaller than this, names cannot be read: the map scrolls instead. */
const LEAST_SCALE = { across: 0.72, down: 0.76 } as const;
/** Between a line and the border of the drawing. */
const WIRE_ROOM = 10;
/** A column of full width with what is before the next: more of them than fit take narrow cards. */
const FULL_COLUMN = 210;
/**
 * Among more lines than this a word at each that is untested hides the words that tell of trouble: the tag says it alone.
 * So it does where nobody has pulled any of them, which the sentence above the map says.
 */
const MOST_WITH_WORDS = 30;

export interface MapDrawing {
  readonly frame: HTMLElement;
  readonly svg: SVGSVGElement;
  /** By "device foh" and "link main". */
  readonly elements: ReadonlyMap<string, SVGGElement>;
  readonly wires: readonly WireDrawing[];
  readonly domains: DomainsDrawing;
  readonly moving: Moving;
  devices(): ReadonlyMap<string, DeviceDrawing>;
  /** Null: not yet in the page. */
  placed(): { readonly layout: Layout; readonly wires: ReadonlyMap<string, Wire> } | null;
  /** Fits it into the width that there is. */
  measure(): void;
}

interface DrawingRequest {
  /** In the order of the page. */
  readonly listed: readonly DevicePlan[];
  /** The devices are drawn anew: nothing is known of them. */
  redrawn(): void;
  /** Everything stands where it belongs. */
  arranged(): void;
}

export function mapDrawing({ run, announce }: PageContext, { listed, redrawn, arranged }: DrawingRequest): MapDrawing {
  const { plan } = run;
  const hops = hopsOf(plan);
  const names = new Map(plan.devices.map(({ id, name }) => [id, name]));
  const wishes = plan.links.map(({ id, a, b, stream }) => ({
    id,
    a: a.device,
    b: b.device,
    isStream: stream !== undefined,
  }));
  const networksOf = (id: string) =>
    run.summary.networks.filter(({ devices }) => devices.some(({ device }) => device === id)).map(({ name }) => name);

  const columnCount = 1 + Math.max(0, ...hops.values());
  let direction: Direction = "across";
  let isCompact = false;
  let placed: { readonly layout: Layout; readonly wires: ReadonlyMap<string, Wire> } | null = null;
  let devices: ReadonlyMap<string, DeviceDrawing> = new Map();
  const elements = new Map<string, SVGGElement>();
  const moving = mapMoving({
    title: plan.title,
    placeOf: (id) => placed?.layout.places.get(id),
    container: () => layers.devices,
    arrange: () => arrange(frame.clientWidth),
    say: (id) => announce(id === null ? "All devices are back in their places." : `${names.get(id) ?? id} moved.`),
  });
  const isCrowded =
    plan.links.length > MOST_WITH_WORDS ||
    plan.links.every((link) => link.stream !== undefined || isUntested(plan, link));
  const wires = plan.links.map((link) => wireDrawing(plan, link, spareOf(plan, link.id) !== null, isCrowded));
  const domains = domainsDrawing((id) => names.get(id) ?? id);
  const layers = {
    streams: svg("g", { class: "map-streams" }),
    cables: svg("g", {}),
    devices: svg("g", {}),
    streamWords: svg("g", { "aria-hidden": "true" }),
    words: svg("g", { "aria-hidden": "true" }),
  };
  for (const [index, wire] of wires.entries()) {
    const { isStream } = wishes[index]!;
    layers[isStream ? "streams" : "cables"].append(wire.element);
    layers[isStream ? "streamWords" : "words"].append(wire.word);
  }
  const drawing = svg(
    "svg",
    { class: "map-drawing", role: "group", "aria-label": "Rig map", "aria-describedby": "map-keys" },
    domains.element,
    layers.streams,
    layers.cables,
    layers.streamWords,
    layers.devices,
    layers.words,
    domains.words,
  );
  const frame = h("div", { class: "map-frame" }, drawing);

  const shapes = () =>
    listed.map((device) => shapeOf(device, hops.get(device.id) ?? 0, networksOf(device.id).length, isCompact));
  const drawDevices = () => {
    const made = new Map(shapes().map((shape) => [shape.id, deviceDrawing(shape, networksOf(shape.id))]));
    layers.devices.replaceChildren(...[...made.values()].map(({ element }) => element));
    elements.clear();
    for (const [id, { element }] of made) elements.set(`device ${id}`, element);
    for (const { id, element } of wires) elements.set(`link ${id}`, element);
    for (const [id, { element }] of made) moving.makeDraggable(id, element);
    devices = made;
    redrawn();
  };
  const arrange = (width: number) => {
    const layout = layoutOf({
      nodes: shapes(),
      cables: wishes.filter(({ isStream }) => !isStream),
      direction,
      width,
      mostInColumn: direction === "across" ? MOST_IN_COLUMN : Math.max(3, Math.floor(width / NARROW_CARD)),
      moved: moving.moved(),
    });
    const lines = wiresOf(
      layout,
      wishes.map((wish, index) => ({ ...wish, word: wires[index]!.room })),
      direction,
    );
    placed = { layout, wires: lines };
    for (const [id, place] of layout.places) devices.get(id)?.put(place);
    for (const wire of wires) {
      const line = lines.get(wire.id);
      if (line !== undefined) wire.put(line);
    }
    domains.put(layout.places, lines, layout.width);
    const far = [...lines.values()].map((line) => line.far);
    const wide = Math.max(width, layout.width, ...far.map(({ x }) => x + WIRE_ROOM));
    const high = Math.max(layout.height, ...far.map(({ y }) => y + WIRE_ROOM));
    const scale = Math.min(1, Math.max(width / wide, LEAST_SCALE[direction]));
    drawing.setAttribute("viewBox", `0 0 ${wide} ${high}`);
    drawing.setAttribute("width", String(wide * scale));
    drawing.setAttribute("height", String(high * scale));
    arranged();
  };
  return {
    frame,
    svg: drawing,
    elements,
    wires,
    domains,
    moving,
    devices: () => devices,
    placed: () => placed,
    measure() {
      const width = frame.clientWidth;
      if (width === 0) return;
      const next: Direction = width < DOWN_BELOW ? "down" : "across";
      const isTight = next === "down" || columnCount * FULL_COLUMN > width;
      if (next !== direction || isTight !== isCompact || devices.size === 0) {
        if (next !== direction) moving.turn(next);
        [direction, isCompact] = [next, isTight];
        drawDevices();
      }
      arrange(width);
    },
  };
}
