/** What an event says about the spares: one that carries, one that was none. */
import type { EventPlan, Plan, SparePlan } from "../../shared/plan.ts";
import { deviceOf, linkById } from "../by-id.ts";
import { leftBySpares } from "../spare-clocks.ts";
import { testedOf } from "../tested.ts";
import { groupedBy, together } from "./listeners.ts";
import { stretchAt, type Told } from "./picture.ts";
import type { Piece } from "./pieces.ts";
import { agree, along, cableIn, duration, listed, theDevice } from "./words.ts";

export interface SpareSentences {
  /** To stand with the event: the pair fell together. */
  readonly failed: readonly string[];
  /** Silences of which that has spoken. */
  readonly covered: readonly Piece[];
  /** To stand behind what was heard: the spare carried. */
  readonly works: readonly string[];
}

export function spareSentences(
  told: Told,
  scene: { readonly at: number; readonly next: number; readonly events: readonly EventPlan[] },
  pieces: readonly Piece[],
): SpareSentences {
  const failed: string[] = [];
  const covered: Piece[] = [];
  const byHand: Piece[] = [];
  const carrying: string[] = [];
  const broken = new Set(scene.events.flatMap((event) => brokenBy(told.plan, event)));
  for (const group of told.plan.spares) {
    const main = group.links[0];
    if (main === undefined || !broken.has(main)) continue;
    const left = group.links.filter((link) => !broken.has(link) && isUp(told, link, scene.at));
    const carried = pieces.filter(({ feed }) => feed.hops.some(({ spare }) => spare === group.id));
    const hit = carried.filter(
      ({ from, silence }) => from >= scene.at - 0.001 && from < scene.next && silence === "link-down",
    );
    if (left.length === 0) {
      failed.push(noSpareLeft(told.plan, group, scene.events, hit));
      covered.push(...hit.filter(({ kind }) => kind === "silent"));
    } else if (group.mode === "manual") byHand.push(...hit.filter(({ isOpen }) => !isOpen));
    else if (hit.length > 0 ? hit.every(({ kind }) => kind === "dropout") : isMerged(told.plan, group))
      carrying.push(main);
  }
  const clockless = carrying.filter((main) => leavesClock(told, main, scene, pieces));
  const sound = carrying.filter((main) => !clockless.includes(main));
  const works = [
    ...(sound.length === 0 ? [] : [onSite(told.plan, sound)]),
    ...(clockless.length === 0 ? [] : [withoutClock(told.plan, clockless)]),
  ];
  const longest = byHand.reduce((most, { from, to }) => Math.max(most, to - from), 0);
  if (byHand.length > 0) works.push(`This counts on somebody who changes over by hand within ${duration(longest)}.`);
  return { failed, covered, works };
}

/** Whether what the spare carries clicks, or is muted, because a device listened to the main alone. */
function leavesClock(
  { plan }: Told,
  main: string,
  { at, next }: { readonly at: number; readonly next: number },
  pieces: readonly Piece[],
): boolean {
  const left = leftBySpares(plan).filter((each) => each.main === main);
  if (left.length === 0) return false;
  const { id } = left[0]!.spare;
  return pieces.some(
    ({ feed, kind, from }) =>
      kind === "clicks" && from >= at - 0.001 && from < next && feed.hops.some(({ spare }) => spare === id),
  );
}

function withoutClock(plan: Plan, mains: readonly string[]): string {
  const devices = new Set(
    leftBySpares(plan).flatMap(({ main, device }) => (mains.includes(main) ? [theDevice(deviceOf(plan, device))] : [])),
  );
  const head = mains.length === 1 ? "This spare carries the audio" : "These spares carry the audio";
  return `${head} and not the clock: ${listed([...devices])} ${devices.size === 1 ? "does" : "do"} not listen to ${mains.length === 1 ? "it" : "them"}.`;
}

/** A spare takes over when its main is pulled: whether that was done, and whether it still counts. */
function onSite(plan: Plan, mains: readonly string[]): string {
  const head = mains.length === 1 ? "This spare works here" : "These spares work here";
  const them = mains.length === 1 ? "it" : "them";
  const found = mains.map((id) => {
    const link = linkById(plan, id);
    return link === undefined ? null : testedOf(plan, link);
  });
  if (found.every((tested) => tested !== null && !tested.isChanged)) {
    const [first] = found.flatMap((tested) => tested?.date ?? []).sort();
    return `${head}; ${mains.length === 1 ? "its main was" : "their mains were"} pulled on site${mains.length === 1 ? "" : ", the first"} on ${first}.`;
  }
  if (found.some((tested) => tested?.isChanged === true))
    return `${head}; something there has changed since somebody pulled ${them} on site.`;
  return `${head}; nobody has pulled ${mains.length === 1 || found.every((tested) => tested === null) ? them : "all of them"} on site.`;
}

/** A group of duplicates that some feed goes over: the loss of one is not heard at all. */
function isMerged({ feeds }: Plan, { id, mode }: SparePlan): boolean {
  return mode === "duplicate" && feeds.some(({ hops }) => hops.some(({ spare }) => spare === id));
}

export function brokenBy(plan: Plan, event: EventPlan): readonly string[] {
  if (event.do === "unplug" || event.do === "lose-contact") return [event.link];
  if (event.do === "cut")
    return plan.links.filter(({ laidAlong }) => laidAlong.includes(event.path)).map(({ id }) => id);
  return [];
}

function isUp({ summary }: Told, link: string, seconds: number): boolean {
  const halves = summary.links.filter(({ id }) => id === link);
  return halves.length > 0 && halves.every(({ states }) => stretchAt(states, seconds)?.state === "up");
}

function noSpareLeft(plan: Plan, group: SparePlan, events: readonly EventPlan[], hit: readonly Piece[]): string {
  const cut = events.find(
    (event) => event.do === "cut" && group.links.every((link) => brokenBy(plan, event).includes(link)),
  );
  const silent = hit.filter(({ kind }) => kind === "silent");
  const tails = groupedBy(silent, ({ isOpen, from, to }) => (isOpen ? "open" : duration(to - from))).map((pieces) => {
    const who = together(pieces);
    const stay = agree(who.plural, "stays", "stay");
    const { isOpen, from, to } = pieces[0]!;
    return `${who.mid} ${stay} silent ${isOpen ? "until a new cable is run" : `for ${duration(to - from)}`}`;
  });
  if (cut?.do === "cut") {
    const cables = listed(group.links.map((link) => (/^(main|spare)$/.test(link) ? link : cableIn(plan, link))));
    const one = tails.length === 0 ? "One forklift takes both." : `One forklift takes both, and ${listed(tails)}.`;
    const both = group.links.length === 2 ? "both" : "all";
    return `Not a spare: ${cables} are ${both} laid ${along(cut.path)}. ${one.replace("both", both)}`;
  }
  const down = `No spare is up to take over from the ${cableIn(plan, group.links[0]!)}`;
  return tails.length === 0 ? `${down}.` : `${down}: ${listed(tails)}.`;
}
