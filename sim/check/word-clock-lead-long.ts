/** Long word-clock leads. One finding for all of them. */
import type { Finding } from "../../shared/finding.ts";
import { cableOf, isWholeCable } from "../../shared/lines.ts";
import { lengthMetresMax } from "../../shared/link-types.ts";
import type { Plan } from "../../shared/plan.ts";
import { cableIn, cables, capital } from "../tell/words.ts";
import { byText } from "./finding.ts";

/**
 * An online encyclopaedia says under about 15 ft (4.6 m). On a stage nobody stays under that, and a terminated 75-ohm lead
 * of some tens of metres does its work: *common practice, no source*.
 */
const METRES_MOST = 30;

export function wordClockLeadLong(plan: Plan): readonly Finding[] {
  const metresMax = lengthMetresMax("word-clock", "coax") ?? Number.POSITIVE_INFINITY;
  const long = plan.links
    .filter(isWholeCable)
    .filter(
      ({ type, lengthMetres }) => type === "word-clock" && lengthMetres > METRES_MOST && lengthMetres <= metresMax,
    )
    .sort((one, two) => byText(cableOf(one), cableOf(two)));
  const [first] = long;
  if (first === undefined) return [];
  const isOne = long.length === 1;
  const longest = Math.max(...long.map(({ lengthMetres }) => lengthMetres));
  const ids = long.map(cableOf);
  const named = capital(cables(ids, { name: (id) => cableIn(plan, id) }));
  return [
    {
      rule: "word-clock-lead-long",
      severity: "advice",
      devices: [],
      links: ids,
      path: ["links", cableOf(first), "lengthMetres"],
      what: `${named} ${isOne ? (first.line === undefined ? `is a word-clock lead of ${longest} m` : `is ${longest} m long`) : `are word-clock leads of up to ${longest} m`}.`,
      why: "A clock edge gets slower and smaller with every metre, and a long lead picks up what runs beside it.",
      see: "The lock may come and go, most of all when dimmers or motors run.",
      remedy: `${named}: 75-ohm coax, one terminator at the far end, and a look at the lock while everything runs; or take the clock out of an audio link.`,
    },
  ];
}
