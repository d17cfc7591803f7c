/**
 * A device with several clock sources, all of which one thing further up takes: a path, a supply, a device or a cable.
 * What its own first two cables share is a finding of its own.
 */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf, linkOf } from "../by-id.ts";
import { clockGraph, runsOnOwnClock, sourcesHeard } from "../clock-graph.ts";
import { minimalCuts } from "../cut-sets.ts";
import { capital, listed } from "../tell/words.ts";
import { head } from "./finding.ts";
import { clockNet, riskOf, riskWords } from "./risks.ts";

/** More than these at once nobody reads. */
const THINGS_MAX = 3;
/** A path or a supply takes what looks apart; a cable or a device further up is seen on any drawing. */
const HIDDEN: readonly string[] = ["path", "supply"];

export function sourcesCutByOne(plan: Plan): readonly Finding[] {
  const graph = clockGraph(plan);
  return plan.devices.flatMap((device): Finding[] => {
    if (runsOnOwnClock(device)) return [];
    const links = sourcesHeard(graph, device.id).map(({ link }) => link);
    const sources = [...new Set(links)].sort();
    if (sources.length < 2) return [];
    const isOwn = ({ kind, name }: ReturnType<typeof riskOf>) =>
      kind === "path" && sources.some((id) => linkOf(plan, id).laidAlong.includes(name));
    const takesItself = ({ kind, name }: ReturnType<typeof riskOf>) =>
      kind === "supply" && deviceOf(plan, device.id).power.every((supply) => supply === name);
    const things = minimalCuts(clockNet(plan, graph, device.id), 1)
      .flat()
      .filter((risk) => !isOwn(riskOf(risk)) && !takesItself(riskOf(risk)))
      // A device's own and only supply says no more than the device.
      .filter((risk, _, all) => !isSupplyOfOne(plan, risk, all));
    if (things.length === 0) return [];
    const said = things.slice(0, THINGS_MAX).map((risk) => riskWords(plan, risk));
    const more = things.length > THINGS_MAX ? `, and ${things.length - THINGS_MAX} more` : "";
    const isHidden = things.some((risk) => HIDDEN.includes(riskOf(risk).kind));
    return [
      {
        rule: "sources-cut-by-one",
        severity: isHidden ? "warning" : "advice",
        devices: [device.id],
        links: sources,
        path: ["devices", device.id, "clockSources"],
        what: `${head(plan, device.id)} has ${sources.length === 2 ? "two" : "several"} clock sources, and ${things.length === 1 ? `one thing further up takes all of them: ${said[0]}` : `each of these alone takes all of them: ${listed(said)}${more}`}.`,
        why: "Two ways are two only as far as nothing takes both.",
        see: `Nothing, until ${said[0]} goes; then no source is left that leads to a leader.`,
        remedy: `${capital(head(plan, device.id))}: bring the second source from a leader, or from the next in line, by a way without ${said[0]}.`,
      },
    ];
  });
}

function isSupplyOfOne(plan: Plan, risk: string, all: readonly string[]): boolean {
  const { kind, name } = riskOf(risk);
  if (kind !== "supply") return false;
  const taken = plan.devices.filter(({ power }) => power.every((supply) => supply === name));
  return taken.some(({ id }) => all.includes(`device ${id}`));
}
