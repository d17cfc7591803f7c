/**
 * The chosen event, at its flag: another time for it, typed or by key, or away with it. Both change the scenario that
 * is worked on, as the list of events does.
 */
import { nsFromSeconds } from "../../shared/time.ts";
import { formatShowTime } from "../../shared/units.ts";
import { eventSentence } from "../../sim/tell/events.ts";
import { h } from "../dom.ts";
import type { PageContext, Room } from "../page.ts";
import { eventsIn, moveEvent, removeEvent } from "../room/edits.ts";
import { showTimeIn } from "../room/event-list.ts";
import { showing } from "../store.ts";
import { hide } from "./hide.ts";
import { moveStep } from "./move-step.ts";

export interface FlagBar {
  readonly element: HTMLElement;
  /** Moves the event one step; false: this one cannot be moved here. */
  nudge(index: number, later: boolean): boolean;
  /** Once its part is in the page: what was moved in the run before is chosen still. */
  restore(focusFlag: (index: number) => void): void;
}

/** Keys that are pressed in a row are one move, and one run. */
const SETTLE_MS = 500;

/** What is being moved while the page is drawn anew, by its place in the file. */
const moved = new WeakMap<Room, { readonly written: number; readonly isAtFlag: boolean }>();

export function flagBar({ run, store, room, announce }: PageContext): FlagBar {
  const { events } = run.plan;
  const problem = h("span", { class: "form-problem", role: "alert" });
  const time = h("input", { class: "time-field", size: 12, autocomplete: "off", spellcheck: false });
  const remove = h("button", { type: "button" }, "Remove");
  const which = h("span", { class: "flag-which" });
  const label = h("label", {}, "Show time ", time);
  const element = h(
    "div",
    { class: "flag-bar", role: "group", "aria-label": "The chosen event" },
    which,
    label,
    remove,
    problem,
  );
  /** Null: no move by key is under way. */
  let pending: { readonly index: number; readonly atSeconds: number } | null = null;
  let waiting = 0;

  /** Where the event stands in the file that is worked on; null: it does not stand there as it was played. */
  const writtenAt = (index: number | null): number | null => {
    const event = index === null ? undefined : events[index];
    const files = room.workspace.files();
    const written = event?.written ?? null;
    if (event === undefined || files === null || written === null || event.undoes !== null) return null;
    const now = eventsIn(files.texts[files.main] ?? "")[written];
    const then = eventsIn(run.files?.texts[run.files.main] ?? "")[written];
    return now !== undefined && JSON.stringify(now) === JSON.stringify(then) ? written : null;
  };
  const words = (index: number) => eventSentence(run.plan, events[index]!);
  const board = () => element.closest<HTMLElement>(".board");
  const update = () => {
    const { event } = store.look();
    hide(element, writtenAt(event) === null, board);
    if (event === null || element.hidden) return;
    which.textContent = words(event);
    element.setAttribute("aria-label", `The chosen event: ${words(event)}`);
    if (document.activeElement !== time) time.value = formatShowTime(events[event]!.atNs);
  };
  const move = (index: number, at: string, isAtFlag: boolean) => {
    const written = writtenAt(index);
    if (written === null || at === formatShowTime(events[index]!.atNs)) return;
    moved.set(room, { written, isAtFlag });
    room.edit(`move to ${at}: ${words(index)}`, (text) => moveEvent(text, written, at));
  };
  const settle = () => {
    clearTimeout(waiting);
    if (pending === null) return;
    const { index, atSeconds } = pending;
    pending = null;
    if (element.isConnected)
      move(index, formatShowTime(nsFromSeconds(atSeconds)), !element.contains(document.activeElement));
  };

  time.addEventListener("change", () => {
    const { event } = store.look();
    const at = showTimeIn(time.value);
    problem.textContent = at === null ? `${time.value} is no show time. Write it as hh:mm:ss, such as 00:20:00.` : "";
    if (at !== null && event !== null) move(event, at, false);
  });
  remove.addEventListener("click", () => {
    const { event } = store.look();
    const written = writtenAt(event);
    if (event === null || written === null) return;
    clearTimeout(waiting);
    pending = null;
    const says = words(event);
    store.set({ event: null });
    room.edit(`remove: ${says}`, (text) => removeEvent(text, written));
    announce(`Removed: ${says}`);
  });
  store.subscribe((before) => {
    if (before.event !== store.look().event) problem.textContent = "";
    update();
  });
  update();

  return {
    element,
    nudge(index, later) {
      if (writtenAt(index) === null) return false;
      const { fromSeconds, toSeconds } = store.look();
      const step = moveStep(toSeconds - fromSeconds);
      const from = pending?.index === index ? pending.atSeconds : events[index]!.atNs / 1e9;
      // Whole steps of the file's grain, so that adding them up leaves no crumbs.
      const at = Math.round((from + (later ? step : -step)) * 1000) / 1000;
      const atSeconds = Math.min(Math.max(at, 0), store.lengthSeconds);
      pending = { index, atSeconds };
      store.set({ event: index, cursorSeconds: atSeconds, ...showing(store.look(), atSeconds) });
      time.value = formatShowTime(nsFromSeconds(atSeconds));
      announce(`Moved to ${time.value}`);
      clearTimeout(waiting);
      waiting = window.setTimeout(settle, SETTLE_MS);
      return true;
    },
    restore(focusFlag) {
      const last = moved.get(room);
      if (last === undefined) return;
      moved.delete(room);
      const index = events.findIndex(({ written, undoes }) => written === last.written && undoes === null);
      if (index < 0) return;
      store.set({ event: index, cursorSeconds: events[index]!.atNs / 1e9 });
      if (last.isAtFlag && document.activeElement === document.body) focusFlag(index);
    },
  };
}
