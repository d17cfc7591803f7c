/**
 * The pull test as somebody walks through it, one pull to a screen: big, within reach of a thumb, the same by keyboard.
 * Nothing starts by itself, and before each pull the question stands whether speakers are down and ears are out.
 */
import type { PullResult } from "../../shared/scenario-pull-results.ts";
import { type PulledKind, TURNS } from "../../sim/paperwork/turns.ts";
import { CAUTIONS } from "../../sim/tell/cautions.ts";
import { capital, duration } from "../../sim/tell/words.ts";
import { contradicts, isDone, measuredWords } from "../../sim/walk/judged.ts";
import type { WalkStep } from "../../sim/walk/steps.ts";
import { h } from "../dom.ts";
import { answered, dayOf, doneCount, type WalkState, wentTo } from "./state.ts";

export interface WalkApi {
  state(): WalkState | null;
  set(state: WalkState): void;
  /** Of the run on the page. */
  verdict(): string;
  save(): void;
  closed(): void;
}

export interface WalkView {
  readonly element: HTMLDialogElement;
  open(): void;
}

const ANSWERS = [
  ["expected", "As expected"],
  ["different", "Different"],
  ["skipped", "Skipped"],
] as const;

/** Often enough for tenths of a second. */
const TICK_MS = 100;

export function walkView(api: WalkApi): WalkView {
  const place = h("div", { class: "walk-screen" });
  const element = h("dialog", { class: "walk", "aria-labelledby": "walk-heading" }, place);
  let ticking = 0;
  element.addEventListener("close", () => {
    clearInterval(ticking);
    api.closed();
  });

  function go(at: number): void {
    const state = api.state();
    if (state === null) return;
    api.set(wentTo(state, at));
    draw();
  }

  function draw(): void {
    clearInterval(ticking);
    const state = api.state();
    if (state === null) return;
    const { at, results } = state;
    const pull = results.pulls[at];
    const step = state.steps?.[at];
    const screen =
      at < 0 ? cautions(state) : pull === undefined || step === undefined ? end(state) : pullScreen(state, pull, step);
    place.replaceChildren(...screen);
    place.scrollTop = 0;
    const heading = place.querySelector<HTMLElement>("#walk-heading");
    heading?.focus({ preventScroll: true });
  }

  function head(progress: string): HTMLElement {
    return h(
      "header",
      { class: "walk-head" },
      h("p", {}, progress),
      button("Close", () => element.close()),
    );
  }

  function foot(...matter: readonly (Node | null)[]): HTMLElement {
    return h("div", { class: "walk-foot" }, ...matter);
  }

  function ways(back: number | null, next: string, at: number): HTMLElement {
    return h(
      "div",
      { class: "walk-ways" },
      back === null ? null : button("Back", () => go(back)),
      button(next, () => go(at), "walk-next"),
    );
  }

  function cautions({ results, at }: WalkState): readonly Node[] {
    const { ears, mute, differs } = CAUTIONS;
    return [
      head(`Plan ${results.plan}`),
      h(
        "div",
        { class: "walk-body" },
        heading("Before the first pull"),
        h("p", { class: "walk-caution" }, h("strong", {}, `${ears.head} `), ears.text),
        h("p", { class: "walk-caution" }, mute),
        h("p", { class: "walk-caution" }, h("strong", {}, `${differs.card} `), differs.people),
        h("p", { class: "walk-caution" }, api.verdict()),
        h("p", {}, `${results.title}. Audio running at low level. The stopwatch is yours: nothing starts by itself.`),
      ),
      foot(ways(null, "To the first pull", at + 1)),
    ];
  }

  function pullScreen(state: WalkState, pull: PullResult, step: WalkStep): readonly Node[] {
    const { at, results } = state;
    const count = results.pulls.length;
    const timed = h("p", { class: "walk-measured", role: "status" });
    const deeds = h("div", { class: "walk-deeds" });
    const choices = ANSWERS.map(([answer, words]) => {
      const choice = button(words, () => {
        change((now) => {
          // A stopwatch that nobody stopped has measured nothing.
          const date = dayOf(new Date());
          return { ...answered(now, { answer, date }), startedMs: null };
        });
        update();
      });
      return { answer, choice };
    });
    const note = h("input", { type: "text", maxlength: 200, value: pull.note ?? "", autocomplete: "off" });
    note.addEventListener("input", () => {
      const text = note.value.trim();
      change((now) => answered(now, { note: text === "" ? undefined : text }));
    });

    const change = (by: (now: WalkState) => WalkState) => {
      const now = api.state();
      if (now !== null) api.set(by(now));
    };
    const shown = h("output", { class: "walk-time", role: "timer" });
    const watch = button("", () => {
      change((now) => {
        if (now.startedMs === null) return { ...answered(now, { measuredSeconds: undefined }), startedMs: Date.now() };
        const seconds = Math.max(0, Math.round((Date.now() - now.startedMs) / 100) / 10);
        return { ...answered(now, { measuredSeconds: seconds }), startedMs: null };
      });
      update();
    });
    watch.className = "walk-watch";
    const muted = button("Yes: speakers down, in-ears out", () => {
      change((now) => ({ ...now, isMuted: true }));
      update();
      watch.focus();
    });
    muted.className = "walk-watch";
    const question = h(
      "p",
      { class: "walk-question" },
      h("strong", {}, "Speakers down at the last device? In-ears out?"),
    );

    function update(): void {
      clearInterval(ticking);
      const now = api.state();
      const own = now?.results.pulls[at];
      if (now === null || own === undefined) return;
      const { isMuted, startedMs } = now;
      const isRunning = startedMs !== null;
      const wants = isMuted || isRunning;
      if (deeds.dataset.asks !== String(!wants)) {
        deeds.dataset.asks = String(!wants);
        deeds.replaceChildren(...(wants ? [shown, watch] : [question, muted]));
      }
      watch.textContent = isRunning ? "Audio is back" : startWords(own, own.measuredSeconds !== undefined);
      const tick = () => {
        const seconds = isRunning ? (Date.now() - startedMs) / 1000 : (own.measuredSeconds ?? 0);
        shown.textContent = `${seconds.toFixed(1)} s`;
      };
      tick();
      if (isRunning) ticking = window.setInterval(tick, TICK_MS);
      const said = isRunning ? "" : measuredWords(own);
      const isOff = isDone(own) && contradicts(own);
      timed.textContent = `${said}${isOff ? " The site contradicts the rehearsal here." : ""}`.trim();
      for (const { answer, choice } of choices) {
        choice.setAttribute("aria-pressed", String(own.answer === answer));
        choice.disabled = answer !== "skipped" && !wants && own.answer === undefined;
      }
    }
    update();
    return [
      head(`Pull ${at + 1} of ${count}. ${capital(step.tested)}.`),
      h(
        "div",
        { class: "walk-body" },
        heading(...broken(step.does)),
        h("p", { class: "walk-expected" }, expectedWords(step)),
        h("h3", {}, "You should see"),
        lines(TURNS[kindOf(step)].out, step.whileOut, "nothing changes"),
        lines(TURNS[kindOf(step)].back, step.afterwards, "all as before"),
        h("h3", {}, "You should hear"),
        h("p", {}, `${capital(step.heard)}.`),
        h("h3", {}, "It exercises"),
        h("ul", {}, ...step.exercises.map((duty) => h("li", {}, capital(duty)))),
        h("label", { class: "walk-note" }, "Note", note),
      ),
      foot(
        deeds,
        timed,
        h(
          "div",
          { class: "walk-answers", role: "group", "aria-label": "What came about" },
          ...choices.map(({ choice }) => choice),
        ),
        ways(at - 1, at + 1 === count ? "To the end" : "Next pull", at + 1),
      ),
    ];
  }

  function end({ results, undone, at }: WalkState): readonly Node[] {
    const { pulls } = results;
    const off = pulls.filter(contradicts).length;
    const open = pulls.length - doneCount(results);
    return [
      head(`${doneCount(results)} of ${pulls.length} gone through`),
      h(
        "div",
        { class: "walk-body" },
        heading("The end of the walk"),
        pulls.length === 0
          ? h("p", {}, "This rig has no spare and nothing to switch over to that a pull could exercise.")
          : h(
              "p",
              {},
              open === 0
                ? `All ${pulls.length} have an answer.`
                : `${open} of ${pulls.length} without an answer: untested.`,
            ),
        h(
          "p",
          {},
          off === 0
            ? "None of the answers contradicts the rehearsal."
            : `${off} of them contradict${off === 1 ? "s" : ""} the rehearsal.`,
        ),
        undone.length === 0 ? null : lines("No pull of these brings about, so it is untested", undone, ""),
        h("p", {}, "Put everything back, look at both ends, and bring up slowly."),
        h("p", {}, "What was found can be taken into the plan on the page."),
      ),
      foot(
        button("Save the result", () => api.save(), "walk-watch"),
        h(
          "div",
          { class: "walk-ways" },
          button("Back", () => go(at - 1)),
          button("To the page", () => element.close(), "walk-next"),
        ),
      ),
    ];
  }

  return {
    element,
    open() {
      if (!element.open) element.showModal();
      draw();
    },
  };
}

function heading(...words: readonly (Node | string)[]): HTMLElement {
  return h("h2", { id: "walk-heading", tabindex: -1 }, ...words);
}

/** The cable large, its ends below it. */
function broken(does: string): readonly Node[] {
  return does.split("\n").map((line) => {
    const comma = line.indexOf(", ");
    if (comma === -1) return h("span", { class: "walk-what" }, line);
    return h(
      "span",
      { class: "walk-what" },
      line.slice(0, comma),
      // Apart for who hears it.
      h("span", { class: "unseen" }, ", "),
      h("span", { class: "walk-ends" }, line.slice(comma + 2)),
    );
  });
}

function lines(head: string, all: readonly string[], none: string): HTMLElement {
  if (all.length === 0) return h("p", {}, `${head}: ${none}.`);
  return h("div", {}, h("p", {}, `${head}:`), h("ul", {}, ...all.map((line) => h("li", {}, line))));
}

function kindOf({
  device,
  supply,
}: {
  readonly device?: string | null;
  readonly supply?: string | undefined;
}): PulledKind {
  return supply !== undefined ? "supply" : device === undefined || device === null ? "cable" : "reboot";
}

/** What starts the stopwatch. */
function startWords(pull: PullResult, isAgain: boolean): string {
  const { done, undone } = TURNS[kindOf(pull)];
  const words = pull.sound === "back-in" ? undone : done;
  return isAgain ? `${words}, once more` : words;
}

export function expectedWords(step: WalkStep): string {
  const { soundBack, outSeconds } = step;
  const kind = kindOf(step);
  const leave = {
    cable: ` Leave it out for ${duration(outSeconds)}, then put it back.`,
    reboot: " Reboot from its own menu.",
    supply: ` Leave it off for ${duration(outSeconds)}, then have it switched on again. Power is for qualified people.`,
  }[kind];
  switch (soundBack.is) {
    case "stays":
      return `The sound should stay.${leave}`;
    case "back":
      return `Sound should be back after ${duration(soundBack.seconds)}.${leave}`;
    case "back-in":
      return `The sound goes, and should be back ${duration(soundBack.seconds)} after it is ${kind === "supply" ? "on" : "in"} again.${leave}`;
    case "gone":
      return `The sound goes, and does not come back by itself.${leave}`;
  }
}

function button(words: string, act: () => void, name: string | null = null): HTMLButtonElement {
  const made = h("button", { type: "button", class: name }, words);
  made.addEventListener("click", act);
  return made;
}
