/** The few lines that make elements. Text goes in as text only: a name with markup in it stays a name. */

type Attribute = string | number | boolean | null | undefined;
type Child = Node | string | null;

export function h<Tag extends keyof HTMLElementTagNameMap>(
  tag: Tag,
  attributes: Readonly<Record<string, Attribute>> = {},
  ...children: readonly Child[]
): HTMLElementTagNameMap[Tag] {
  return fill(document.createElement(tag), attributes, children);
}

export function svg<Tag extends keyof SVGElementTagNameMap>(
  tag: Tag,
  attributes: Readonly<Record<string, Attribute>> = {},
  ...children: readonly Child[]
): SVGElementTagNameMap[Tag] {
  return fill(document.createElementNS("http://www.w3.org/2000/svg", tag), attributes, children);
}

function fill<E extends Element>(
  element: E,
  attributes: Readonly<Record<string, Attribute>>,
  children: readonly Child[],
): E {
  for (const [name, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) continue;
    element.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children) if (child !== null) element.append(child);
  return element;
}

/** A name out of the file: its letters may run either way without turning the words around it. */
export function name(text: string): HTMLElement {
  return h("bdi", {}, text);
}

export { isolated } from "../sim/tell/words.ts";

export interface Column {
  readonly head: string;
  readonly kind?: "number" | "text";
}

/**
 * A table that keeps its meaning when a narrow page stacks its cells: roles are written out, because a browser drops
 * them from a table that is not displayed as one, and each cell carries its column's head.
 */
export function table(
  caption: string,
  columns: readonly Column[],
  rows: readonly (readonly (Node | string)[])[],
): HTMLElement {
  const head = h(
    "tr",
    { role: "row" },
    ...columns.map(({ head, kind }) => h("th", { role: "columnheader", scope: "col", class: kind ?? "text" }, head)),
  );
  const body = rows.map((cells) =>
    h(
      "tr",
      { role: "row" },
      ...cells.map((cell, index) => {
        const { head, kind } = columns[index]!;
        return index === 0
          ? h("th", { role: "rowheader", scope: "row" }, cell)
          : h(
              "td",
              { role: "cell", class: kind ?? "text" },
              h("span", { class: "cell-head", "aria-hidden": "true" }, head),
              cell,
            );
      }),
    ),
  );
  return h(
    "table",
    { role: "table" },
    h("caption", {}, caption),
    h("thead", { role: "rowgroup" }, head),
    h("tbody", { role: "rowgroup" }, ...body),
  );
}

/** More rows than this are folded, so that what stands below them is not out of reach. */
const LONG_ROWS = 12;

/** Matter of `count` pieces, folded where they are many; the print shows it all the same. */
export function foldedIfLong(count: number, pieces: string, matter: HTMLElement): HTMLElement {
  if (count <= LONG_ROWS) return matter;
  return h("details", { class: "long" }, h("summary", {}, `All ${count} ${pieces}`), matter);
}

/** A part of the page: its heading in the margin, its matter beside it. */
export function part(id: string, heading: string, ...matter: readonly Child[]): HTMLElement {
  const headingId = `${id}-heading`;
  return h(
    "section",
    { id, class: "part", "aria-labelledby": headingId },
    h("h2", { id: headingId }, heading),
    h("div", { class: "matter" }, ...matter),
  );
}
