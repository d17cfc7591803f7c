/**
 * Two runs on one axis: the first difference marked, lanes in pairs, outcomes side by side. The first of the two is the
 * run before a change, or the present one against another policy or another scenario.
 */
import "./compare.css";
import { counted, duration } from "../../sim/tell/words.ts";
import { foldedIfLong, h, isolated, name, table } from "../dom.ts";
import { actions, cursorTime } from "../lanes/actions.ts";
import { isTakenBy } from "../lanes/keys.ts";
import type { PageContext } from "../page.ts";
import type { Run } from "../run.ts";
import { fineTime } from "../show-time.ts";
import { wheelHint } from "../wheel-hint.ts";
import { makeZoomable } from "../zoom.ts";
import { type Differences, differencesOf, type FirstDifference, type LanePair } from "./differences.ts";
import { goer, keysOf, keyTable } from "./go.ts";
import { type FeedOutcomes, heardPieces, outcomesOf, turnsSentence } from "./outcomes.ts";
import { pairLanes, type Sides } from "./pair-lanes.ts";
import { turnMark } from "./turn-sign.ts";

/** What the present run is held against. */
export interface OtherRun {
  /** "Before"; "back after a wait"; the title of a scenario. */
  readonly label: string;
  readonly run: Run;
  /** It was on the page before a change, so it stands first; else the present run does. */
  readonly isBefore: boolean;
}

export interface CompareActions {
  /** Draws only what differs, or every lane; the choice outlives the run. */
  showAll(isAll: boolean): void;
}

export interface ComparePart {
  readonly element: HTMLElement;
  measure(): void;
}

/** @param isAll whether lanes that do not differ are drawn as well */
export function comparePart(
  context: PageContext,
  other: OtherRun,
  isAll: boolean,
  { showAll }: CompareActions,
): ComparePart {
  const [first, second] = other.isBefore ? [other.run, context.run] : [context.run, other.run];
  const sides: Sides = other.isBefore
    ? { first: "Before", second: "After" }
    : { first: "This run", second: capitalOf(other.label) };
  const found = differencesOf(first, second);
  const outcomes = outcomesOf(first, second);
  const differing = found.pairs.filter(({ differences }) => differences.length > 0);
  const shown = isAll ? found.pairs : differing;
  const lanes = shown.length === 0 ? null : pairLanes(context, found, shown, sides);
  const go = goer(context, found, sides);
  const act = actions(context, () => "");
  const keys = keysOf(go, act);
  const hint = wheelHint();

  const box = h("input", { type: "checkbox" });
  box.checked = isAll;
  box.addEventListener("change", () => showAll(box.checked));
  const same = found.pairs.length - differing.length;
  const time = h("strong", { class: "time" });
  const tell = () => {
    time.textContent = cursorTime(context.store.look());
  };
  context.store.subscribe(tell);
  tell();
  const ofWindow = h(
    "div",
    { class: "compare-tools", role: "group", "aria-label": "Window of the comparison" },
    h("p", {}, "At ", time),
    button("+", act.zoomIn, "Zoom in"),
    button("−", act.zoomOut, "Zoom out"),
    button("Whole show", act.fit),
    button("← Earlier", act.earlier, "Earlier"),
    button("Later →", act.later, "Later"),
  );
  const tools = h(
    "div",
    { class: "compare-tools", role: "group", "aria-label": "Differences" },
    button("Go to the first difference", go.first),
    button("‹ Difference", go.previous, "Difference before: cursor there"),
    button("Difference ›", go.next, "Difference after: cursor there"),
    same === 0 ? null : h("label", { class: "compare-all" }, box, sameWords(same)),
  );
  const board =
    lanes === null
      ? null
      : h(
          "div",
          {
            class: "compare-board",
            tabindex: 0,
            role: "group",
            "aria-label": `${sides.first} and ${sides.second} in lanes over show time`,
            "aria-describedby": "compare-keys",
          },
          hint.element,
          lanes.element,
        );
  board?.addEventListener("keydown", (event) => {
    if (isTakenBy(event.target, event.key) || event.ctrlKey || event.metaKey || event.altKey) return;
    const does = keys[`${event.shiftKey && event.key.startsWith("Arrow") ? "Shift " : ""}${event.key}`];
    if (does === undefined) return;
    event.preventDefault();
    does();
  });
  board?.addEventListener("click", ({ clientX, shiftKey }) => {
    const seconds = lanes?.secondsAt(clientX) ?? null;
    if (seconds === null) return;
    if (shiftKey) act.setCursorB(seconds);
    else act.placeCursor({ cursorSeconds: seconds, event: null });
  });
  const zoomable =
    board === null || lanes === null
      ? null
      : makeZoomable(
          board,
          context.store,
          () => {
            const { left, width } = lanes.axisBox();
            return { leftPixels: left - board.getBoundingClientRect().left, widthPixels: width };
          },
          hint.show,
        );
  const measure = () => {
    lanes?.measure();
    zoomable?.follow();
  };
  addEventListener("resize", measure);
  addEventListener("beforeprint", measure);
  addEventListener("afterprint", measure);

  const element = h(
    "div",
    { class: "compared" },
    h("p", { class: "compare-first" }, ...firstWords(found.firstDifference, sides)),
    outcomes.length === 0 ? null : h("p", { class: "compare-turns" }, turnsSentence(outcomes)),
    ...lengthWords(first, second, found).map((text) => h("p", {}, text)),
    ...aloneWords(found, sides).map((text) => h("p", {}, text)),
    found.pairs.length === 0 || (differing.length === 0 && same === 0) ? null : tools,
    board === null ? null : ofWindow,
    board,
    h(
      "p",
      { id: "compare-keys", class: "unseen" },
      "Square brackets go from difference to difference, F to the first.",
    ),
    differenceTable(differing, sides),
    outcomeTable(outcomes, sides),
    board === null ? null : keyTable(),
  );
  if (found.instants.length === 0)
    for (const each of tools.querySelectorAll("button")) each.setAttribute("aria-disabled", "true");
  return { element, measure };
}

function sameWords(count: number): string {
  return `Show also the ${count === 1 ? "lane" : counted(count, "lane", "lanes")} without a difference`;
}

function firstWords(first: FirstDifference | null, sides: Sides): readonly (Node | string)[] {
  if (first === null) return [h("strong", {}, "In no lane do the two runs differ at any instant.")];
  const also = first.alsoIn.length;
  const others =
    also === 0 ? "" : ` At the same instant ${counted(also, "other lane begins", "other lanes begin")} to differ.`;
  return [
    h("strong", {}, "First difference at ", h("span", { class: "time" }, fineTime(first.fromSeconds, 3)), ", in "),
    h("strong", {}, name(laneName(first.pair))),
    ` – ${sides.first}: ${first.first}. ${sides.second}: ${first.second}.${others}`,
  ];
}

/** With what a bare id leaves open: "main, Stage box → FOH desk". */
function laneName({ name: called, first, second }: LanePair): string {
  const lane = first ?? second;
  if (lane === null || lane.note === "" || (lane.kind !== "link" && lane.kind !== "stream")) return called;
  return `${lane.kind === "link" ? "cable " : ""}${called} (${lane.note})`;
}

function lengthWords(first: Run, second: Run, { untilSeconds }: Differences): readonly string[] {
  const [one, two] = [first.summary.runSeconds, second.summary.runSeconds];
  if (one === two) return [];
  return [
    `One run is ${duration(Math.abs(one - two))} longer than the other: the lanes are compared until ${fineTime(untilSeconds, 0)}, the outcomes are each of its own whole show.`,
  ];
}

const NAMED_MOST = 6;

function aloneWords({ pairs }: Differences, sides: Sides): readonly string[] {
  return (["first", "second"] as const).flatMap((side) => {
    const alone = pairs.filter((pair) => pair[side === "first" ? "second" : "first"] === null).map(laneName);
    if (alone.length === 0) return [];
    const names = alone.slice(0, NAMED_MOST).map(isolated).join(", ");
    const more = alone.length > NAMED_MOST ? ` and ${counted(alone.length - NAMED_MOST, "more", "more")}` : "";
    return [`Only in “${sides[side]}”: ${names}${more}.`];
  });
}

/** Nobody reads more; from there on the buttons lead on. */
const LISTED_MOST = 200;

function differenceTable(pairs: readonly LanePair[], sides: Sides): HTMLElement | null {
  const all = pairs
    .flatMap((pair) => pair.differences.map((difference) => ({ pair, difference })))
    .sort((one, other) => one.difference.fromSeconds - other.difference.fromSeconds);
  if (all.length === 0) return null;
  const until = (from: number, to: number) => (from === to ? "an instant" : fineTime(to, 3));
  const rows = all
    .slice(0, LISTED_MOST)
    .map(({ pair, difference: { fromSeconds, toSeconds, first, second } }) => [
      name(laneName(pair)),
      fineTime(fromSeconds, 3),
      until(fromSeconds, toSeconds),
      first,
      second,
    ]);
  const left = all.length - rows.length;
  return h(
    "details",
    { class: "compare-fold" },
    h("summary", {}, `All ${counted(all.length, "difference", "differences")} as a table`),
    table(
      "Where the two runs differ, by instant",
      [{ head: "Lane" }, { head: "From" }, { head: "Until" }, { head: sides.first }, { head: sides.second }],
      rows,
    ),
    left > 0 ? h("p", { class: "meta" }, `${counted(left, "later one is", "later ones are")} not listed here.`) : null,
  );
}

function outcomeTable(outcomes: readonly FeedOutcomes[], sides: Sides): HTMLElement {
  if (outcomes.length === 0)
    return h("p", { class: "none" }, "These rigs have no feeds, so nothing can be said of what anybody hears.");
  const heard = (each: FeedOutcomes["first"]) =>
    each === null
      ? "no such feed"
      : h("ul", { class: "compare-heard" }, ...heardPieces(each).map((text) => h("li", {}, text)));
  const rows = outcomes.map(({ who, first, second, turn, changes }) => [
    name(who.head),
    heard(first),
    heard(second),
    h(
      "div",
      { class: "compare-change" },
      turnMark(turn),
      ...(changes.length === 0 ? [] : [h("ul", {}, ...changes.map((text) => h("li", {}, text)))]),
    ),
  ]);
  const made = foldedIfLong(
    outcomes.length,
    "listeners",
    table(
      "What each listener has of it, in the whole show",
      [{ head: "Who" }, { head: sides.first }, { head: sides.second }, { head: "What changes" }],
      rows,
    ),
  );
  return h("div", { class: "compare-outcomes" }, made);
}

function button(text: string, act: () => void, label?: string): HTMLButtonElement {
  const made = h("button", { type: "button", "aria-label": label }, text);
  made.addEventListener("click", act);
  return made;
}

function capitalOf(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
