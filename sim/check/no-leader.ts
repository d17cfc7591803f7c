/** Nobody leads a part of the rig, the plan does not say who does, or whom it names listens to somebody else first. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { leadsOnOwnClock, rigParts } from "../clock-graph.ts";
import { source } from "../tell/words.ts";
import { head, names } from "./finding.ts";

const RULE = "no-leader";

export function noLeader(plan: Plan): readonly Finding[] {
  return rigParts(plan)
    .filter((part) => part.length > 1)
    .flatMap((part) => {
      const named = plan.leaders.find((id) => part.includes(id));
      const own = part.filter((id) => leadsOnOwnClock(plan, id));
      if (named === undefined) return [own.length === 0 ? nobody(plan, part) : unnamed(plan, own)];
      if (leadsOnOwnClock(plan, named)) return [];
      return [listensFirst(plan, named, own)];
    });
}

function nobody(plan: Plan, part: readonly string[]): Finding {
  return {
    rule: RULE,
    severity: "error",
    devices: part,
    links: [],
    path: ["leaders"],
    what: `Nobody leads ${names(plan, part)}: the plan names no leader and no device runs on its own clock by choice.`,
    why: "Every follower needs a clock that leads back to one device on its own clock.",
    see: "Each device waits for another; they end on their own clocks and click against one another.",
    remedy: `Name one device in "leaders" and put "internal" first in its clock sources.`,
  };
}

function unnamed(plan: Plan, own: readonly string[]): Finding {
  return {
    rule: RULE,
    severity: "warning",
    devices: own,
    links: [],
    path: ["leaders"],
    what: `The plan does not say who leads; ${names(plan, own)} ${own.length === 1 ? "runs on its own clock" : "run on their own clocks"}.`,
    why: "Who leads, and who is next, is a decision of the plan; without it nothing can be compared with the settings.",
    see: "Nothing, until somebody has to decide who leads in the middle of a show.",
    remedy: `Write who leads, then who is next, in "leaders".`,
  };
}

function listensFirst(plan: Plan, leader: string, own: readonly string[]): Finding {
  const first = deviceOf(plan, leader).clockSources[0];
  const others = own.length === 0 ? "nobody" : names(plan, own);
  return {
    rule: RULE,
    severity: "error",
    devices: [leader],
    links: [],
    path: ["devices", leader, "clockSources"],
    what: `${head(plan, leader)} is meant to lead, but listens ${first === undefined ? "to nothing" : `to ${source(first)} first`}; ${others} ${own.length > 1 ? "run on their own clocks" : "runs on its own clock"} by choice.`,
    why: "A leader runs on its own clock; one that listens to a port passes on somebody else's clock, or its own tail.",
    see:
      own.length === 0
        ? "Lock lamps may be lit everywhere while the whole rig wanders off together, or clicks."
        : "The rig follows a device that nobody chose, and goes when that one goes.",
    remedy: `${head(plan, leader)}: put "internal" first in its clock sources, or name another leader.`,
  };
}
