/** Where clock goes at an instant: over which cables, in which direction, and who is on one clock with whom. */
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import { nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { type Following, rootOf } from "../../sim/lanes/follow.ts";
import { linkInPort, networkBehind } from "../../sim/tell/picture.ts";
import { looksOf, valueAt } from "../../sim/timeline.ts";
import type { Run } from "../run.ts";

/** Devices whose clock comes from one life of one oscillator. */
export interface Domain {
  readonly timebase: number;
  /** In the order of the plan. */
  readonly members: readonly string[];
  /** Cables over which they have it from each other. */
  readonly links: readonly string[];
  /** Whose clock it is, who may be off by now; null: a ring has none. */
  readonly leader: string | null;
}

export interface Clocks {
  /** "main b": clock comes in at this end of this cable. */
  readonly arrivals: ReadonlySet<string>;
  readonly domains: readonly Domain[];
}

export interface ClockReader {
  at(seconds: number, following: Following, carries: Carries): Clocks;
}

/** Whether something comes out of a cable at this end, at the instant in question. */
export type Carries = (link: string, out: "a" | "b") => boolean;

interface Step {
  readonly link: LinkPlan;
  /** At which end of the cable clock comes out of it. */
  readonly out: "a" | "b";
}

export function clockReader({ plan, record }: Pick<Run, "plan" | "record">): ClockReader {
  const { flows } = looksOf(record);
  const plugs = plan.events.filter(({ do: deed }) => deed === "plug").map(({ atNs }) => secondsFromNs(atNs));
  const inPort = new Map<string, LinkPlan | null>();
  const networks = new Map<string, string | null>();
  const cables = cablesByDevice(plan);
  const bridges = new Set(plan.devices.filter(({ bridge }) => bridge !== undefined).map(({ id }) => id));

  const cableInPort = (device: string, source: string, seconds: number) => {
    const key = `${plugs.filter((at) => at <= seconds).length} ${device} ${source}`;
    const known = inPort.get(key);
    if (known !== undefined) return known;
    const found = linkInPort(plan, device, source, seconds);
    inPort.set(key, found);
    return found;
  };
  const networkAt = (device: string, source: string) => {
    const key = `${device} ${source}`;
    const known = networks.get(key);
    if (known !== undefined) return known;
    const found = networkBehind(plan, device, source)?.id ?? null;
    networks.set(key, found);
    return found;
  };

  /** Cables from a follower back to whom it follows, over bridges. */
  const wayBack = (device: string, upstream: string, network: string, carries: Carries): Step[] => {
    const before = new Map<string, { readonly step: Step; readonly from: string }>();
    const queue = [device];
    for (const id of queue) {
      if (id === upstream) break;
      if (id !== device && !bridges.has(id)) continue;
      for (const link of cables.get(id) ?? []) {
        if (link.ethernet?.network !== network) continue;
        const [there, out] = link.a.device === id ? [link.b.device, "a" as const] : [link.a.device, "b" as const];
        if (there === device || before.has(there) || !carries(link.id, out)) continue;
        before.set(there, { step: { link, out }, from: id });
        queue.push(there);
      }
    }
    const steps: Step[] = [];
    for (let at = before.get(upstream); at !== undefined; at = before.get(at.from)) steps.push(at.step);
    return steps;
  };

  const stepsTo = (device: string, source: string, upstream: string, seconds: number, carries: Carries): Step[] => {
    const network = networkAt(device, source);
    if (network !== null) return wayBack(device, upstream, network, carries);
    const link = cableInPort(device, source, seconds);
    if (link === null) return [];
    const out = link.b.device === device ? "b" : "a";
    return carries(link.id, out) ? [{ link, out }] : [];
  };

  return {
    at(seconds, { standings }, carries) {
      const arrivals = new Set<string>();
      const over = new Map<string, readonly string[]>();
      for (const [id, { upstream, source }] of standings) {
        if (upstream === null || source === null) continue;
        const steps = stepsTo(id, source, upstream.id, seconds, carries);
        for (const { link, out } of steps) arrivals.add(`${link.id} ${out}`);
        over.set(
          id,
          steps.map(({ link }) => link.id),
        );
      }
      const at = nsFromSeconds(seconds);
      const byTimebase = new Map<number, string[]>();
      for (const id of standings.keys()) {
        const line = flows.get(id);
        const flow = line === undefined ? null : (valueAt(line, at) ?? null);
        if (flow === null) continue;
        const members = byTimebase.get(flow.timebase);
        if (members === undefined) byTimebase.set(flow.timebase, [id]);
        else members.push(id);
      }
      const domains = [...byTimebase].map(([timebase, members]): Domain => {
        const on = (id: string) => {
          const from = standings.get(id)?.upstream?.id;
          return from !== undefined && members.includes(from);
        };
        return {
          timebase,
          members,
          links: [...new Set(members.flatMap((id) => (on(id) ? (over.get(id) ?? []) : [])))],
          leader: rootOf(standings, members[0]!),
        };
      });
      return { arrivals, domains };
    },
  };
}

function cablesByDevice(plan: Plan): ReadonlyMap<string, readonly LinkPlan[]> {
  const found = new Map<string, LinkPlan[]>();
  for (const link of plan.links) {
    if (link.ethernet === undefined) continue;
    for (const { device } of [link.a, link.b]) {
      const known = found.get(device);
      if (known === undefined) found.set(device, [link]);
      else known.push(link);
    }
  }
  return found;
}
