/** What a person has moved: kept on this machine by the title of the scenario, and made room for. */
import { type Direction, MARGIN, type Place, type Point } from "./layout.ts";

/** Least distance of two that a person has brought together. */
const APART = 8;

/** What was moved comes first, in the order of moving; who stands in the way goes to the nearest free place. */
export function withMoved(
  places: ReadonlyMap<string, Place>,
  moved: ReadonlyMap<string, Point>,
): ReadonlyMap<string, Place> {
  const settled = new Map<string, Place>();
  const settle = (id: string, wish: Place) => settled.set(id, free(wish, [...settled.values()]));
  for (const [id, point] of moved) {
    const place = places.get(id);
    if (place === undefined) continue;
    const x = Math.max(point.x, MARGIN + place.width / 2);
    const y = Math.max(point.y, MARGIN + place.height / 2);
    settle(id, { ...place, x, y });
  }
  for (const [id, place] of places) if (!moved.has(id)) settle(id, place);
  // In the order of the columns, as before.
  return new Map([...places.keys()].map((id) => [id, settled.get(id)!]));
}

function free(wish: Place, taken: readonly Place[]): Place {
  const isFree = (place: Place) => !taken.some((other) => overlap(place, other, APART));
  if (isFree(wish)) return wish;
  const STEP = 8;
  // Downwards there is always room in the end.
  for (let far = STEP; ; far += STEP) {
    for (const [dx, dy] of [
      [0, far],
      [far, 0],
      [0, -far],
      [-far, 0],
      [far, far],
    ] as const) {
      const place = { ...wish, x: wish.x + dx, y: wish.y + dy };
      const isInside = place.x - place.width / 2 >= MARGIN && place.y - place.height / 2 >= MARGIN;
      if (isInside && isFree(place)) return place;
    }
  }
}

/** Whether two come closer to each other than this. */
export function overlap(one: Place, other: Place, apart = 0): boolean {
  return (
    Math.abs(one.x - other.x) < (one.width + other.width) / 2 + apart &&
    Math.abs(one.y - other.y) < (one.height + other.height) / 2 + apart
  );
}

function keyOf(title: string, direction: Direction): string {
  return `pulltest map ${direction} ${title}`;
}

/** Nothing where the browser keeps nothing, or something else is kept there. */
export function keptMoves(title: string, direction: Direction): ReadonlyMap<string, Point> {
  try {
    const read: unknown = JSON.parse(localStorage.getItem(keyOf(title, direction)) ?? "[]");
    return new Map(Array.isArray(read) ? read.filter(isMove).map(([id, x, y]) => [id, { x, y }]) : []);
  } catch {
    return new Map();
  }
}

export function keepMoves(title: string, direction: Direction, moved: ReadonlyMap<string, Point>): void {
  try {
    if (moved.size === 0) localStorage.removeItem(keyOf(title, direction));
    else localStorage.setItem(keyOf(title, direction), JSON.stringify([...moved].map(([id, { x, y }]) => [id, x, y])));
  } catch {
    // A browser that keeps nothing: the places hold until the page is closed.
  }
}

function isMove(entry: unknown): entry is [string, number, number] {
  return Array.isArray(entry) && typeof entry[0] === "string" && isPlace(entry[1]) && isPlace(entry[2]);
}

/** Far beyond any map: what is further out would never be found again. */
const FURTHEST = 1e5;

function isPlace(value: unknown): boolean {
  return typeof value === "number" && value >= 0 && value < FURTHEST;
}
