/** Which link carries a hop of a feed at any instant: spares take over and give back, each mode by its own rule. */
import type { HopPlan, LinkPlan, Plan, SparePlan } from "../../shared/plan.ts";
import type { Ns } from "../../shared/time.ts";
import { later, NEVER, nsFromSeconds, ZERO } from "../../shared/time.ts";
import { linkOf, spareById } from "../by-id.ts";
import { isMerged, skewSeconds } from "../latency.ts";
import type { Looks, Timeline } from "../timeline.ts";
import { valueAt } from "../timeline.ts";

export interface Carrier {
  readonly link: string;
  readonly way: "there" | "back";
}

/** The link that a hop is heard over; while another is being switched to, the one that was lost. */
export function carrierLine(plan: Plan, hop: HopPlan, looks: Looks): Timeline<Carrier> {
  const first = hop.over[0] as Carrier;
  const spare = spareById(plan, hop.spare);
  if (spare === undefined || hop.over.length < 2) return { changes: [{ atNs: ZERO, value: first }] };
  return switchLine(
    hop.over,
    spare.mode === "duplicate" ? merging(plan, hop, spare, looks) : switching(hop, spare, looks),
  );
}

/** How a group changes from one of its links, by their places, to another. */
interface Rule {
  /** Instants at which a link may become usable, or cease to be. */
  readonly instants: readonly Ns[];
  isUsable(place: number, at: Ns): boolean;
  /** When the other carries: the one in use is lost since `lostNs`, and `nowNs` is the first instant at which both hold. */
  takesOver(from: number, to: number, lostNs: Ns, nowNs: Ns): Ns;
  /** How long a better link must be usable before the group goes back to it; null: it never does by itself. */
  readonly backNs: Ns | null;
}

/**
 * Standby and by hand: after the loss of the link in use is noticed and `switchSeconds` more, the first other link that
 * is up carries; back to a better one `waitToRestoreSeconds` and `switchSeconds` after it is up, if it goes back by itself.
 */
function switching({ over }: HopPlan, spare: SparePlan, looks: Looks): Rule {
  const lines = over.map((carrier) => looks.links.get(keyOf(carrier)));
  const switchNs = nsFromSeconds(spare.switchSeconds);
  return {
    instants: lines.flatMap((line) => line?.changes.map(({ atNs }) => atNs) ?? []),
    isUsable(place, at) {
      const line = lines[place];
      const look = line === undefined ? undefined : valueAt(line, at);
      // Until a break is noticed, the link counts as there.
      return look !== undefined && (look.state === "up" || (look.state === "down" && !look.noticed));
    },
    takesOver: (_from, _to, _lost, now) => later(now, switchNs),
    backNs: spare.revertive ? later(switchNs, nsFromSeconds(spare.waitToRestoreSeconds)) : null,
  };
}

/**
 * Duplicates: the receiver has what all links bring, so nothing has to be noticed. Inside its window it has held the
 * earlier ones back for the latest, and goes on from any other at once. Outside, it is in time with one link alone: what
 * another brings is too late or too early by their difference, and for so long there is a gap. It stays where it is as
 * long as that carries.
 */
function merging(plan: Plan, { over }: HopPlan, spare: SparePlan, looks: Looks): Rule {
  const lines = over.map((carrier) => ({
    link: looks.links.get(keyOf(carrier)),
    input: looks.inputs.get(keyOf(carrier)),
  }));
  const links = over.map(({ link }) => linkOf(plan, link));
  return {
    instants: lines.flatMap(({ link, input }) =>
      [...(link?.changes ?? []), ...(input?.changes ?? [])].map(({ atNs }) => atNs),
    ),
    isUsable(place, at) {
      const { link, input } = lines[place] as (typeof lines)[number];
      if (link === undefined || valueAt(link, at)?.state !== "up") return false;
      return input === undefined || valueAt(input, at)?.decodes !== false;
    },
    takesOver(from, to, lost, now) {
      const [one, other] = [links[from] as LinkPlan, links[to] as LinkPlan];
      if (isMerged(plan, spare, one, other)) return now;
      const inTime = later(lost, nsFromSeconds(skewSeconds(plan, one, other)));
      return inTime > now ? inTime : now;
    },
    backNs: null,
  };
}

function keyOf({ link, way }: Carrier): string {
  return `${link} ${way}`;
}

interface Switch {
  readonly place: number;
  readonly atNs: Ns;
}

function switchLine(over: readonly Carrier[], rule: Rule): Timeline<Carrier> {
  const queue = [...new Set(rule.instants)].sort((a, b) => a - b);
  let current = Math.max(
    over.findIndex((_, place) => rule.isUsable(place, ZERO)),
    0,
  );
  const changes: { atNs: Ns; value: Carrier }[] = [{ atNs: ZERO, value: over[current] as Carrier }];
  const usableSince = over.map(() => ZERO as Ns);
  const lostSince = over.map(() => ZERO as Ns);
  let target: Switch | null = null;
  let head = 0;
  for (;;) {
    const nextChange = queue[head] ?? NEVER;
    const nextSwitch = target?.atNs ?? NEVER;
    if (nextChange === NEVER && nextSwitch === NEVER) break;
    const at = nextChange <= nextSwitch ? nextChange : nextSwitch;
    if (at === nextChange) {
      head += 1;
      for (const place of over.keys()) {
        const was = at > ZERO && rule.isUsable(place, (at - 1) as Ns);
        const is = rule.isUsable(place, at);
        if (is && !was) usableSince[place] = at;
        if (was && !is) lostSince[place] = at;
      }
    }
    if (target !== null && target.atNs <= at && rule.isUsable(target.place, at)) {
      current = target.place;
      changes.push({ atNs: at, value: over[current] as Carrier });
      target = null;
    }
    target = wantedSwitch(over.length, current, target, at, rule, usableSince, lostSince);
  }
  return { changes };
}

function wantedSwitch(
  count: number,
  current: number,
  pending: Switch | null,
  at: Ns,
  rule: Rule,
  usableSince: readonly Ns[],
  lostSince: readonly Ns[],
): Switch | null {
  const best = [...Array(count).keys()].find((place) => rule.isUsable(place, at));
  if (best === undefined || best === current) return null;
  if (!rule.isUsable(current, at)) {
    if (pending !== null && pending.place === best) return pending;
    return { place: best, atNs: rule.takesOver(current, best, lostSince[current] as Ns, at) };
  }
  if (rule.backNs === null || best > current) return null;
  if (pending !== null && pending.place === best) return pending;
  return { place: best, atNs: later(usableSince[best] as Ns, rule.backNs) };
}
