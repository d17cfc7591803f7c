/**
 * Puts what the build makes into one HTML file: scripts, styles, licences, and a content policy under which nothing but
 * these scripts runs and nothing is fetched.
 *
 * What page and engine both need stands there once, as a script of its own. The page runs it before its own; a worker
 * is made of its text and the engine's; where there are no workers, the page runs the engine's text too, whose hash the
 * policy knows.
 */
import { createHash } from "node:crypto";
import type { Plugin, Rolldown } from "vite";
import { commonScript, enclosed, onCommon } from "./scripts.ts";

/** Where the command puts the run. */
const RUN_PLACE = "<!--run-->";

export function onePage(): Plugin {
  return {
    name: "one-page",
    generateBundle: {
      order: "post",
      handler(_options, bundle) {
        const { page, engine, common } = chunksOf(bundle);
        const commonFile = common.fileName.slice(common.fileName.lastIndexOf("/") + 1);
        const shared = commonScript(common.code);
        const scripts = {
          common: inertInHtml(shared.script),
          page: inertInHtml(onCommon(page.code, commonFile, shared)),
          engine: inertInHtml(enclosed(onCommon(engine.code, commonFile, shared))),
        };
        let html = take(bundle, "index.html");
        html = replaceOne(html, /<link\b[^>]*\brel="stylesheet"[^>]*\bhref="([^"]+)"[^>]*>/g, (_tag, path) => {
          return `<style>${take(bundle, path.replace(/^\//, "")).trim()}</style>`;
        });
        html = replaceOne(html, /<meta\s+charset[^>]*>/gi, (charset) => {
          const policy = contentPolicy(Object.values(scripts));
          return `${charset}\n    <meta http-equiv="Content-Security-Policy" content="${policy}">`;
        });
        html = replaceOne(html, /<script\b[^>]*\bsrc="[^"]+"[^>]*><\/script>/g, () => {
          return `<script id="common">${scripts.common}</script>\n    <script type="module">${scripts.page}</script>`;
        });
        const licences = inertInHtml(take(bundle, "licences.md").trim());
        html = replaceOne(html, /<\/body>/g, () => {
          const texts = `<script type="text/markdown" id="licences">\n${licences}\n</script>`;
          return `<script type="text/plain" id="engine">${scripts.engine}</script>\n${texts}\n</body>`;
        });

        for (const wanted of [RUN_PLACE, "Content-Security-Policy", 'id="licences"', 'id="engine"', 'id="common"']) {
          const found = html.split(wanted).length - 1;
          if (found !== 1) throw new Error(`The page must hold ${wanted} once, found ${found}.`);
        }
        const left = Object.keys(bundle);
        if (left.length > 0) throw new Error(`These would be files of their own beside the page: ${left.join(", ")}.`);
        this.emitFile({ type: "asset", fileName: "page.html", source: html });
      },
    },
  };
}

/** The three scripts, taken out of the bundle. */
function chunksOf(bundle: Rolldown.OutputBundle) {
  const chunks = Object.values(bundle).filter((part) => part.type === "chunk");
  const [page, engine] = ["page", "engine"].map((name) => chunks.find((one) => one.isEntry && one.name === name));
  const [common, ...more] = chunks.filter(({ isEntry }) => !isEntry);
  if (page === undefined || engine === undefined || common === undefined || more.length > 0)
    throw new Error(
      `Page, engine and what they share are to be three scripts: ${chunks.map(({ name }) => name).join(", ")}.`,
    );
  for (const { fileName } of chunks) delete bundle[fileName];
  return { page, engine, common };
}

/** The text of a file that the build made, taken out of the bundle. */
function take(bundle: Rolldown.OutputBundle, fileName: string): string {
  const part = bundle[fileName];
  if (part?.type !== "asset") throw new Error(`The page needs ${fileName}, which the build did not make.`);
  delete bundle[fileName];
  return typeof part.source === "string" ? part.source : new TextDecoder().decode(part.source);
}

function contentPolicy(scripts: readonly string[]): string {
  const hashes = scripts.map((script) => `'sha256-${createHash("sha256").update(script).digest("base64")}'`);
  return [
    "default-src 'none'",
    `script-src ${hashes.join(" ")}`,
    "style-src 'unsafe-inline'",
    "img-src data: blob:",
    "font-src data:",
    "worker-src blob:",
    "base-uri 'none'",
    "form-action 'none'",
  ].join("; ");
}

/** Texts that are put in may hold anything, so what stands there is found once, before. */
function replaceOne(html: string, pattern: RegExp, make: (found: string, group: string) => string): string {
  const found = html.match(pattern)?.length ?? 0;
  if (found !== 1) throw new Error(`The page must have one ${pattern.source}, found ${found}.`);
  return html.replace(pattern, make);
}

/** The same script, without the two character sequences that would end or hide it inside HTML. */
function inertInHtml(script: string): string {
  return script.replaceAll(/<(?=\/script|!--)/gi, "\\x3c");
}
