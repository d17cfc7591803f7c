/**
 * One lane in its own SVG: its states in the window with their words, what holds beside them, slips and marks. While the
 * window moves, a busy lane is one shape for each kind of state.
 */
import type { StateLook } from "../../shared/states.ts";
import { stretchAt } from "../../sim/lanes/follow.ts";
import type { Lane, Mark, Stretch, Strip } from "../../sim/lanes/lane.ts";
import { counted, duration, grouped, listed } from "../../sim/tell/words.ts";
import { isolated, svg } from "../dom.ts";
import { fineTime } from "../show-time.ts";
import type { FeedSlips } from "../slips.ts";
import { bar, signShapes } from "../views/sign.ts";
import { textWidth } from "../views/text-width.ts";
import { slipColumns } from "./slip-columns.ts";

const HEIGHTS: Readonly<Record<Lane["kind"], number>> = { device: 28, network: 24, stream: 16, link: 20, feed: 30 };
/** Each line below the state of a lane, with the gap above it. */
const LINE_HEIGHT = 16;
const LINE_GAP = 2;
const STRIP_HEIGHT = 6;
/** Room for a sign, and for no word beside it. */
const SIGN_ONLY = 24;
/** What is shorter on the screen is drawn this wide: a state of two seconds in a show of three hours must be seen. */
const NARROWEST = 3;
/** A lane with more states in the window than this is busy. */
const PIECES_BUSY = 3;
/** How far what is drawn goes on beside the window, so that edges and patterns run on to its border. */
const BESIDE = 20;

export function heightOf({ kind, lines }: Lane): number {
  return HEIGHTS[kind] + lines.length * (LINE_HEIGHT + LINE_GAP);
}

/** The window, and how it lies on the drawing. */
export interface Scale {
  readonly fromSeconds: number;
  readonly toSeconds: number;
  readonly width: number;
  readonly perSecond: number;
}

export function xAt({ fromSeconds, perSecond }: Scale, seconds: number): number {
  return (seconds - fromSeconds) * perSecond;
}

/** What stays of a lane's drawing from one frame to the next. */
export interface Kept {
  /** Shapes by kind of state: on the move only their outline is written anew. */
  readonly byKind: Map<string, { readonly group: SVGGElement; readonly path: SVGPathElement }>;
  /** The one state that fills the whole drawing, and how wide that is: it looks the same wherever the window is in it. */
  whole: { readonly stretch: Stretch; readonly width: number } | null;
}

/** Returns how many states of the lane are in the window. */
export function drawLane(
  lane: Lane,
  drawing: SVGSVGElement,
  scale: Scale,
  slips: FeedSlips | undefined,
  isMoving: boolean,
  kept: Kept,
): number {
  const { width } = scale;
  const height = HEIGHTS[lane.kind];
  const whole = wholeOf(lane, scale, slips);
  if (whole !== null && kept.whole?.stretch === whole && kept.whole.width === width) return 1;
  kept.whole = whole === null ? null : { stretch: whole, width };
  const carriesOn = lane.kind === "link" || lane.kind === "stream";
  const shapes: SVGElement[] = [];
  const own = pieces(inWindow(lane.stretches, scale), scale);
  const isByKind = isMoving && own.length > PIECES_BUSY;
  if (isByKind) shapes.push(...drawByKind(own, height, kept.byKind));
  else for (const piece of own) shapes.push(drawPiece(lane, piece, height));
  const strips = pieces(lane.strips, scale);
  for (const piece of isByKind ? [] : strips) {
    const strip = piece.stretches[0] as Strip;
    const group = drawPiece(lane, piece, STRIP_HEIGHT);
    group.setAttribute("transform", `translate(0 ${strip.edge === "top" ? 0 : height - STRIP_HEIGHT})`);
    shapes.push(group);
  }
  if (lane.kind === "feed" && slips !== undefined && slips.total > 0) {
    const drawn = drawSlips(slips, scale, height);
    if (drawn !== null) shapes.push(drawn);
  }
  for (const { stretches, x, width: pieceWidth } of isByKind ? [] : own) {
    const [stretch] = stretches;
    if (stretches.length > 1 || stretch === undefined) continue;
    const left = Math.max(x, 0);
    const room = Math.min(x + pieceWidth, width) - left;
    // A link that carries is the normal case and needs no word in every lane; its sign stays.
    const isPlainLink = carriesOn && stretch.look.concern === 0 && stretch.key !== "cable-held-back";
    const words = label(stretch, left, isPlainLink ? Math.min(room, SIGN_ONLY) : room, height);
    if (words.length > 0) shapes.push(svg("g", { class: `label s-${stretch.key}`, "aria-hidden": "true" }, ...words));
  }
  let count = own.length + strips.length;
  for (const [index, line] of lane.lines.entries()) {
    const y = height + LINE_GAP + index * (LINE_HEIGHT + LINE_GAP);
    const drawn = pieces(inWindow(line, scale), scale);
    count += drawn.length;
    const isLineByKind = isMoving && drawn.length > PIECES_BUSY;
    const within = isLineByKind ? drawByKind(drawn, LINE_HEIGHT, new Map()) : drawLine(lane, drawn, width);
    shapes.push(svg("g", { class: "line", transform: `translate(0 ${y})` }, ...within));
  }
  for (const mark of lane.marks) {
    const x = xAt(scale, mark.atSeconds);
    if (x >= -6 && x <= width + 6) shapes.push(drawMark(lane, mark, x));
  }
  if (!isDrawn(drawing, shapes)) drawing.replaceChildren(...shapes);
  return count;
}

function isDrawn({ childNodes }: SVGSVGElement, shapes: readonly SVGElement[]): boolean {
  return childNodes.length === shapes.length && shapes.every((shape, index) => shape === childNodes[index]);
}

/** The state that is all there is to draw of a lane in this window; null: there is an end of one in sight, or more. */
function wholeOf(
  { stretches, strips, lines, marks }: Lane,
  scale: Scale,
  slips: FeedSlips | undefined,
): Stretch | null {
  if (strips.length + lines.length + marks.length > 0 || (slips?.total ?? 0) > 0) return null;
  const stretch = stretchAt(stretches, scale.fromSeconds);
  if (stretch === undefined) return null;
  const reaches = xAt(scale, stretch.fromSeconds) <= -BESIDE && xAt(scale, stretch.toSeconds) >= scale.width + BESIDE;
  return reaches ? stretch : null;
}

/** One shape for each kind of state, without words and patterns: what a busy lane is while its window moves. */
function drawByKind(own: readonly Piece[], height: number, kept: Kept["byKind"]): SVGElement[] {
  const paths = new Map<string, string>();
  // Sorted by how much they matter, and so are the kinds.
  for (const { stretches, x, width } of own) {
    const { key } = worstOf(stretches);
    const shape = `M${(x + 0.5).toFixed(1)} 0.5h${Math.max(width - 1, 1).toFixed(1)}v${height - 1}h${(-Math.max(width - 1, 1)).toFixed(1)}z`;
    paths.set(key, (paths.get(key) ?? "") + shape);
  }
  return [...paths].map(([key, d]) => {
    let shape = kept.get(key);
    if (shape === undefined) {
      const path = svg("path", { class: "fill framed" });
      shape = { path, group: svg("g", { class: `s-${key}`, "aria-hidden": "true" }, path) };
      kept.set(key, shape);
    }
    shape.path.setAttribute("d", d);
    return shape.group;
  });
}

function worstOf(stretches: readonly Stretch[]): Stretch {
  return stretches.reduce((one, other) => (other.look.concern > one.look.concern ? other : one));
}

/** Of stretches that follow one another those that reach into the window, and into what is drawn beside it. */
function inWindow(stretches: readonly Stretch[], scale: Scale): readonly Stretch[] {
  const { fromSeconds, toSeconds } = scale;
  let [low, high] = [0, stretches.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (stretches[middle]!.toSeconds < fromSeconds) low = middle + 1;
    else high = middle;
  }
  let end = low;
  while (end < stretches.length && stretches[end]!.fromSeconds <= toSeconds) end += 1;
  return stretches.slice(low, end);
}

function drawLine(lane: Lane, own: readonly Piece[], width: number): SVGElement[] {
  const shapes: SVGElement[] = [];
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
  /** What matters more is drawn later, on top of what had to be widened to be seen. */
  readonly concern: number;
}

/**
 * What is drawn for the stretches in the window. A stretch has a piece of its own; where more than three begin within
 * three pixels, one piece stands for all of them, says how many, and wears the look that matters most.
 */
function pieces(stretches: readonly Stretch[], scale: Scale): readonly Piece[] {
  const { width } = scale;
  const inside: Piece[] = [];
  let crowd: Stretch[] = [];
  let crowdX = Number.NEGATIVE_INFINITY;
  const close = () => {
    if (crowd.length > 3) {
      inside.push(piece(crowd, crowdX, NARROWEST));
    } else for (const stretch of crowd) inside.push(alone(stretch, scale));
    crowd = [];
  };
  for (const stretch of stretches) {
    const x = xAt(scale, stretch.fromSeconds);
    const end = xAt(scale, stretch.toSeconds);
    if (end < 0 || x > width) continue;
    if (end - x >= NARROWEST) {
      close();
      inside.push(alone(stretch, scale));
      continue;
    }
    if (x - crowdX > NARROWEST) {
      close();
      crowdX = x;
    }
    crowd.push(stretch);
  }
  close();
  return inside.sort((one, other) => one.concern - other.concern || one.x - other.x);
}

function alone(stretch: Stretch, scale: Scale): Piece {
  const x = Math.max(xAt(scale, stretch.fromSeconds), -BESIDE);
  const end = Math.min(xAt(scale, stretch.toSeconds), scale.width + BESIDE);
  return piece([stretch], x, Math.max(end - x, NARROWEST));
}

function piece(stretches: readonly Stretch[], x: number, width: number): Piece {
  return { stretches, x, width, concern: worstOf(stretches).look.concern + (width <= NARROWEST ? 4 : 0) };
}

function drawPiece(lane: Lane, piece: Piece, height: number): SVGGElement {
  const { key, look } = worstOf(piece.stretches);
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
function drawSlips(slips: FeedSlips, scale: Scale, height: number): SVGElement | null {
  const { fromSeconds, toSeconds, width } = scale;
  const instants = slips.instants(fromSeconds, toSeconds, width / 3);
  if (instants !== null) {
    if (instants.length === 0) return null;
    const path = instants.map((at) => `M${xAt(scale, at).toFixed(2)} 3V${height - 3}`).join("");
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
