/**
 * Puts what the build makes into one HTML file: scripts, styles, licences, and a content policy under which nothing but
 * these scripts runs and nothing is fetched.
 *
 * Each module that the build leaves is a script of its own there, once. `first` and what it needs run as the page is read;
 * all others are held as text (`held-scripts.ts`): `rest`, which comes when what people wait for is on the screen, and
 * `engine`, of which workers are made.
 */
import { createHash } from "node:crypto";
import { posix } from "node:path";
import type { Plugin, Rolldown } from "vite";
import { type Left, scriptOf } from "./scripts.ts";

/** Where the command puts the run. */
const RUN_PLACE = "<!--run-->";
/** In the order in which their scripts stand. */
const ENTRIES = ["first", "rest", "engine"] as const;
type Entry = (typeof ENTRIES)[number];

export function onePage(): Plugin {
  return {
    name: "one-page",
    generateBundle: {
      order: "post",
      handler(_options, bundle) {
        const scripts = scriptsOf(bundle);
        let html = take(bundle, "index.html");
        html = replaceOne(html, /<link\b[^>]*\brel="stylesheet"[^>]*\bhref="([^"]+)"[^>]*>/g, (_tag, path) => {
          return `<style>${take(bundle, path.replace(/^\//, "")).trim()}</style>`;
        });
        html = replaceOne(html, /<meta\s+charset[^>]*>/gi, (charset) => {
          const policy = contentPolicy(scripts.map(({ text }) => text));
          return `${charset}\n    <meta http-equiv="Content-Security-Policy" content="${policy}">`;
        });
        // Not in the head, where the build puts it: by then the page has to have its place, and the run.
        html = replaceOne(html, /\s*<script\b[^>]*\bsrc="[^"]+"[^>]*><\/script>/g, () => "");
        const licences = inertInHtml(take(bundle, "licences.md").trim());
        html = replaceOne(html, /<\/body>/g, () => {
          const texts = `<script type="text/markdown" id="licences">\n${licences}\n</script>`;
          return `${scripts.map(element).join("\n    ")}\n    ${texts}\n  </body>`;
        });

        for (const wanted of [
          RUN_PLACE,
          "Content-Security-Policy",
          'id="licences"',
          ...ENTRIES.map((id) => `id="${id}"`),
        ]) {
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

interface Script {
  readonly id: string;
  readonly text: string;
  /** Ids of those that have to run before, in their order. */
  readonly after: readonly string[];
  readonly isHeld: boolean;
}

function element({ id, text, after, isHeld }: Script): string {
  const needs = after.length === 0 ? "" : ` data-after="${after.join(" ")}"`;
  return `<script${isHeld ? ` type="text/plain"` : ""} id="${id}"${needs}>${text}</script>`;
}

/** Every script, taken out of the bundle: those that others need before these. */
function scriptsOf(bundle: Rolldown.OutputBundle): readonly Script[] {
  const chunks = new Map(
    Object.values(bundle).flatMap((part) => (part.type === "chunk" ? [[part.fileName, part] as const] : [])),
  );
  for (const fileName of chunks.keys()) delete bundle[fileName];
  /** Of a chunk: all that it needs, those that others need first; itself is the last. */
  const orderOf = (fileName: string): readonly string[] => {
    const chunk = chunks.get(fileName);
    if (chunk === undefined || chunk.dynamicImports.length > 0)
      throw new Error(`${fileName} is no script that can stand in the page.`);
    return [...new Set([...chunk.imports.flatMap(orderOf), fileName])];
  };
  const needs = new Map<Entry, readonly string[]>();
  for (const entry of ENTRIES) {
    const chunk = [...chunks.values()].find(({ isEntry, name }) => isEntry && name === entry);
    if (chunk === undefined) throw new Error(`The build made no script "${entry}".`);
    needs.set(entry, orderOf(chunk.fileName));
  }
  const fileNames = [...new Set([...needs.values()].flat())];
  /** By the name that others import it by: all lie in one folder. */
  const left = new Map<string, Left>();
  const scripts: Script[] = [];
  for (const fileName of fileNames) {
    const chunk = chunks.get(fileName)!;
    const users = ENTRIES.filter((entry) => needs.get(entry)?.includes(fileName));
    const id = chunk.isEntry ? chunk.name : `for-${users.join("-")}`;
    if (scripts.some((one) => one.id === id)) throw new Error(`Two scripts of the page would be called ${id}.`);
    const made = scriptOf(id, chunk.code, left);
    left.set(posix.basename(fileName), made);
    const after = orderOf(fileName).slice(0, -1);
    scripts.push({
      id,
      text: inertInHtml(made.script),
      after: after.map((one) => left.get(posix.basename(one))!.id),
      isHeld: !needs.get("first")!.includes(fileName),
    });
  }
  return scripts;
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
