/**
 * What each recovery protocol comes to: which ports between bridges are to pass packets on, and after what wait.
 *
 * | protocol            | port that may pass on                     | where its bridge does not notice the loss itself |
 * | none                | at once; none where there is a loop       | the same                                         |
 * | spanning tree       | after 2 × forward delay                   | max age more                                     |
 * | rapid spanning tree | after a handshake                         | when somebody connected does, or after 3 hellos  |
 * | ring                | after the profile's recovery time         | the same                                         |
 *
 * A port that loses its part stops at once. So a cable that comes back into a tree costs as much as one that goes. In a
 * ring the port that was held back goes on until the returned cable passes packets, and stops at that instant. A ring
 * profile where bridges that are connected are no single ring: a tree with the ring's time.
 */
import type { RecoveryName } from "../../shared/plan.ts";
import { recovery } from "../../shared/recoveries.ts";
import type { Ns } from "../../shared/time.ts";
import { later, nsFromSeconds } from "../../shared/time.ts";
import type { TreeBridge, TreeCable } from "./tree.ts";
import { byRank, loopsOf, ringsOf, spanningTree } from "./tree.ts";

export interface Protocol {
  /** From when a port may pass packets on until it does. */
  readonly waitNs: Ns;
  /** The same where it may because a cable is lost, and its bridge has not noticed. */
  readonly unnoticedNs: Ns;
  /** The wait has begun with the break, not when its ends knew of it. */
  readonly countsFromBreak: boolean;
  /** Who knows of a loss that one bridge has noticed. */
  readonly heardBy: "itself" | "connected";
  /** By cable: one that is back counts only after this. */
  readonly joinNs: readonly Ns[];
  /** By end: whether it is to pass packets on, by which cables count. */
  wanted(counts: readonly boolean[]): boolean[];
}

export function protocolOf(name: RecoveryName, bridges: readonly TreeBridge[], cables: readonly TreeCable[]): Protocol {
  const row = recovery(name);
  const tree = (counts: readonly boolean[]): boolean[] =>
    spanningTree(bridges, cables, counts).roles.flatMap((role) => [
      role === "carries" || role === "blocked-at-b",
      role === "carries" || role === "blocked-at-a",
    ]);
  const joinNs = cables.map(() => 0 as Ns);
  const always = (ns: Ns) =>
    ({ waitNs: ns, unnoticedNs: ns, countsFromBreak: row.protocol === "ring", heardBy: "itself" }) as const;
  switch (row.protocol) {
    case "none":
      return {
        ...always(0 as Ns),
        joinNs,
        wanted(counts) {
          const loops = loopsOf(bridges.length, cables, counts);
          return cables.flatMap(({ a }, c) => {
            const passes = counts[c] === true && loops[a.bridge] !== true;
            return [passes, passes];
          });
        },
      };
    case "spanning-tree": {
      const waitNs = nsFromSeconds(2 * row.forwardDelaySeconds.value);
      const unnoticedNs = later(waitNs, nsFromSeconds(row.maxAgeSeconds.value));
      return { waitNs, unnoticedNs, countsFromBreak: false, heardBy: "itself", joinNs, wanted: tree };
    }
    case "rapid-spanning-tree": {
      const waitNs = nsFromSeconds(row.handshakeSeconds.value);
      const unnoticedNs = later(waitNs, nsFromSeconds(row.silentSeconds.value));
      return { waitNs, unnoticedNs, countsFromBreak: false, heardBy: "connected", joinNs, wanted: tree };
    }
    case "ring": {
      const waitNs = nsFromSeconds(row.recoverySeconds.value);
      const rings = ringsOf(bridges.length, cables);
      const held = rings.map((ring) => heldEnd(bridges, cables, ring));
      return {
        ...always(waitNs),
        joinNs: cables.map((_, c) => (rings.some((ring) => ring.includes(c)) ? waitNs : (0 as Ns))),
        wanted(counts) {
          const passes = tree(counts);
          for (const [r, ring] of rings.entries()) {
            for (const c of ring) passes[2 * c] = passes[2 * c + 1] = counts[c] === true;
            if (ring.every((c) => counts[c])) passes[held[r] as number] = false;
          }
          return passes;
        },
      };
    }
  }
}

/** The end that the manager of a ring, its lowest bridge, holds back: at its higher port. */
function heldEnd(bridges: readonly TreeBridge[], cables: readonly TreeCable[], ring: readonly number[]): number {
  const ends = ring.flatMap((c) => {
    const { a, b } = cables[c] as TreeCable;
    return [
      { end: 2 * c, at: a },
      { end: 2 * c + 1, at: b },
    ];
  });
  const manager = byRank(bridges).find((bridge) => ends.some(({ at }) => at.bridge === bridge));
  const own = ends.filter(({ at }) => at.bridge === manager);
  return own.reduce((held, each) => (each.at.port > held.at.port ? each : held)).end;
}
