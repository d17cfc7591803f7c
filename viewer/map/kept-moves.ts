/** What a person has moved on the map, kept on this machine by the title of the scenario. */
import type { Direction, Point } from "../../sim/map/layout.ts";

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
