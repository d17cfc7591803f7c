/** What every rule of the check shares: how a finding is put together, and the names it speaks of. */
import type { Finding } from "../../shared/finding.ts";
import type { LinkPlan, NetworkPlan, Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import type { ClockGraph } from "../clock-graph.ts";
import { cable, capital, deviceHead, grouped, listed, theDevice } from "../tell/words.ts";

export type Rule = (plan: Plan) => readonly Finding[];

/** The device at the head of a sentence: "Monitor desk". */
export function head(plan: Plan, id: string): string {
  return deviceHead(deviceOf(plan, id));
}

/** The device inside a sentence: "the monitor desk". */
export function mid(plan: Plan, id: string): string {
  return theDevice(deviceOf(plan, id));
}

/** Most names that a sentence can bear. */
const NAMES_MAX = 4;

/** "the stage box, the recorder and the truck"; of many, the first and how many more. */
export function names(plan: Plan, ids: readonly string[]): string {
  if (ids.length <= NAMES_MAX) return listed(ids.map((id) => mid(plan, id)));
  const first = ids.slice(0, NAMES_MAX - 1).map((id) => mid(plan, id));
  return `${first.join(", ")} and ${ids.length - first.length} others`;
}

/** The network inside a sentence: "the red network", "network red". */
export function networkWords({ id, name }: NetworkPlan): string {
  if (name === id) return `network ${id}`;
  return /network$/i.test(name) ? `the ${name[0]!.toLowerCase()}${name.slice(1)}` : `network ${name}`;
}

export function networkOf(plan: Plan, id: string): NetworkPlan {
  const network = plan.networks?.find((one) => one.id === id);
  if (network === undefined) throw new Error(`a plan names network "${id}", which it does not have`);
  return network;
}

/** "stream foh-stage", "streams a, b, c and 5 others". */
export function streams(ids: readonly string[]): string {
  const rest = ids.length - NAMES_MAX + 1;
  const said =
    ids.length <= NAMES_MAX ? listed(ids) : `${ids.slice(0, NAMES_MAX - 1).join(", ")} and ${grouped(rest)} others`;
  return `${ids.length === 1 ? "stream" : "streams"} ${said}`;
}

export function cableHead(id: string): string {
  return capital(cable(id));
}

/** "the FOH desk listens to the stage box, which listens to the FOH desk" */
export function circleWords(plan: Plan, ring: readonly string[]): string {
  const [first, ...rest] = [...ring, ring[0]!].map((id) => mid(plan, id));
  return `${first} listens to ${rest.join(", which listens to ")}`;
}

export function linksOfRing(graph: ClockGraph, ring: readonly string[]): readonly string[] {
  return ring.flatMap((id) => {
    const heard = graph.used(id)?.heard;
    return heard?.kind === "device" ? [heard.link] : [];
  });
}

/** Which of several text places comes first: code units, the same on every machine. */
export function byText(one: string, two: string): number {
  return one < two ? -1 : one > two ? 1 : 0;
}

/** Where two links are laid along the same thing. */
export function sharedPaths(one: LinkPlan, two: LinkPlan): readonly string[] {
  return one.laidAlong.filter((path) => two.laidAlong.includes(path)).sort(byText);
}
