/** Puts a run on the page in the place of the one before: what people look at, their focus and open folds stay. */
import { Chart } from "chart.js";
import { lanesOf } from "../../sim/lanes/lane.ts";
import { h } from "../dom.ts";
import { inPageWords } from "../expected.ts";
import { inPageOrder } from "../order.ts";
import type { PageContext, PagePart, Room } from "../page.ts";
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
  amend(more: Partial<Run>, part: PagePart): void;
}

/**
 * @param first those of the parts that people wait for: the others follow once these are on the screen, and the root of
 *   the page says `data-drawing` until then
 */
export function createDrawing(
  place: Element,
  parts: readonly PagePart[],
  first: ReadonlySet<PagePart>,
  room: Room,
  placed: (part: HTMLElement) => void,
): Drawing {
  const live = h("p", { class: "unseen", role: "status", "aria-live": "polite" });
  let announcing = 0;
  const announce = (text: string) => {
    // Held keys would otherwise queue a sentence per repeat.
    clearTimeout(announcing);
    announcing = window.setTimeout(() => {
      live.textContent = text;
    }, 250);
  };
  let context: PageContext | null = null;
  const shown: (HTMLElement | null)[] = parts.map(() => null);
  let scope = new AbortController();
  const waiting = new Set<number>();
  const later = createLater((isWaiting) => document.documentElement.toggleAttribute("data-drawing", isWaiting));
  // Before the views themselves hear of it.
  addEventListener("beforeprint", later.finish);

  const putIn = (index: number, element: HTMLElement | null) => {
    const before = shown[index] ?? null;
    shown[index] = element;
    if (element === before) return;
    for (const canvas of before?.querySelectorAll("canvas") ?? []) Chart.getChart(canvas)?.destroy();
    if (element === null) before?.remove();
    else if (before !== null) {
      openAsBefore(before, element);
      before.replaceWith(element);
    } else place.insertBefore(element, shown.slice(index + 1).find((one) => one?.parentElement === place) ?? live);
    if (element !== null) placed(element);
  };

  const draw = (index: number, now: PageContext) => {
    const measures: Measures = [];
    const made = withListenersUntil(scope.signal, () => parts[index]!(now), measures);
    putIn(index, made);
    for (const measure of measures) measure();
  };
  /** @param stays where the page is scrolled to; else what is in sight stays, which is for the browser to see to */
  const drawLate = (index: number, stays: boolean) => {
    if (context === null) return;
    waiting.delete(index);
    shown[index]?.classList.remove(BEFORE);
    const top = stays ? scrollY : 0;
    draw(index, context);
    if (stays && scrollY !== top) scrollTo({ top, behavior: "instant" });
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
      const next: PageContext = { run, lanes, slips: slipsOf(run), store, announce, room };
      const isFirst = context === null;
      const focus = focusIn(shown);
      // To ask lays the page out.
      const top = isFirst ? 0 : scrollY;
      scope.abort();
      scope = new AbortController();
      context = next;
      document.title = `${run.telling.title} · Pulltest`;
      if (!live.isConnected) place.append(live);
      // Whoever follows a link into the page waits for the place that it names.
      const isAll = location.hash !== "";
      const { activeElement } = document;
      waiting.clear();
      for (const [index, part] of parts.entries())
        if (!isAll && !first.has(part) && shown[index]?.contains(activeElement) !== true) waiting.add(index);
      const lastFirst = parts.findLastIndex((_, index) => !waiting.has(index));
      for (const index of waiting) {
        shown[index]?.classList.add(BEFORE);
        if (isFirst && index < lastFirst) putIn(index, h("section", { class: "to-come" }));
      }
      const drawn = withListenersUntil(scope.signal, () =>
        parts.map((part, index) => (waiting.has(index) ? undefined : part(next))),
      );
      for (const [index, element] of drawn.entries()) if (element !== undefined) putIn(index, element);
      // Views measure themselves once they are in the page.
      dispatchEvent(new Event("resize"));
      focus?.(shown);
      if (!isFirst && scrollY !== top) scrollTo({ top, behavior: "instant" });
      later.put([...waiting].map((index) => () => drawLate(index, !isFirst)));
    },
    amend(more, part) {
      if (context === null) return;
      context = { ...context, run: { ...context.run, ...more } };
      const index = parts.indexOf(part);
      if (!waiting.has(index)) draw(index, context);
    },
  };
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
