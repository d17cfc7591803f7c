/** What a person has moved stays where it was put; the others make room. */
import { MARGIN, type Place, type Point } from "./layout.ts";

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
