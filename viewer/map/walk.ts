/** Where an arrow key leads on the map. Pure: places and lines in, a key out. */
import type { Point } from "../../sim/map/layout.ts";

export type Heading = "left" | "right" | "up" | "down";

const STEPS: Readonly<Record<Heading, Point>> = {
  left: { x: -1, y: 0 },
  right: { x: 1, y: 0 },
  up: { x: 0, y: -1 },
  down: { x: 0, y: 1 },
};

/** What is off the heading by more than this does not lie in it: cos 66°. */
const LEAST_COSINE = 0.4;

export interface Target extends Point {
  readonly key: string;
}

/** The nearest in a direction, what lies straight ahead first; among equals the first. Null: there is none. */
export function nearestIn(heading: Heading, from: Point, targets: readonly Target[]): string | null {
  const step = STEPS[heading];
  let best: { readonly key: string; readonly cost: number } | null = null;
  for (const { key, x, y } of targets) {
    const [dx, dy] = [x - from.x, y - from.y];
    const far = Math.hypot(dx, dy);
    if (far === 0) continue;
    const cosine = (dx * step.x + dy * step.y) / far;
    if (cosine < LEAST_COSINE) continue;
    const cost = far / (cosine * cosine);
    if (best === null || cost < best.cost - 1e-9) best = { key, cost };
  }
  return best?.key ?? null;
}

export interface Walkable {
  readonly devices: ReadonlyMap<string, Point>;
  readonly wires: readonly { readonly key: string; readonly a: string; readonly b: string; readonly middle: Point }[];
}

/**
 * From a device on to one of its lines, if one leads that way, else to the next device there; from a line to the device
 * at its end, or to the line beside it.
 */
export function walked({ devices, wires }: Walkable, from: string, heading: Heading): string | null {
  const here = devices.get(from);
  if (here !== undefined) {
    const own = wires.filter(({ a, b }) => a === from || b === from);
    const ends = own.flatMap(({ key, a, b }) => {
      const other = devices.get(a === from ? b : a);
      return other === undefined ? [] : [{ key, ...other }];
    });
    const others = [...devices].filter(([id]) => id !== from).map(([key, { x, y }]) => ({ key, x, y }));
    return nearestIn(heading, here, ends) ?? nearestIn(heading, here, others);
  }
  const wire = wires.find(({ key }) => key === from);
  if (wire === undefined) return null;
  const { a, b, middle } = wire;
  const ends = [a, b].flatMap((key) => {
    const place = devices.get(key);
    return place === undefined ? [] : [{ key, x: place.x, y: place.y }];
  });
  const [one, other] = [ends[0], ends[1]];
  const step = STEPS[heading];
  const along =
    one === undefined || other === undefined ? 0 : Math.abs((other.x - one.x) * step.x + (other.y - one.y) * step.y);
  const aside =
    one === undefined || other === undefined ? 0 : Math.abs((other.x - one.x) * step.y + (other.y - one.y) * step.x);
  const beside = wires
    .filter(({ key, ...each }) => key !== from && [each.a, each.b].some((id) => id === a || id === b))
    .map(({ key, middle }) => ({ key, x: middle.x, y: middle.y }));
  const first = along >= aside ? ends : beside;
  return nearestIn(heading, middle, first) ?? nearestIn(heading, middle, first === ends ? beside : ends);
}
