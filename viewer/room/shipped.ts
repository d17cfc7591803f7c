/** The scenarios that come with Pulltest, inside the page. */
import { parse } from "jsonc-parser";
import { plainName, type ScenarioTexts } from "../../sim/run-data.ts";
import { TEMPLATES } from "../../sim/templates/index.ts";

const FOUND = import.meta.glob<string>(["../../scenarios/*.json", "!../../scenarios/*.schema.json"], {
  query: "?raw",
  import: "default",
  eager: true,
});

/** By file name. */
const TEXTS: Readonly<Record<string, string>> = Object.fromEntries(
  Object.entries(FOUND).map(([path, text]) => [path.slice(path.lastIndexOf("/") + 1), text]),
);

export interface Shipped {
  readonly file: string;
  readonly title: string;
}

let known: readonly Shipped[] | null = null;

/** Those that can be rehearsed; rigs alone cannot. Read when they are first asked for. */
export function allShipped(): readonly Shipped[] {
  known ??= Object.entries(TEXTS).flatMap(([file, text]) => {
    const { title, run } = fieldsOf(text);
    return typeof title === "string" && run !== undefined ? [{ file, title }] : [];
  });
  return known;
}

export const FIRST = "leader-reboot.json";

export function shipped(file: string): ScenarioTexts {
  return withShipped({ main: file, texts: { [file]: TEXTS[file] ?? "" } }).files;
}

/** A rig to begin with, as a file of that name. */
export function fromTemplate(name: string): ScenarioTexts {
  const main = `${name}.json`;
  return { main, texts: { [main]: TEMPLATES.find((one) => one.name === name)?.text ?? "" } };
}

/** The files with those that they name and that only the page has, and the names of these. */
export function withShipped(files: ScenarioTexts): {
  readonly files: ScenarioTexts;
  readonly taken: readonly string[];
} {
  const texts = { ...files.texts };
  const taken: string[] = [];
  const open = [files.main];
  for (const file of open) {
    for (const named of namedIn(texts[file] ?? "")) {
      const own = texts[named] !== undefined;
      if (!own && TEXTS[named] === undefined) continue;
      if (!own) {
        texts[named] = TEXTS[named]!;
        taken.push(named);
      }
      if (!open.includes(named)) open.push(named);
    }
  }
  return { files: { main: files.main, texts }, taken };
}

/** What a scenario or a rig names as files of its own. */
export function namedIn(text: string): readonly string[] {
  const { rig, library } = fieldsOf(text);
  const inner = typeof rig === "object" && rig !== null ? (rig as { library?: unknown }).library : undefined;
  return [rig, library, inner].filter((name) => typeof name === "string").map(plainName);
}

/** A text that says what is to be run, and not only with what. */
export function isScenario(text: string): boolean {
  const { run, events } = fieldsOf(text);
  return run !== undefined || events !== undefined;
}

/** A text that says what is plugged to what, and nothing of a show. */
export function isRig(text: string): boolean {
  return Array.isArray(fieldsOf(text).devices) && !isScenario(text);
}

export function isLibrary(text: string): boolean {
  return fieldsOf(text).deviceTypes !== undefined && !isRig(text) && !isScenario(text);
}

export function isPullResult(text: string): boolean {
  return fieldsOf(text).what === "pull test";
}

function fieldsOf(text: string): Readonly<Record<string, unknown>> {
  const value = readJson(text);
  return typeof value === "object" && value !== null ? (value as Record<string, unknown>) : {};
}

/** The browser's own reader is many times as fast, and what comes with the page is plain JSON. */
function readJson(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return parse(text, [], { allowTrailingComma: true });
  }
}
