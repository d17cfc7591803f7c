/**
 * Two runs on one axis: the first difference marked, lanes in pairs, outcomes side by side. The first of the two is the
 * run before a change, or the present one against another policy or another scenario.
 */
import "./compare.css";
import { counted, duration } from "../../sim/tell/words.ts";
import { foldedIfLong, h, isolated, name, table } from "../dom.ts";
import type { PageContext } from "../page.ts";
import type { Run } from "../run.ts";
import { fineTime } from "../show-time.ts";
import { panned, showing, zoomed } from "../store.ts";
import { type Differences, differencesOf, type FirstDifference, type LanePair } from "./differences.ts";
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

const KEYS = [
  ["[ ]", "cursor to the previous and the next difference"],
  ["F", "cursor to the first difference"],
  ["← →", "earlier, later"],
  ["+ −", "zoom in and out at the cursor"],
  ["0", "the whole show"],
] as const;

/** @param isAll whether lanes that do not differ are drawn as well */
export function comparePart(
  context: PageContext,
  other: OtherRun,
  isAll: boolean,
  actions: CompareActions,
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

  const box = h("input", { type: "checkbox" });
  box.checked = isAll;
  box.addEventListener("change", () => actions.showAll(box.checked));
  const same = found.pairs.length - differing.length;
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
          lanes.element,
        );
  board?.addEventListener("keydown", (event) => {
    const act = event.ctrlKey || event.metaKey || event.altKey ? undefined : go.keys[event.key];
    if (act === undefined) return;
    event.preventDefault();
    act();
  });
  board?.addEventListener("click", ({ clientX }) => {
    const seconds = lanes?.secondsAt(clientX) ?? null;
    if (seconds !== null) context.store.set({ cursorSeconds: seconds, event: null });
  });
  const measure = () => lanes?.measure();
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

/** The ways from difference to difference, and the window around them. */
function goer({ store, announce }: PageContext, { pairs, instants, firstDifference }: Differences, sides: Sides) {
  const to = (at: number) => {
    store.set({ cursorSeconds: at, event: null, ...showing(store.look(), at) });
    const place = instants.indexOf(at);
    const here = pairs.flatMap(({ name, differences }) =>
      differences
        .filter(({ fromSeconds }) => fromSeconds === at)
        .map((each) => `${isolated(name)}: ${sides.first} ${each.first}, ${sides.second} ${each.second}`),
    );
    const more = here.length > 3 ? `. And in ${counted(here.length - 3, "more lane", "more lanes")}` : "";
    const told = `${here.slice(0, 3).join(". ")}${more}`;
    announce(`Difference ${place + 1} of ${instants.length}, ${fineTime(at, 3)}. ${told}.`);
  };
  const first = () => {
    if (firstDifference !== null) to(firstDifference.fromSeconds);
  };
  const step = (later: boolean) => () => {
    const { cursorSeconds } = store.look();
    const next = later ? instants.find((at) => at > cursorSeconds) : instants.findLast((at) => at < cursorSeconds);
    if (next !== undefined) to(next);
    else if (instants.length > 0)
      announce(later ? "No difference begins after this." : "No difference begins before this.");
  };
  const zoom = (factor: number) => () => {
    const look = store.look();
    const inside = look.cursorSeconds >= look.fromSeconds && look.cursorSeconds <= look.toSeconds;
    store.set(zoomed(look, factor, inside ? look.cursorSeconds : (look.fromSeconds + look.toSeconds) / 2));
  };
  const pan = (share: number) => () => store.set(panned(store.look(), share));
  const [next, previous] = [step(true), step(false)];
  const keys: Readonly<Record<string, () => void>> = {
    "[": previous,
    "]": next,
    f: first,
    F: first,
    ArrowLeft: pan(-0.25),
    ArrowRight: pan(0.25),
    "+": zoom(0.5),
    "=": zoom(0.5),
    "-": zoom(2),
    "−": zoom(2),
    "0": () => store.set({ fromSeconds: 0, toSeconds: store.lengthSeconds }),
  };
  return { first, next, previous, keys };
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

function keyTable(): HTMLElement {
  return h(
    "details",
    { class: "keys" },
    h("summary", {}, "Keys, while these lanes have the focus"),
    h(
      "dl",
      {},
      ...KEYS.map(([key, does]) => h("div", { class: "key" }, h("dt", {}, h("kbd", {}, key)), h("dd", {}, does))),
    ),
  );
}

function button(text: string, act: () => void, label?: string): HTMLButtonElement {
  const made = h("button", { type: "button", "aria-label": label }, text);
  made.addEventListener("click", act);
  return made;
}

function capitalOf(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
