/** The engine as one plain script, as a page would have it, for other engines than the one that runs the tests. */
import { readdirSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { build } from "vite";

/** A script that leaves `pulltest.bytesOfRun` behind. */
export async function bundleEngine(): Promise<string> {
  const built = await build({
    configFile: false,
    logLevel: "warn",
    build: {
      write: false,
      minify: false,
      target: "es2023",
      lib: { entry: fileURLToPath(new URL("./bytes-of-run.ts", import.meta.url)), formats: ["iife"], name: "pulltest" },
    },
  });
  const [bundle] = [built].flat();
  const chunk = bundle !== undefined && "output" in bundle ? bundle.output[0] : undefined;
  if (chunk?.type !== "chunk") throw new Error("the engine was not bundled");
  return chunk.code;
}

/** All that is shipped, by name, and which of it are scenarios. */
export function shippedTexts(): { readonly texts: Readonly<Record<string, string>>; readonly scenarios: string[] } {
  const names = readdirSync("scenarios").filter((name) => name.endsWith(".json"));
  return {
    texts: Object.fromEntries(names.map((name) => [name, readFileSync(`scenarios/${name}`, "utf8")])),
    scenarios: names.filter((name) => !/\.(rig|schema|library)\.json$/.test(name)),
  };
}
