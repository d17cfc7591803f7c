/** Feeds: which links carry each hop, and how many channels. */
import { quote } from "./issues.ts";
import type { FeedPlan, HopPlan, LinkPlan, SparePlan } from "./plan.ts";
import type { Draft, Place, Report, Unknown } from "./scenario-draft.ts";
import { idsOf, reportDuplicates, sound } from "./scenario-draft.ts";
import type { LinkFound } from "./scenario-links.ts";
import { bringsTo } from "./scenario-links.ts";
import { areWhole } from "./scenario-names.ts";
import type { FeedFile } from "./scenario-schema.ts";

type Carrier = HopPlan["over"][number];

/** What could carry one hop: one link, or the links of one spare group, main first. */
interface Candidate {
  readonly over: readonly Carrier[];
  readonly channels: number;
  readonly spare: string | null;
}

export function resolveFeeds(
  draft: Draft,
  links: ReadonlyMap<string, LinkFound>,
  spares: readonly SparePlan[],
  report: Report,
  unknown: Unknown,
): FeedPlan[] {
  reportDuplicates(draft.feeds, "feed", report);
  const devices = idsOf(draft.devices);
  const deviceSet = new Set(devices);
  const carriers = indexCarriers(links, spares);
  // A link or a group that is broken, or whose id is taken, might be the one that is missing here.
  const whole = areWhole(draft, links) && spares.length === draft.spares.length;
  const feeds: FeedPlan[] = [];
  for (const item of sound(draft.feeds)) {
    const feed = item.value;
    let known = true;
    feed.through.forEach((device, index) => {
      if (!deviceSet.has(device)) {
        known = false;
        report(item, ["through", index], {
          expected: "the id of a device",
          remedy: unknown(device, devices, "device"),
        });
      } else if (device === feed.through[index - 1]) {
        known = false;
        report(item, ["through", index], {
          expected: "another device than before",
          remedy: "name each device of the chain once",
        });
      }
    });
    const channels = channelsPerHop(item, feed, report);
    if (feed.over && !overIsKnown(item, feed.over, draft, report, unknown)) known = false;
    if (!known || !whole) continue;
    // Without a number for each hop the links can still be looked for.
    const hops = resolveHops(item, feed, channels ?? feed.through.map(() => 1), carriers, report);
    feeds.push({
      id: item.id,
      name: feed.name ?? item.id,
      through: feed.through,
      hops,
      heardBy: feed.heardBy ?? [],
    });
  }
  return feeds;
}

function channelsPerHop(item: Place, feed: FeedFile, report: Report): readonly number[] | null {
  const hops = feed.through.length - 1;
  if (typeof feed.channels === "number") return Array.from({ length: hops }, () => feed.channels as number);
  if (feed.channels.length === hops) return feed.channels;
  report(item, ["channels"], {
    expected: `${hops} ${hops === 1 ? "number" : "numbers"}, one per hop`,
    remedy: "write one number per hop, or one number for all",
  });
  return null;
}

function overIsKnown(item: Place, over: readonly string[], draft: Draft, report: Report, unknown: Unknown): boolean {
  const known = idsOf(draft.links);
  const knownSet = new Set(known);
  let all = true;
  over.forEach((link, index) => {
    if (knownSet.has(link)) return;
    all = false;
    report(item, ["over", index], { expected: "the id of a link", remedy: unknown(link, known, "link") });
  });
  return all;
}

type Carriers = ReadonlyMap<string, readonly Candidate[]>;

const hopKey = (from: string, to: string) => `${from} ${to}`;

/** All that could carry audio from one device to another, groups in the place of their links. */
function indexCarriers(links: ReadonlyMap<string, LinkFound>, spares: readonly SparePlan[]): Carriers {
  const index = new Map<string, Candidate[]>();
  const add = (from: string, to: string, candidate: Candidate) => {
    const key = hopKey(from, to);
    const known = index.get(key);
    if (known) known.push(candidate);
    else index.set(key, [candidate]);
  };
  const waysOf = (link: LinkPlan) =>
    link.channels === 0
      ? []
      : [
          { from: link.a.device, to: link.b.device, way: "there" as const },
          ...(bringsTo(link, "a") ? [{ from: link.b.device, to: link.a.device, way: "back" as const }] : []),
        ];
  const grouped = new Set<string>();
  for (const spare of spares) {
    const members = spare.links.flatMap((id) => links.get(id)?.plan ?? []);
    for (const link of members) grouped.add(link.id);
    const main = members[0];
    if (!main) continue;
    for (const { from, to } of waysOf(main)) {
      const over = members.flatMap((link) =>
        waysOf(link).flatMap((way) => (way.from === from && way.to === to ? [{ link: link.id, way: way.way }] : [])),
      );
      add(from, to, { over, channels: main.channels, spare: spare.id });
    }
  }
  for (const { plan } of links.values()) {
    if (grouped.has(plan.id)) continue;
    for (const { from, to, way } of waysOf(plan))
      add(from, to, { over: [{ link: plan.id, way }], channels: plan.channels, spare: null });
  }
  return index;
}

function resolveHops(
  item: Place,
  feed: FeedFile,
  channels: readonly number[],
  carriers: Carriers,
  report: Report,
): HopPlan[] {
  const used = new Set<string>();
  const wantedOver = new Set(feed.over);
  const hops: HopPlan[] = [];
  for (let index = 1; index < feed.through.length; index++) {
    const from = feed.through[index - 1] as string;
    const to = feed.through[index] as string;
    const wanted = channels[index - 1] as number;
    const possible = carriers.get(hopKey(from, to)) ?? [];
    if (possible.length === 0) {
      report(item, ["through", index], {
        expected: `a link that carries audio from ${quote(from)} to ${quote(to)}`,
        received: "none",
        remedy: "add the link, or the device in between",
      });
      continue;
    }
    const named = possible.filter(({ over }) => over.some(({ link }) => wantedOver.has(link)));
    for (const { over } of named) for (const { link } of over) used.add(link);
    const [chosen, second] = narrowed(named.length > 0 ? named : possible, wanted);
    if (!chosen || second) {
      const names = possible.map(({ over }) => quote(over[0]?.link)).slice(0, 8);
      report(item, feed.over ? ["over"] : ["through", index], {
        expected: `one link, or one spare group, from ${quote(from)} to ${quote(to)}`,
        received: `${possible.length}: ${names.join(", ")}`,
        remedy: `name one, "over": [${names[0]}], or put them in one spare group`,
      });
      continue;
    }
    hops.push({ from, to, channels: wanted, over: chosen.over, spare: chosen.spare });
  }
  if (hops.length === feed.through.length - 1)
    feed.over?.forEach((link, index) => {
      if (used.has(link)) return;
      report(item, ["over", index], {
        expected: "a link that carries a hop of this feed",
        remedy: "take it away, or name the devices it runs between in through",
      });
    });
  return hops;
}

/** Where several could carry a hop, those with enough channels. */
function narrowed(candidates: readonly Candidate[], channels: number): readonly Candidate[] {
  if (candidates.length < 2) return candidates;
  const enough = candidates.filter((candidate) => candidate.channels >= channels);
  return enough.length > 0 ? enough : candidates;
}
