/** Several cables between the bridges of a network that are laid along one thing, without which the network falls apart. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import type { JoinedCable } from "../network/loops.ts";
import { bridgeCables, islandsOf, loopedCables } from "../network/loops.ts";
import { sitesOf } from "../network/sites.ts";
import { cables, capital, path as thePath } from "../tell/words.ts";
import { byText, networkWords } from "./finding.ts";

export function networkWaysSharePath(plan: Plan): readonly Finding[] {
  const looped = loopedCables(sitesOf(plan), () => true);
  const all = bridgeCables(sitesOf(plan));
  return (plan.networks ?? []).flatMap((network) => {
    // Where nothing finds another way there is none that could be shared.
    const between = network.recovery === "none" ? [] : looped.filter(({ a }) => a.network.id === network.id);
    const paths = [...new Set(between.flatMap(({ link }) => link.laidAlong))].sort(byText);
    return paths.flatMap((along): Finding[] => {
      const taken = between.filter(({ link }) => link.laidAlong.includes(along));
      if (taken.length < 2 || isWhole(all, along, taken)) return [];
      const links = taken.map(({ link }) => link.id).sort(byText);
      return [
        {
          rule: "network-ways-share-path",
          severity: "warning",
          devices: [...new Set(taken.flatMap(({ a, b }) => [a.device.id, b.device.id]))].sort(byText),
          links,
          path: ["links", links.at(-1)!, "laidAlong"],
          what: `${capital(networkWords(network))} looks as if it had two ways: ${cables(links)} are all laid along ${thePath(along)}, and without them it falls apart.`,
          why: "One forklift takes all of them, and no recovery finds a way that is not there.",
          see: `Nothing, until ${thePath(along)} is hit; then the bridges on one side lose those on the other, with their streams and the clock.`,
          remedy: `${capital(cables([links.at(-1)!]))}: lay it along another path.`,
        },
      ];
    });
  });
}

/** Whether what these cables join is joined without all that is laid along the path. */
function isWhole(all: readonly JoinedCable[], along: string, taken: readonly JoinedCable[]): boolean {
  const left = new Set(all.filter(({ link }) => !link.laidAlong.includes(along)).map(({ link }) => link.id));
  const from = islandsOf(all);
  return taken.every(({ a, b }) => from(a, left).has(b));
}
