/** How wide a text of the page's own face will be. */
const canvas = document.createElement("canvas").getContext("2d");
const known = new Map<string, number>();
/** Names are few and come again at every frame; a file of very many names must not fill the memory. */
const KEPT = 5000;

export function textWidth(text: string, sizePixels: number): number {
  const key = `${sizePixels} ${text}`;
  const found = known.get(key);
  if (found !== undefined) return found;
  if (canvas === null) return text.length * sizePixels * 0.55;
  canvas.font = `${sizePixels}px ${getComputedStyle(document.body).fontFamily}`;
  const width = canvas.measureText(text).width;
  if (known.size >= KEPT) known.clear();
  known.set(key, width);
  return width;
}
