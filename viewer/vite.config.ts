import { fileURLToPath } from "node:url";
import { defineConfig } from "vite";
import { onePage } from "./assemble/one-page.ts";

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));

/** The page beside what people wait for, and what workers are made of. */
const REST = fileURLToPath(new URL("./rest.ts", import.meta.url));
const ENGINE = fileURLToPath(new URL("./engine/worker.ts", import.meta.url));

/** The page as one HTML file that asks nothing of any network: `viewer/dist/page.html`. */
export default defineConfig({
  root: here("."),
  plugins: [onePage()],
  build: {
    target: "es2023",
    outDir: "dist",
    emptyOutDir: true,
    assetsInlineLimit: Number.MAX_SAFE_INTEGER,
    cssCodeSplit: false,
    modulePreload: false,
    license: { fileName: "licences.md" },
    rolldownOptions: { input: { first: here("index.html"), rest: REST, engine: ENGINE } },
  },
});
