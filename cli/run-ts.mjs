// `node cli/run-ts.mjs FILE ...`: bundles a TypeScript file as the command is bundled and runs it, since Node 20 cannot.
import { rmSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";
import { build } from "vite";
import { root } from "./setup.mjs";

const [file, ...args] = process.argv.slice(2);
if (!file) {
  console.error("node cli/run-ts.mjs FILE ...: which TypeScript file?");
  process.exit(2);
}
// Inside node_modules, so that a package that must stay outside the bundle is still found.
const outDir = join(root, "node_modules", ".cache", "run-ts", `${process.pid}`);
process.on("exit", () => rmSync(outDir, { recursive: true, force: true }));
await build({
  configFile: false,
  root,
  logLevel: "warn",
  // A browser's driver starts programs of its own, from beside its own files.
  ssr: { noExternal: true, external: ["playwright-core"] },
  build: {
    ssr: true,
    target: "node20.19",
    outDir,
    minify: false,
    rolldownOptions: { input: { main: resolve(file) }, output: { entryFileNames: "[name].mjs", codeSplitting: false } },
  },
});
const bundle = join(outDir, "main.mjs");
process.argv = [process.execPath, bundle, ...args];
await import(pathToFileURL(bundle).href);
