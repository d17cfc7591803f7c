import { createHash } from "node:crypto";
import { fileURLToPath } from "node:url";
import { defineConfig, type Plugin } from "vite";

const here = (path: string) => fileURLToPath(new URL(path, import.meta.url));

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
    rolldownOptions: { input: here("index.html"), output: { codeSplitting: false } },
  },
});

/** Where the command puts the run. */
const RUN_PLACE = "<!--run-->";

/**
 * Moves scripts and styles into the HTML, adds the licences of what is inside, and a content policy under which nothing
 * but that script runs and nothing is fetched. Workers have to come from `import … from "./name.ts?worker&inline"`.
 */
function onePage(): Plugin {
  return {
    name: "one-page",
    generateBundle: {
      order: "post",
      handler(_options, bundle) {
        const page = bundle["index.html"];
        if (page?.type !== "asset") return this.error("No index.html came out of the build.");
        const hashes: string[] = [];
        const take = (path: string) => {
          const name = path.replace(/^\//, "");
          const part = bundle[name];
          if (!part) return this.error(`The page asks for ${path}, which the build did not make.`);
          delete bundle[name];
          return part.type === "chunk" ? part.code : text(part.source);
        };
        let html = text(page.source)
          .replace(/<script\b[^>]*\bsrc="([^"]+)"[^>]*><\/script>/g, (_tag, path: string) => {
            const code = inertInHtml(take(path).trim());
            hashes.push(`'sha256-${createHash("sha256").update(code).digest("base64")}'`);
            return `<script type="module">${code}</script>`;
          })
          .replace(/<link\b[^>]*\brel="stylesheet"[^>]*\bhref="([^"]+)"[^>]*>/g, (_tag, path: string) => {
            return `<style>${take(path).trim()}</style>`;
          });

        const policy = [
          "default-src 'none'",
          `script-src ${hashes.join(" ")}`,
          "style-src 'unsafe-inline'",
          "img-src data: blob:",
          "font-src data:",
          "worker-src blob:",
          "base-uri 'none'",
          "form-action 'none'",
        ].join("; ");
        html = html.replace(/<meta\s+charset[^>]*>/i, (charset) => {
          return `${charset}\n    <meta http-equiv="Content-Security-Policy" content="${policy}">`;
        });
        const licences = inertInHtml(take("licences.md").trim());
        html = html.replace(
          "</body>",
          () => `<script type="text/markdown" id="licences">\n${licences}\n</script>\n</body>`,
        );

        for (const [wanted, count] of [
          [RUN_PLACE, 1],
          ["Content-Security-Policy", 1],
          ['id="licences"', 1],
        ] as const) {
          const found = html.split(wanted).length - 1;
          if (found !== count) this.error(`The page must hold ${wanted} ${count} time, found ${found}.`);
        }
        const left = Object.keys(bundle).filter((name) => name !== "index.html");
        if (left.length > 0) this.error(`These would be files of their own beside the page: ${left.join(", ")}.`);

        delete bundle["index.html"];
        this.emitFile({ type: "asset", fileName: "page.html", source: html });
      },
    },
  };
}

/** The same script, without the two character sequences that would end or hide it inside HTML. */
function inertInHtml(script: string): string {
  return script.replaceAll(/<(?=\/script|!--)/gi, "\\x3c");
}

function text(source: string | Uint8Array): string {
  return typeof source === "string" ? source : new TextDecoder().decode(source);
}
