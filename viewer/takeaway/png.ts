/** A drawing as pixels: the browser draws the same SVG that is saved as a file. */
import type { Picture } from "./sheet.ts";
import { svgText } from "./standalone.ts";

/** What common browsers still draw: 16,384 to a side, and 2²⁸ in all. */
const SIDE_MOST = 16_384;

export const SCALES = [1, 2, 4] as const;

/** Null where no browser could be relied on to draw it. */
export async function pngOf(picture: Picture, scale: number): Promise<Blob | null> {
  const [width, height] = [picture.width * scale, picture.height * scale];
  if (Math.max(width, height) > SIDE_MOST) return null;
  const address = URL.createObjectURL(new Blob([svgText(picture.drawing)], { type: "image/svg+xml" }));
  try {
    const image = new Image();
    image.src = address;
    await image.decode();
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [width, height];
    canvas.getContext("2d")?.drawImage(image, 0, 0, width, height);
    return await new Promise((done) => canvas.toBlob(done, "image/png"));
  } finally {
    URL.revokeObjectURL(address);
  }
}
