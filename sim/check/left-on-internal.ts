/** A device that is not meant to lead runs on its own clock although somebody's clock arrives at it. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf, linkOf } from "../by-id.ts";
import { clockGraph, meantToLead, portsThatHear, portTowards, rigParts, runsOnOwnClock } from "../clock-graph.ts";
import { interval, ppm } from "../tell/words.ts";
import { head, mid, names } from "./finding.ts";

export function isLeftOnInternal(plan: Plan, part: readonly string[], id: string): boolean {
  if (plan.leaders.length === 0 || plan.leaders.includes(id) || id === meantToLead(plan, part)) return false;
  return runsOnOwnClock(deviceOf(plan, id)) && portsThatHearOthers(plan, id).length > 0;
}

/** Without those at which its own clock comes back to it from a device that follows it. */
function portsThatHearOthers(plan: Plan, id: string): ReturnType<typeof portsThatHear> {
  const graph = clockGraph(plan);
  return portsThatHear(plan, id).filter(({ from }) => {
    const used = graph.used(from);
    return used === null || !graph.trace(used).through.includes(id);
  });
}

export function leftOnInternal(plan: Plan): readonly Finding[] {
  return rigParts(plan).flatMap((part) =>
    part.filter((id) => isLeftOnInternal(plan, part, id)).map((id) => findingFor(plan, id, meantToLead(plan, part))),
  );
}

function findingFor(plan: Plan, id: string, leader: string | null): Finding {
  const ports = portsThatHearOthers(plan, id);
  const from = [...new Set(ports.map((port) => port.from))];
  const towards = (leader === null ? null : portTowards(plan, id, leader)) ?? ports[0]!;
  return {
    rule: "left-on-internal",
    severity: "error",
    devices: [id],
    links: ports.map((port) => port.link),
    path: ["devices", id, "clockSources"],
    what: `${head(plan, id)} is on its own clock${apart(plan, id, leader)}. It receives ${names(plan, from)}; it is not in step with ${from.length === 1 ? "it" : "them"}.`,
    why: "Two clocks run where one should lead. A lock lamp says that a link can be read, not that both ends run at one speed.",
    see: `Its lock lamp may be lit. ${clicks(plan, id, ports[0]!)}`,
    remedy: `${head(plan, id)}, clock source: port ${towards.port} (${deviceOf(plan, towards.from).name}), not internal.`,
  };
}

function apart(plan: Plan, id: string, leader: string | null): string {
  if (leader === null || !runsOnOwnClock(deviceOf(plan, leader))) return "";
  const difference = differencePpm(plan, id, leader);
  if (difference === null || difference === 0) return "";
  return `, ${ppm(difference)} ${difference > 0 ? "faster" : "slower"} than ${mid(plan, leader)}`;
}

/** Entered offsets only, warm and at 25 °C; null where one is drawn. */
function differencePpm(plan: Plan, one: string, two: string): number | null {
  const first = deviceOf(plan, one).oscillator.offsetPpm;
  const second = deviceOf(plan, two).oscillator.offsetPpm;
  return first === null || second === null ? null : first - second;
}

function clicks(plan: Plan, id: string, port: { readonly from: string; readonly link: string }): string {
  const link = linkOf(plan, port.link);
  if (link.channels === 0) return "What crosses between it and the rest of the rig clicks at regular intervals.";
  const what = `What it takes from ${mid(plan, port.from)} clicks`;
  const graph = clockGraph(plan);
  const used = graph.used(port.from);
  const whose = used === null || used.heard.kind === "own" ? port.from : graph.trace(used).ends;
  const difference = whose === null ? null : differencePpm(plan, id, whose);
  if (difference === null || difference === 0) return `${what} at regular intervals.`;
  const seconds = link.buffer.slipSamples / (plan.sampleRateHz * Math.abs(difference) * 1e-6);
  return `${what} about every ${interval(seconds)}.`;
}
