/** Puts a run on the page in the place of the one before: what people look at, their focus and open folds stay. */
import { lanesOf } from "../../sim/lanes/lane.ts";
import { h } from "../dom.ts";
import { inPageWords } from "../expected.ts";
import { FIRST_PARTS, type LaterParts, PART_ORDER, type PartName } from "../first.ts";
import { inPageOrder } from "../order.ts";
import type { PageContext, PagePart, Room, Whole } from "../page.ts";
import type { Run } from "../run.ts";
import { slipsOf } from "../slips.ts";
import { createStore, type Look } from "../store.ts";
import { createLater } from "./later.ts";
import { type Measures, withListenersUntil } from "./scope.ts";

export interface Drawing {
  /** What is drawn; null: nothing yet. */
  context(): PageContext | null;
  /** Draws a run. What `look` leaves out stays as it was, or begins just before the first event. */
  show(run: Run, look?: Partial<Look>): void;
  /** Draws at once what waits for what people wait for. */
  finish(): void;
  /** More is known of the run that is shown: draws one part anew. */
  amend(more: Partial<Run>, part: PartName): void;
  /** The rest of the page is there: draws it too, from now on. */
  complete(later: LaterParts, whole: Whole, placed: (part: HTMLElement) => void): void;
}

const isFirst = (name: PartName) => name in FIRST_PARTS;
const LAST_FIRST = PART_ORDER.findLastIndex(isFirst);

/**
 * Of the parts those that people wait for are drawn first: the others follow once these are on the screen, and once they
 * are there at all. The root of the page says `data-drawing` until then.
 */
export function createDrawing(place: Element, room: Room): Drawing {
  const live = h("p", { class: "unseen", role: "status", "aria-live": "polite" });
  let announcing = 0;
  const announce = (text: string) => {
    // Held keys would otherwise queue a sentence per repeat.
    clearTimeout(announcing);
    announcing = window.setTimeout(() => {
      live.textContent = text;
    }, 250);
  };
  const parts = new Map<PartName, PagePart>(Object.entries(FIRST_PARTS) as [PartName, PagePart][]);
  let placed = (_part: HTMLElement) => {};
  let whole: Whole | null = null;
  let waitingForWhole: ((there: Whole) => void)[] = [];
  let context: PageContext | null = null;
  const shown = new Map<PartName, HTMLElement | null>();
  let scope = new AbortController();
  const waiting = new Set<PartName>();
  const tell = (isWaiting: boolean) =>
    document.documentElement.toggleAttribute("data-drawing", isWaiting || whole === null);
  const later = createLater(tell);
  tell(true);
  // Before the views themselves hear of it.
  addEventListener("beforeprint", later.finish);

  const putIn = (name: PartName, element: HTMLElement | null) => {
    const before = shown.get(name) ?? null;
    shown.set(name, element);
    if (element === before) return;
    if (before !== null) whole?.letGo(before);
    if (element === null) before?.remove();
    else if (before !== null) {
      openAsBefore(before, element);
      before.replaceWith(element);
    } else {
      const behind = PART_ORDER.slice(PART_ORDER.indexOf(name) + 1).map((one) => shown.get(one));
      place.insertBefore(element, behind.find((one) => one?.parentElement === place) ?? live);
    }
    if (element !== null) placed(element);
  };

  const draw = (name: PartName, now: PageContext) => {
    const measures: Measures = [];
    const made = withListenersUntil(scope.signal, () => parts.get(name)!(now), measures);
    putIn(name, made);
    for (const measure of measures) measure();
  };
  /** @param stays where the page is scrolled to; else what is in sight stays, which is for the browser to see to */
  const drawLate = (name: PartName, stays: boolean) => {
    if (context === null || !waiting.delete(name)) return;
    shown.get(name)?.classList.remove(BEFORE);
    const top = stays ? scrollY : 0;
    draw(name, context);
    if (stays && scrollY !== top) scrollTo({ top, behavior: "instant" });
  };
  const drawWaitingLater = (stays: boolean) =>
    later.put([...waiting].filter((name) => parts.has(name)).map((name) => () => drawLate(name, stays)));
  const whenWhole = (signal: AbortSignal) => (act: (there: Whole) => void) => {
    const inScope = (there: Whole) => {
      if (!signal.aborted) withListenersUntil(signal, () => act(there));
    };
    if (whole === null) waitingForWhole.push(inScope);
    else act(whole);
  };

  return {
    context: () => context,
    finish: later.finish,
    show(given, look = {}) {
      const ordered = inPageOrder(given);
      const lanes = lanesOf(ordered);
      const run = inPageWords(ordered, lanes.all);
      const store = createStore(run.summary.runSeconds, firstCursor(run));
      if (context !== null) store.set(sameLook(context, run, lanes.all));
      store.set(look);
      const isFirstRun = context === null;
      const focus = focusIn([...shown.values()]);
      // To ask lays the page out.
      const top = isFirstRun ? 0 : scrollY;
      scope.abort();
      scope = new AbortController();
      let slips: PageContext["slips"] | null = null;
      const next: PageContext = {
        ...{ run, lanes, store, announce, room, whenWhole: whenWhole(scope.signal) },
        // Of feeds, whose lanes are the last.
        get slips() {
          slips ??= slipsOf(run);
          return slips;
        },
      };
      context = next;
      document.title = `${run.telling.title} · Pulltest`;
      if (!live.isConnected) place.append(live);
      const { activeElement } = document;
      waiting.clear();
      for (const name of PART_ORDER)
        if (!parts.has(name) || !(isAllAsked() || isFirst(name) || shown.get(name)?.contains(activeElement) === true))
          waiting.add(name);
      for (const name of waiting) {
        shown.get(name)?.classList.add(BEFORE);
        if (isFirstRun && PART_ORDER.indexOf(name) < LAST_FIRST) putIn(name, h("section", { class: "to-come" }));
      }
      const now = PART_ORDER.filter((name) => !waiting.has(name));
      const drawn = withListenersUntil(scope.signal, () => now.map((name) => [name, parts.get(name)!(next)] as const));
      for (const [name, element] of drawn) putIn(name, element);
      // Views measure themselves once they are in the page.
      dispatchEvent(new Event("resize"));
      focus?.([...shown.values()]);
      if (!isFirstRun && scrollY !== top) scrollTo({ top, behavior: "instant" });
      drawWaitingLater(!isFirstRun);
    },
    amend(more, name) {
      if (context === null) return;
      context = { ...context, run: { ...context.run, ...more } };
      if (!waiting.has(name)) draw(name, context);
    },
    complete(laterParts, there, putElsewhere) {
      for (const [name, part] of Object.entries(laterParts) as [PartName, PagePart][]) parts.set(name, part);
      [whole, placed] = [there, putElsewhere];
      for (const act of waitingForWhole) act(there);
      waitingForWhole = [];
      drawWaitingLater(false);
      if (context === null || !isAllAsked()) return;
      later.finish();
      document.getElementById(location.hash.slice(1))?.scrollIntoView();
    },
  };
}

/** Whoever follows a link into the page waits for the place that it names. */
function isAllAsked(): boolean {
  return location.hash !== "";
}

/** On a part of the run before, where the others show the new one already. */
const BEFORE = "is-before";

/** Just before the first thing that happens: the rig as it was meant to stand. */
function firstCursor({ summary }: Run): number {
  const first = summary.events[0]?.atSeconds ?? summary.runSeconds / 2;
  return Math.max(0, first - 0.001);
}

/** The look at the run before, so far as it fits this one. */
function sameLook(
  { store, run: before }: PageContext,
  run: Run,
  lanes: readonly { readonly key: string }[],
): Partial<Look> {
  const { fromSeconds, toSeconds, cursorSeconds, cursorBSeconds, lane, event } = store.look();
  const isWhole = fromSeconds === 0 && toSeconds === store.lengthSeconds;
  const chosen = event === null ? undefined : before.plan.events[event];
  const same = run.plan.events.findIndex(
    ({ atNs, do: deed, written }) => atNs === chosen?.atNs && deed === chosen.do && written === chosen.written,
  );
  return {
    ...(isWhole ? {} : { fromSeconds, toSeconds }),
    cursorSeconds,
    cursorBSeconds,
    lane: lanes.some(({ key }) => key === lane) ? lane : null,
    event: same < 0 ? null : same,
  };
}

function openAsBefore(before: HTMLElement, now: HTMLElement): void {
  const nameOf = (fold: HTMLDetailsElement) =>
    (fold.querySelector("summary")?.textContent ?? "").replaceAll(/[\d,]+/g, "");
  const open = new Set([...before.querySelectorAll<HTMLDetailsElement>("details[open]")].map(nameOf));
  for (const fold of now.querySelectorAll("details")) if (open.has(nameOf(fold))) fold.open = true;
}

/** The way back to what has the focus, by what it is called; null: it is not in a part, or in none that goes. */
function focusIn(parts: readonly (HTMLElement | null)[]): ((now: readonly (HTMLElement | null)[]) => void) | null {
  const { activeElement } = document;
  const index = parts.findIndex((part) => part?.contains(activeElement));
  const part = parts[index];
  if (!(activeElement instanceof Element) || part === null || part === undefined) return null;
  const nameOf = (one: Element) => {
    // On the map, whatever state it is in.
    const { device, link } = one instanceof SVGElement ? one.dataset : {};
    if (device !== undefined || link !== undefined) return `${device} ${link}`;
    const data = ["data-key", "data-event", "data-lane"].map((name) => one.getAttribute(name));
    const called = one.getAttribute("aria-label") ?? (one.textContent ?? "").slice(0, 80);
    return [one.localName, one.id, one.getAttribute("class"), ...data, one.matches(".board") ? "" : called].join("|");
  };
  const name = nameOf(activeElement);
  const selector = activeElement.localName;
  const rank = [...part.querySelectorAll(selector)].filter((one) => nameOf(one) === name).indexOf(activeElement);
  return (now) => {
    if (document.activeElement === activeElement) return;
    const alike = [...(now[index]?.querySelectorAll(selector) ?? [])].filter((one) => nameOf(one) === name);
    const found = alike[Math.min(rank, alike.length - 1)];
    if (found instanceof HTMLElement || found instanceof SVGElement) found.focus({ preventScroll: true });
  };
}
