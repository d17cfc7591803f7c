/** Script and styles of `map-on-page.ts`, bundled as the page is. */
import { fileURLToPath } from "node:url";
import { build } from "vite";

export interface MapBundle {
  /** Leaves `rigMap` behind. */
  readonly script: string;
  readonly style: string;
}

export async function mapBundle(): Promise<MapBundle> {
  const built = await build({
    configFile: false,
    logLevel: "warn",
    build: {
      write: false,
      minify: false,
      target: "es2023",
      cssCodeSplit: false,
      lib: { entry: fileURLToPath(new URL("./map-on-page.ts", import.meta.url)), formats: ["iife"], name: "rigMap" },
    },
  });
  const [bundle] = [built].flat();
  if (bundle === undefined || !("output" in bundle)) throw new Error("the map was not bundled");
  const chunk = bundle.output.find((part) => part.type === "chunk");
  const sheet = bundle.output.find((part) => part.type === "asset" && part.fileName.endsWith(".css"));
  if (chunk?.type !== "chunk" || sheet?.type !== "asset")
    throw new Error("the map was bundled without script or style");
  return { script: chunk.code, style: String(sheet.source) };
}
