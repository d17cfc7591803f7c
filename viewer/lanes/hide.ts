/** Hides or shows an element. What has the focus in it hands the focus on, so that keys go on working. */
export function hide(element: HTMLElement, isHidden: boolean, heir: () => HTMLElement | null | undefined): void {
  if (isHidden && !element.hidden && element.contains(document.activeElement)) heir()?.focus({ preventScroll: true });
  element.hidden = isHidden;
}
