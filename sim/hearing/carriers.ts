/** Which link carries a hop of a feed at any instant, with standby spares that take over and give back. */
import type { HopPlan, Plan, SparePlan } from "../../shared/plan.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER, nsFromSeconds, ZERO } from "../../shared/time.ts";
import type { Looks, Timeline } from "../timeline.ts";
import { valueAt } from "../timeline.ts";

export interface Carrier {
  readonly link: string;
  readonly way: "there" | "back";
}

/** Which link carries a hop: null while a standby spare is being switched to. */
export function carrierLine(plan: Plan, hop: HopPlan, looks: Looks): Timeline<Carrier | null> {
  const first = hop.over[0] as Carrier;
  const spare = plan.spares.find((each) => each.id === hop.spare);
  if (spare === undefined || hop.over.length < 2) return { changes: [{ atNs: ZERO, value: first }] };
  return switchLine(hop.over, spare, looks);
}

/**
 * A standby spare: after the loss of the link in use is noticed and `switchSeconds` more, the first other link that is
 * up carries; back to a better one `waitToRestoreSeconds` and `switchSeconds` after it is up, if it goes back by itself.
 */
function switchLine(over: readonly Carrier[], spare: SparePlan, looks: Looks): Timeline<Carrier | null> {
  const lines = over.map((carrier) => looks.links.get(`${carrier.link} ${carrier.way}`));
  const isUp = (index: number, at: Ns): boolean => {
    const line = lines[index];
    const look = line === undefined ? undefined : valueAt(line, at);
    // Until a break is noticed, the link counts as there.
    return look !== undefined && (look.state === "up" || (look.state === "down" && !look.noticed));
  };
  const instants = [
    ...new Set(
      lines.flatMap((line) => (line === undefined ? [] : line.changes.map((change) => change.atNs as number))),
    ),
  ];
  const switchNs = nsFromSeconds(spare.switchSeconds);
  const backNs = later(switchNs, nsFromSeconds(spare.waitToRestoreSeconds));
  let current = Math.max(
    over.findIndex((_, index) => isUp(index, ZERO)),
    0,
  );
  const changes: { atNs: Ns; value: Carrier | null }[] = [{ atNs: ZERO, value: over[current] as Carrier }];
  const upSince = over.map(() => ZERO as Ns);
  let target: { readonly index: number; readonly atNs: Ns } | null = null;
  const queue = instants.sort((a, b) => a - b);
  let head = 0;
  for (;;) {
    const nextChange = (queue[head] as Ns | undefined) ?? NEVER;
    const nextSwitch = target?.atNs ?? NEVER;
    if (nextChange === NEVER && nextSwitch === NEVER) break;
    const at = nextChange <= nextSwitch ? nextChange : nextSwitch;
    if (at === nextChange) {
      head += 1;
      for (const index of over.keys())
        if (isUp(index, at) && !(at > ZERO && isUp(index, (at - 1) as Ns))) upSince[index] = at;
    }
    if (target !== null && target.atNs <= at && isUp(target.index, at)) {
      current = target.index;
      changes.push({ atNs: at, value: over[current] as Carrier });
      target = null;
    }
    target = wantedSwitch(over.length, current, target, at, isUp, upSince, spare.revertive, switchNs, backNs);
  }
  return { changes };
}

function wantedSwitch(
  count: number,
  current: number,
  pending: { readonly index: number; readonly atNs: Ns } | null,
  at: Ns,
  isUp: (index: number, at: Ns) => boolean,
  upSince: readonly Ns[],
  isRevertive: boolean,
  switchNs: Ns,
  backNs: Ns,
): { readonly index: number; readonly atNs: Ns } | null {
  const best = [...Array(count).keys()].find((index) => isUp(index, at));
  if (best === undefined || best === current) return null;
  if (!isUp(current, at)) {
    if (pending !== null && pending.index === best) return pending;
    const from = (upSince[best] as Ns) > at ? (upSince[best] as Ns) : at;
    return { index: best, atNs: later(from, switchNs) };
  }
  if (!isRevertive || best > current) return null;
  if (pending !== null && pending.index === best) return pending;
  return { index: best, atNs: later(upSince[best] as Ns, backNs) };
}
