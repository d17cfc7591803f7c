/** Rows of a grid: headings that sort, a row of the rig, and the one that waits. */
import { h } from "../dom.ts";
import { type Bench, calledItem, columnsOf, itemsIn, OF_TABLE, type RigTable } from "./bench.ts";
import type { GridHost } from "./grid.ts";
import { labelOf } from "./labels.ts";
import { shownCell } from "./shown.ts";

/** Rows that are none of the rig: the one that waits for what comes next, and the headings. */
export const NEW = -1;
export const HEAD = -2;

export interface Sort {
  readonly key: string;
  readonly isDown: boolean;
}

export function headRow(
  table: RigTable,
  keys: readonly string[],
  sort: Sort | null,
  press: (key: string) => void,
): HTMLElement {
  const cells = keys.map((key) => {
    const way = sort?.key === key ? (sort.isDown ? "descending" : "ascending") : "none";
    const sign = way === "none" ? "" : way === "ascending" ? " ↑" : " ↓";
    const button = h(
      "button",
      { ...{ type: "button", tabindex: -1, "data-row": HEAD, "data-col": key } },
      labelOf(table, key),
      h("span", { "aria-hidden": "true" }, sign),
    );
    button.title = "Sort what is shown; the file keeps its order";
    button.addEventListener("click", () => press(key));
    return h("th", { role: "columnheader", scope: "col", "aria-sort": way }, button);
  });
  return h("tr", { role: "row" }, ...cells);
}

/** All that a cell shows. */
interface CellFacts {
  readonly key: string;
  readonly words: string;
  /** It is from a type, or nothing of its own. */
  readonly isOwn: boolean;
  readonly issues: readonly string[];
  readonly isAdvised: boolean;
}

export interface RowFacts {
  readonly row: number;
  readonly cells: readonly CellFacts[];
}

export function rowFacts(
  host: GridHost,
  bench: Bench,
  table: RigTable,
  row: number,
  keys: readonly string[],
): RowFacts {
  const cells = keys.map((key, column) => {
    if (row === NEW) {
      const words = column === 0 ? `Add a ${OF_TABLE[table].one}` : "";
      return { key, words, isOwn: false, issues: [], isAdvised: false };
    }
    const { words, type } = shownCell(bench, table, row, key);
    // The first cell speaks for its row.
    const ofRow = column > 0 ? [] : [host.issueAt(table, row, null), ...hiddenIssues(host, table, row, keys)];
    const instead = column === 0 ? calledItem(table, itemsIn(bench.rig, table)[row]) : "";
    return {
      key,
      words: words || instead,
      isOwn: type === null && words !== "",
      issues: [host.issueAt(table, row, key), ...ofRow].filter((text) => text !== null),
      isAdvised: host.adviceAt(table, row, key) !== null,
    };
  });
  return { row, cells };
}

/** Of cells whose column is not shown. */
function hiddenIssues(host: GridHost, table: RigTable, row: number, shown: readonly string[]): string[] {
  return columnsOf(table).flatMap(({ key }) => {
    const issue = shown.includes(key) ? null : host.issueAt(table, row, key);
    return issue === null ? [] : [`${labelOf(table, key)}: ${issue}`];
  });
}

/**
 * Puts rows into a table; those that show what they showed stay in their place, as most do at most changes.
 * @param drawn rows by what they show, as this gave it the last time
 */
export function putRows(
  body: HTMLElement,
  table: RigTable,
  rows: readonly RowFacts[],
  drawn: ReadonlyMap<string, HTMLElement>,
): Map<string, HTMLElement> {
  const now = new Map<string, HTMLElement>();
  for (const [index, facts] of rows.entries()) {
    const says = JSON.stringify(facts);
    const element = drawn.get(says) ?? gridRow(table, facts);
    now.set(says, element);
    if (body.children[index] !== element) body.insertBefore(element, body.children[index] ?? null);
  }
  while (body.children.length > rows.length) body.lastElementChild?.remove();
  return now;
}

function gridRow(table: RigTable, { row, cells }: RowFacts): HTMLElement {
  const made = cells.map(({ key, words, isOwn, issues, isAdvised }, column) => {
    const isFirst = column === 0;
    const cell = isFirst ? h("th", { role: "rowheader", scope: "row" }) : h("td", { role: "gridcell" });
    cell.dataset.row = String(row);
    cell.dataset.col = key;
    cell.tabIndex = -1;
    // A narrow page stacks its cells.
    if (!isFirst) cell.append(h("span", { class: "cell-head", "aria-hidden": "true" }, labelOf(table, key)));
    if (words !== "") cell.append(h("span", { dir: "auto", class: isOwn ? null : "inherited" }, words));
    cell.append(...issues.map((text) => h("span", { class: "cell-issue" }, text)));
    if (issues.length > 0) cell.setAttribute("aria-invalid", "true");
    else if (isAdvised) cell.classList.add("advised");
    return cell;
  });
  return h("tr", { role: "row" }, ...made);
}
