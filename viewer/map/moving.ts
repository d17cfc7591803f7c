/** Devices moved by hand: dragged, or in steps by key and button. */
import { drag, select } from "d3";
import type { Direction, Place, Point } from "../../sim/map/layout.ts";
import { keepMoves, keptMoves } from "./kept-moves.ts";
import type { Heading } from "./walk.ts";

interface MovingRequest {
  /** Of the scenario: places are kept by it. */
  readonly title: string;
  placeOf(id: string): Place | undefined;
  /** In whose coordinates places are. */
  container(): SVGGElement;
  /** Lays the map out anew. */
  arrange(): void;
  /** Which device was moved; null: all are back. */
  say(id: string | null): void;
}

export interface Moving {
  moved(): ReadonlyMap<string, Point>;
  /** A map in another direction has places of its own. */
  turn(direction: Direction): void;
  step(id: string, heading: Heading): void;
  putBack(): void;
  makeDraggable(id: string, element: SVGGElement): void;
}

const STEP = 24;

export function mapMoving({ title, placeOf, container, arrange, say }: MovingRequest): Moving {
  let direction: Direction = "across";
  let moved = keptMoves(title, direction);
  const moveTo = (id: string, to: Point) => {
    // What was moved before keeps its place, and this one goes round it.
    moved = new Map([...moved, [id, to]]);
    arrange();
  };
  /** What had to go round another stays where it came to stand. */
  const settle = (id: string) => {
    const place = placeOf(id);
    if (place !== undefined) moved = new Map([...moved, [id, { x: place.x, y: place.y }]]);
    keepMoves(title, direction, moved);
    say(id);
  };
  return {
    moved: () => moved,
    turn(next) {
      direction = next;
      moved = keptMoves(title, direction);
    },
    step(id, heading) {
      const place = placeOf(id);
      if (place === undefined) return;
      const { x, y } = place;
      moveTo(id, {
        x: x + (heading === "left" ? -STEP : heading === "right" ? STEP : 0),
        y: y + (heading === "up" ? -STEP : heading === "down" ? STEP : 0),
      });
      settle(id);
    },
    putBack() {
      moved = new Map();
      keepMoves(title, direction, moved);
      arrange();
      say(null);
    },
    makeDraggable(id, element) {
      let isMoved = false;
      // A finger scrolls the page; it moves devices by the buttons.
      const behaviour = drag<SVGGElement, unknown>()
        .touchable(false)
        .clickDistance(4)
        .container(container)
        .subject(() => placeOf(id) ?? { x: 0, y: 0 })
        .on("start", () => {
          isMoved = false;
        })
        .on("drag", (event: { readonly x: number; readonly y: number }) => {
          isMoved = true;
          moveTo(id, { x: event.x, y: event.y });
        })
        .on("end", () => {
          if (isMoved) settle(id);
        });
      select(element).call(behaviour);
    },
  };
}
