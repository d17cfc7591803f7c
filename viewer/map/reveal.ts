/** Puts the focus on a thing of the map and brings it into view, from elsewhere on the page. */

/** @param key "device foh" or "link main" */
export function revealOnMap(key: string): void {
  const [kind, id] = [key.slice(0, key.indexOf(" ")), key.slice(key.indexOf(" ") + 1)];
  const all = document.querySelectorAll<SVGElement>(`#map .map-drawing [data-${kind}]`);
  const found = [...all].find(({ dataset }) => dataset[kind] === id);
  if (found !== undefined) reveal(found);
}

export function reveal(element: HTMLElement | SVGElement): void {
  element.focus({ preventScroll: true });
  const isStill = matchMedia("(prefers-reduced-motion: reduce)").matches;
  element.scrollIntoView({ block: "center", inline: "center", behavior: isStill ? "instant" : "smooth" });
}
