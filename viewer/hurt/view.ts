/** What is said and drawn of faults that were tried. Listens to nothing: what is pressed is named by `data-do`. */
import { feedsInOrder } from "../../sim/tell/pieces.ts";
import { counted } from "../../sim/tell/words.ts";
import { type Concern, isHeard } from "../../sim/trials/rank.ts";
import { KIND_WORDS } from "../../sim/trials/words.ts";
import {
  type FaultsTried,
  partialWords,
  rehearsalWords,
  summarySentences,
  triedWords,
  unheardWords,
  whoHears,
} from "../../sim/trials/words-faults.ts";
import { h, table } from "../dom.ts";
import { namesApart } from "../run.ts";
import { barDrawing, cellDrawing } from "./bars.ts";
import { type Choice, concernsOf, type FaultRow, kindsIn, listed } from "./model.ts";

export interface HurtLook {
  readonly choice: Choice;
  readonly concerns: readonly Concern[];
  readonly isConcernsOpen: boolean;
  /** Name of the fault that is rehearsed, and what is said of it. */
  readonly rehearsed: { readonly name: string; readonly words: string } | null;
  /** The plan on the page is another one by now. */
  readonly isStale: boolean;
}

export const STALE = "The plan has changed since this was tried: try every fault again.";

export function hurtMatter(found: FaultsTried, look: HurtLook): readonly Node[] {
  const { choice, concerns, rehearsed, isStale } = look;
  const { plan } = found.sweep;
  const apart = namesApart({ plan });
  const list = listed(plan, found.tolls, choice);
  const [worst = "", ...more] = summarySentences(found).map(apart);
  const partial = partialWords(found);
  const says = (words: string, kind: string) => h("p", { class: kind }, words);
  return [
    ...(isStale ? [says(STALE, "hurt-partial")] : []),
    ...(partial === null ? [] : [says(partial, "hurt-partial")]),
    says(apart(triedWords(found)), "meta"),
    says(worst, "hurt-worst"),
    h("ul", { class: "hurt-audiences" }, ...more.map((text) => h("li", {}, text))),
    tools(found, choice),
    concernList(concernsOf(plan, concerns), look.isConcernsOpen),
    ...(list.classes.length === 0
      ? found.tolls.some(isHeard)
        ? [says("Nothing of this kind is heard by whom you chose.", "none")]
        : []
      : [legend()]),
    ...list.classes.flatMap(({ heading, rows }) => [
      faultTable(apart(heading), list.listeners, rows, apart),
      ...(rehearsed !== null && rows.some(({ name }) => name === rehearsed?.name)
        ? [saidOf(apart(rehearsed.words))]
        : []),
    ]),
    ...(list.more === 0 ? [] : [button("all", `Show ${counted(list.more, "fault", "faults")} more, that weigh less`)]),
    ...(list.unheard.length === 0
      ? []
      : [
          h(
            "details",
            {},
            h("summary", {}, apart(unheardWords(list.unheard.length))),
            h("ul", {}, ...list.unheard.map((text) => h("li", {}, apart(text)))),
          ),
        ]),
    says(`How long a repair takes is assumed. ${rehearsalWords(plan.assumed.length, true)}`, "meta"),
  ];
}

function tools({ sweep }: FaultsTried, choice: Choice): HTMLElement {
  const { plan } = sweep;
  const choose = (
    key: "feed" | "kind",
    label: string,
    all: string,
    options: readonly (readonly [string, string])[],
  ) => {
    const select = h(
      "select",
      { "data-key": key },
      h("option", { value: "" }, all),
      ...options.map(([value, text]) => h("option", { value, selected: value === choice[key] }, text)),
    );
    return h("label", { class: "choice" }, label, select);
  };
  return h(
    "div",
    { class: "compare-tools" },
    choose(
      "feed",
      "Heard by",
      "anybody",
      feedsInOrder({ plan }).map(({ id }) => [id, whoHears(plan, id).head]),
    ),
    choose(
      "kind",
      "Kind",
      "every kind",
      kindsIn(sweep).map((kind) => [kind, KIND_WORDS[kind]]),
    ),
    button("csv", "CSV of the faults"),
  );
}

function concernList(shown: readonly Concern[], isOpen: boolean): HTMLElement {
  const arrow = (concern: Concern, way: "up" | "down", isEnd: boolean) =>
    h(
      "button",
      {
        ...{ type: "button", "data-do": way, "data-of": concern, "data-key": way, disabled: isEnd },
        "aria-label": `${way === "up" ? "Before" : "Behind"} the next: ${concernWords(concern)}`,
      },
      way === "up" ? "↑" : "↓",
    );
  return h(
    "details",
    { class: "hurt-concerns", open: isOpen },
    h("summary", {}, "What counts as worse: order of concerns"),
    h(
      "ol",
      {},
      ...shown.map((concern, place) =>
        h(
          "li",
          {},
          h("span", {}, concernWords(concern)),
          arrow(concern, "up", place === 0),
          arrow(concern, "down", place === shown.length - 1),
        ),
      ),
    ),
    button("reset", "As it was"),
  );
}

function faultTable(
  heading: string,
  listeners: readonly string[],
  rows: readonly FaultRow[],
  apart: (text: string) => string,
): HTMLElement {
  const columns = [{ head: "Fault" }, ...listeners.map((head) => ({ head: apart(head) })), { head: "In the show" }];
  const made = table(
    heading,
    columns,
    rows.map(({ name, words, heard }) => [
      apart(words),
      ...heard.map(({ bar, words: of }) =>
        h("span", { title: of ?? "" }, barDrawing(bar), h("span", { class: "unseen" }, of ?? "nothing")),
      ),
      button("rehearse", "Rehearse this one", name, apart(words)),
    ]),
  );
  made.classList.add("hurt-class");
  return made;
}

function saidOf(words: string): HTMLElement {
  return h("p", { class: "hurt-said" }, words, " ", button("lanes", "Go to the lanes"));
}

function legend(): HTMLElement {
  const one = (cell: "silence" | "clicks" | "dropout", words: string) =>
    h("li", {}, cellDrawing(cell), h("span", {}, words));
  return h(
    "ul",
    { class: "hurt-legend" },
    one("silence", "silent"),
    one("clicks", "clicks"),
    one("dropout", "one short dropout"),
    h("li", {}, "One cell: up to 1 s; two: 10 s; three: 1 min; four: 10 min; five: longer."),
    h("li", {}, "! back at full level, no fade; ? may be silent or clicking, nobody knows."),
  );
}

function button(does: string, text: string, of = "", about = ""): HTMLButtonElement {
  const label = about === "" ? null : `${text}: ${about}`;
  return h("button", { type: "button", "data-do": does, "data-key": does, "data-of": of, "aria-label": label }, text);
}

export function keyOf(element: Element | null): string {
  const { key, of } = (element as HTMLElement | null)?.dataset ?? {};
  return `${key} ${of}`;
}

const WHO: Readonly<Record<string, string>> = {
  ears: "On the ears",
  pa: "PA",
  wedges: "Wedges",
  broadcast: "Broadcast",
  record: "Recording",
};
const HARM: Readonly<Record<string, string>> = {
  level: "back at full level",
  silence: "silence",
  clicks: "clicks and dropouts",
};

export function concernWords(concern: Concern): string {
  const [audience = "", harm = ""] = concern.split(" ");
  return `${WHO[audience]}: ${HARM[harm]}`;
}
