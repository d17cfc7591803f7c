/**
 * Cables that are slower one way than the other shift a follower by half of the difference, which no packet shows. Along
 * boundary devices the shifts add up. One finding for each leader.
 */
import type { Finding } from "../../shared/finding.ts";
import { addTo } from "../../shared/lists.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { clockGraph, rootOf } from "../clock-graph.ts";
import { agree } from "../tell/words.ts";
import { byText, mid, names } from "./finding.ts";
import { micros } from "./micros.ts";
import { networkFollowers } from "./network-clocks.ts";

/** Of a sample period: what AES11 leaves between a clock that is sent and its reference. */
const SHARE = 0.05;

export function asymmetryShiftsClock(plan: Plan): readonly Finding[] {
  const graph = clockGraph(plan);
  const own = new Map(
    networkFollowers(plan).map(({ site, path }) => [site.device.id, (path.forthSeconds - path.backSeconds) / 2]),
  );
  const byLeader = new Map<string, { readonly id: string; readonly shiftSeconds: number }[]>();
  for (const { id, sampleRateHz } of plan.devices) {
    const used = graph.used(id);
    const leader = rootOf(graph, id);
    if (leader === null || used?.heard.kind !== "device") continue;
    const shiftSeconds = [id, ...graph.trace(used).through].reduce((sum, each) => sum + (own.get(each) ?? 0), 0);
    // Rounding of sums of nanoseconds is no shift.
    if (Math.abs(shiftSeconds) <= SHARE / sampleRateHz + 1e-12) continue;
    addTo(byLeader, leader, { id, shiftSeconds });
  }
  return [...byLeader.keys()].sort(byText).map((leader): Finding => {
    const shifted = byLeader.get(leader)!.toSorted((one, two) => byText(one.id, two.id));
    const ids = shifted.map(({ id }) => id);
    const worst = shifted.reduce((most, one) =>
      Math.abs(one.shiftSeconds) > Math.abs(most.shiftSeconds) ? one : most,
    );
    const percent = Math.round(100 * Math.abs(worst.shiftSeconds) * deviceOf(plan, worst.id).sampleRateHz);
    return {
      rule: "asymmetry-shifts-clock",
      severity: "warning",
      devices: ids,
      links: [],
      path: ["devices", worst.id, "clockSources"],
      what: `Cables that are slower one way than back shift ${names(plan, ids)} against ${mid(plan, leader)}: ${mid(plan, worst.id)} by ${micros(Math.abs(worst.shiftSeconds))}, ${percent} % of a sample.`,
      why: "A follower takes half of the way there and back for the way there; half of what the two differ by is left, and no packet shows it.",
      see: "Nothing on a lamp. What crosses from there over a link without packets may click where its receiver is close to its edge.",
      remedy: `Same length and same kind of fibre both ways; measure the two ways, and enter the difference, at ${agree(ids.length > 1, "that device", "those devices")} if there is a setting.`,
    };
  });
}
