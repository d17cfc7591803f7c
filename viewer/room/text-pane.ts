/** The files as text, with line numbers: whatever is typed here is rehearsed like any other change. */
import { h } from "../dom.ts";
import type { Workspace } from "./workspace.ts";

export interface TextPane {
  readonly element: HTMLElement;
  /** Opens the pane with the cursor at a place, both from 1. */
  goTo(file: string, line: number, column: number): void;
}

/** @param element a fold with its head, which it fills */
export function textPane(workspace: Workspace, element: HTMLDetailsElement): TextPane {
  const choice = h("select", { "aria-label": "Which file" });
  const numbers = h("pre", { class: "line-numbers", "aria-hidden": "true" });
  const text = h("textarea", {
    class: "text-lines",
    "aria-label": "Text of the file",
    rows: 22,
    wrap: "off",
    spellcheck: false,
    autocapitalize: "off",
    autocomplete: "off",
  });
  element.append(h("div", { class: "text-head" }, choice), h("div", { class: "text-body" }, numbers, text));
  let lines = 0;
  const number = () => {
    const count = text.value.split("\n").length;
    if (count !== lines) {
      lines = count;
      numbers.textContent = Array.from({ length: count }, (_, index) => index + 1).join("\n");
    }
    numbers.scrollTop = text.scrollTop;
  };
  const update = () => {
    const files = workspace.files();
    element.hidden = files === null;
    if (files === null || !element.open) return;
    const names = Object.keys(files.texts);
    if (names.join("\n") !== [...choice.options].map(({ value }) => value).join("\n")) {
      const before = choice.value;
      choice.replaceChildren(...names.map((name) => h("option", { value: name }, name)));
      choice.value = names.includes(before) ? before : files.main;
    }
    const now = files.texts[choice.value] ?? "";
    text.setAttribute("aria-label", `Text of ${choice.value}`);
    // Setting it, even to the same, would take away what Ctrl-Z goes back to.
    if (text.value !== shownInField(now)) {
      const [from, to, top] = [text.selectionStart, text.selectionEnd, text.scrollTop];
      text.value = now;
      text.setSelectionRange(from, to);
      text.scrollTop = top;
    }
    number();
  };
  text.addEventListener("input", () => {
    const files = workspace.files();
    const before = files?.texts[choice.value] ?? "";
    // A field turns every line end into a bare one; the file keeps its own kind.
    const typed = before.includes("\r\n") ? text.value.replaceAll("\n", "\r\n") : text.value;
    workspace.setText(`typing in ${choice.value}`, choice.value, typed, true);
    number();
  });
  text.addEventListener("scroll", () => {
    numbers.scrollTop = text.scrollTop;
  });
  choice.addEventListener("change", () => {
    text.value = "";
    update();
    text.scrollTop = 0;
  });
  element.addEventListener("toggle", update);
  workspace.subscribe(update);
  return {
    element,
    goTo(file, line, column) {
      element.open = true;
      update();
      if (choice.value !== file && [...choice.options].some(({ value }) => value === file)) {
        choice.value = file;
        update();
      }
      const before = text.value.split("\n").slice(0, Math.max(0, line - 1));
      const start = before.reduce((sum, one) => sum + one.length + 1, 0);
      const end = text.value.indexOf("\n", start);
      const from = Math.min(start + Math.max(0, column - 1), text.value.length);
      text.focus();
      text.setSelectionRange(from, end < 0 ? text.value.length : Math.max(from, end));
      const height = Number.parseFloat(getComputedStyle(text).lineHeight) || 20;
      text.scrollTop = Math.max(0, (line - 6) * height);
      text.scrollLeft = 0;
      number();
    },
  };
}

function shownInField(text: string): string {
  return text.replaceAll("\r\n", "\n");
}
