/**
 * The old leader leads again by itself as soon as it is back: its followers go back to it without being told. What an
 * election gives back no follower can hold up, so those on a network are a finding of their own.
 */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import type { ClockGraph } from "../clock-graph.ts";
import { clockGraph, leadsOnOwnClock, meantToLead, rigParts } from "../clock-graph.ts";
import { capital, duration } from "../tell/words.ts";
import { mid, names } from "./finding.ts";

export function leaderRetakes(plan: Plan): readonly Finding[] {
  return rigParts(plan).flatMap((part): Finding[] => {
    const leader = meantToLead(plan, part);
    if (leader === null || !leadsOnOwnClock(plan, leader)) return [];
    const [now, without] = [clockGraph(plan), clockGraph(plan, leader)];
    const others = part.filter((id) => id !== leader).sort();
    const elected = others.filter((id) => isGivenBack(plan, now, without, id, leader));
    const back = others.filter((id) => !elected.includes(id) && goesBack(plan, now, without, id, leader));
    const found = elected.length === 0 ? [] : [givenBack(plan, leader, elected)];
    if (back.length === 0) return found;
    const waits = back.map((id) => deviceOf(plan, id).waitToRestoreSeconds);
    const [least, most] = [Math.min(...waits), Math.max(...waits)];
    const when = most === 0 ? "at once" : least === most ? `after ${duration(most)}` : `after up to ${duration(most)}`;
    const isOne = back.length === 1;
    return [
      ...found,
      {
        rule: "leader-retakes",
        severity: "advice",
        devices: [leader, ...back],
        links: [],
        path: ["devices", back[0]!, "revertive"],
        what: `When ${mid(plan, leader)} is back after a failure, ${names(plan, back)} ${isOne ? "goes" : "go"} back to its clock by ${isOne ? "itself" : "themselves"} (revertive), ${when}.`,
        why: "The return is a second fault, at a moment nobody has chosen. Staying until told is not enough by itself: the old leader comes back on its own clock, and what passes through it clicks.",
        see: "A second dropout on the return, in the middle of whatever is played then.",
        remedy: `${capital(names(plan, back))}: stay until told; and have ${mid(plan, leader)} come back as a follower, or let a device lead that nobody restarts. Give the clock back in a break, ears out, outputs down.`,
      },
    ];
  });
}

function givenBack(plan: Plan, leader: string, followers: readonly string[]): Finding {
  return {
    rule: "leader-retakes",
    severity: "advice",
    devices: [leader, ...followers],
    links: [],
    path: ["devices", leader, "ptp"],
    what: `When ${mid(plan, leader)} is back after a failure, the election gives it the lead again, and ${names(plan, followers)} ${followers.length === 1 ? "goes" : "go"} back to its clock at once.`,
    why: "The return is a second fault, at a moment nobody has chosen, and no setting of a follower holds an election up.",
    see: "A second dropout on the return, in the middle of whatever is played then.",
    remedy: `Have ${mid(plan, leader)} come back with a higher priority1, the number that the lowest wins by, or let a device lead that nobody restarts. Give the lead back in a break, ears out, outputs down.`,
  };
}

/** By an election it has the leader's time now and somebody else's meanwhile, who is meant to lead as well. */
function isGivenBack(plan: Plan, now: ClockGraph, without: ClockGraph, id: string, leader: string): boolean {
  const used = now.used(id);
  if (used === null || used.heard.kind !== "device" || used.heard.network === null) return false;
  const meanwhile = without.used(id);
  if (now.trace(used).ends !== leader || meanwhile === null || meanwhile.source !== used.source) return false;
  const whose = without.trace(meanwhile).ends;
  return whose !== null && plan.leaders.includes(whose);
}

/** On the leader's clock now, on that of the next in line while it is away, and back to it without being told. */
function goesBack(plan: Plan, now: ClockGraph, without: ClockGraph, id: string, leader: string): boolean {
  const used = now.used(id);
  if (!deviceOf(plan, id).revertive || used === null || used.heard.kind !== "device") return false;
  if (now.trace(used).ends !== leader) return false;
  const meanwhile = without.used(id);
  if (meanwhile === null || meanwhile.source === used.source) return false;
  const whose = meanwhile.heard.kind === "own" ? id : without.trace(meanwhile).ends;
  return whose !== null && plan.leaders.includes(whose);
}
