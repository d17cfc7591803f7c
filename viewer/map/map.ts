/**
 * The rig map: who is plugged to whom, and at the cursor who is what, which cables carry, where clock goes, and who is on
 * one clock. It is laid out once; a move of the cursor changes only what differs from before.
 */
import "./map.css";
import type { DevicePlan } from "../../shared/plan.ts";
import { h, part, svg } from "../dom.ts";
import type { PageContext } from "../page.ts";
import type { MapActions } from "./actions.ts";
import { clockReader } from "./clocks.ts";
import { type DeviceDrawing, deviceDrawing, shapeOf } from "./draw-device.ts";
import { domainsDrawing } from "./draw-domains.ts";
import { wireDrawing } from "./draw-wire.ts";
import { hopsOf } from "./hops.ts";
import { type Direction, type Layout, layoutOf } from "./layout.ts";
import { mapLegend } from "./legend.ts";
import { mapMenu } from "./menu.ts";
import { createMoments, type LinkMoment, type Moment } from "./moments.ts";
import { mapMoving } from "./moving.ts";
import { mapTable } from "./table.ts";
import { mapTools } from "./tools.ts";
import { type Heading, walked } from "./walk.ts";
import { type Wire, wiresOf } from "./wires.ts";
import { deviceSaid, linkSaid, type Said, sentence, spareOf, summaryWords, timeIn } from "./words.ts";

export type { MapActions } from "./actions.ts";

/** Narrower than this, columns become rows. */
const DOWN_BELOW = 640;
const MOST_IN_COLUMN = { across: 9, down: 3 } as const;
/** Drawn smaller than this, names cannot be read: the map scrolls instead. */
const LEAST_SCALE = { across: 0.72, down: 0.76 } as const;
/** Between a line and the border of the drawing. */
const WIRE_ROOM = 10;
/** A column of full width with what is before the next: more of them than fit take narrow cards. */
const FULL_COLUMN = 210;
const HEADINGS: Readonly<Record<string, Heading>> = {
  ArrowLeft: "left",
  ArrowRight: "right",
  ArrowUp: "up",
  ArrowDown: "down",
};

export function rigMapPart(context: PageContext, actions?: MapActions): HTMLElement {
  const { run, lanes, store, announce } = context;
  const { plan } = run;
  const moments = createMoments(lanes.all);
  const clocks = clockReader(run);
  const hops = hopsOf(plan);
  const listed = listedDevices(context);
  const byId = new Map(plan.devices.map((device) => [device.id, device]));
  const linkIds = new Map(plan.links.map((link) => [link.id, link]));
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
  let layout: Layout | null = null;
  const moving = mapMoving({
    title: plan.title,
    placeOf: (id) => layout?.places.get(id),
    container: () => layers.devices,
    arrange: () => arrange(),
    say: (id) => announce(id === null ? "All devices are back in their places." : `${byId.get(id)?.name ?? id} moved.`),
  });
  let wires: ReadonlyMap<string, Wire> = new Map();
  let devices = new Map<string, DeviceDrawing>();
  const drawings = wishes.map(({ id, isStream }) => wireDrawing(id, isStream, spareOf(plan, id) !== null));
  const domains = domainsDrawing((id) => byId.get(id)?.name ?? id);
  const layers = {
    streams: svg("g", { class: "map-streams" }),
    cables: svg("g", {}),
    devices: svg("g", {}),
    streamWords: svg("g", { "aria-hidden": "true" }),
    words: svg("g", { "aria-hidden": "true" }),
  };
  for (const [index, drawing] of drawings.entries()) {
    const { isStream } = wishes[index]!;
    layers[isStream ? "streams" : "cables"].append(drawing.element);
    layers[isStream ? "streamWords" : "words"].append(drawing.word);
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
  const summary = h("p", { class: "when" });
  const readout = h("p", { class: "map-readout" });

  /** Of what the pointer or the focus is on, else of what is chosen. */
  let pointed: string | null = null;
  let focused: string | null = null;
  const elements = new Map<string, SVGGElement>();

  const said = new Map<string, Said>();
  const told = new Map<string, readonly unknown[]>();
  const chosenKey = (): string | null => keyOfLane(store.look().lane);
  const keyOfLane = (lane: string | null): string | null => {
    const found = lanes.all.find(({ key }) => key === lane);
    return found !== undefined && elements.has(keyOf(found.kind, found.id)) ? keyOf(found.kind, found.id) : null;
  };

  const measure = () => {
    const width = frame.clientWidth;
    if (width === 0) return;
    const next: Direction = width < DOWN_BELOW ? "down" : "across";
    const isTight = next === "down" || columnCount * FULL_COLUMN > width;
    if (next !== direction || isTight !== isCompact || devices.size === 0) {
      if (next !== direction) moving.turn(next);
      [direction, isCompact] = [next, isTight];
      devices = drawDevices();
    }
    arrange(width);
  };
  const shapes = () =>
    listed.map((device) => shapeOf(device, hops.get(device.id) ?? 0, networksOf(device.id).length, isCompact));
  const drawDevices = () => {
    const made = new Map(shapes().map((shape) => [shape.id, deviceDrawing(shape, networksOf(shape.id))]));
    layers.devices.replaceChildren(...[...made.values()].map(({ element }) => element));
    elements.clear();
    told.clear();
    drawnFor = "";
    for (const [id, { element }] of made) elements.set(`device ${id}`, element);
    for (const { id, element } of drawings) elements.set(`link ${id}`, element);
    for (const [id, { element }] of made) moving.makeDraggable(id, element);
    return made;
  };
  const arrange = (width = frame.clientWidth) => {
    layout = layoutOf({
      nodes: shapes(),
      cables: wishes.filter(({ isStream }) => !isStream),
      direction,
      width,
      mostInColumn: MOST_IN_COLUMN[direction],
      moved: moving.moved(),
    });
    wires = wiresOf(layout, wishes, direction);
    for (const [id, place] of layout.places) devices.get(id)?.put(place);
    for (const drawing of drawings) {
      const wire = wires.get(drawing.id);
      if (wire !== undefined) drawing.put(wire);
    }
    domains.put(layout.places, wires, layout.width);
    const wide = Math.max(width, layout.width, ...[...wires.values()].map(({ far }) => far.x + WIRE_ROOM));
    const high = Math.max(layout.height, ...[...wires.values()].map(({ far }) => far.y + WIRE_ROOM));
    const scale = Math.min(1, Math.max(width / wide, LEAST_SCALE[direction]));
    drawing.setAttribute("viewBox", `0 0 ${wide} ${high}`);
    drawing.setAttribute("width", String(wide * scale));
    drawing.setAttribute("height", String(high * scale));
    update();
  };

  const update = () => {
    if (layout === null) return;
    const { cursorSeconds } = store.look();
    const following = lanes.followers.at(cursorSeconds);
    const linkMoments = new Map<string, LinkMoment>();
    for (const { id } of plan.links) {
      const moment = moments.link(id, cursorSeconds);
      if (moment !== undefined) linkMoments.set(id, moment);
    }
    const now = clocks.at(cursorSeconds, following, (link, out) => moments.carries(link, out, cursorSeconds));
    for (const [id, device] of devices) {
      const moment = moments.device(id, cursorSeconds);
      device.show(moment);
      const standing = following.standings.get(id);
      if (moment !== undefined && isNews(`device ${id}`, moment, `${standing?.upstream?.id} ${standing?.source}`))
        device.say(heard(`device ${id}`, deviceSaid(moment, following, store.lengthSeconds)));
    }
    for (const drawing of drawings) {
      const { id } = drawing;
      const moment = linkMoments.get(id);
      const clockAt = { a: now.arrivals.has(`${id} a`), b: now.arrivals.has(`${id} b`) };
      drawing.show(moment, clockAt);
      if (moment !== undefined && isNews(`link ${id}`, moment, `${clockAt.a} ${clockAt.b}`))
        drawing.say(heard(`link ${id}`, linkSaid(plan, linkIds.get(id)!, moment, now, store.lengthSeconds)));
    }
    domains.show(now.domains);
    summary.textContent = `At ${timeIn(store.lengthSeconds, cursorSeconds)}: ${summaryWords(following, now, [...linkMoments.values()])}`;
    mark();
    tell();
    table.update();
  };
  /** Words cost more than all else, and most stay as they are from one move of the cursor to the next. */
  const isNews = (key: string, { stretch, beside, lines }: Moment, clock: string): boolean => {
    const facts = [stretch, clock, ...beside, ...lines];
    const before = told.get(key);
    if (before?.length === facts.length && facts.every((fact, index) => fact === before[index])) return false;
    told.set(key, facts);
    return true;
  };
  const heard = (key: string, words: Said): string => {
    said.set(key, words);
    return sentence(words);
  };

  let marked: readonly string[] = [];
  let drawnFor = "";
  const mark = () => {
    const chosen = chosenKey();
    const { lane } = store.look();
    menu?.show(chosen);
    const key = `${lane} ${focused} ${moving.moved().size}`;
    if (key === drawnFor) return;
    drawnFor = key;
    const feed = lane?.startsWith("feed ") ? plan.feeds.find(({ id }) => `feed ${id}` === lane) : undefined;
    const onFeed = feed?.hops.flatMap(({ over }) => over.map(({ link }) => `link ${link}`)) ?? [];
    for (const key of marked) elements.get(key)?.classList.remove("chosen", "on-feed");
    for (const key of onFeed) elements.get(key)?.classList.add("on-feed");
    if (chosen !== null) elements.get(chosen)?.classList.add("chosen");
    marked = chosen === null ? onFeed : [...onFeed, chosen];
    const stop = focused ?? chosen ?? `device ${listed[0]?.id}`;
    for (const [key, element] of elements) {
      const isStop = key === stop ? "0" : "-1";
      if (element.getAttribute("tabindex") !== isStop) element.setAttribute("tabindex", isStop);
      const isChosen = String(key === chosen);
      if (element.getAttribute("aria-pressed") !== isChosen) element.setAttribute("aria-pressed", isChosen);
    }
    tools.show(
      chosen?.startsWith("device ") ? (byId.get(chosen.slice("device ".length)) ?? null) : null,
      moving.moved().size > 0,
    );
  };
  const tell = () => {
    const key = pointed ?? focused ?? chosenKey();
    const words = key === null ? undefined : said.get(key);
    readout.textContent =
      words === undefined
        ? "Point at a device or a cable, or choose one, to read what it is at the cursor."
        : sentence(words);
  };

  const choose = (key: string) => {
    const id = key.slice(key.indexOf(" ") + 1);
    const own = key.startsWith("device ") ? [key] : moments.lanesOfLink(id).map((lane) => lane.key);
    const { lane } = store.look();
    store.set({ lane: lane !== null && own.includes(lane) ? null : (own[0] ?? null) });
  };
  const keyAt = (target: EventTarget | null): string | null => {
    const found = target instanceof Element ? target.closest<SVGElement>("[data-device], [data-link]") : null;
    if (found === null) return null;
    const { device, link } = found.dataset;
    return device === undefined ? `link ${link}` : `device ${device}`;
  };
  const point = (key: string | null) => {
    if (key === pointed) return;
    pointed = key;
    tell();
  };
  drawing.addEventListener("pointerover", (event) => point(keyAt(event.target)));
  drawing.addEventListener("pointerleave", () => point(null));
  drawing.addEventListener("focusin", (event) => {
    focused = keyAt(event.target);
    mark();
    tell();
  });
  drawing.addEventListener("focusout", () => {
    focused = null;
    mark();
    tell();
  });
  drawing.addEventListener("click", (event) => {
    const key = keyAt(event.target);
    if (key !== null) choose(key);
  });
  drawing.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey || focused === null) return;
    const heading = HEADINGS[event.key];
    if (heading !== undefined) {
      event.preventDefault();
      if (event.shiftKey && focused.startsWith("device ")) moving.step(focused.slice("device ".length), heading);
      else if (!event.shiftKey) walk(focused, heading);
    } else if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      choose(focused);
    } else if (event.key === "Escape") store.set({ lane: null });
  });
  const walk = (from: string, heading: Heading) => {
    if (layout === null) return;
    const places = new Map([...layout.places].map(([id, { x, y }]) => [`device ${id}`, { x, y }]));
    const lines = [...wires].map(([id, { middle }]) => {
      const { a, b } = linkIds.get(id)!;
      return { key: `link ${id}`, a: `device ${a.device}`, b: `device ${b.device}`, middle };
    });
    const next = walked({ devices: places, wires: lines }, from, heading);
    if (next !== null) elements.get(next)?.focus();
  };

  const tools = mapTools(moving.step, moving.putBack);
  const menu = actions === undefined ? null : mapMenu(context, moments, actions);
  const table = mapTable(context, () => ({
    said,
    devices: listed.map(({ id }) => id),
    links: plan.links.map(({ id }) => id),
  }));
  const keys = h(
    "p",
    { id: "map-keys", class: "unseen" },
    "Arrow keys walk along the cables, Enter chooses, Shift with an arrow key moves a device. The same facts stand in the table below the map.",
  );
  store.subscribe(update);
  addEventListener("resize", measure);
  const made = part(
    "map",
    "The rig",
    summary,
    keys,
    frame,
    readout,
    tools.element,
    menu?.element ?? null,
    mapLegend(plan),
    table.element,
  );
  made.classList.add("wide");
  return made;
}

function keyOf(kind: string, id: string): string {
  return kind === "stream" ? `link ${id}` : `${kind} ${id}`;
}

/** In the order of the page. */
function listedDevices({ run }: PageContext): readonly DevicePlan[] {
  const known = new Map(run.plan.devices.map((device) => [device.id, device]));
  const listed = run.summary.devices.flatMap(({ id }) => known.get(id) ?? []);
  return [...listed, ...run.plan.devices.filter((device) => !listed.includes(device))];
}
