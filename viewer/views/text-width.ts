/** The page's own face, and how wide a text of it will be. */
const canvas = document.createElement("canvas").getContext("2d");
const known = new Map<string, number>();
/** Asked once: the page has one face, and to ask the style sheet between two drawings makes the browser work it out anew. */
let face: string | null = null;
/** Names are few and come again at every frame; a file of very many names must not fill the memory. */
const KEPT = 5000;
/** Of a weight of 600 against the plain face, with some room left. */
const HEAVIER = 1.13;

export function pageFace(): string {
  face ??= getComputedStyle(document.body).fontFamily;
  return face;
}

/** Set in a heavier face than the one that is measured. */
export function heavyWidth(text: string, sizePixels: number): number {
  return textWidth(text, sizePixels) * HEAVIER;
}

export function textWidth(text: string, sizePixels: number): number {
  const key = `${sizePixels} ${text}`;
  const found = known.get(key);
  if (found !== undefined) return found;
  if (canvas === null) return text.length * sizePixels * 0.55;
  canvas.font = `${sizePixels}px ${pageFace()}`;
  const width = canvas.measureText(text).width;
  if (known.size >= KEPT) known.clear();
  known.set(key, width);
  return width;
}
