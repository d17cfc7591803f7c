/** How far somebody has come with the lessons, kept in this browser where it lets us. */

export interface Progress {
  readonly step: number;
  readonly isDone: boolean;
}

export interface ProgressKeeper {
  of(lesson: string): Progress | null;
  keep(lesson: string, progress: Progress): void;
}

const KEY = "pulltest-lessons";

/** `storage` may throw, and so may all that it gives: then what is kept is gone with the page. */
export function progressKeeper(storage: () => Storage): ProgressKeeper {
  const kept = new Map(Object.entries(read(storage)));
  return {
    of: (lesson) => kept.get(lesson) ?? null,
    keep(lesson, progress) {
      kept.set(lesson, progress);
      try {
        storage().setItem(KEY, JSON.stringify(Object.fromEntries(kept)));
      } catch {
        // A browser may refuse, or be full: the lesson goes on all the same.
      }
    },
  };
}

function read(storage: () => Storage): Readonly<Record<string, Progress>> {
  try {
    const value: unknown = JSON.parse(storage().getItem(KEY) ?? "{}");
    if (typeof value !== "object" || value === null) return {};
    return Object.fromEntries(Object.entries(value).filter(([, one]) => isProgress(one)));
  } catch {
    return {};
  }
}

function isProgress(value: unknown): value is Progress {
  if (typeof value !== "object" || value === null) return false;
  const { step, isDone } = value as Partial<Progress>;
  return Number.isInteger(step) && step! >= 0 && typeof isDone === "boolean";
}
