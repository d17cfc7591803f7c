/** What is copied and pasted by keys while a cell has the focus and nothing in it is edited. */

export interface Clipped {
  isCell(target: EventTarget | null): boolean;
  paste(text: string): void;
  copy(): string;
}

export function onClipboard(element: HTMLElement, { isCell, paste, copy }: Clipped): void {
  element.addEventListener("paste", (event) => {
    const text = event.clipboardData?.getData("text/plain") ?? "";
    if (!isCell(event.target) || text === "") return;
    event.preventDefault();
    paste(text);
  });
  element.addEventListener("copy", (event) => {
    // Somebody may have marked words instead.
    const text = isCell(event.target) && getSelection()?.isCollapsed !== false ? copy() : "";
    if (text === "") return;
    event.preventDefault();
    event.clipboardData?.setData("text/plain", text);
  });
}
