/**
 * Events moved, copied and taken away at their flags. A move is shown at once and written into the file when it has
 * settled: a drag, or a row of keys, is one step back and one run. What ends moves its `forSeconds`, what begins its
 * `at`. While the run of a move is under way one can go on moving: the next drawing takes over where it has come to.
 */
import { nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { formatShowTime, parseShowTime } from "../../shared/units.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { isTold } from "../../sim/tell/event-words.ts";
import { eventSentence } from "../../sim/tell/events.ts";
import type { PageContext, Room } from "../page.ts";
import { copyEvent, eventsIn, moveEvent, removeEvent, setLasting } from "../room/edits.ts";
import { endsTooEarly } from "../room/typed.ts";
import { showing } from "../store.ts";
import { type FlagPart, flagPart, indexOfPart } from "./flag-part.ts";
import { GRAIN_SECONDS, moveStep } from "./move-step.ts";

export type FlagMoves = ReturnType<typeof flagMoves>;

/** Keys that are pressed in a row are one move, and one run. */
const SETTLE_MS = 500;
/** A copy stands so many steps behind what it was copied from: beside it, and in sight. */
const COPY_STEPS = 10;

interface Place {
  readonly written: number;
  readonly isEnd: boolean;
  /** Show time; of an end, since its beginning. */
  readonly seconds: number;
}

/** What is changed by hand in a room, from one drawing to the next. */
interface Hand {
  /** Shown, and not yet written; null: nothing is being moved. */
  pending: Place | null;
  /** Written since the last run that is drawn, with the event as the file has it now. */
  wrote: (Place & { readonly event: string })[];
  /** What is to be chosen, and to have the focus, in the next drawing. */
  next: { readonly written: number; readonly isEnd: boolean; readonly isAtFlag: boolean } | null;
  waiting: number;
  /** Both of the drawing that is in the page. */
  settle: () => void;
  redraw: () => void;
}
const hands = new WeakMap<Room, Hand>();

export function flagMoves({ run, store, room, announce }: PageContext) {
  const { plan } = run;
  const { events } = plan;
  const hand = hands.get(room) ?? handOf(room);

  const words = (index: number) => eventSentence(plan, events[index]!);
  const playedSeconds = (index: number) => secondsFromNs(events[index]!.atNs);
  const step = () => moveStep(store.look().toSeconds - store.look().fromSeconds);

  // ---- what stands in the file

  const then = readEvents();
  const now = readEvents();
  const eventThen = (written: number) => then(run.files ?? null)[written];
  const eventNow = (written: number) => now(room.workspace.files())[written];
  /** Then nothing has to be read: the page opens sooner. */
  const isAsPlayed = () => {
    const files = room.workspace.files();
    if (files === null || run.files === undefined || run.files.added !== undefined) return false;
    return files.texts[files.main] === run.files.texts[run.files.main];
  };
  /** What was written of this part since the run, where the file has it still. */
  const wroteOf = (written: number, isEnd: boolean) => {
    const last = hand.wrote.findLast((one) => one.written === written);
    if (last === undefined || last.event !== eventNow(written)) return undefined;
    return hand.wrote.findLast((one) => one.written === written && one.isEnd === isEnd);
  };
  /** Null: it does not stand in the file that is worked on as it was played, and not as it was moved here. */
  const partOf = (index: number | null): FlagPart | null => {
    const part = index === null ? null : flagPart(plan, index);
    if (part === null) return null;
    if (isAsPlayed()) return part;
    const event = eventNow(part.written);
    const isKnown = event !== undefined && event === eventThen(part.written);
    return isKnown || wroteOf(part.written, true) || wroteOf(part.written, false) ? part : null;
  };

  // ---- where flags are

  const isPending = (part: FlagPart) =>
    hand.pending?.written === part.written && hand.pending.isEnd === (part.ends !== null);
  /** Where a flag is while something is moved: an end goes along with its beginning. */
  const secondsOf = (index: number): number => {
    const part = hand.pending === null && hand.wrote.length === 0 ? null : flagPart(plan, index);
    if (part === null) return playedSeconds(index);
    const own = isPending(part) ? hand.pending : wroteOf(part.written, part.ends !== null);
    if (part.ends === null) return own?.seconds ?? playedSeconds(index);
    return secondsOf(part.ends) + (own?.seconds ?? playedSeconds(index) - playedSeconds(part.ends));
  };
  /** Shows it there; the file stays as it is until the move has settled. False: this one cannot be moved. */
  const moveTo = (index: number, seconds: number): boolean => {
    const part = partOf(index);
    if (part === null) return false;
    if (hand.pending !== null && !isPending(part)) settle(false);
    const began = part.ends === null ? null : secondsOf(part.ends);
    const least = began === null ? 0 : began + GRAIN_SECONDS;
    const atSeconds = Math.min(Math.max(onGrain(seconds), onGrain(least)), store.lengthSeconds);
    const pending = { written: part.written, isEnd: began !== null, seconds: onGrain(atSeconds - (began ?? 0)) };
    hand.pending = pending;
    store.set({ event: index, cursorSeconds: atSeconds, ...showing(store.look(), atSeconds) });
    return true;
  };

  // ---- into the file

  const edit = (part: FlagPart, isAtFlag: boolean, what: string, change: (text: string) => string) => {
    hand.next = { written: part.written, isEnd: part.ends !== null, isAtFlag };
    room.edit(what, change);
  };
  /** Null, or why not. */
  const write = (index: number, at: string, isAtFlag: boolean): string | null => {
    const [part, atNs] = [partOf(index), parseShowTime(at)];
    if (part === null || atNs === null || atNs === nsFromSeconds(secondsOf(index))) return null;
    const { written, ends } = part;
    const began = ends === null ? null : nsFromSeconds(secondsOf(ends));
    const seconds = (atNs - (began ?? 0)) / 1e9;
    if (began === null) edit(part, isAtFlag, `move to ${at}: ${words(index)}`, (text) => moveEvent(text, written, at));
    else if (atNs <= began) return endsTooEarly(began);
    else {
      const what = `move the end to ${at}: ${words(index)}`;
      edit(part, isAtFlag, what, (text) => setLasting(text, written, seconds));
    }
    const event = eventNow(written);
    if (event !== undefined) hand.wrote.push({ written, isEnd: began !== null, seconds, event });
    return null;
  };
  const settle = (isAtFlag: boolean) => {
    clearTimeout(hand.waiting);
    const { pending } = hand;
    if (pending === null) return;
    const index = indexOfPart(plan, pending.written, pending.isEnd);
    const at = index < 0 ? null : timeOf(secondsOf(index));
    hand.pending = null;
    if (at !== null) write(index, at, isAtFlag);
  };
  const cancel = () => {
    clearTimeout(hand.waiting);
    const { pending } = hand;
    if (pending === null) return;
    hand.pending = null;
    const index = indexOfPart(plan, pending.written, pending.isEnd);
    if (index < 0) return;
    store.set({ cursorSeconds: secondsOf(index) });
    announce(`Left at ${timeOf(secondsOf(index))}`);
  };

  return {
    partOf,
    secondsOf,
    step,
    words,
    write,
    cancel,
    isMoving(index: number): boolean {
      const part = hand.pending === null ? null : flagPart(plan, index);
      return part !== null && isPending(part);
    },
    /** Along with a pointer, from step to step of the window. */
    drag(index: number, seconds: number): boolean {
      clearTimeout(hand.waiting);
      const grid = step();
      const before = secondsOf(index);
      const isMoved = moveTo(index, Math.round(seconds / grid) * grid);
      if (isMoved && secondsOf(index) !== before) announce(`Moved to ${timeOf(secondsOf(index))}`);
      return isMoved;
    },
    drop: () => settle(true),
    /** One step; the file follows when no other comes. False: this one cannot be moved. */
    nudge(index: number, isLater: boolean): boolean {
      if (!moveTo(index, secondsOf(index) + (isLater ? step() : -step()))) return false;
      announce(`Moved to ${timeOf(secondsOf(index))}`);
      clearTimeout(hand.waiting);
      hand.waiting = window.setTimeout(() => hand.settle(), SETTLE_MS);
      return true;
    },
    /** The same once more, a little later, and chosen. */
    copy(index: number): void {
      settle(false);
      const part = partOf(index);
      if (part === null || part.ends !== null) return;
      const { written } = part;
      const at = timeOf(Math.min(secondsOf(index) + COPY_STEPS * step(), store.lengthSeconds));
      const copied = { written: written + 1, ends: null };
      edit(copied, true, `copy to ${at}: ${words(index)}`, (text) => copyEvent(text, written, at));
      hand.wrote = [];
      announce(`Copied to ${at}`);
    },
    /** An end that is taken away leaves what began as it is, to the end of the show. False: nothing to remove here. */
    remove(index: number): boolean {
      cancel();
      const part = partOf(index);
      if (part === null) return false;
      const { written, ends } = part;
      const says = words(index);
      if (ends === null) {
        store.set({ event: null });
        room.edit(`remove: ${says}`, (text) => removeEvent(text, written));
      } else {
        const began = { written, ends: null };
        edit(began, true, `take the end away: ${says}`, (text) => setLasting(text, written, undefined));
      }
      hand.wrote = [];
      announce(`Removed: ${says}`);
      return true;
    },
    /** Once its part is in the page: what was changed in the run before is chosen still, and goes on being moved. */
    restore(focusFlag: (index: number) => void, isAtFlag: () => boolean, redraw: () => void): void {
      hand.settle = () => settle(isAtFlag());
      hand.redraw = redraw;
      hand.wrote = hand.wrote.filter(({ written }) => eventThen(written) !== eventNow(written));
      const { next, pending } = hand;
      if (next === null) return;
      // What was moved on meanwhile has another drawing to come.
      if (hand.wrote.length === 0) hand.next = null;
      const index = indexOfPart(plan, next.written, next.isEnd);
      if (index < 0 || !isTold(events[index]!)) {
        hand.pending = null;
        return;
      }
      if (pending !== null && pending.written !== next.written) hand.pending = null;
      store.set({ event: index, cursorSeconds: secondsOf(index) });
      if (next.isAtFlag && document.activeElement === document.body) focusFlag(index);
    },
  };
}

function handOf(room: Room): Hand {
  const hand: Hand = { pending: null, wrote: [], next: null, waiting: 0, settle: () => {}, redraw: () => {} };
  hands.set(room, hand);
  // A step back to what was played last has no run, and no other drawing.
  room.workspace.subscribe(() => hand.redraw());
  return hand;
}

/** Each event of the scenario as it stands in the file; the same files are read once. */
function readEvents(): (files: ScenarioTexts | null) => readonly string[] {
  let of: ScenarioTexts | null = null;
  let read: readonly string[] = [];
  return (files) => {
    if (files === null) return [];
    if (files !== of) read = eventsIn(files.texts[files.main] ?? "").map((event) => JSON.stringify(event));
    of = files;
    return read;
  };
}

/** Whole steps of the file's grain, so that adding them up leaves no crumbs. */
function onGrain(seconds: number): number {
  return Math.round(seconds / GRAIN_SECONDS) / Math.round(1 / GRAIN_SECONDS);
}

function timeOf(seconds: number): string {
  return formatShowTime(nsFromSeconds(seconds));
}
