/**
 * The rehearsal room: files that people change, an engine that plays each change, and the page that shows what came of
 * it. The run before stays on the page, marked as old, until the new one is there.
 */
import { Chart } from "chart.js";
import { formatIssues, type Issue } from "../../shared/issues.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { capital, counted } from "../../sim/tell/words.ts";
import { TEMPLATES } from "../../sim/templates/index.ts";
import type { WrittenEvent } from "../../sim/trials/written.ts";
import { afterFrame } from "../after-frame.ts";
import { h } from "../dom.ts";
import type { Host } from "../engine/client.ts";
import { createEngine, type Outcome, type Rehearsal } from "../engine/client.ts";
import type { LaterParts } from "../first.ts";
import { BASE_CHANGED, type Room } from "../page.ts";
import { runOf } from "../run.ts";
import { saveFile, WHERE_SAVED } from "../save-file.ts";
import { NEW_RIG } from "../tables/new-rig.ts";
import { tablesPane } from "../tables/pane.ts";
import { curveView } from "../views/curve.ts";
import { createChanged } from "./changed.ts";
import { draftKeeper } from "./draft.ts";
import { addEvent, setSeed } from "./edits.ts";
import type { Deeds, FirstSight } from "./first-sight.ts";
import { issueList } from "./issues.ts";
import { type Given, libraryAlone, opened, otherThan, readGiven } from "./opening.ts";
import { runState } from "./run-state.ts";
import { allShipped, FIRST, fromTemplate, shipped } from "./shipped.ts";
import { textPane } from "./text-pane.ts";

export interface RoomRequest {
  readonly sight: FirstSight;
  readonly host: Host;
  parts(room: Room): LaterParts;
  readonly storage: () => Storage;
}

/** Keys that are typed in a row, and steps back, are one change; what a form or a button does alone is played at once. */
const SETTLE_MS = 150;

export function openRoom({ sight, host, parts: partsFor, storage }: RoomRequest): void {
  const { place, room, drawing, bar: head, run: held } = sight;
  const { workspace } = room;
  const engine = createEngine(host, held !== null);
  const drafts = draftKeeper(storage, held === null ? null : held.summary.scenario.sha256.slice(0, 16));
  const issues = h("div", { class: "issue-place" });
  const pane = textPane(workspace, sight.folds.text);
  const state = runState(
    () => rehearsal?.cancel(),
    () => issues.querySelector("button")?.focus(),
  );
  let said: readonly string[] = [];
  /** What was open when that was said. */
  let saidOf: ScenarioTexts | null = null;
  let rehearsal: Rehearsal | null = null;
  let waiting = 0;
  let changedAtMs = Number.NEGATIVE_INFINITY;
  let isDeed = false;
  let played: ScenarioTexts | null = null;
  /** Files whose run somebody waits for; null: nobody does. */
  let opening: { readonly files: ScenarioTexts; readonly told: (problem: string | null) => void } | null = null;

  const roomDeeds: Deeds["room"] = {
    open: (files) =>
      new Promise((told) => {
        tellOpening("something else was opened meanwhile");
        opening = { files, told };
        take(files, []);
      }),
    edit(what, change) {
      isDeed = true;
      const problem = workspace.edit(what, change);
      isDeed = false;
      if (problem !== null) say([problem]);
    },
    editFiles(what, change) {
      isDeed = true;
      const problem = workspace.editFiles(what, change);
      isDeed = false;
      return problem;
    },
    changed: createChanged(workspace, () => dispatchEvent(new Event(BASE_CHANGED))),
    newEngine: () => createEngine(host),
  };
  const barDeeds: Deeds["bar"] = {
    openFiles: (files) => void readGiven(files).then(({ given, problems }) => openGiven(given, problems)),
    openText(text) {
      const other = otherThan("The text", text);
      if (other === null) openGiven([{ name: "pasted.json", text }], []);
      else say([other]);
    },
    openShipped: (file) => take(shipped(file), []),
    openTemplate: (name) => take(fromTemplate(name), [TEMPLATE_NOTE]),
    newRig() {
      take(NEW_RIG, []);
      tables.open();
    },
    save,
    undo: workspace.undo,
    redo: workspace.redo,
    discard() {
      const original = workspace.original();
      drafts.discard();
      if (original !== null) take({ ...original }, ["The changes are discarded."]);
    },
  };
  const doAsked = sight.come({ bar: barDeeds, room: roomDeeds });
  const laterParts = partsFor(room);
  const tables = tablesPane(room, sight.folds.tables);
  // To read the title of each takes a while, and nobody opens a list in the first frame.
  afterFrame(() =>
    head.offer(
      allShipped().map(({ file, title }) => ({ name: file, text: title })),
      TEMPLATES.map(({ name, what }) => ({ name, text: capital(what) })),
    ),
  );
  tables.element.after(issues);
  document.body.append(state.element);

  // ---- what is worked on

  function say(notes: readonly string[]): void {
    said = notes;
    update();
    for (const note of notes) drawing.context()?.announce(note);
  }
  function update(): void {
    const problems = [drafts.problem(), engine.note()].filter((one) => one !== null);
    head.update(workspace, [...said, ...problems]);
  }
  function take(files: ScenarioTexts, notes: readonly string[], original = files): void {
    const left = workspace.isChanged() ? [`Undo brings back ${workspace.files()?.main} as you had changed it.`] : [];
    [said, saidOf] = [[...notes, ...left], original];
    workspace.open(original, files);
  }
  function openGiven(given: readonly Given[], problems: readonly string[]): void {
    const lonely = libraryAlone(given, workspace.files());
    if (lonely !== null) {
      say([...problems, lonely]);
      return;
    }
    const made = opened(given, workspace.files());
    const notes = [...problems, ...(made?.notes ?? [])];
    if (made === null) say(notes);
    else if (made.isAddition) {
      said = notes;
      for (const { name, text } of given) workspace.setText(`open ${name}`, name, text);
    } else take(made.files, notes);
  }
  function save(): void {
    const [files, original] = [workspace.files(), workspace.original()];
    if (files === null) return;
    const names = Object.keys(files.texts).filter(
      (name) => name === files.main || files.texts[name] !== original?.texts[name],
    );
    for (const name of names)
      saveFile(
        name.slice(name.lastIndexOf("/") + 1),
        new Blob([files.texts[name] ?? ""], { type: "application/json" }),
      );
    workspace.saved();
    say([`Saved: ${names.join(", ")}, ${WHERE_SAVED}.`]);
  }

  function tellOpening(problem: string | null): void {
    opening?.told(problem);
    opening = null;
  }

  // ---- playing it

  function changed(): void {
    if (workspace.original() !== saidOf) [said, saidOf] = [[], workspace.original()];
    if (opening !== null && workspace.files() !== opening.files) tellOpening("something else is worked on by now");
    // A page that holds a run opens with it, unless there is something of the reader's own to go on from.
    if (held === null || workspace.isChanged()) drafts.keep(workspace);
    else drafts.discard();
    update();
    clearTimeout(waiting);
    if (workspace.files() === played) {
      markOld(issues.childElementCount > 0);
      return;
    }
    markOld(true);
    const isAlone = isDeed && performance.now() - changedAtMs > SETTLE_MS;
    changedAtMs = performance.now();
    waiting = window.setTimeout(playNow, isAlone ? 0 : SETTLE_MS);
  }
  function playNow(): void {
    const files = workspace.files();
    if (files === null) return;
    played = files;
    state.begun();
    const now = engine.rehearse(files);
    rehearsal = now;
    now.onProgress(state.progress);
    now.onReturns((policies) => {
      drawing.amend({ policiesAreComing: false, ...(policies && { policies }) }, "policies");
    });
    void now.promise
      .then((outcome) => {
        if (rehearsal !== now && outcome.is === "cancelled") return;
        hear(outcome);
        if (opening?.files !== files) return;
        drawing.finish();
        tellOpening(problemOf(outcome));
      })
      .catch((error: unknown) => {
        tellOpening(`its run could not be shown: ${error instanceof Error ? error.message : String(error)}`);
        throw error;
      });
  }
  function hear(outcome: Outcome): void {
    const left = drawing.context() === null ? "" : " Below is the run before.";
    const problems: readonly Issue[] = outcome.is === "issues" ? outcome.issues : [];
    tables.setIssues(problems);
    issues.replaceChildren(
      ...(problems.length === 0
        ? []
        : [issueList(problems, (issue) => tables.goTo(issue) || pane.goTo(issue.file, issue.line, issue.column))]),
    );
    switch (outcome.is) {
      case "done": {
        drawing.show({ ...runOf(outcome.data), policiesAreComing: true });
        tables.setFindings(outcome.data.summary.findings);
        // Somebody may have changed more while it was played.
        markOld(workspace.files() !== played);
        state.ended(null);
        if (left !== "") drawing.context()?.announce(`Rehearsed anew. ${outcome.data.telling.sentences.join(" ")}`);
        break;
      }
      case "issues":
        state.ended(`${capital(counted(problems.length, "problem", "problems"))} in the files.${left}`, true);
        break;
      case "failed":
        state.ended(`The run ended early: ${outcome.problem.replace(/\.$/, "")}.${left}`);
        break;
      case "cancelled":
        played = null;
        state.ended(`Cancelled: the last change was not rehearsed.${left}`);
    }
    update();
  }
  function markOld(isOld: boolean): void {
    place.classList.toggle("is-old", isOld && drawing.context() !== null);
  }

  // ---- the ways in

  workspace.subscribe(changed);
  takeDrops(barDeeds.openFiles);
  document.addEventListener("keydown", (event) => {
    const isTyping = event.target instanceof Element && event.target.closest("input, textarea") !== null;
    if (isTyping || event.altKey || !(event.ctrlKey || event.metaKey)) return;
    const key = event.key.toLowerCase();
    const way = key === "z" ? (event.shiftKey ? "redo" : "undo") : key === "y" ? "redo" : null;
    if (way === null) return;
    event.preventDefault();
    workspace[way]();
  });

  const draft = drafts.read();
  const draftNotes = draft?.isChanged === true ? [DRAFT_NOTE] : [];
  // The files before the run: what is drawn then knows them, and need not be drawn again.
  if (draft !== null) take(draft.files, draftNotes, draft.original);
  else if (held === null) take(shipped(FIRST), []);
  else if (held.files !== undefined) {
    const { main, texts } = held.files;
    const files = { main, texts };
    const whole = withAdded(held.files);
    // The page shows already what is played from this.
    if (whole === null) played = files;
    take(whole ?? files, whole === null ? [] : [ADDED_NOTE], files);
  }
  drawing.complete(laterParts, { curveView, letGo: endCharts }, tables.placeMap);
  if (held !== null) {
    tables.setFindings(held.summary.findings);
    markOld(workspace.files() !== played);
    afterFrame(() => {
      engine.warm();
      update();
    });
    if (draft === null && held.files === undefined) say([RUN_ALONE_NOTE]);
  }
  doAsked();
}

/** Why there is no run on the page; null: there is. */
function problemOf(outcome: Outcome): string | null {
  if (outcome.is === "issues") return formatIssues(outcome.issues)[0] ?? "its files have problems";
  if (outcome.is === "failed") return outcome.problem;
  return outcome.is === "cancelled" ? "its run was cancelled" : null;
}

const DRAFT_NOTE = "This is your draft of before, kept in this browser.";
const TEMPLATE_NOTE =
  "A rig to begin with: change names, cables and numbers to yours, on the map or as text, and save it as a file.";
const RUN_ALONE_NOTE = "This page holds a run without its files. Open a scenario to rehearse something else.";
const ADDED_NOTE =
  "What was added on the command line stands in the file now. It is in no file of yours until you save this one.";

/** Events and seed from the command line, written into the scenario; null: there are none. */
function withAdded({ main, texts, added }: ScenarioTexts): ScenarioTexts | null {
  if (added === undefined) return null;
  const seeded = added.seed === null ? (texts[main] ?? "") : setSeed(texts[main] ?? "", added.seed);
  const text = added.events.reduce<string>((made, event) => addEvent(made, event as WrittenEvent), seeded);
  return { main, texts: { ...texts, [main]: text } };
}

function endCharts(element: Element): void {
  for (const canvas of element.querySelectorAll("canvas")) Chart.getChart(canvas)?.destroy();
}

function takeDrops(take: (files: Iterable<File>) => void): void {
  const root = document.documentElement;
  let leaving = 0;
  document.addEventListener("dragover", (event) => {
    if (event.dataTransfer?.types.includes("Files") !== true) return;
    event.preventDefault();
    root.classList.add("dropping");
    clearTimeout(leaving);
    leaving = window.setTimeout(() => root.classList.remove("dropping"), 300);
  });
  document.addEventListener("drop", (event) => {
    const files = [...(event.dataTransfer?.files ?? [])];
    if (files.length === 0) return;
    event.preventDefault();
    root.classList.remove("dropping");
    take(files);
  });
}
