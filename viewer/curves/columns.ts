/**
 * From vertices to what a screen can show: in each pixel column the first, the least, the greatest and the last, in the
 * order of time. So a line through them covers the same pixels as one through all (Jugel and others, "M4: a
 * visualization-oriented time series data aggregation", 2014), and no extreme is lost.
 */
import type { Point } from "../slips.ts";

export interface Sink {
  /** In order of time. */
  point(x: number, y: number): void;
  /** What follows is not joined to what was. */
  gap(): void;
}

export interface Columns extends Sink {
  /** All that was told, for a line chart: NaN is a gap. */
  finish(): Point[];
}

/** Places in what is known of the present column. */
const [FIRST, LOW, HIGH, LAST] = [0, 2, 4, 6];

export function columnsSink(fromSeconds: number, toSeconds: number, columns: number): Columns {
  const points: Point[] = [];
  const perSecond = columns / (toSeconds - fromSeconds);
  // x and y of each, in one array: variables of a closure would be made anew at every point.
  const now = new Float64Array(8);
  let column = -1;
  let count = 0;
  const put = (place: number) => points.push({ x: now[place] as number, y: now[place + 1] as number });
  const is = (one: number, other: number) => now[one] === now[other] && now[one + 1] === now[other + 1];
  const set = (place: number, x: number, y: number) => {
    now[place] = x;
    now[place + 1] = y;
  };
  const flush = () => {
    if (count === 0) return;
    put(FIRST);
    const isLowFirst = (now[LOW] as number) <= (now[HIGH] as number);
    for (const place of isLowFirst ? [LOW, HIGH] : [HIGH, LOW]) if (!is(place, FIRST) && !is(place, LAST)) put(place);
    if (count > 1) put(LAST);
    count = 0;
  };
  return {
    point(x, y) {
      const own = Math.floor((x - fromSeconds) * perSecond);
      if (own !== column || count === 0) {
        flush();
        column = own;
        set(FIRST, x, y);
        set(LOW, x, y);
        set(HIGH, x, y);
      } else if (y < (now[LOW + 1] as number)) set(LOW, x, y);
      else if (y > (now[HIGH + 1] as number)) set(HIGH, x, y);
      set(LAST, x, y);
      count += 1;
    },
    gap() {
      flush();
      points.push({ x: now[LAST] as number, y: Number.NaN });
    },
    finish() {
      flush();
      return points;
    },
  };
}
