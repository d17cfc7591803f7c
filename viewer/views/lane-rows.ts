/**
 * The lanes as rows: name, drawing, and what the lane is at the cursor in words. Each lane draws itself into an SVG of
 * its own; event lines and the cursor run through all of them in one drawing on top. Rows far from the screen wait
 * until they come near, so two hundred devices cost what fits on the screen.
 */
import { type ScaleLinear, scaleLinear } from "d3";
import type { StateLook } from "../../shared/states.ts";
import { isTold } from "../../sim/tell/event-words.ts";
import { counted, duration, grouped, listed } from "../../sim/tell/words.ts";
import { h, isolated, name, svg } from "../dom.ts";
import { stretchAt } from "../follow.ts";
import { isQuiet, type Lane, type Mark, type Stretch, type Strip } from "../lane.ts";
import { slipColumns } from "../lanes/slip-columns.ts";
import type { PageContext } from "../page.ts";
import { decimalsFor, fineTime } from "../show-time.ts";
import type { FeedSlips } from "../slips.ts";
import type { Look } from "../store.ts";
import { NARROW } from "./narrow.ts";
import { bar, signIcon, signShapes } from "./sign.ts";
import { textWidth } from "./text-width.ts";

const HEIGHTS: Readonly<Record<Lane["kind"], number>> = { device: 28, network: 24, stream: 16, link: 20, feed: 30 };
/** Each line below the state of a lane, with the gap above it. */
const LINE_HEIGHT = 16;
const LINE_GAP = 2;
const STRIP_HEIGHT = 6;
/** Room for a sign, and for no word beside it. */
const SIGN_ONLY = 24;
/** What is shorter on the screen is drawn this wide: a state of two seconds in a show of three hours must be seen. */
const NARROWEST = 3;
/** Quiet lanes are folded away when there are more lanes than this; on a narrow page a lane takes more of its height. */
const MANY_LANES = { wide: 40, narrow: 24 } as const;

const GROUPS: readonly { readonly heading: string; readonly kinds: readonly Lane["kind"][] }[] = [
  { heading: "Devices", kinds: ["device"] },
  { heading: "Networks and what runs over them", kinds: ["network", "stream"] },
  { heading: "Links", kinds: ["link"] },
  { heading: "Feeds", kinds: ["feed"] },
];

function heightOf({ kind, lines }: Lane): number {
  return HEIGHTS[kind] + lines.length * (LINE_HEIGHT + LINE_GAP);
}

export interface LaneRows {
  readonly element: HTMLElement;
  measure(): void;
  /** The drawing area, in pixels of the screen. */
  plotBox(): DOMRect;
  laneAt(event: MouseEvent): string | null;
  /** What the chosen lane is at the cursor; empty where none is chosen. */
  chosenWords(): string;
}

interface Row {
  readonly lane: Lane;
  readonly element: HTMLElement;
  readonly drawing: SVGSVGElement;
  readonly words: HTMLElement;
  isNear: boolean;
  isStale: boolean;
  said: Stretch | null;
}

export function laneRows(context: PageContext): LaneRows {
  const { lanes, store, run, slips } = context;
  const rows = lanes.all.map((lane): Row => {
    const drawing = svg("svg", {
      class: "lane-drawing",
      height: heightOf(lane),
      role: "group",
      "aria-label": lane.name,
    });
    const words = h("div", { class: "row-words" });
    const element = h(
      "div",
      { class: `row lane lane-${lane.kind}`, "data-lane": lane.key },
      h(
        "div",
        { class: "row-name" },
        h("span", { class: "lane-name" }, name(lane.name)),
        lane.note === "" ? null : h("span", { class: "lane-note" }, lane.note),
        lane.warning === "" ? null : h("span", { class: "lane-warning" }, lane.warning),
      ),
      h("div", { class: "row-plot" }, drawing),
      words,
    );
    return { lane, element, drawing, words, isNear: true, isStale: true, said: null };
  });

  const overlay = svg("svg", { class: "overlay", "aria-hidden": "true" });
  const body = h("div", { class: "rows" });
  for (const { heading, kinds } of GROUPS) {
    const own = rows.filter(({ lane }) => kinds.includes(lane.kind));
    // Most rigs have no network, and need not be told so.
    if (own.length === 0 && kinds.includes("network")) continue;
    body.append(h("h3", { class: "group-name" }, heading));
    if (own.length === 0) body.append(h("p", { class: "none" }, `No ${heading.toLowerCase()} in this rig.`));
    const quietCount = own.filter(({ lane }) => isQuiet(lane)).length;
    if (own.length > 0 && quietCount === own.length)
      body.append(h("p", { class: "none all-quiet" }, "Nothing but the intended in any of them."));
    body.append(...own.map(({ element }) => element));
  }
  body.append(overlay);

  const quiet = rows.filter(({ lane }) => isQuiet(lane));
  const element = h("div", { class: "lanes" }, body);
  if (rows.length > MANY_LANES.narrow && quiet.length > 0)
    element.prepend(quietSwitch(element, quiet, rows.length, () => measure()));

  let width = 0;
  const scaleNow = () => {
    const { fromSeconds, toSeconds } = store.look();
    return scaleLinear([fromSeconds, toSeconds], [0, width]);
  };
  const drawRow = (row: Row) => {
    row.isStale = false;
    drawLane(row, scaleNow(), width, slips.get(row.lane.id));
  };
  const near = new IntersectionObserver(
    (entries) => {
      for (const entry of entries) {
        const row = rows.find(({ element }) => element === entry.target);
        if (row === undefined) continue;
        row.isNear = entry.isIntersecting;
        if (row.isNear && row.isStale) drawRow(row);
      }
    },
    { rootMargin: "600px" },
  );
  if (rows.length > MANY_LANES.wide) for (const { element } of rows) near.observe(element);

  const isPrinting = () => document.documentElement.classList.contains("printing");
  const drawAll = () => {
    if (width === 0) return;
    for (const row of rows) {
      if (row.isNear || isPrinting()) drawRow(row);
      else row.isStale = true;
    }
    drawOverlay(overlay, context, scaleNow(), width);
  };
  const sayAll = () => {
    const { cursorSeconds, lane } = store.look();
    for (const row of rows) {
      row.element.classList.toggle("chosen", row.lane.key === lane);
      const stretch = stretchAt(row.lane.stretches, cursorSeconds) ?? null;
      const beside = besideAt(row.lane, cursorSeconds);
      if (stretch === row.said && beside.length === 0 && row.words.dataset.beside === undefined) continue;
      row.said = stretch;
      row.words.replaceChildren(...spoken(stretch, beside));
      if (beside.length > 0) row.words.dataset.beside = "";
      else delete row.words.dataset.beside;
    }
  };
  store.subscribe((before) => {
    const look = store.look();
    if (before.fromSeconds !== look.fromSeconds || before.toSeconds !== look.toSeconds) drawAll();
    else drawOverlay(overlay, context, scaleNow(), width);
    sayAll();
    if (before.lane !== look.lane && look.lane !== null) {
      rows.find(({ lane }) => lane.key === look.lane)?.element.scrollIntoView({ block: "nearest" });
    }
  });

  const plotBox = () => {
    const shown = rows.find(({ element }) => element.offsetParent !== null);
    return (shown?.drawing.parentElement ?? body).getBoundingClientRect();
  };
  function measure() {
    const box = plotBox();
    const frame = body.getBoundingClientRect();
    width = box.width;
    for (const { drawing } of rows) drawing.setAttribute("width", String(width));
    overlay.setAttribute("width", String(width));
    overlay.style.left = `${box.left - frame.left}px`;
    drawAll();
    sayAll();
  }

  return {
    element,
    measure,
    plotBox,
    laneAt(event) {
      const row = event.target instanceof Element ? event.target.closest<HTMLElement>("[data-lane]") : null;
      return row?.dataset.lane ?? null;
    },
    chosenWords() {
      const { lane: key, cursorSeconds } = store.look();
      const lane = lanes.all.find((candidate) => candidate.key === key);
      return lane === undefined ? "" : laneWords(lane, cursorSeconds, store.look(), run.summary.runSeconds);
    },
  };
}

function quietSwitch(element: HTMLElement, quiet: readonly Row[], laneCount: number, changed: () => void): HTMLElement {
  const box = h("input", { type: "checkbox" });
  const text = `Show also the ${counted(quiet.length, "lane", "lanes")} in which nothing but the intended happens`;
  const label = h("label", { class: "quiet-switch" }, box, text);
  const apply = () => {
    const isMany = laneCount > (NARROW.matches ? MANY_LANES.narrow : MANY_LANES.wide);
    label.hidden = !isMany;
    element.classList.toggle("without-quiet", isMany && !box.checked);
  };
  for (const { element: row } of quiet) row.classList.add("quiet");
  apply();
  for (const source of [box, NARROW])
    source.addEventListener("change", () => {
      apply();
      changed();
    });
  return label;
}

/** What holds beside the state of a lane. */
function besideAt({ strips, lines }: Lane, seconds: number): readonly Stretch[] {
  return [...strips, ...lines.flat()].filter((each) => covers(each, seconds));
}

function spoken(stretch: Stretch | null, beside: readonly Stretch[]): readonly Node[] {
  if (stretch === null) return [];
  // What matters most stands first: a narrow page shows no more than that.
  const facts = [stretch, ...beside].sort((one, other) => other.look.concern - one.look.concern);
  return facts.map(({ key, look, says }) =>
    h("span", { class: look.concern === 0 ? "spoken calm" : "spoken" }, signIcon(key, look), h("span", {}, says)),
  );
}

function covers({ fromSeconds, toSeconds }: Stretch, seconds: number): boolean {
  return fromSeconds <= seconds && seconds < toSeconds;
}

function laneWords(lane: Lane, seconds: number, look: Look, endSeconds: number): string {
  const stretch = stretchAt(lane.stretches, seconds);
  if (stretch === undefined) return isolated(lane.name);
  const beside = besideAt(lane, seconds).map(({ says }) => says);
  const decimals = decimalsFor(look.toSeconds - look.fromSeconds);
  return `${isolated(lane.name)}: ${[stretch.says, ...beside].join("; ")}, ${spanWords(stretch, decimals, endSeconds)}`;
}

function spanWords({ fromSeconds, toSeconds }: Stretch, decimals: number, endSeconds: number): string {
  const until = toSeconds >= endSeconds ? "to the end" : `until ${fineTime(toSeconds, decimals)}`;
  return `from ${fineTime(fromSeconds, decimals)} ${until}, ${duration(toSeconds - fromSeconds)}`;
}

type Scale = ScaleLinear<number, number>;

function drawLane(row: Row, scale: Scale, width: number, slips: FeedSlips | undefined): void {
  const { lane, drawing } = row;
  const height = HEIGHTS[lane.kind];
  const carriesOn = lane.kind === "link" || lane.kind === "stream";
  const shapes: SVGElement[] = [];
  const own = pieces(lane.stretches, scale, width);
  for (const piece of own) shapes.push(drawPiece(lane, piece, height));
  for (const piece of pieces(lane.strips, scale, width)) {
    const strip = piece.stretches[0] as Strip;
    const group = drawPiece(lane, piece, STRIP_HEIGHT);
    group.setAttribute("transform", `translate(0 ${strip.edge === "top" ? 0 : height - STRIP_HEIGHT})`);
    shapes.push(group);
  }
  if (lane.kind === "feed" && slips !== undefined && slips.total > 0) {
    const drawn = drawSlips(slips, scale, width, height);
    if (drawn !== null) shapes.push(drawn);
  }
  for (const { stretches, x, width: pieceWidth } of own) {
    const [stretch] = stretches;
    if (stretches.length > 1 || stretch === undefined) continue;
    const left = Math.max(x, 0);
    const room = Math.min(x + pieceWidth, width) - left;
    // A link that carries is the normal case and needs no word in every lane; its sign stays.
    const isPlainLink = carriesOn && stretch.look.concern === 0 && stretch.key !== "cable-held-back";
    const words = label(stretch, left, isPlainLink ? Math.min(room, SIGN_ONLY) : room, height);
    if (words.length > 0) shapes.push(svg("g", { class: `label s-${stretch.key}`, "aria-hidden": "true" }, ...words));
  }
  for (const [index, line] of lane.lines.entries()) {
    const y = height + LINE_GAP + index * (LINE_HEIGHT + LINE_GAP);
    shapes.push(svg("g", { class: "line", transform: `translate(0 ${y})` }, ...drawLine(lane, line, scale, width)));
  }
  for (const mark of lane.marks) {
    const x = scale(mark.atSeconds);
    if (x >= -6 && x <= width + 6) shapes.push(drawMark(lane, mark, x));
  }
  drawing.replaceChildren(...shapes);
}

function drawLine(lane: Lane, line: readonly Stretch[], scale: Scale, width: number): SVGElement[] {
  const shapes: SVGElement[] = [];
  const own = pieces(line, scale, width);
  for (const piece of own) shapes.push(drawPiece(lane, piece, LINE_HEIGHT));
  for (const { stretches, x, width: pieceWidth } of own) {
    const [stretch] = stretches;
    if (stretches.length > 1 || stretch === undefined) continue;
    const left = Math.max(x, 0);
    const words = label(stretch, left, Math.min(x + pieceWidth, width) - left, LINE_HEIGHT);
    if (words.length > 0) shapes.push(svg("g", { class: `label s-${stretch.key}`, "aria-hidden": "true" }, ...words));
  }
  return shapes;
}

interface Piece {
  readonly stretches: readonly Stretch[];
  readonly x: number;
  readonly width: number;
}

/**
 * What is drawn for the stretches in the window. A stretch has a piece of its own; where more than three begin within
 * three pixels, one piece stands for all of them, says how many, and wears the look that matters most.
 */
function pieces(stretches: readonly Stretch[], scale: Scale, width: number): readonly Piece[] {
  const inside: Piece[] = [];
  let crowd: Stretch[] = [];
  let crowdX = Number.NEGATIVE_INFINITY;
  const close = () => {
    if (crowd.length > 3) {
      inside.push({ stretches: crowd, x: crowdX, width: NARROWEST });
    } else for (const stretch of crowd) inside.push(alone(stretch, scale, width));
    crowd = [];
  };
  for (const stretch of stretches) {
    const [x, end] = [scale(stretch.fromSeconds), scale(stretch.toSeconds)];
    if (end < 0 || x > width) continue;
    if (end - x >= NARROWEST) {
      close();
      inside.push(alone(stretch, scale, width));
      continue;
    }
    if (x - crowdX > NARROWEST) {
      close();
      crowdX = x;
    }
    crowd.push(stretch);
  }
  close();
  // What matters more is drawn later, on top of what had to be widened to be seen.
  return inside.sort((one, other) => concernOf(one) - concernOf(other) || one.x - other.x);
}

function alone(stretch: Stretch, scale: Scale, width: number): Piece {
  // Cut a little outside of the window, so that edges and patterns run on to its border.
  const x = Math.max(scale(stretch.fromSeconds), -20);
  const end = Math.min(scale(stretch.toSeconds), width + 20);
  return { stretches: [stretch], x, width: Math.max(end - x, NARROWEST) };
}

function concernOf({ stretches, width }: Piece): number {
  return Math.max(...stretches.map(({ look }) => look.concern)) + (width <= NARROWEST ? 4 : 0);
}

function drawPiece(lane: Lane, piece: Piece, height: number): SVGGElement {
  const worst = piece.stretches.reduce((one, other) => (other.look.concern > one.look.concern ? other : one));
  const { key, look } = worst;
  const first = piece.stretches[0]!;
  const last = piece.stretches.at(-1)!;
  const says =
    piece.stretches.length === 1
      ? `${first.says}, from ${fineTime(first.fromSeconds, 3)} until ${fineTime(first.toSeconds, 3)}, ${duration(first.toSeconds - first.fromSeconds)}`
      : `${piece.stretches.length} states from ${fineTime(first.fromSeconds, 3)} until ${fineTime(last.toSeconds, 3)}: ${listed([...new Set(piece.stretches.map((stretch) => stretch.look.word))])}`;
  const group = svg(
    "g",
    {
      class: `stretch s-${key}`,
      role: "img",
      "aria-label": `${isolated(lane.name)}: ${says}`,
      "data-from": first.fromSeconds,
      "data-to": last.toSeconds,
      "data-state": piece.stretches.length === 1 ? key : "several",
    },
    svg("title", {}, says),
    // The slips themselves are the pattern of a feed that slips.
    ...bar(look, piece.x, piece.width, height, look.pattern !== "comb"),
  );
  return group;
}

/** Sign and words, as much as the room holds: the whole saying, the word, the short word, the sign, nothing. */
function label({ look, says }: Stretch, x: number, room: number, height: number): readonly SVGElement[] {
  const size = Math.min(12, height - 8);
  if (room < size + 6) return [];
  const shapes: SVGElement[] = [];
  const isLine = look.dark.fill === null;
  const text = [says, look.word, look.short].find((candidate) => textWidth(candidate, 12) + size + 16 <= room) ?? "";
  const y = (height - size) / 2;
  // Lines and hatches must not run through what is to be read.
  const backWidth = size + 8 + (text === "" ? 0 : textWidth(text, 12) + 6);
  const isBusy = look.pattern !== "plain" && look.pattern !== "double-edge" && look.pattern !== "top-line";
  if (isBusy)
    shapes.push(
      svg("rect", {
        class: isLine ? "label-back hollow" : "label-back",
        x: isLine ? x - 1 : x + 3,
        y: y - 1.5,
        width: isLine ? backWidth + 4 : backWidth,
        height: size + 3,
      }),
    );
  shapes.push(sign(look, x + 7, y, size));
  if (text !== "") shapes.push(svg("text", { x: x + size + 12, y: height / 2 + 4.2 }, text));
  return shapes;
}

function sign(look: StateLook, x: number, y: number, size: number): SVGGElement {
  return svg("g", { class: "sign", transform: `translate(${x} ${y}) scale(${size / 12})` }, ...signShapes(look));
}

/**
 * One tick per slip while there are three pixels for each; else a column per two pixels, a step higher for each doubling
 * of what it holds, so that a single slip still shows beside a thousand.
 */
function drawSlips(slips: FeedSlips, scale: Scale, width: number, height: number): SVGElement | null {
  const [fromSeconds, toSeconds] = scale.domain() as [number, number];
  const instants = slips.instants(fromSeconds, toSeconds, width / 3);
  if (instants !== null) {
    if (instants.length === 0) return null;
    const path = instants.map((at) => `M${scale(at).toFixed(2)} 3V${height - 3}`).join("");
    return svg(
      "g",
      {
        class: "slips",
        "data-slips": instants.length,
        "data-drawn": "one by one",
        role: "img",
        "aria-label": counted(instants.length, "slip", "slips"),
      },
      svg("path", { class: "slip-back", d: path }),
      svg("path", { class: "slip", d: path }),
    );
  }
  const columns = slipColumns(slips, fromSeconds, toSeconds, width);
  const most = Math.max(...columns.map(({ count }) => count));
  const path = columns
    .map(
      ({ x, count }) =>
        `M${x} ${height - 1}V${(height - 1 - Math.min(5 + 2.5 * Math.log2(count), height * 0.6)).toFixed(1)}`,
    )
    .join("");
  const total = columns.reduce((sum, { count }) => sum + count, 0);
  return svg(
    "g",
    {
      class: "slips dense",
      "data-slips": total,
      "data-drawn": "density",
      role: "img",
      "aria-label": `${grouped(total)} slips, up to ${grouped(most)} in the width of a line`,
    },
    svg("path", { class: "slip", d: path }),
  );
}

function drawMark(lane: Lane, mark: Mark, x: number): SVGGElement {
  const says = `${fineTime(mark.atSeconds, 3)} ${mark.says}`;
  return svg(
    "g",
    {
      class: `mark s-${mark.key}`,
      role: "img",
      "aria-label": `${isolated(lane.name)}: ${says}`,
      "data-at": mark.atSeconds,
    },
    svg("title", {}, says),
    svg("rect", { class: "fill framed", x: x - 5.5, y: 0.5, width: 11, height: 11 }),
    sign(mark.look, x - 4, 2, 8),
  );
}

function drawOverlay(overlay: SVGSVGElement, { run, store }: PageContext, scale: Scale, width: number): void {
  if (width === 0) return;
  const look = store.look();
  const shapes: SVGElement[] = [];
  const { events } = run.plan;
  const at = (index: number) => scale(events[index]!.atNs / 1e9);
  const inside = (x: number) => x >= 0 && x <= width;
  events.forEach((event, index) => {
    const x = at(index);
    if (event.undoes !== null && event.undoes >= 0 && event.undoes < events.length) {
      const [from, to] = [Math.max(at(event.undoes), 0), Math.min(x, width)];
      if (to > from) shapes.push(svg("rect", { class: "band", x: from, y: 0, width: to - from, height: "100%" }));
    }
    if (inside(x) && isTold(event)) {
      const chosen = look.event === index ? " chosen" : "";
      shapes.push(
        svg("line", {
          class: `event-line${event.undoes === null ? "" : " undoes"}${chosen}`,
          x1: x,
          x2: x,
          y1: 0,
          y2: "100%",
        }),
      );
    }
  });
  const cursor = scale(look.cursorSeconds);
  if (look.cursorBSeconds !== null) shapes.push(...cursorB(scale(look.cursorBSeconds), cursor, width));
  if (inside(cursor)) shapes.push(svg("line", { class: "cursor", x1: cursor, x2: cursor, y1: 0, y2: "100%" }));
  overlay.replaceChildren(...shapes);
}

/** Cursor B is hollow where A is solid, and what lies between them is tinted. */
function cursorB(at: number, cursor: number, width: number): readonly SVGElement[] {
  const [from, to] = [Math.max(Math.min(at, cursor), 0), Math.min(Math.max(at, cursor), width)];
  const shapes: SVGElement[] = [];
  if (to > from) shapes.push(svg("rect", { class: "between", x: from, y: 0, width: to - from, height: "100%" }));
  if (at >= 0 && at <= width)
    shapes.push(svg("rect", { class: "cursor-b", x: at - 2, y: -2, width: 4, height: "110%" }));
  return shapes;
}
