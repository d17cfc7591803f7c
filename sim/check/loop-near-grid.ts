/**
 * Wander is drawn on a grid that is coarse for a follower's loop: beyond a tenth of a turn per step the straight lines
 * between the knots, and not the loop, shape what comes out. One finding for all of them.
 */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { duration } from "../tell/words.ts";
import { byText, names } from "./finding.ts";

/**
 * Turns of a loop's natural frequency per step of the grid. There ten loops lose up to a fifth of their Allan deviation to
 * the straight lines, at half as many turns a twentieth (by `sim/chain/allan.ts` against the plain integral of |∏H|²).
 */
const TURNS_MOST = 0.1;
/** The finest grid that a file may ask for. */
const GRID_SECONDS_LEAST = 0.001;

export function loopNearGrid(plan: Plan): readonly Finding[] {
  if (plan.devices.every(({ oscillator }) => oscillator.wander === null)) return [];
  const grid = plan.wanderGridSeconds;
  const fast = plan.devices
    .filter(({ clockSources }) => clockSources.some((source) => source !== "internal"))
    .filter(({ loop }) => loop.naturalFrequencyHz * grid > TURNS_MOST * (1 + 1e-9))
    .sort((one, two) => byText(one.id, two.id));
  const [first] = fast;
  if (first === undefined) return [];
  const ids = fast.map(({ id }) => id);
  const fastest = Math.max(...fast.map(({ loop }) => loop.naturalFrequencyHz));
  const needed = twoDigitsBelow(TURNS_MOST / fastest);
  const accept = `read nothing out of this run about what ${ids.length === 1 ? "this loop does" : "these loops do"} to wander`;
  return [
    {
      rule: "loop-near-grid",
      severity: "advice",
      devices: ids,
      links: [],
      path: ["devices", first.id, "loop"],
      what: `Wander is drawn every ${duration(grid)}, too coarse for the ${ids.length === 1 ? "loop" : "loops"} of ${names(plan, ids)}.`,
      why: "Between two draws a clock keeps its frequency, and a loop faster than the grid has settled by the next: what it does to faster wander is not played.",
      see: "Slow wander comes out as it is. Near the loop's own speed a chain of such loops looks calmer than it would on site.",
      remedy:
        needed >= GRID_SECONDS_LEAST
          ? `Under run, set wanderGridSeconds to ${needed} or less; or ${accept}.`
          : `No grid is fine enough for it: ${accept}.`,
    },
  ];
}

/** Rounded down to two figures, so that what is asked for is enough. */
function twoDigitsBelow(value: number): number {
  let unit = 1;
  while (unit > value / 10) unit /= 10;
  while (unit * 100 <= value) unit *= 10;
  return Number((Math.floor(value / unit + 1e-9) * unit).toPrecision(2));
}
