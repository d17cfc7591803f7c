/** The two ways in which nobody has to follow the other: converters at the boundary, and one clock for the whole house. */
import { deviceById, deviceOf } from "../by-id.ts";
import type { Company } from "./company.ts";
import { fileOf } from "./file.ts";
import { freePort } from "./join.ts";
import { unused } from "./names.ts";
import { type Draft, entryOf } from "./union.ts";
import { agreeClock, convertBoundary, deafToJoins, type Joined, type Made, noLeader, setRate } from "./ways.ts";

/** Each company keeps its leader; where audio comes in from the other one, it is put on the own clock. */
export function converters(joined: Joined): Made {
  const { order, joins } = joined;
  if (joined.network !== null)
    return {
      whyNot:
        "an ethernet cable makes one network of the two, and a network has one leader; converters stand where audio comes in, not where packets do",
    };
  const draft = deafToJoins(joined);
  draft.rig.leaders = bothLeaders(joined, order);
  const { plan, issues } = fileOf(draft);
  if (plan === null) return { whyNot: issues[0]?.expected ?? "it makes no file that can be read" };
  convertBoundary(draft, plan, joined);
  agreeClock(draft, plan, joins);
  return { draft };
}

function bothLeaders(joined: Joined, order: readonly Company[]): string[] {
  return [
    ...new Set(
      order.flatMap((company) => {
        const own = joined.leadersOf(company);
        const leader = joined.leaderOf(company);
        return own.length === 0 && leader !== null ? [leader] : own;
      }),
    ),
  ];
}

/** Coax from the house clock to a leader, *assumed*: across a stage. */
export const LEAD_METRES = 30;

/** Both leaders take word clock from a device that is nobody's desk: the one that a plan has, or a new one. */
export function houseClock(joined: Joined): Made {
  const { order, plan } = joined;
  const leaders = order.map((company) => joined.leaderOf(company));
  const without = order.find((_, side) => leaders[side] === null);
  if (without !== undefined) return noLeader(without);
  if (leaders[0] === leaders[1]) return { whyNot: "one device leads both already" };
  const isClock = (id: string | null) => id !== null && deviceById(plan, id)?.kind === "house-clock";
  if (leaders.every(isClock))
    return { whyNot: "both are led by a house clock already; one of the two leads in the ways with one leader" };

  const draft = deafToJoins(joined);
  const rate = Math.min(...order.map((company) => company.plan.sampleRateHz));
  for (const company of order)
    setRate(draft, plan, company.plan.sampleRateHz, rate, (id) => joined.companyOf(id) === company);
  draft.rig.sampleRateHz = rate;
  const clock = leaders.find(isClock) ?? addClock(draft, rate);
  const owner = joined.companyOf(clock);
  const sender = owner === null || deviceById(plan, clock) === undefined ? null : owner;
  const taken = joinPorts(joined, clock);
  for (const [side, company] of order.entries()) {
    const leader = leaders[side] as string;
    if (leader === clock) continue;
    const from = sender === null ? taken.size + 1 : freePort(sender, joined.ownName(sender, clock), taken);
    taken.add(from);
    addLead(draft, joined, company, { from: `${clock}.${from}`, leader });
  }
  draft.rig.leaders = [...new Set([clock, ...bothLeaders(joined, order)])];
  agreeClock(draft, plan, joined.joins);
  return { draft };
}

function addClock(draft: Draft, sampleRateHz: number): string {
  const id = unused("house-clock", new Set(draft.rig.devices.map((device) => String(device.id))));
  const isNamed = draft.rig.devices.some(({ name }) => name === "House clock");
  draft.rig.devices.push({
    id,
    name: isNamed ? "New house clock" : "House clock",
    kind: "house-clock",
    sampleRateHz,
    clockSources: ["internal"],
    oscillator: { type: "ocxo" },
  });
  return id;
}

/** Ports of a device that joining cables are in. */
function joinPorts({ plan, joins }: Joined, device: string): Set<number> {
  const ends = plan.links.flatMap(({ id, a, b }) => (joins.includes(id) ? [a, b] : []));
  return new Set(ends.flatMap((end) => (end.device === device ? [end.port] : [])));
}

/** A word-clock lead to a free port of a leader, which listens to it first. */
function addLead(
  draft: Draft,
  joined: Joined,
  company: Company,
  { from, leader }: { readonly from: string; readonly leader: string },
): void {
  const port = freePort(company, joined.ownName(company, leader), joinPorts(joined, leader));
  const id = unused(`house-to-${company.name}`, new Set(draft.rig.links.map((link) => String(link.id))));
  draft.rig.links.push({ id, type: "word-clock", from, to: `${leader}.${port}`, lengthMetres: LEAD_METRES });
  const entry = entryOf(draft, "devices", leader);
  const own = (entry.clockSources as string[] | undefined) ?? deviceOf(joined.plan, leader).clockSources;
  entry.clockSources = [String(port), ...own];
}
