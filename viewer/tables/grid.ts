/**
 * One table of the rig, after the ARIA pattern of a grid: one cell is in the order of Tab, arrow keys go to the others,
 * and an empty row at the end waits for what comes next. What it shows comes from the text that is worked on.
 */

import type { ScenarioTexts } from "../../sim/run-data.ts";
import { h } from "../dom.ts";
import { type Bench, calledItem, itemsIn, OF_TABLE, type RigTable } from "./bench.ts";
import { orderEditor, type Step, suggestedFor, textEditor } from "./cell-editor.ts";
import { onClipboard } from "./clipboard.ts";
import { addRow, removeRow, setCell } from "./edits.ts";
import { onKeys } from "./grid-keys.ts";
import { HEAD, headRow, NEW, putRows, rowFacts, type Sort } from "./grid-rows.ts";
import { CORE, labelOf } from "./labels.ts";
import { moreColumns } from "./more-columns.ts";
import type { Spot } from "./paste.ts";
import { shownCell, sortedRows } from "./shown.ts";

export interface GridHost {
  bench(): Bench | null;
  /** What is wrong with a cell or, without a key, with its row. */
  issueAt(table: RigTable, index: number, key: string | null): string | null;
  /** What else there is to say of a cell. */
  adviceAt(table: RigTable, index: number, key: string): string | null;
  /** Returns why the rig was not changed; null: it was. */
  change(what: string, change: (files: ScenarioTexts) => ScenarioTexts): string | null;
  paste(text: string, spot: Spot): void;
}

export interface Grid {
  readonly element: HTMLElement;
  draw(): void;
  /** Puts the focus on a cell; the first of the row where the column is not shown. */
  focus(index: number | null, key: string | null): void;
  /** Where somebody is. */
  spot(): Spot;
}

export function rigGrid(table: RigTable, host: GridHost): Grid {
  const { one } = OF_TABLE[table];
  const heading = h("h3", { id: `${table}-table` }, "");
  const head = h("thead", { role: "rowgroup" });
  const body = h("tbody", { role: "rowgroup" });
  const grid = h(
    "table",
    { role: "grid", "aria-labelledby": heading.id, "aria-describedby": "tables-keys" },
    head,
    body,
  );
  const says = h("p", { class: "cell-says", id: `${table}-says` });
  const more = moreColumns(table, (key) => {
    extra = extra.includes(key) ? extra.filter((other) => other !== key) : [...extra, key];
    draw();
  });
  const tools = h("div", { class: "map-deeds" });
  const element = h("section", { class: "rig-table", "aria-labelledby": heading.id });
  element.append(heading, h("div", { class: "grid-frame" }, grid), says, tools, more.element);

  let extra: readonly string[] = [];
  let sort: Sort | null = null;
  let order: readonly number[] = [];
  let at = { row: NEW, key: CORE[table][0] as string };
  /** The column in which a row of Tabs began. */
  let tabbedFrom: string | null = null;
  /** The row that was typed last at the end. */
  let added: number | null = null;
  let isEditing = false;
  /** What is to be done when somebody goes elsewhere from an order of sources. */
  let leave: { readonly cell: HTMLElement; leave(): void } | null = null;
  let isStale = false;
  /** Rows by what they show. */
  let drawn = new Map<string, HTMLElement>();

  const keys = () => [...CORE[table], ...extra];
  const cellAt = (row: number, key: string) =>
    grid.querySelector<HTMLElement>(`[data-row="${row}"][data-col="${CSS.escape(key)}"]`);
  const calledAt = (row: number) => {
    const bench = host.bench();
    return row === NEW || bench === null ? `a new ${one}` : calledItem(table, itemsIn(bench.rig, table)[row]);
  };

  /** "length of cable main" */
  const ofCell = (row: number, key: string) =>
    `${labelOf(table, key).replace(/ \(.*/, "").toLowerCase()} of ${calledAt(row)}`;

  // ---- drawing

  const draw = () => {
    const bench = host.bench();
    if (isEditing || bench === null) {
      isStale = isEditing;
      return;
    }
    isStale = false;
    const hadFocus = grid.contains(document.activeElement);
    const count = itemsIn(bench.rig, table).length;
    order = sort === null ? [...Array(count).keys()] : sortedRows(bench, table, sort.key, sort.isDown);
    if (at.row >= count) at = { ...at, row: NEW };
    if (!keys().includes(at.key)) at = { ...at, key: CORE[table][0] as string };
    heading.textContent = `${table.charAt(0).toUpperCase()}${table.slice(1)}: ${count === 0 ? "none yet" : count}`;
    head.replaceChildren(headRow(table, keys(), sort, pressHead));
    const facts = [...order, NEW].map((row) => rowFacts(host, bench, table, row, keys()));
    drawn = putRows(body, table, facts, drawn);
    drawTools();
    more.draw(bench, extra);
    mark();
    if (hadFocus) cellAt(at.row, at.key)?.focus({ preventScroll: true });
  };
  const pressHead = (key: string) => {
    const isSame = sort?.key === key;
    sort = isSame ? (sort?.isDown ? null : { key, isDown: true }) : { key, isDown: false };
    at = { row: HEAD, key };
    draw();
    cellAt(HEAD, key)?.focus();
  };
  const button = (text: string, act: () => void) => {
    const made = h("button", { type: "button" }, text);
    made.addEventListener("click", act);
    return made;
  };
  const drawTools = () => {
    const name = calledAt(at.row);
    const isRow = at.row >= 0;
    tools.replaceChildren(
      button(`Add a ${one}`, begin),
      ...(isRow ? [button(`Edit the ${ofCell(at.row, at.key)}`, () => edit())] : []),
      ...(isRow ? [button(`Remove ${name}`, remove)] : []),
    );
  };
  // ---- where somebody is

  /** One cell is in the order of Tab; the words below speak of it. */
  const mark = () => {
    for (const other of grid.querySelectorAll("[tabindex='0']")) other.setAttribute("tabindex", "-1");
    const cell = cellAt(at.row, at.key);
    cell?.setAttribute("tabindex", "0");
    const bench = host.bench();
    if (bench === null || at.row < 0) {
      says.textContent = "";
      return;
    }
    const { type } = shownCell(bench, table, at.row, at.key);
    const from = type === null ? "" : `From type ${type}; what is typed here is its own.`;
    says.textContent = [from, host.adviceAt(table, at.row, at.key) ?? ""].filter((text) => text !== "").join(" ");
    cell?.setAttribute("aria-describedby", says.id);
  };
  const go = (row: number, key: string) => {
    at = { row, key };
    mark();
    drawTools();
    cellAt(row, key)?.focus();
  };
  /** The rows as they are shown, headings and what waits included; a narrow page has no row of headings. */
  const lines = () => [...(head.offsetHeight > 1 ? [HEAD] : []), ...order, NEW];
  /** False: there is no cell that way. */
  const walk = (columns: number, rows: number): boolean => {
    const row = lines()[lines().indexOf(at.row) + rows];
    const key = keys()[keys().indexOf(at.key) + columns];
    if (row === undefined || key === undefined) return false;
    go(row, key);
    return true;
  };
  /** Cell by cell, row by row. */
  const tab = (way: 1 | -1): boolean => {
    tabbedFrom ??= at.key;
    if (walk(way, 0)) return true;
    const row = lines()[lines().indexOf(at.row) + way];
    if (row === undefined || row === HEAD || at.row === HEAD) return false;
    go(row, keys().at(way === 1 ? 0 : -1) as string);
    return true;
  };
  const begin = () => {
    go(NEW, keys()[0] as string);
    edit();
  };
  const remove = () => {
    if (at.row < 0) return;
    const row = at.row;
    const next = order[order.indexOf(row) + 1];
    const key = at.key;
    const hadFocus = element.contains(document.activeElement);
    // The row that follows stands one earlier in the file if it stood behind.
    const then = next === undefined ? NEW : next > row ? next - 1 : next;
    let gone = "";
    const problem = host.change(`remove ${calledAt(row)}`, (files) => {
      const { files: left, says: words } = removeRow(files, table, row);
      gone = words;
      return left;
    });
    if (problem === null && hadFocus) go(then, key);
    says.textContent = problem ?? gone;
  };
  const spot = (): Spot => {
    const isRow = at.row >= 0;
    return { table, rows: order, keys: keys(), row: isRow ? order.indexOf(at.row) : order.length, key: at.key };
  };

  // ---- editing

  const edit = (typed?: string) => {
    const bench = host.bench();
    const { row, key } = at;
    const cell = cellAt(row, key);
    if (bench === null || cell === null || row === HEAD || isEditing) return;
    const text = row === NEW ? "" : shownCell(bench, table, row, key).text;
    const close = () => {
      isEditing = false;
      leave = null;
      // What stood in the cell is no longer there.
      drawn.delete([...drawn].find(([, element]) => element.contains(cell))?.[0] ?? "");
    };
    const label = labelOf(table, key);
    const request = {
      label: `${label} of ${calledAt(row)}`,
      text: typed ?? text,
      done(now: string, step: Step) {
        close();
        const isNothing = row === NEW ? now.trim() === "" : now === text;
        const named = key === "name" || key === "id" ? now.trim() : `a ${one}`;
        const words = row === NEW ? `add ${named}` : ofCell(row, key);
        const problem = isNothing ? null : host.change(words, (files) => written(files, now));
        if (problem !== null) {
          isEditing = true;
          says.textContent = problem;
          return problem;
        }
        if (row === NEW && !isNothing) {
          added = Math.max(...order);
          at = { row: added, key };
        }
        draw();
        if (step !== "stay") goOn(step);
        else if (row === at.row && document.activeElement === document.body) go(at.row, key);
        return null;
      },
      giveUp() {
        close();
        draw();
        go(row, key);
      },
      paste(pasted: string) {
        close();
        draw();
        go(row, key);
        host.paste(pasted, spot());
      },
    };
    const written = (files: ScenarioTexts, now: string) =>
      row === NEW ? addRow(files, table, key, { text: now }) : setCell(files, table, row, key, { text: now });
    isEditing = true;
    const isOrder = table === "devices" && key === "clockSources" && row !== NEW && typed === undefined;
    const sources = isOrder ? orderEditor(bench, row, request) : null;
    const editor = sources?.element ?? textEditor(request, suggestedFor(bench, table, key));
    leave = sources === null ? null : { cell, leave: sources.leave };
    cell.replaceChildren(editor);
    const first = editor.querySelector<HTMLElement>("input, button:not(:disabled)");
    first?.focus();
    // What was typed goes on behind its first letter.
    if (first instanceof HTMLInputElement) first.setSelectionRange(typed === undefined ? 0 : 1, first.value.length);
  };
  const goOn = (step: Exclude<Step, "stay">) => {
    if (step === "next" || step === "before") {
      if (!tab(step === "next" ? 1 : -1)) go(at.row, at.key);
      return;
    }
    // Below the cell from which somebody went on with Tab, as a row that is typed begins anew.
    if (tabbedFrom !== null) at = { ...at, key: tabbedFrom };
    tabbedFrom = null;
    // Wherever it is sorted to, what follows a row that has just been added is the next one to add.
    if (step === "down" && at.row === added) go(NEW, at.key);
    else if (!walk(0, step === "down" ? 1 : -1)) go(at.row, at.key);
  };
  const clear = () => {
    const bench = host.bench();
    if (bench === null || at.row < 0 || shownCell(bench, table, at.row, at.key).text === "") return;
    const problem = host.change(`clear the ${ofCell(at.row, at.key)}`, (files) =>
      setCell(files, table, at.row, at.key, { text: "" }),
    );
    if (problem !== null) says.textContent = problem;
  };

  // ---- hands

  onKeys(grid, {
    place: () => (at.row === HEAD ? "head" : at.row === NEW ? "new" : "row"),
    walk(columns, rows) {
      tabbedFrom = added = null;
      walk(columns, rows);
    },
    tab,
    first: (isOfAll) => go(isOfAll ? (order[0] ?? NEW) : at.row, keys()[0] as string),
    last: (isOfAll) => go(isOfAll ? NEW : at.row, keys().at(-1) as string),
    leave: () => tools.querySelector("button")?.focus(),
    ...{ edit, clear, begin, remove },
  });
  grid.addEventListener("focusin", ({ target }) => {
    if (!(target instanceof HTMLElement) || target.dataset.col === undefined) return;
    const row = Number(target.dataset.row);
    if (row === at.row && target.dataset.col === at.key) return;
    at = { row, key: target.dataset.col };
    mark();
    drawTools();
  });
  let wasHere = false;
  grid.addEventListener("pointerdown", ({ target }) => {
    tabbedFrom = added = null;
    wasHere = target instanceof Element && target.closest("[data-col]") === document.activeElement;
  });
  grid.addEventListener("click", ({ target }) => {
    const cell = target instanceof Element ? target.closest<HTMLElement>("[data-col]") : null;
    if (cell !== null && !isEditing && (wasHere || at.row === NEW)) edit();
  });
  onClipboard(grid, {
    isCell: (target) => target instanceof HTMLElement && target.dataset.col !== undefined && at.row !== HEAD,
    paste: (text) => host.paste(text, spot()),
    copy() {
      const bench = host.bench();
      if (bench === null || at.row < 0) return "";
      const { text, words } = shownCell(bench, table, at.row, at.key);
      return text === "" ? words : text;
    },
  });
  grid.addEventListener("focusout", () => {
    setTimeout(() => {
      const { activeElement } = document;
      const isElsewhere = activeElement !== document.body && leave?.cell.contains(activeElement) === false;
      if (isEditing && isElsewhere) leave?.leave();
      // What was to be drawn while somebody edited.
      if (isStale && !isEditing) draw();
    });
  });

  return {
    element,
    draw,
    spot,
    focus(index, key) {
      go(index ?? NEW, key !== null && keys().includes(key) ? key : (keys()[0] as string));
    },
  };
}
