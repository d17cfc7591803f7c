/**
 * Ways to join two rigs. Each is a change of the joined file: whose settings change, which cables and boxes come. Nothing
 * else of either plan is touched. A way that cannot be made says why not.
 */
import type { Plan, PortRef } from "../../shared/plan.ts";
import { deviceById, deviceOf } from "../by-id.ts";
import { clockGraph, rootOf } from "../clock-graph.ts";
import { converterAt, waysOf } from "../converted.ts";
import type { Company } from "./company.ts";
import { type Draft, draftCopy, type Entry, entryOf } from "./union.ts";

export interface Joined {
  /** Both plans and the joining cables, no setting changed. */
  readonly draft: Draft;
  readonly plan: Plan;
  /** Ids of the joining cables. */
  readonly joins: readonly string[];
  /** By what the plans say, so that it makes no difference which was named first. */
  readonly order: readonly [Company, Company];
  /** The id in the joined file of a device of a company. */
  named(company: Company, device: string): string;
  /** The other way round: as its own plan calls it. */
  ownName(company: Company, device: string): string;
  /** Ids in the joined file. */
  leadersOf(company: Company): readonly string[];
  /** First of them, or whoever leads without being named. */
  leaderOf(company: Company): string | null;
  /** Of a device in the joined file; null: it is in both plans. */
  companyOf(device: string): Company | null;
  /** One network of two, by a joining cable or since it is in both plans; null: none. */
  readonly network: string | null;
}

export type Made = { readonly draft: Draft } | { readonly whyNot: string };

/** Where no leader is known, nobody can be told to follow. */
export function noLeader(company: Company): Made {
  return { whyNot: `nobody is meant to lead ${company.label}: name a device in "leaders"` };
}

/** A copy in which no device listens to what comes over a joining cable. */
export function deafToJoins({ draft, plan, joins }: Joined): Draft {
  const copy = draftCopy(draft);
  for (const { a, b } of plan.links.filter(({ id }) => joins.includes(id)))
    for (const { device, port } of [a, b]) {
      const { clockSources } = deviceOf(plan, device);
      if (!clockSources.includes(String(port))) continue;
      const rest = clockSources.filter((source) => source !== String(port));
      entryOf(copy, "devices", device).clockSources = rest.length === 0 ? ["internal"] : rest;
    }
  return copy;
}

/** Where clock must be agreed and neither end of a joining cable listens, one has to take all the same: the second. */
export function agreeClock(draft: Draft, plan: Plan, joins: readonly string[]): void {
  for (const { clockIsAgreed, a, b } of plan.links.filter(({ id }) => joins.includes(id))) {
    if (!clockIsAgreed) continue;
    const listens = ({ device, port }: PortRef) => {
      const { clockSources } = entryOf(draft, "devices", device);
      const own = Array.isArray(clockSources) ? clockSources : deviceOf(plan, device).clockSources;
      return own.includes(String(port));
    };
    if (!listens(a) && !listens(b)) setPort(draft, b, { clock: "take" });
  }
}

export function setPort(draft: Draft, { device, port }: PortRef, use: Readonly<Record<string, unknown>>): void {
  const entry = entryOf(draft, "devices", device);
  const ports = (entry.ports ?? {}) as Record<string, Entry>;
  entry.ports = { ...ports, [port]: { ...ports[port], ...use } };
}

/** Every way that carries audio from a device of one clock to one of the other company's gets a converter at its end. */
export function convertBoundary(draft: Draft, plan: Plan, joined: Joined): void {
  const graph = clockGraph(plan);
  // What is in both plans is on the side of the company on whose clock it is.
  const side = (device: string): Company | null => {
    const root = rootOf(graph, device);
    return joined.companyOf(device) ?? (root === null ? null : joined.companyOf(root));
  };
  const areOnOneClock = (from: string, to: string): boolean => {
    const root = rootOf(graph, from);
    return root !== null && root === rootOf(graph, to);
  };
  for (const link of plan.links) {
    if (link.channels === 0 || link.stream !== undefined) continue;
    for (const { from, to } of waysOf(link)) {
      const [one, other] = [side(from.device), side(to.device)];
      if (one === null || other === null || one === other || areOnOneClock(from.device, to.device)) continue;
      const device = deviceOf(plan, to.device);
      if (converterAt(device, to.port) !== null) continue;
      const rest = device.clockSources.filter((source) => source !== String(to.port));
      if (rest.length < device.clockSources.length)
        entryOf(draft, "devices", to.device).clockSources = rest.length === 0 ? ["internal"] : rest;
      setPort(draft, to, { converter: true });
    }
  }
}

/** Sets all devices that are at another rate, or at the rig's own by saying nothing, to this one. */
export function setRate(
  draft: Draft,
  plan: Plan,
  from: number,
  to: number,
  isMeant: (device: string) => boolean,
): void {
  if (from === to) return;
  for (const { id, sampleRateHz } of plan.devices)
    if (sampleRateHz === from && isMeant(id)) entryOf(draft, "devices", id).sampleRateHz = to;
}

/** The same clock port may say that it gives: who listens at it takes. */
export function withoutClock(draft: Draft, plan: Plan, { device, port }: PortRef): void {
  if (deviceById(plan, device)?.ports[String(port)] === "give") setPort(draft, { device, port }, { clock: "take" });
}
