/**
 * What is accepted of the plan check, in the scenario and in its rig: the devices and links that an entry names must be
 * there. In the order of the draft, so that a place in the plan's list is one in the draft's.
 */
import type { AcceptedPlan } from "./plan.ts";
import type { Draft, Report, Unknown } from "./scenario-draft.ts";
import { idsOf } from "./scenario-draft.ts";

export function resolveAccepted(draft: Draft, report: Report, unknown: Unknown): AcceptedPlan[] {
  const known = { devices: idsOf(draft.devices), links: idsOf(draft.links) };
  return draft.accepted.flatMap((item) => {
    if (item.value === null) return [];
    const { rule, devices = null, links = null, reason } = item.value;
    for (const [key, kind, ids] of [
      ["devices", "device", devices],
      ["links", "link", links],
    ] as const) {
      ids?.forEach((id, index) => {
        if (!known[key].includes(id))
          report(item, [key, index], { expected: `the id of a ${kind}`, remedy: unknown(id, known[key], kind) });
      });
    }
    return [{ rule, devices, links, reason }];
  });
}
