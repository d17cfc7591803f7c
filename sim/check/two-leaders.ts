/**
 * More than one device of a connected rig runs on its own clock by first choice. One that hears somebody and is not
 * meant to lead is not counted: it is a follower that was left on internal, a finding of its own.
 */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { meantToLead, portTowards, rigParts, runsOnOwnClock } from "../clock-graph.ts";
import { capital, listed } from "../tell/words.ts";
import { inputsToConvert } from "./converted-ends.ts";
import { mid, names } from "./finding.ts";
import { isLeftOnInternal } from "./left-on-internal.ts";

/** More ports than this are no remedy that anybody reads. */
const PORTS_MAX = 3;

export function twoLeaders(plan: Plan): readonly Finding[] {
  return rigParts(plan).flatMap((part): Finding[] => {
    const own = part.filter((id) => runsOnOwnClock(deviceOf(plan, id)) && !isLeftOnInternal(plan, part, id));
    if (own.length < 2) return [];
    const leader = meantToLead(plan, part);
    const others = own.filter((id) => id !== leader);
    return [
      {
        rule: "two-leaders",
        severity: "error",
        devices: own,
        links: [],
        path: ["devices", others[0]!, "clockSources"],
        what: `${capital(names(plan, own))} are joined, and each runs on its own clock by first choice.`,
        why: "No two clocks run at the same speed: wherever audio passes from one to the other, samples are lost or doubled.",
        see: "Clicks at regular intervals on whatever crosses from one to the other; lock lamps may be lit on both.",
        remedy:
          leader === null
            ? `Name one of them in "leaders"; let the others listen to a port through which it is heard, with "internal" after it.`
            : joinThem(plan, leader, others),
      },
    ];
  });
}

function joinThem(plan: Plan, leader: string, others: readonly string[]): string {
  const listen = `listen to a port through which ${mid(plan, leader)} is heard, with "internal" after it`;
  const inputs = others.flatMap((id) => (portTowards(plan, id, leader) === null ? inputsToConvert(plan, id) : []));
  const ports = [...new Set(inputs.map(({ device, port }) => `port ${port} of ${mid(plan, device)}`))];
  if (ports.length === 0 || ports.length > PORTS_MAX) return `${capital(names(plan, others))}: ${listen}.`;
  return `${capital(names(plan, others))}: ${listen}. Where no cable brings it there, lay one, or put a sample-rate converter at ${listed(ports)}.`;
}
