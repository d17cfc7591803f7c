/** The pull test on the page: walked through, opened again, held against the plan as it is now, and taken into it. */
import "./walk.css";
import { EditError } from "../../shared/json-text.ts";
import { readPullResults } from "../../shared/scenario-pull-results.ts";
import { resultWords } from "../../sim/walk/judged.ts";
import { takenInto, type Weighed, weighed } from "../../sim/walk/take.ts";
import { weighedWords } from "../../sim/walk/words.ts";
import { foldedIfLong, h, part } from "../dom.ts";
import type { PageContext, PagePart, Room } from "../page.ts";
import { isSame } from "../room/workspace.ts";
import { saveFile } from "../save-file.ts";
import { walkKeeper } from "./keeper.ts";
import { begun, doneCount, firstOpen, type WalkState, wentTo } from "./state.ts";
import { timesCsv } from "./times-csv.ts";
import { walkView } from "./view.ts";

const INTRODUCTION =
  "The fewest pulls that exercise every spare and every switch-over, one to a screen, with what you should see and hear and a stopwatch. For a telephone, before doors. Each is rehearsed first.";

/** A part that stays the same through all runs, since a walk outlives an edit. */
export function walkIn(room: Room, storage: () => Storage): PagePart {
  const keeper = walkKeeper(storage);
  let state = keeper.read();
  let isKept = true;
  let context: PageContext | null = null;
  let isBusy = false;
  const says = h("p", { class: "form-problem", role: "alert" });
  const place = h("div", { class: "walk-place" });
  const picker = h("input", { type: "file", accept: ".json,application/json" });
  const element = part("pull-test", "Pull test on site", place, says);

  const set = (next: WalkState | null) => {
    state = next;
    isKept = keeper.keep(next);
  };
  const view = walkView({
    state: () => state,
    set,
    verdict: () => context?.run.telling.verdict[0] ?? "",
    save,
    closed() {
      if (state !== null) set({ ...state, isOpen: false, startedMs: null });
      draw();
      place.querySelector("button")?.focus();
    },
  });
  document.body.append(view.element);

  function button(words: string, act: () => void, name: string | null = null): HTMLButtonElement {
    const made = h("button", { type: "button", class: name }, words);
    made.addEventListener("click", () => {
      says.textContent = "";
      act();
    });
    return made;
  }

  function draw(): void {
    if (context === null) return;
    const tools = (...buttons: readonly (Node | null)[]) => h("div", { class: "plan-tools" }, ...buttons);
    if (isBusy) {
      place.replaceChildren(h("p", { role: "status" }, "Each pull is being rehearsed."));
      return;
    }
    const open = button(isUnsaved() ? "Open a result, without saving" : "Open a result", () => picker.click());
    if (state === null) {
      const walk = button("Walk through the pull test", begin, "main-button");
      place.replaceChildren(h("p", {}, INTRODUCTION), tools(walk, open));
      return;
    }
    const { results } = state;
    const { pulls } = results;
    const anew = button(isUnsaved() ? "Begin anew, without saving" : "Begin anew", begin);
    const goOn = button(doneCount(results) === pulls.length ? "Look through it" : "Go on", () => void resume());
    place.replaceChildren(
      h(
        "p",
        {},
        h("strong", {}, `${doneCount(results)} of ${pulls.length} pulls gone through`),
        `: ${results.title}, plan ${results.plan}.`,
      ),
      isKept ? "" : h("p", {}, "This browser keeps nothing of it: save the result before you close the page."),
      ...outcome(context, state),
      tools(goOn, button("Save the result", save), timesButton(), open, anew),
    );
  }

  /** Null where the result cannot be held against this plan; then it is said why. */
  function weigh(now: PageContext, { results }: WalkState): Weighed | null {
    try {
      return weighed(now.run.plan, results);
    } catch (error) {
      if (!(error instanceof EditError)) throw error;
      says.textContent = error.message;
      return null;
    }
  }

  function outcome(now: PageContext, held: WalkState): readonly Node[] {
    const { pulls } = held.results;
    const found = weigh(now, held);
    if (found === null) return [];
    const words = weighedWords(now.run.plan, held.results, found);
    const list = (all: readonly string[]) => h("ul", { class: "walk-found" }, ...all.map((line) => h("li", {}, line)));
    const heads = (head: string, all: readonly string[]) => (all.length === 0 ? [] : [h("h3", {}, head), list(all)]);
    const isTaken = isIn(found);
    const answers = pulls.filter(({ answer }) => answer !== undefined).map(resultWords);
    return [
      h("p", {}, words.plan),
      ...(words.changes.length === 0 ? [] : [foldedIfLong(words.changes.length, "changes", list(words.changes))]),
      ...heads("The site contradicts the rehearsal", words.contradictions),
      ...heads(isTaken ? "Taken into this plan" : "To take into the plan", words.takes),
      ...heads("Stays untested", words.untested),
      ...(isTaken
        ? []
        : [
            h(
              "div",
              { class: "plan-tools" },
              button("Take it into the plan", () => take(found), "main-button"),
            ),
          ]),
      ...(answers.length === 0
        ? []
        : [h("details", {}, h("summary", {}, "What was answered, pull by pull"), list(answers))]),
    ];
  }

  /** Whether the texts have all of it, or there is nothing that could be taken in. */
  function isIn(found: Weighed): boolean {
    const files = room.workspace.files();
    try {
      return files === null || isSame(files, takenInto(files, found));
    } catch (error) {
      if (error instanceof EditError) return false;
      throw error;
    }
  }

  function timesButton(): HTMLElement | null {
    const found = context === null || state === null ? null : weigh(context, state);
    if (found === null || !found.fits.some(({ on }) => on === "device")) return null;
    return button("Times for the library (CSV)", () => {
      say(saveFile("pull-test-times.csv", new Blob([timesCsv(found.fits)], { type: "text/csv" })));
    });
  }

  function say(text: string): void {
    context?.announce(text);
  }

  function take(found: Weighed): void {
    const problem = room.editFiles("what the pull test found", (files) => takenInto(files, found));
    if (problem !== null) says.textContent = `It is not taken in: ${problem}`;
    else say("Taken into the plan. One step back takes it out again.");
  }

  function save(): void {
    if (state === null) return;
    const { results } = state;
    const name = `pull-test-${results.plan}.json`;
    const saved = saveFile(name, new Blob([`${JSON.stringify(results, null, 2)}\n`], { type: "application/json" }));
    set({ ...state, isSaved: true });
    say(saved);
    draw();
  }

  /** Rehearses the pulls of a plan; null: it is said why not. */
  async function stepsOf(files: WalkState["results"]["files"] | null) {
    if (files === null) {
      says.textContent = "This page holds a run without its files. Open a scenario first.";
      return null;
    }
    isBusy = true;
    draw();
    const engine = room.newEngine();
    const outcome = await engine.walk(files).promise;
    engine.close();
    isBusy = false;
    if (outcome.is === "walk") return outcome.walk;
    says.textContent =
      outcome.is === "failed"
        ? `The pulls were not rehearsed: ${outcome.problem}`
        : "The files have problems: see above.";
    draw();
    return null;
  }

  async function begin(): Promise<void> {
    const files = room.workspace.files();
    const walk = await stepsOf(files);
    if (walk === null || files === null) return;
    set(begun(walk, files));
    draw();
    view.open();
  }

  async function resume(): Promise<void> {
    if (state === null) return;
    if (state.steps === null) {
      const walk = await stepsOf(state.results.files);
      if (walk === null || state === null) return;
      const byId = new Map(walk.steps.map((step) => [step.id, step]));
      const steps = state.results.pulls.flatMap(({ id }) => byId.get(id) ?? []);
      if (steps.length < state.results.pulls.length) {
        says.textContent = "This Pulltest makes other pulls of that plan: begin anew to walk.";
        draw();
        return;
      }
      set({ ...state, steps, undone: walk.undone });
    }
    set(wentTo({ ...state, isOpen: true }, state.at < 0 ? -1 : firstOpen(state.results)));
    draw();
    view.open();
  }

  function isUnsaved(): boolean {
    return state !== null && !state.isSaved && doneCount(state.results) > 0;
  }

  async function read(file: File): Promise<void> {
    const { results, issues } = readPullResults(file.name, new Uint8Array(await file.arrayBuffer()));
    const [first] = issues;
    if (results === null) {
      const why = first && `line ${first.line}: expected ${first.expected}, received ${first.received}.`;
      says.textContent = `${file.name} is no result of a pull test: ${why ?? ""}`;
      return;
    }
    says.textContent = "";
    set({ results, steps: null, undone: [], at: 0, isOpen: false, isMuted: false, startedMs: null, isSaved: true });
    draw();
  }

  picker.addEventListener("change", () => {
    const [file] = picker.files ?? [];
    picker.value = "";
    if (file !== undefined) void read(file);
  });
  element.addEventListener("drop", (event) => {
    // Elsewhere on the page it is opened as a scenario.
    const [file] = event.dataTransfer?.files ?? [];
    if (file === undefined) return;
    event.preventDefault();
    event.stopPropagation();
    if (isUnsaved()) says.textContent = `Save the result that is here first: ${file.name} would take its place.`;
    else void read(file);
  });

  return (drawn) => {
    const isFirst = context === null;
    context = drawn;
    draw();
    // Where somebody was when the page was loaded anew.
    if (isFirst && state?.isOpen === true) view.open();
    return element;
  };
}
