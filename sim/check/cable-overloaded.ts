/**
 * An ethernet cable whose streams need more bits than it has: at rest, or once one cable or bridge is gone and packets
 * take another way. Each direction by itself; a receiver of its own counts once.
 */
import type { Finding } from "../../shared/finding.ts";
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import { linkOf } from "../by-id.ts";
import { AVB_SHARE, isReserved, streamBitsPerSecond } from "../network/stream-bits.ts";
import type { StreamWays } from "../network/stream-ways.ts";
import { streamWays } from "../network/stream-ways.ts";
import { grouped, theCable } from "../tell/words.ts";
import { byText, cableHead, mid, streams } from "./finding.ts";

interface Load {
  readonly cable: LinkPlan;
  readonly streams: string[];
  bits: number;
  reservedBits: number;
}

interface Over {
  readonly load: Load;
  readonly lost: StreamWays["lost"];
}

export function cableOverloaded(plan: Plan): readonly Finding[] {
  if (!mayOverload(plan)) return [];
  const worst = new Map<string, Over>();
  const [atRest, ...later] = streamWays(plan);
  if (atRest === undefined) return [];
  for (const [key, load] of loadsOf(plan, atRest)) if (isOver(load)) worst.set(key, { load, lost: null });
  for (const ways of later) {
    for (const [key, load] of loadsOf(plan, ways)) {
      const known = worst.get(key);
      if (!isOver(load) || known?.lost === null || (known !== undefined && known.load.bits >= load.bits)) continue;
      worst.set(key, { load, lost: ways.lost });
    }
  }
  return [...worst.keys()].sort(byText).map((key) => findingFor(plan, worst.get(key)!));
}

/** All streams over the slowest cable: most rigs need no closer look. */
function mayOverload(plan: Plan): boolean {
  const all = plan.links.reduce((sum, link) => sum + bitsOf(link), 0);
  const slowest = Math.min(...plan.links.map(({ ethernet }) => ethernet?.bitsPerSecond ?? Number.POSITIVE_INFINITY));
  return all > AVB_SHARE * slowest;
}

function bitsOf(link: LinkPlan): number {
  return link.stream === undefined ? 0 : streamBitsPerSecond({ ...link, stream: link.stream });
}

/** By cable and direction. */
function loadsOf(plan: Plan, { ways }: StreamWays): Map<string, Load> {
  const loads = new Map<string, Load>();
  for (const [id, { cables }] of ways) {
    const stream = linkOf(plan, id);
    const bits = bitsOf(stream);
    for (const { link, way } of cables) {
      const key = `${link.id} ${way}`;
      const load = loads.get(key) ?? { cable: link, streams: [], bits: 0, reservedBits: 0 };
      load.streams.push(id);
      load.bits += bits;
      if (isReserved(stream)) load.reservedBits += bits;
      loads.set(key, load);
    }
  }
  return loads;
}

function isOver({ cable, bits, reservedBits }: Load): boolean {
  const has = cable.ethernet!.bitsPerSecond;
  return bits > has || reservedBits > AVB_SHARE * has;
}

function findingFor(plan: Plan, { load, lost }: Over): Finding {
  const { cable, bits, reservedBits } = load;
  const has = cable.ethernet!.bitsPerSecond;
  const isByReserve = bits <= has;
  const [needs, room] = isByReserve ? [reservedBits, AVB_SHARE * has] : [bits, has];
  const carried = [...load.streams].sort(byText);
  const when = lost === null ? "" : `When ${lost.kind === "cable" ? theCable(lost.id) : mid(plan, lost.id)} is gone, `;
  const over = lost === null ? cableHead(cable.id) : theCable(cable.id);
  return {
    rule: "cable-overloaded",
    severity: lost === null ? "error" : "warning",
    devices: [cable.a.device, cable.b.device].sort(byText),
    links: [cable.id, ...carried],
    path: ["links", cable.id],
    what: `${when}${over} has ${megabits(room)} one way for ${isByReserve ? "reserved streams" : "streams"}, and ${streams(carried)} ${carried.length === 1 ? "needs" : "need"} ${megabits(needs)} of it.`,
    why: "Each packet carries headers besides its audio, and what does not fit waits until buffers are full, then is thrown away.",
    see: `${lost === null ? "Clicks and gaps" : "Clicks and gaps from then on"}, on all streams that go that way, whoever sends too much.`,
    remedy: `${cableHead(cable.id)}: a faster one, or a second network for some of the streams; or fewer channels, or longer packets.`,
  };
}

function megabits(bits: number): string {
  return `${grouped(Math.round(bits / 1e6))} Mbit/s`;
}
