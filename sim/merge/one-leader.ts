/**
 * One leader for both: the leader of the other company is set to follow. The clock comes in over a joining cable (or
 * through a device that is in both plans) and goes over the fewest cables to that leader, which passes it on to its
 * own followers as before. Of the others nobody's settings change, but where a sample rate has to.
 */
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { clockGraph, rootOf } from "../clock-graph.ts";
import { converterAt, waysOf } from "../converted.ts";
import { electionMeant } from "../network/meant.ts";
import { theDevice } from "../tell/words.ts";
import type { Company } from "./company.ts";
import { fileOf } from "./file.ts";
import { type Draft, draftCopy, entryOf } from "./union.ts";
import { agreeClock, type Joined, type Made, noLeader, setRate, withoutClock } from "./ways.ts";

export function oneLeader(joined: Joined, leads: Company): Made {
  const { order, plan } = joined;
  const follows = order[0] === leads ? order[1] : order[0];
  const [leader, led] = [joined.leaderOf(leads), joined.leaderOf(follows)];
  if (leader === null) return noLeader(leads);
  if (led === null) return noLeader(follows);
  const draft = draftCopy(joined.draft);
  if (leader === led) return { draft: succession(draft, joined, leads, follows, []) };

  const isFollowing = (device: string) => joined.companyOf(device) === follows;
  const [from, to] = [follows.plan.sampleRateHz, leads.plan.sampleRateHz];
  setRate(draft, plan, from, to, isFollowing);
  draft.rig.sampleRateHz = to;
  const rated = from === to ? plan : fileOf(draft).plan;
  if (rated === null)
    return { whyNot: `not everything of ${follows.label} can be set to the sample rate of ${leads.label}` };

  if (joined.network !== null) {
    const whyNot = overNetwork(draft, rated, joined, { leads, follows, led });
    if (whyNot !== null) return { whyNot };
    succession(draft, joined, leads, follows, []);
    // An election hangs on more than two devices: what it comes to is asked, not presumed.
    const made = fileOf(draft).plan;
    const graph = made === null ? null : clockGraph(made);
    if (graph === null || rootOf(graph, led) !== rootOf(graph, leader))
      return {
        whyNot: `the election on the joined network does not bring ${theDevice(deviceOf(plan, led))} onto the clock of ${theDevice(deviceOf(plan, leader))}`,
      };
    return { draft };
  }
  const clocks = clockGraph(rated);
  const hasClock = (device: string) => !isFollowing(device) && rootOf(clocks, device) === leader;
  const way = wayTo(rated, led, { isFollowing, hasClock });
  if (way === null)
    return {
      whyNot: `no cable brings the clock of ${leads.label} to ${theDevice(deviceOf(plan, led))}, who leads ${follows.label}`,
    };
  const own = joined.leadersOf(follows);
  const entries = way.map(({ to: end }, index) => {
    const isEntry = index === 0;
    // Two joining cables to one device are a first and a second source.
    const seconds = isEntry ? otherJoins(rated, joined, end.device, end.port, hasClock) : [];
    const keepsOwn = isEntry || own.includes(end.device);
    entryOf(draft, "devices", end.device).clockSources = [
      ...[end.port, ...seconds].map(String),
      ...(keepsOwn ? ["internal"] : []),
    ];
    withoutClock(draft, rated, end);
    return end.device;
  });
  agreeClock(draft, rated, joined.joins);
  return { draft: succession(draft, joined, leads, follows, entries.slice(0, 1)) };
}

/** Who leads first, then who is next: the device over which the clock comes in goes before its company's own. */
function succession(draft: Draft, joined: Joined, leads: Company, follows: Company, entries: readonly string[]): Draft {
  const leader = joined.leaderOf(leads);
  const own = joined.leadersOf(leads);
  draft.rig.leaders = [
    ...new Set([...(own.length === 0 && leader !== null ? [leader] : own), ...entries, ...joined.leadersOf(follows)]),
  ];
  return draft;
}

interface Step {
  readonly from: { readonly device: string; readonly port: number };
  readonly to: { readonly device: string; readonly port: number };
}

/** From the devices that have the leader's clock to one that is to follow, by the fewest cables; null where none leads there. */
function wayTo(
  plan: Plan,
  led: string,
  {
    isFollowing,
    hasClock,
  }: { readonly isFollowing: (device: string) => boolean; readonly hasClock: (device: string) => boolean },
): readonly Step[] | null {
  const steps = plan.links
    .filter(({ stream, ethernet }) => stream === undefined && ethernet === undefined)
    .flatMap(waysOf)
    .filter(({ from, to }) => {
      const [sender, receiver] = [deviceOf(plan, from.device), deviceOf(plan, to.device)];
      return sender.sampleRateHz === receiver.sampleRateHz && converterAt(receiver, to.port) === null;
    });
  const reached = new Set(plan.devices.flatMap(({ id }) => (isFollowing(id) ? [] : [id])));
  if (reached.has(led)) return [];
  let ways: readonly (readonly Step[])[] = [[]];
  while (ways.length > 0) {
    const next: Step[][] = [];
    for (const way of ways) {
      const at = way.at(-1)?.to.device;
      for (const step of steps) {
        const begins = at === undefined ? hasClock(step.from.device) : step.from.device === at;
        if (!begins || reached.has(step.to.device)) continue;
        reached.add(step.to.device);
        const longer = [...way, step];
        if (step.to.device === led) return longer;
        next.push(longer);
      }
    }
    ways = next;
  }
  return null;
}

function otherJoins(
  plan: Plan,
  { joins }: Joined,
  device: string,
  port: number,
  hasClock: (device: string) => boolean,
): readonly number[] {
  return plan.links
    .filter(({ id, ethernet }) => joins.includes(id) && ethernet === undefined)
    .flatMap(waysOf)
    .filter(({ from, to }) => to.device === device && to.port !== port && hasClock(from.device))
    .filter(({ to }) => converterAt(deviceOf(plan, device), to.port) === null)
    .map(({ to }) => to.port)
    .sort((one, other) => one - other);
}

/** On one network whoever wins the election leads; its settings are made to say so. Null: done; else why not. */
function overNetwork(
  draft: Draft,
  plan: Plan,
  joined: Joined,
  { leads, follows, led }: { readonly leads: Company; readonly follows: Company; readonly led: string },
): string | null {
  const { sites, leaderOf } = electionMeant(plan);
  const on = sites.filter(({ network }) => network.id === joined.network);
  const isOf = (company: Company) => (site: (typeof on)[number]) => joined.companyOf(site.device.id) === company;
  const alone = electionMeant(leads.plan);
  const elected = new Set(
    alone.sites.flatMap((site) => {
      const leader = alone.leaderOf(site);
      return leader === null ? [] : [joined.named(leads, leader)];
    }),
  );
  const ofLeads = on.filter(isOf(leads));
  const leader = joined.leaderOf(leads);
  const winner =
    ofLeads.find(({ device }) => elected.has(device.id)) ?? ofLeads.find(({ device }) => device.id === leader);
  if (winner === undefined) return `who leads ${leads.label} is not on the joined network`;
  const others = on.filter(({ device }) => device.id !== winner.device.id && device.ptp?.followerOnly !== true);
  const best = Math.min(256, ...others.map(({ device }) => device.ptp?.priority1 ?? 128));
  if (best === 0) return "no priority1 is left to win with: another device has 0";
  if ((winner.device.ptp?.priority1 ?? 128) >= best) {
    const entry = entryOf(draft, "devices", winner.device.id);
    entry.ptp = { ...(entry.ptp as object | undefined), priority1: best - 1 };
  }
  const site = on.find(({ device }) => device.id === led);
  if (site === undefined)
    return `${theDevice(deviceOf(plan, led))}, who leads ${follows.label}, is not on the joined network`;
  if (leaderOf(site) === null) return "nobody leads the joined network";
  entryOf(draft, "devices", led).clockSources = [...site.ports.map(String), "internal"];
  return null;
}
