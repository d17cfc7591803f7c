/**
 * The timeline: one line per event with what it does to the clocks and to the listeners, one per stretch of trouble.
 *
 * Of each scene only the difference between before and after is told, so that a device which is for a moment on its own
 * clock does not fill the page.
 */
import { addTo } from "../../shared/lists.ts";
import type { DevicePlan } from "../../shared/plan.ts";
import type { TimelineLine } from "../../shared/telling.ts";
import {
  captureSentences,
  followersOf,
  namesOf,
  ownClockSentences,
  primaryOf,
  refusedBy,
  standingSentences,
} from "./clocks.ts";
import { eventSentence, isHungAt } from "./events.ts";
import { ledSentences } from "./led.ts";
import {
  backSentences,
  cleanSentence,
  clicksSentences,
  dropoutSentences,
  groupedBy,
  repeatedSentences,
  silenceSentences,
  stopSentences,
  stopsIn,
} from "./listeners.ts";
import { type Moves, movesBetween, throughWords } from "./moves.ts";
import { type NetworkNews, networkNews, networkStanding } from "./networks.ts";
import { type Picture, pictureAt, type Told } from "./picture.ts";
import { feedsInOrder, type Piece, piecesOf } from "./pieces.ts";
import {
  BEFORE_SECONDS,
  delayOf,
  isNear,
  isReturn,
  type Scene,
  SETTLING_SECONDS,
  scenesOf,
  withRepeats,
} from "./scenes.ts";
import { spareSentences } from "./spares.ts";
import { agree, capital, deviceHead, duration, isPlural, listed, showTime, times } from "./words.ts";

/** Later than an event by less than this is "at" the event to a listener. */
const AT_THE_EVENT_SECONDS = 0.05;

/** Sortable: where two lines share an instant, they stand as made. */
interface Line {
  readonly at: number;
  readonly text: string;
  readonly weight: TimelineLine["weight"];
}

export function timelineOf(told: Told): TimelineLine[] {
  const pieces = feedsInOrder(told).flatMap((feed) => piecesOf(told, feed));
  const { settledAt, scenes } = scenesOf(told);
  const opening = pictureAt(told, settledAt);
  const lines: Line[] = openingLines(told, opening);
  const ledBefore = new Set(opening.leaders.map(({ id }) => id));
  const unsaid = new Set(pieces.filter((piece) => piece.from < (scenes[0]?.at ?? told.summary.runSeconds)));
  const unreturned = new Set(
    pieces.filter(({ kind, isOpen }) => (kind === "silent" || kind === "not-carried") && !isOpen),
  );
  const { inScenes, alone } = newsByScene(networkNews(told), scenes);
  const beginIn = (from: number, to: number) =>
    pieces.filter((piece) => piece.from >= from - BEFORE_SECONDS && piece.from < to - BEFORE_SECONDS);
  for (const { scene, repeats } of withRepeats(scenes)) {
    const own = beginIn(scene.at, scene.next);
    const back = [...unreturned].filter(({ from, to }) => from < scene.at && isNear(scene, to));
    const after = pictureAt(told, scene.until);
    const { lines: sceneLines, said } = tellScene(told, scene, {
      pieces,
      own,
      back,
      after,
      ledBefore,
      news: inScenes.get(scene) ?? [],
    });
    for (const piece of back) unreturned.delete(piece);
    lines.push(...sceneLines);
    for (const piece of own) if (!said.has(piece)) unsaid.add(piece);
    for (const { id } of after.leaders) ledBefore.add(id);
    const [first, last] = [repeats[0], repeats.at(-1)];
    if (first === undefined || last === undefined) continue;
    const repeated = beginIn(first.at, last.next);
    lines.push({ at: first.at, text: repeatsText(repeats, repeated), weight: "clock" });
    for (const piece of repeated) if (!piece.isOpen) unreturned.delete(piece);
  }
  for (const { at, clause } of alone) lines.push({ at, text: `${capital(clause)}.`, weight: "clock" });
  for (const group of groupedBy([...unsaid], ({ from, kind }) => `${showTime(from)} ${kind}`)) {
    lines.push({ at: group[0]!.from, text: pieceSentences(told, group), weight: "heard" });
  }
  for (const group of groupedBy([...unreturned], ({ to }) => showTime(to))) {
    lines.push({ at: group[0]!.to, text: backSentences(told, group).join(" "), weight: "heard" });
  }
  return merged(lines).map(({ at, text, weight }) => ({ at: showTime(at), text, weight }));
}

/** A scene of devices that begins so soon is what a new leader brings about: its followers take two announcements. */
const SAME_SECONDS = 3;
/** What a network does of itself so long after the last change of a scene still comes of it. */
const AGREEING_SECONDS = 10;

/** News of networks by the scene that they belong to; those of no scene stand alone. */
function newsByScene(news: readonly NetworkNews[], scenes: readonly Scene[]) {
  const inScenes = new Map<Scene, NetworkNews[]>();
  const alone: NetworkNews[] = [];
  for (const each of news) {
    const next = scenes.find(
      ({ at, events }) => at >= each.at && at - each.at < SAME_SECONDS && events.length === 0 && each.leader !== null,
    );
    const last = scenes.findLast(({ at }) => at <= each.at);
    const isInside = last !== undefined && each.at <= last.until + BEFORE_SECONDS;
    const isSoon = last !== undefined && each.at - last.until < AGREEING_SECONDS;
    const scene = isInside ? last : (next ?? (isSoon ? last : undefined));
    if (scene === undefined) alone.push(each);
    else addTo(inScenes, scene, each);
  }
  return { inScenes, alone };
}

/** "After 6.2 s the monitor desk takes over as leader of the Red network: …" */
function newsSentences(scene: Scene, news: readonly NetworkNews[]): string[] {
  const isPrompted = scene.events.length > 0 || scene.boots.length > 0;
  return news.map(({ at, clause }) => {
    const delay = at - scene.at;
    return `${capital(isPrompted && delay >= AT_THE_EVENT_SECONDS ? `after ${duration(delay)} ${clause}` : clause)}.`;
  });
}

/** "So it goes on until 01:12:40, 14 times more. The PA drops out 12 times." */
function repeatsText(scenes: readonly Scene[], pieces: readonly Piece[]): string {
  const losses = scenes.filter(({ events }) => events.some(({ do: deed }) => deed === "lose-contact"));
  const often = losses.length > 0 ? losses.length : scenes.length;
  const clock = `So it goes on until ${showTime(scenes.at(-1)?.until ?? 0)}, ${times(often)} more.`;
  const heard = repeatedSentences(pieces);
  return [clock, ...(heard.length === 0 ? ["No listener hears a difference."] : heard)].join(" ");
}

function openingLines(told: Told, opening: Picture): Line[] {
  const isCold = told.plan.begin === "cold" && told.plan.devices.some(({ atStart }) => atStart === "on");
  if (isCold) return [{ at: 0, text: "Power comes on.", weight: "event" }];
  const sentences = [
    ...standingSentences(told, opening),
    ...networkStanding(told, primaryOf(told, opening)?.id ?? null),
  ];
  return sentences.length === 0 ? [] : [{ at: 0, text: sentences.join(" "), weight: "clock" }];
}

interface Surroundings {
  /** Of the whole run. */
  readonly pieces: readonly Piece[];
  /** Those that begin in this scene. */
  readonly own: readonly Piece[];
  /** Long silences that end in this scene. */
  readonly back: readonly Piece[];
  readonly after: Picture;
  readonly ledBefore: ReadonlySet<string>;
  readonly news: readonly NetworkNews[];
}

function tellScene(told: Told, scene: Scene, around: Surroundings): { lines: Line[]; said: ReadonlySet<Piece> } {
  const { own, back, after, pieces, ledBefore, news } = around;
  const before = pictureAt(told, scene.at - BEFORE_SECONDS);
  const said = new Set<Piece>();
  const say = (chosen: readonly Piece[]) => {
    for (const piece of chosen) said.add(piece);
    return chosen;
  };

  const named = scene.boots.length === 1 ? scene.boots[0]! : null;
  const moves = movesBetween(told, before, after, {
    named,
    ledBefore,
    isUnprompted: scene.events.length === 0 && scene.boots.length === 0,
    takenOver: new Set(news.flatMap(({ leader }) => leader ?? [])),
  });
  const delay = delayOf(scene, moves.moved);

  // The same thing told twice, by the file and by the command line, happens once.
  const first: string[] = [...new Set(scene.events.map((event) => eventSentence(told.plan, event, told)))];
  const silent = say(own.filter(({ kind, from }) => kind === "silent" && from - scene.at < AT_THE_EVENT_SECONDS));
  if (scene.events.length > 0) {
    const { failed, covered } = spareSentences(told, scene, pieces);
    const untold = silent.filter((piece) => !covered.includes(piece));
    first.push(...failed, ...silenceSentences(told, untold, scene.events));
  }

  const second: string[] = [];
  if (scene.boots.length > 0) second.push(bootSentence(told, scene, { before, after, moves, delay, ledBefore }));
  const newsDelay = Math.max(0, (news[0]?.at ?? scene.at) - scene.at);
  // What comes long before the devices settle has an instant of its own.
  const isEarly = scene.events.length > 0 && !isBrief(scene) && newsDelay + SETTLING_SECONDS < delay;
  const early = isEarly ? newsSentences(scene, news) : [];
  if (!isEarly) second.push(...newsSentences(scene, news));
  for (const [leader, standings] of scene.boots.length > 0 ? refusedBy(told, after) : []) {
    const news = standings.filter(({ device }) => [leader, device].some((one) => scene.boots.includes(one)));
    if (news.length > 0) second.push(...captureSentences(told, after, leader, news));
  }
  for (const device of scene.boots.filter(({ id }) => isHungAt(told, id, scene.at))) {
    second.push(`${deviceHead(device)} still ${agree(isPlural(device.name), "hangs", "hang")}: no audio comes.`);
  }
  if (scene.boots.length === 0 && moves.clauses.length > 0)
    second.push(`${capital(prefix(scene, delay) + listed(moves.clauses))}.`);
  second.push(...moves.sentences, ...ledSentences(told, before, after));
  second.push(...lostLock(scene, moves, { before, after }));
  const hasClockNews = second.length > 0;
  second.push(...backSentences(told, back));
  if (scene.events.length === 0) second.push(...silenceSentences(told, silent, []));

  const reach = scene.until + SETTLING_SECONDS;
  const dropouts = say(own.filter(({ kind, from }) => kind === "dropout" && from <= reach));
  second.push(...dropoutSentences(dropouts));
  if (isReturn(scene) && dropouts.length > 0 && dropouts.every(({ feed }) => isOnlyOnReturn(told, feed.id))) {
    second.push("The return did this, not the failure.");
  }
  const clicking = say(own.filter((piece) => piece.kind === "clicks" && piece.from <= reach + 2 * meanGap(piece)));
  second.push(...clicksSentences(told, clicking));
  const isNews = scene.events.length > 0 || scene.boots.length > 0 || moves.clauses.length + news.length > 0;
  const stopped = scene.events.length > 0 || scene.boots.length > 0 ? stopsIn(scene, pieces) : [];
  second.push(...stopSentences(stopped));
  const changed = own.length + back.length + stopped.length;
  const clean = isNews ? cleanSentence(told, scene, pieces, { isHeard: changed > 0, stopped }) : null;
  if (clean !== null) second.push(clean);
  if (scene.events.length > 0) second.push(...spareSentences(told, scene, pieces).works);

  const lines = linesOf(scene, first, second, { delay, hasClockNews });
  if (early.length > 0) lines.splice(1, 0, { at: scene.at + newsDelay, text: early.join(" "), weight: "clock" });
  return { lines, said };
}

/** Those who lose lock, or find it again, with their source there all the time; only where nothing else moves. */
function lostLock(
  scene: Scene,
  moves: Moves,
  { before, after }: { readonly before: Picture; readonly after: Picture },
): string[] {
  const again = flapping(scene);
  if (again.length > 0) return again;
  if (moves.clauses.length > 0 || scene.boots.length > 0) return lossesBeside(scene, moves, before);
  const devices = [...new Set(scene.changes.map(({ device }) => device))].filter((device) => {
    const [was, is] = [before.standings.get(device.id), after.standings.get(device.id)];
    return was?.upstream !== null && was?.upstream === is?.upstream && was?.source === is?.source;
  });
  const stateOf = (picture: Picture, { id }: DevicePlan) => picture.standings.get(id)?.state;
  const lost = devices.filter((device) => stateOf(before, device) === "locked");
  const isBack = (device: DevicePlan) => stateOf(after, device) === "locked";
  const within = duration(Math.max(0.1, scene.until - (scene.changes[0]?.at ?? scene.at)));
  return [
    ...ofThem(
      lost.filter(isBack),
      ["loses", "lose"],
      (one) => `lock and ${one ? "pulls" : "pull"} in again within ${within}`,
    ),
    ...ofThem(
      lost.filter((device) => !isBack(device)),
      ["loses", "lose"],
      (one) => `lock and ${one ? "is" : "are"} still pulling in`,
    ),
    ...ofThem(
      devices.filter((device) => stateOf(before, device) === "acquiring" && isBack(device)),
      ["is", "are"],
      () => "locked again",
    ),
  ];
}

/** "Box 59 loses lock twice, 7.6 s and 7.2 s." Those whose source is there all the time, beside others that move. */
function lossesBeside(scene: Scene, { moved }: Moves, before: Picture): string[] {
  const lengths = new Map<DevicePlan, number[]>();
  const since = new Map<DevicePlan, number>();
  for (const { device, from, to, at } of scene.changes) {
    if (moved.includes(device) || scene.boots.includes(device)) continue;
    if (before.standings.get(device.id)?.source !== to.source) since.delete(device);
    else if (from.state === "locked" && to.state === "acquiring") since.set(device, at);
    else if (to.state === "locked" && since.has(device)) {
      addTo(lengths, device, at - since.get(device)!);
      since.delete(device);
    }
  }
  const devices = [...lengths.keys()];
  const [first] = devices;
  if (first === undefined) return [];
  const own = lengths.get(first)!;
  const longest = Math.max(...[...lengths.values()].flat());
  const isOne = devices.length === 1;
  const extent = !isOne
    ? `for up to ${duration(longest)}`
    : own.length === 1
      ? `for ${duration(own[0]!)}`
      : `${times(own.length)}, ${own.length === 2 ? listed(own.map(duration)) : `${duration(longest)} at the longest`}`;
  return ofThem(devices, ["loses", "lose"], () => `lock ${extent}`);
}

/** So often within one scene is again and again. */
const FLAPS_FROM = 3;

/** "Stage box loses lock and pulls in again, 1,480 times until 00:49:59." */
function flapping(scene: Scene): string[] {
  const losses = scene.changes.filter(({ from, to }) => from.state === "locked" && to.state !== "locked");
  const devices = [...new Set(losses.map(({ device }) => device))];
  return devices.flatMap((device) => {
    const own = losses.filter((change) => change.device === device);
    if (own.length < FLAPS_FROM) return [];
    const isOne = !isPlural(device.name);
    return `${deviceHead(device)} ${isOne ? "loses" : "lose"} lock and ${isOne ? "pulls" : "pull"} in again, ${times(own.length)} until ${showTime(own.at(-1)!.at)}.`;
  });
}

function ofThem(
  devices: readonly DevicePlan[],
  [one, many]: readonly [string, string],
  rest: (isOne: boolean) => string,
): string[] {
  if (devices.length === 0) return [];
  const isOne = devices.length === 1 && !isPlural(devices[0]!.name);
  return [`${capital(namesOf(devices))} ${isOne ? one : many} ${rest(isOne)}.`];
}

/** Cables come and go in one breath with what follows; a device's fate and who leads after it are two lines. */
function linesOf(
  scene: Scene,
  first: readonly string[],
  second: readonly string[],
  { delay, hasClockNews }: { readonly delay: number; readonly hasClockNews: boolean },
): Line[] {
  const line = (at: number, texts: readonly string[], weight: Line["weight"]): Line => ({
    at,
    text: texts.join(" "),
    weight,
  });
  if (first.length === 0) return second.length === 0 ? [] : [line(scene.at, second, "clock")];
  if (isBrief(scene) || !hasClockNews) return [line(scene.at, [...first, ...second], "event")];
  return [line(scene.at, first, "event"), line(scene.at + delay, second, "clock")];
}

/** Cables alone. */
function isBrief({ events }: Scene): boolean {
  const cables = ["unplug", "plug", "lose-contact", "make-contact", "cut", "mend"];
  return events.every(({ do: deed }) => cables.includes(deed));
}

/** "After 0.3 s ", "After 12 s ", or nothing where it is at once. */
function prefix(scene: Scene, delay: number): string {
  return scene.events.length === 0 || delay < AT_THE_EVENT_SECONDS ? "" : `after ${duration(delay)} `;
}

/** "FOH desk is back and leads again; the others return to it at once." */
function bootSentence(
  told: Told,
  scene: Scene,
  {
    before,
    after,
    moves,
    delay,
    ledBefore,
  }: { before: Picture; after: Picture; moves: Moves; delay: number; ledBefore: ReadonlySet<string> },
): string {
  const first = scene.boots[0]!;
  const plural = scene.boots.length > 1 || isPlural(first.name);
  const wasUp = scene.boots.some((device) => wasUpBefore(told, device, scene.at));
  const back = `${scene.boots.length === 1 ? deviceHead(first) : capital(namesOf(scene.boots))} ${agree(plural, "is", "are")} ${wasUp ? "back" : "up"}`;
  const tail = moves.clauses.length === 0 ? "" : `; ${listed(moves.clauses)}`;
  if (scene.boots.length > 1) return `${back}${tail}.`;
  const standing = after.standings.get(first.id);
  const behind = (leader: DevicePlan) => followersOf(after, leader).length;
  const isMost = after.leaders.every((leader) => leader === first || behind(leader) < behind(first));
  const leads = after.leaders.includes(first) && isMost && !before.leaders.includes(first);
  if (leads) {
    const again = ledBefore.has(first.id) ? " again" : "";
    const when = moves.clauses.length === 0 ? "" : delay < 1 ? " at once" : ` after ${duration(delay)}`;
    return `${back} and ${agree(plural, "leads", "lead")}${again}${tail}${when}.`;
  }
  if (standing?.upstream != null) {
    const follows =
      standing.state === "acquiring"
        ? agree(plural, "is pulling in to", "are pulling in to")
        : agree(plural, "follows", "follow");
    return `${back} and ${follows} ${throughWords(after, standing.upstream)}${tail}.`;
  }
  if (standing?.state !== "free-run") return `${back}${tail}.`;
  const [own = "", ...rest] = ownClockSentences(told, after, standing);
  const onIt = own.replace(/^.*? (?:is|are) on (its|their) own clock/, `${back} on $1 own clock`);
  // Who follows it stands in that sentence already.
  return [after.leaders.includes(first) ? onIt : `${onIt.replace(/\.$/, "")}${tail}.`, ...rest].join(" ");
}

function wasUpBefore({ summary }: Told, device: DevicePlan, at: number): boolean {
  const states = summary.devices.find(({ id }) => id === device.id)?.states ?? [];
  return states.some(({ state, fromSeconds }) => fromSeconds < at && state !== "off" && state !== "starting");
}

function isOnlyOnReturn({ summary }: Told, feed: string): boolean {
  return summary.feeds.find(({ id }) => id === feed)?.dropouts.whileFaulty === 0;
}

function meanGap({ from, to, slips }: Piece): number {
  return (to - from) / Math.max(1, slips - 1);
}

/** Trouble of one kind that no scene has spoken of, on a line of its own. */
function pieceSentences(told: Told, pieces: readonly Piece[]): string {
  const [first] = pieces;
  if (first?.kind === "clicks") return clicksSentences(told, pieces).join(" ");
  if (first?.kind === "dropout") return dropoutSentences(pieces).join(" ");
  return silenceSentences(told, pieces, []).join(" ");
}

/** In order of time; a line said by several feeds in the same words at the same second is said once. */
function merged(lines: readonly Line[]): Line[] {
  const sorted = lines
    .map((line, index) => ({ line, index }))
    .sort((one, two) => one.line.at - two.line.at || one.index - two.index);
  const kept: Line[] = [];
  for (const { line } of sorted) {
    if (!kept.some(({ at, text }) => text === line.text && showTime(at) === showTime(line.at))) kept.push(line);
  }
  return kept;
}
