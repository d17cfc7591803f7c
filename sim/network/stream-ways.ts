/** By which cables and bridges the streams of a plan go: at rest, and when one cable or one bridge between them is lost. */
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import type { Standing } from "./flood.ts";
import { portsTowards } from "./flood.ts";
import { loopedCables } from "./loops.ts";
import type { CableWay, Gone } from "./meant.ts";
import { sitesMeant, standingMeant } from "./meant.ts";
import type { Site, Sites } from "./sites.ts";

export interface StreamWay {
  /** From the sender on. */
  readonly cables: readonly CableWay[];
  /** That packets pass through: the sender and the receiver as well, where they pass packets on themselves. */
  readonly bridges: readonly Site[];
}

export interface StreamWays {
  /** A cable or a device; null: nothing is. */
  readonly lost: { readonly kind: "cable" | "device"; readonly id: string } | null;
  /** By stream; those that do not arrive have none. */
  readonly ways: ReadonlyMap<string, StreamWay>;
}

const known = new WeakMap<Plan, readonly StreamWays[]>();

/** At rest first; then by what is lost, of that alone which leaves packets another way. */
export function streamWays(plan: Plan): readonly StreamWays[] {
  const there = known.get(plan);
  if (there !== undefined) return there;
  const streams = plan.links.filter(({ stream }) => stream !== undefined);
  const made = streams.length === 0 ? [] : makeWays(plan, streams);
  known.set(plan, made);
  return made;
}

function makeWays(plan: Plan, streams: readonly LinkPlan[]): readonly StreamWays[] {
  const atRest = waysWithout(plan, streams, null);
  const lost = inLoops(sitesMeant(plan));
  const networks = new Map((plan.networks ?? []).map(({ id, recovery }) => [id, recovery]));
  const used = new Set<string>();
  for (const { cables, bridges } of atRest.ways.values()) {
    for (const { link } of cables) used.add(`cable ${link.id}`);
    for (const { device } of bridges) used.add(`device ${device.id}`);
  }
  const isMissed = ({ kind, id, network }: Lost) => used.has(`${kind} ${id}`) && networks.get(network) !== "none";
  return [atRest, ...lost.filter(isMissed).map(({ kind, id }) => waysWithout(plan, streams, { kind, id }))];
}

interface Lost {
  readonly kind: "cable" | "device";
  readonly id: string;
  readonly network: string;
}

/** Cables between bridges that lie in a loop, and the bridges at their ends. */
function inLoops(sites: Sites): readonly Lost[] {
  const looped = loopedCables(sites, () => true);
  const bridges = [...new Set(looped.flatMap(({ a, b }) => [a, b]))];
  return [
    ...looped.map(({ link, a }): Lost => ({ kind: "cable", id: link.id, network: a.network.id })),
    ...bridges.map(({ device, network }): Lost => ({ kind: "device", id: device.id, network: network.id })),
  ];
}

function waysWithout(plan: Plan, streams: readonly LinkPlan[], lost: StreamWays["lost"]): StreamWays {
  const gone: Gone = lost === null ? {} : { [lost.kind]: lost.id };
  const standing = standingMeant(plan, gone);
  const cableAt = new Map<string, CableWay>();
  for (const { link } of standing.sites.cables) {
    cableAt.set(`${link.a.device}.${link.a.port}`, { link, way: "there" });
    cableAt.set(`${link.b.device}.${link.b.port}`, { link, way: "back" });
  }
  const ways = new Map<string, StreamWay>();
  for (const { id, a, b } of streams) {
    const [one, other] = [standing.sites.siteOf(a.device, a.port), standing.sites.siteOf(b.device, b.port)];
    if (one === undefined || other === undefined) continue;
    const way = wayTo(stepsTowards(standing, one, other, cableAt), one, other);
    if (way !== null) ways.set(id, way);
  }
  return { lost, ways };
}

interface Step {
  readonly from: Site;
  readonly cable: CableWay;
}

/** Of each site that packets of one pass, and of the one they are for: the last cable on the way. */
function stepsTowards(
  standing: Standing,
  from: Site,
  to: Site,
  cableAt: ReadonlyMap<string, CableWay>,
): ReadonlyMap<Site, Step> {
  const { sites, across, forwards } = standing;
  const passes = (site: Site, port: number): boolean => !site.isBridge || forwards(site, port);
  const steps = new Map<Site, Step>();
  const open: Site[] = [from];
  for (const site of open) {
    for (const port of site.isBridge ? portsTowards(standing, site, to) : site.ports) {
      const there = across.get(`${site.device.id}.${port}`);
      const other = there === undefined ? undefined : sites.siteOf(there.device, there.port);
      if (there === undefined || other === undefined || other === from || steps.has(other)) continue;
      if (other.network.id !== site.network.id || !passes(site, port) || !passes(other, there.port)) continue;
      steps.set(other, { from: site, cable: cableAt.get(`${site.device.id}.${port}`) as CableWay });
      if (other.isBridge) open.push(other);
    }
  }
  return steps;
}

function wayTo(steps: ReadonlyMap<Site, Step>, from: Site, to: Site): StreamWay | null {
  const cables: CableWay[] = [];
  const passed: Site[] = [to];
  for (let at = to; at !== from; ) {
    const step = steps.get(at);
    if (step === undefined) return null;
    cables.unshift(step.cable);
    passed.unshift(step.from);
    at = step.from;
  }
  return { cables, bridges: passed.filter(({ isBridge }) => isBridge) };
}
