/** Keys of a grid while a cell has the focus and nothing in it is edited: by the ARIA pattern, and as spreadsheets have them. */

export interface GridDeeds {
  /** On a heading, on what waits at the end, or on a row of the rig. */
  place(): "head" | "new" | "row";
  walk(columns: number, rows: number): void;
  /** False: there is no cell that way. */
  tab(way: 1 | -1): boolean;
  /** To the first cell, or the last, of the row or of all. */
  first(isOfAll: boolean): void;
  last(isOfAll: boolean): void;
  /** @param typed the first letter of what is to stand there */
  edit(typed?: string): void;
  clear(): void;
  /** A row. */
  begin(): void;
  remove(): void;
  leave(): void;
}

const ARROWS: Readonly<Record<string, readonly [columns: number, rows: number]>> = {
  ArrowLeft: [-1, 0],
  ArrowRight: [1, 0],
  ArrowUp: [0, -1],
  ArrowDown: [0, 1],
};

export function onKeys(grid: HTMLElement, deeds: GridDeeds): void {
  grid.addEventListener("keydown", (event) => {
    const { target, altKey } = event;
    if (!(target instanceof HTMLElement) || target.dataset.col === undefined || altKey) return;
    if (isTaken(event, deeds)) event.preventDefault();
  });
}

function isTaken({ key, ctrlKey, metaKey, shiftKey }: KeyboardEvent, deeds: GridDeeds): boolean {
  const isCommand = ctrlKey || metaKey;
  const isCell = deeds.place() !== "head";
  const arrow = ARROWS[key];
  const isDelete = key === "Delete" || key === "Backspace";
  if (key === "Home") deeds.first(isCommand);
  else if (key === "End") deeds.last(isCommand);
  else if (isCommand && key === "Enter") deeds.begin();
  else if (isCommand && isDelete && deeds.place() === "row") deeds.remove();
  else if (isCommand) return false;
  else if (arrow !== undefined) deeds.walk(...arrow);
  else if (key === "Tab") return isCell && deeds.tab(shiftKey ? -1 : 1);
  else if (key === "Escape") deeds.leave();
  else if (!isCell) return false;
  else if (key === "Enter" || key === "F2") deeds.edit();
  else if (isDelete) deeds.clear();
  else if (key.length === 1) deeds.edit(key);
  else return false;
  return true;
}
