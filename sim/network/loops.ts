/** Cables between bridges: all of them, and those that lie in a loop. */
import type { LinkPlan } from "../../shared/plan.ts";
import type { Site, Sites } from "./sites.ts";

/** A cable of a network, with what is at its ends. */
export interface JoinedCable {
  readonly link: LinkPlan;
  readonly a: Site;
  readonly b: Site;
}

export function bridgeCables({ cables, siteOf }: Sites): readonly JoinedCable[] {
  return cables.flatMap(({ link }): JoinedCable[] => {
    const [a, b] = [siteOf(link.a.device, link.a.port), siteOf(link.b.device, link.b.port)];
    return a?.isBridge === true && b?.isBridge === true && a !== b ? [{ link, a, b }] : [];
  });
}

/** Those without which their two ends still find each other. */
export function loopedCables(sites: Sites, counts: (link: LinkPlan) => boolean): readonly JoinedCable[] {
  const between = bridgeCables(sites).filter(({ link }) => counts(link));
  const isOver = islandsOf(between);
  const whole = new Set(between.map(({ link }) => link.id));
  return between.filter(({ link, a, b }) => {
    whole.delete(link.id);
    const isLooped = isOver(a, whole).has(b);
    whole.add(link.id);
    return isLooped;
  });
}

/** What can be reached from a bridge over some of these cables. */
export function islandsOf(cables: readonly JoinedCable[]): (from: Site, over: ReadonlySet<string>) => Set<Site> {
  const neighbours = new Map<Site, { readonly site: Site; readonly cable: string }[]>();
  const add = (from: Site, site: Site, cable: string): void => {
    const there = neighbours.get(from);
    if (there === undefined) neighbours.set(from, [{ site, cable }]);
    else there.push({ site, cable });
  };
  for (const { link, a, b } of cables) {
    add(a, b, link.id);
    add(b, a, link.id);
  }
  return (from, over) => {
    const seen = new Set([from]);
    for (const at of seen) for (const { site, cable } of neighbours.get(at) ?? []) if (over.has(cable)) seen.add(site);
    return seen;
  };
}
