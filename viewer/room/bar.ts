/** The head of the room: what is worked on, the ways to other files and back, and how the run is getting on. */

import type { ScenarioTexts } from "../../sim/run-data.ts";
import { h } from "../dom.ts";
import type { Workspace } from "./workspace.ts";

export interface BarActions {
  openFiles(files: Iterable<File>): void;
  openText(text: string): void;
  openShipped(file: string): void;
  /** @param name of a template */
  openTemplate(name: string): void;
  newRig(): void;
  save(): void;
  undo(): void;
  redo(): void;
  discard(): void;
}

export interface Offer {
  readonly name: string;
  readonly text: string;
}

/** In the place of a template's name. */
const EMPTY = "empty";

export interface Bar {
  readonly element: HTMLElement;
  /** @param notes what people have to know about what is open. */
  update(workspace: Workspace, notes: readonly string[]): void;
  /** What can be chosen in its lists. */
  offer(scenarios: readonly Offer[], templates: readonly Offer[]): void;
}

/** @param opening what will be open; null: nothing yet */
export function bar(actions: BarActions, opening: ScenarioTexts | null): Bar {
  const picker = h("input", {
    type: "file",
    multiple: true,
    accept: ".json,.jsonc,application/json,text/plain",
    hidden: true,
  });
  picker.addEventListener("change", () => {
    actions.openFiles([...(picker.files ?? [])]);
    // The same file may be picked again, changed by then.
    picker.value = "";
  });
  const shipped = chooser("Open a scenario that comes with Pulltest", "Shipped scenarios …", actions.openShipped);
  const templates = chooser("Begin a rig of your own", "New rig …", (chosen) =>
    chosen === EMPTY ? actions.newRig() : actions.openTemplate(chosen),
  );
  const paste = pasteForm(actions.openText);
  const undo = button("Undo", actions.undo);
  const redo = button("Redo", actions.redo);
  const save = button("Save as file", actions.save);
  const discard = button("Discard changes", actions.discard);
  const name = h("strong", {});
  const state = h("span", {});
  const notes = h("div", { class: "room-notes" });
  const element = h(
    "div",
    { class: "room-bar", role: "region", "aria-label": "Files and changes" },
    h("p", { class: "room-name" }, name, " ", state),
    h(
      "div",
      { class: "room-tools" },
      h(
        "span",
        { class: "room-group" },
        button("Open files", () => picker.click()),
        picker,
        paste.button,
        shipped,
        templates,
      ),
      h("span", { class: "room-group" }, undo, redo, save, discard),
    ),
    paste.element,
    notes,
  );
  const show = (files: ScenarioTexts | null, isChanged: boolean) => {
    const others = files === null ? [] : Object.keys(files.texts).filter((file) => file !== files.main);
    const withOthers = others.length === 0 ? "" : `with ${others.join(", ")}`;
    const changed = isChanged ? "changed since it was opened or saved" : "";
    name.textContent = files?.main ?? "";
    state.textContent = [withOthers, changed].filter((text) => text !== "").join("; ");
    save.disabled = files === null;
    discard.hidden = !isChanged;
  };
  const showSteps = (back: string | null, forth: string | null) => {
    setAction(undo, "Undo", back);
    setAction(redo, "Redo", forth);
  };
  const say = (said: readonly string[]) => {
    notes.replaceChildren(...said.map((text) => h("p", {}, text)));
    notes.hidden = said.length === 0;
  };
  show(opening, false);
  showSteps(null, null);
  say([]);
  return {
    element,
    update(workspace, said) {
      const files = workspace.files();
      show(files, workspace.isChanged());
      if (files === null) name.textContent = "No file is open";
      showSteps(workspace.undoes(), workspace.redoes());
      say(said);
      shipped.value = "";
      templates.value = "";
    },
    offer(scenarios, beginnings) {
      const option = ({ name, text }: Offer) => h("option", { value: name }, text);
      shipped.append(...scenarios.map(option));
      templates.append(option({ name: EMPTY, text: "Empty: tables to fill in" }), ...beginnings.map(option));
    },
  };
}

/** Keys walk through a list that is closed: it opens what is chosen when the list is left or Enter is pressed. */
function chooser(label: string, head: string, open: (value: string) => void): HTMLSelectElement {
  const list = h("select", { "aria-label": label }, h("option", { value: "" }, head));
  let walked = false;
  const openChosen = () => {
    walked = false;
    if (list.value !== "") open(list.value);
  };
  list.addEventListener("keydown", ({ key }) => {
    if (key === "Enter") openChosen();
    else if (/^(Arrow|Page|Home|End|.$)/.test(key)) walked = true;
  });
  list.addEventListener("change", () => {
    if (!walked) openChosen();
  });
  list.addEventListener("blur", () => {
    if (walked) openChosen();
  });
  return list;
}

function button(text: string, act: () => void): HTMLButtonElement {
  const made = h("button", { type: "button" }, text);
  made.addEventListener("click", act);
  return made;
}

/** A button that is out of use keeps the focus, or a row of presses would lose its place. */
function setAction(made: HTMLButtonElement, verb: string, what: string | null): void {
  made.setAttribute("aria-disabled", String(what === null));
  made.title = what === null ? `Nothing to ${verb.toLowerCase()}` : `${verb}: ${what}`;
  made.setAttribute("aria-label", made.title);
}

function pasteForm(open: (text: string) => void): { button: HTMLButtonElement; element: HTMLElement } {
  const text = h("textarea", { rows: 8, spellcheck: false, "aria-label": "Text of a scenario" });
  const element = h(
    "form",
    { class: "paste-form", hidden: true },
    text,
    h("button", { type: "submit", class: "main-button" }, "Rehearse this text"),
  );
  const opener = h("button", { type: "button", "aria-expanded": "false" }, "Paste a text");
  const show = (isOpen: boolean) => {
    element.hidden = !isOpen;
    opener.setAttribute("aria-expanded", String(isOpen));
  };
  opener.addEventListener("click", () => {
    show(element.hidden === true);
    if (!element.hidden) text.focus();
  });
  element.addEventListener("submit", (event) => {
    event.preventDefault();
    if (text.value.trim() === "") {
      text.focus();
      return;
    }
    open(text.value);
    text.value = "";
    show(false);
    opener.focus();
  });
  return { button: opener, element };
}
