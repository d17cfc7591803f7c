import { createHash } from "node:crypto";
import { fileURLToPath } from "node:url";
import { build, defineConfig, type Plugin, type Rolldown } from "vite";

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

/** The script that workers are made of. */
const ENGINE = fileURLToPath(new URL("./engine/worker.ts", import.meta.url));

/**
 * Moves scripts and styles into the HTML, adds the licences of what is inside, and a content policy under which nothing
 * but these scripts runs and nothing is fetched. The engine stands in the page once, as text: a worker is made of it,
 * and where there is none the page may run the same text, whose hash the policy knows.
 */
function onePage(): Plugin {
  return {
    name: "one-page",
    generateBundle: {
      order: "post",
      async handler(_options, bundle) {
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

        const engine = await engineScript();
        const engineCode = inertInHtml(engine.code.trim());
        hashes.push(`'sha256-${createHash("sha256").update(engineCode).digest("base64")}'`);

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
        const licences = inertInHtml(bothLicences(take("licences.md"), engine.licences));
        html = html.replace("</body>", () => {
          const texts = `<script type="text/markdown" id="licences">\n${licences}\n</script>`;
          return `<script type="text/plain" id="engine">${engineCode}</script>\n${texts}\n</body>`;
        });

        for (const [wanted, count] of [
          [RUN_PLACE, 1],
          ["Content-Security-Policy", 1],
          ['id="licences"', 1],
          ['id="engine"', 1],
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

/** The engine with all it needs in one classic script, which a worker and a page can run alike. */
async function engineScript(): Promise<{ code: string; licences: string }> {
  const built = await build({
    configFile: false,
    root: here("."),
    logLevel: "warn",
    build: {
      target: "es2023",
      write: false,
      license: { fileName: "licences.md" },
      rolldownOptions: { input: ENGINE, output: { format: "iife", codeSplitting: false } },
    },
  });
  const { output } = built as Rolldown.RolldownOutput;
  const script = output.find((part) => part.type === "chunk");
  const licences = output.find((part) => part.fileName === "licences.md");
  if (script?.type !== "chunk" || licences?.type !== "asset" || output.length !== 2)
    throw new Error(`The engine is to be one script, and is ${output.map(({ fileName }) => fileName).join(", ")}.`);
  return { code: script.code, licences: text(licences.source) };
}

/** Each package once, under the heading that names it. */
function bothLicences(page: string, engine: string): string {
  const sections = (markdown: string) => markdown.trim().split(/^(?=## )/m);
  const [head = "", ...own] = sections(page);
  const nameOf = (section: string) => section.slice(0, section.indexOf("\n"));
  const known = new Map([...own, ...sections(engine).slice(1)].map((section) => [nameOf(section), section.trim()]));
  return [head.trim(), ...[...known.keys()].sort().map((name) => known.get(name))].join("\n\n");
}

/** The same script, without the two character sequences that would end or hide it inside HTML. */
function inertInHtml(script: string): string {
  return script.replaceAll(/<(?=\/script|!--)/gi, "\\x3c");
}

function text(source: string | Uint8Array): string {
  return typeof source === "string" ? source : new TextDecoder().decode(source);
}
