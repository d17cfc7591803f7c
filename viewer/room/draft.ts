/** What people work on, kept in the browser over a reload, where the browser lets a page keep anything. */
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { isSame, type Workspace } from "./workspace.ts";

export interface Draft {
  readonly original: ScenarioTexts;
  readonly files: ScenarioTexts;
  readonly isChanged: boolean;
}

export interface DraftKeeper {
  /** What was kept before; null: nothing, or nothing that can be read. */
  read(): Draft | null;
  keep(workspace: Workspace): void;
  discard(): void;
  /** Why nothing is kept; null: it is. */
  problem(): string | null;
}

const FORMAT = 1;

/**
 * @param storage may throw wherever it is touched: some browsers keep nothing for a page from a file.
 * @param run of a page that holds a run: its drafts are its own. Null: of the page alone.
 */
export function draftKeeper(storage: () => Storage, run: string | null): DraftKeeper {
  const key = run === null ? "pulltest draft" : `pulltest draft of ${run}`;
  let problem: string | null = null;
  const guarded = <T>(otherwise: T, act: () => T): T => {
    try {
      const done = act();
      problem = null;
      return done;
    } catch {
      problem = "This browser keeps no draft for this page: save your changes as a file before you close it.";
      return otherwise;
    }
  };
  return {
    problem: () => problem,
    read: () =>
      guarded(null, () => {
        const text = storage().getItem(key);
        return text === null ? null : draftIn(text);
      }),
    keep: (workspace) =>
      guarded(undefined, () => {
        const [original, files] = [workspace.original(), workspace.files()];
        if (original !== null && files !== null)
          storage().setItem(key, JSON.stringify({ format: FORMAT, original, files }));
      }),
    discard: () => guarded(undefined, () => storage().removeItem(key)),
  };
}

function draftIn(text: string): Draft | null {
  let read: unknown;
  try {
    read = JSON.parse(text);
  } catch {
    return null;
  }
  const { format, original, files } = (read ?? {}) as Partial<Draft> & { format?: unknown };
  if (format !== FORMAT || !areTexts(original) || !areTexts(files)) return null;
  return { original, files, isChanged: !isSame(original, files) };
}

function areTexts(value: ScenarioTexts | undefined): value is ScenarioTexts {
  const { main, texts } = value ?? {};
  if (typeof main !== "string" || typeof texts !== "object" || texts === null) return false;
  return typeof texts[main] === "string" && Object.values(texts).every((text) => typeof text === "string");
}
