/**
 * From what somebody sees or hears to what it may be. Causes stand in the order of what they do to those who listen, not
 * of how likely they are: no plan says that.
 */
import type { Plan } from "../../shared/plan.ts";
import { type Ns, nsFromSeconds } from "../../shared/time.ts";
import { feedsInOrder } from "../tell/pieces.ts";
import { counted, listener } from "../tell/words.ts";
import { valueAt } from "../timeline.ts";
import type { Fault } from "../trials/list.ts";
import { type CaseToll, isHeard, nameOf } from "../trials/rank.ts";
import { caseWords } from "../trials/words.ts";
import type { Card } from "./cards.ts";
import { justBefore, type Rehearsed, type Rehearser, sightings } from "./rehearsed.ts";
import { row, type Sheet, type SheetColumn, type SheetSection } from "./sheet.ts";
import { firstCheck, kindsFirst } from "./todo.ts";

const COLUMNS: readonly SheetColumn[] = [
  { head: "It may be", as: "text" },
  { head: "Look first", as: "text" },
  { head: "Card", as: "number" },
];

export interface Symptom {
  readonly name: string;
  /** Worst first. */
  readonly causes: readonly CaseToll[];
}

/** Of one symptom; whoever has looked at all of these looks at everything. */
const CAUSES_MOST = 6;

const LIT_BUT_CLICKS = "A lock lamp is lit, yet it clicks";
const ONE_WAY = "One way is dead, the other carries";
const LOOKS_ODD = "Nothing is heard, but a device or a cable shows another state";
const UNSEEN = "Nothing is heard and nothing is seen: found by pulling, or by the next fault";

/** @param tolls worst first */
export function symptomsOf(
  plan: Plan,
  tolls: readonly CaseToll[],
  rehearser: Rehearser,
  watchSeconds: number,
): readonly Symptom[] {
  const found = new Map<string, CaseToll[]>();
  const listeners = feedsInOrder({ plan }).map((feed) => ({ id: feed.id, head: listener(feed, plan.feeds).head }));
  for (const { head } of listeners)
    for (const what of ["silent", "clicks", "short dropout", "back at full level"]) found.set(`${head}: ${what}`, []);
  for (const name of [LIT_BUT_CLICKS, ONE_WAY, LOOKS_ODD, UNSEEN]) found.set(name, []);
  for (const toll of tolls) {
    const signs: string[] = listeners.flatMap(({ id, head }) => {
      const feed = toll.feeds.find((each) => each.feed === id);
      if (feed === undefined) return [];
      const { silentSeconds, clicks, dropouts, atFullLevel, mayBeSilent } = feed;
      return [
        ...(silentSeconds >= 1 || mayBeSilent ? ["silent"] : []),
        ...(clicks > 0 ? ["clicks"] : []),
        ...(silentSeconds < 1 && (dropouts > 0 || silentSeconds > 0) ? ["short dropout"] : []),
        ...(atFullLevel > 0 ? ["back at full level"] : []),
      ].map((what) => `${head}: ${what}`);
    });
    const rehearsed = rehearser.play(toll.faults, watchSeconds);
    const changes = [...sightings(rehearsed, rehearsed.atNs, rehearsed.endNs).values()];
    const isFree = changes.some((all) => all.slice(1).some(({ key }) => key === "free-run"));
    if (isFree && toll.feeds.some(({ clicks }) => clicks > 0)) signs.push(LIT_BUT_CLICKS);
    if (hasOneWayDead(rehearsed)) signs.push(ONE_WAY);
    if (!isHeard(toll))
      signs.push(changes.some((all) => all.length > 1) || isSeenElsewhere(rehearsed) ? LOOKS_ODD : UNSEEN);
    for (const sign of new Set(signs)) found.get(sign)?.push(toll);
  }
  return [...found].filter(([, causes]) => causes.length > 0).map(([name, causes]) => ({ name, causes }));
}

/** Beside devices that change their state: a cable goes or comes back, a surface goes dark, a device hangs. */
function isSeenElsewhere({ record, atNs }: Rehearsed): boolean {
  const seen: readonly string[] = ["link", "surface", "hung"];
  return record.rows.some((row) => row.atNs >= atNs && seen.includes(row.fact.kind));
}

/** A cable of two, one there and one back, of which one alone is down soon after the fault. */
function hasOneWayDead({ plan, looks, atNs }: Rehearsed): boolean {
  const soon = (atNs + nsFromSeconds(1)) as Ns;
  const isDown = (key: string) => {
    const line = looks.links.get(key);
    return line !== undefined && valueAt(line, soon)?.state === "down";
  };
  const was = (key: string) => {
    const line = looks.links.get(key);
    return line !== undefined && valueAt(line, justBefore(atNs))?.state === "up";
  };
  return plan.links.some(({ id, twoWay, hasReturn }) => {
    if (twoWay || !hasReturn) return false;
    const [there, back] = [`${id} there`, `${id} back`];
    return was(there) && was(back) && isDown(there) !== isDown(back);
  });
}

export function symptomsSheet(plan: Plan, symptoms: readonly Symptom[], cards: readonly Card[]): Sheet {
  const cardOf = new Map(cards.toReversed().flatMap(({ number, faults }) => faults.map((id) => [id, number] as const)));
  return {
    name: "symptoms",
    title: "By what you see or hear",
    lead: [
      "Mute first. One cause of each kind stands before a second of it, and else the worst for those who listen first: how likely they are the plan does not say.",
    ],
    columns: COLUMNS,
    sections: symptoms.map(({ name, causes }): SheetSection => {
      const more = causes.length - CAUSES_MOST;
      return {
        title: more > 0 ? `${name} (and ${counted(more, "other cause", "other causes")})` : name,
        rows: kindsFirst(causes)
          .slice(0, CAUSES_MOST)
          .map((toll) => {
            const number = cardOf.get(nameOf(toll));
            return row(COLUMNS, [
              caseWords(plan, toll.faults),
              firstCheck(plan, toll.faults[0] as Fault),
              number === undefined ? "" : String(number),
            ]);
          }),
      };
    }),
    after: symptoms.length === 0 ? ["No single fault of this rig is heard or seen."] : [],
  };
}
