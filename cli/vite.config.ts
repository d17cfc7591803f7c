import { chmodSync, existsSync, readFileSync } from "node:fs";
import { fileURLToPath } from "node:url";
import { defineConfig, type Plugin } from "vite";

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));

/**
 * The command: one small entry, and one file per verb that is read only when it is asked for, so that `--help` starts
 * almost as fast as Node itself. CommonJS, because Node's loader of modules alone costs a twelfth of a bare start. `cli/dist` holds the packages in use,
 * one apart, and the page's template.
 */
export default defineConfig({
  root: here("."),
  // The pool starts a file of its own in each thread, so it has to be a package that is there.
  ssr: { noExternal: true, external: ["tinypool"] },
  plugins: [pageTemplate(), runnable()],
  build: {
    ssr: true,
    target: "node20.19",
    outDir: "dist",
    emptyOutDir: true,
    minify: true,
    license: { fileName: "licences.md" },
    rolldownOptions: {
      input: { pulltest: here("main.ts"), "trial-worker": here("trials/worker.ts") },
      output: { format: "cjs", entryFileNames: "[name].cjs", chunkFileNames: "[name]-[hash].cjs" },
    },
  },
});

/** Puts the page beside the command, which finds it with `new URL("page.html", import.meta.url)`. */
function pageTemplate(): Plugin {
  const built = here("../viewer/dist/page.html");
  return {
    name: "page-template",
    buildStart() {
      if (!existsSync(built)) this.error("The page is not built: npm run build makes it first.");
    },
    generateBundle() {
      this.emitFile({ type: "asset", fileName: "page.html", source: readFileSync(built, "utf8") });
    },
  };
}

function runnable(): Plugin {
  return {
    name: "runnable",
    generateBundle(_options, bundle) {
      for (const part of Object.values(bundle)) {
        if (part.type === "chunk" && part.isEntry && !part.code.startsWith("#!"))
          part.code = `#!/usr/bin/env node\n${part.code}`;
      }
    },
    writeBundle() {
      chmodSync(here("dist/pulltest.cjs"), 0o755);
    },
  };
}
