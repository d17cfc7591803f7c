/**
 * The files that people work on: the scenario and what it names, as text, with every step back and forth. A step is all
 * the texts as they stood, so taking one back restores them byte for byte.
 */

import { EditError } from "../../shared/json-text.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";

export interface Workspace {
  /** Null until something is opened. */
  files(): ScenarioTexts | null;
  /** As they were opened, or saved since. */
  original(): ScenarioTexts | null;
  /** Whether a text differs from what was opened or saved. */
  isChanged(): boolean;
  /**
   * Opens other files; those that were changed and are left for them are one step back. `files` may differ from `original`
   * already, as a draft does.
   */
  open(original: ScenarioTexts, files?: ScenarioTexts): void;
  /**
   * Changes the scenario's text. Returns why it could not, or null.
   * @param what in words that go on from "Undo: ", such as "add a reboot"
   */
  edit(what: string, change: (text: string) => string): string | null;
  /** Changes any of the texts, as one step. */
  editFiles(what: string, change: (files: ScenarioTexts) => ScenarioTexts): string | null;
  /** Changes any text; a row of `typing` in one file is one step. */
  setText(what: string, file: string, text: string, isTyping?: boolean): void;
  undo(): void;
  redo(): void;
  /** What the next step back takes back, in words; null: there is none. */
  undoes(): string | null;
  redoes(): string | null;
  saved(): void;
  /** Called after every change. Returns the way to stop. */
  subscribe(listener: () => void): () => void;
}

interface Step {
  readonly what: string;
  readonly files: ScenarioTexts;
  readonly typedIn: string | null;
}

/** What one set of files went through. */
interface History {
  readonly original: ScenarioTexts | null;
  readonly steps: Step[];
  readonly now: number;
}

/** More steps than anybody goes back; each holds on to one changed text. */
const STEPS_MAX = 500;

export function createWorkspace(): Workspace {
  const listeners = new Set<() => void>();
  let original: ScenarioTexts | null = null;
  let steps: Step[] = [];
  /** Index of the step that is shown. */
  let now = -1;
  /** What was changed and then left for other files; what these went through when somebody went back. One of them at most. */
  let [before, after]: [History | null, History | null] = [null, null];
  const tell = () => {
    for (const listener of [...listeners]) listener();
  };
  const files = () => steps[now]?.files ?? null;
  const push = (step: Step) => {
    const last = steps[now];
    const goesOn = step.typedIn !== null && last?.typedIn === step.typedIn && now === steps.length - 1 && now > 0;
    steps = [...steps.slice(0, goesOn ? now : now + 1), step].slice(-STEPS_MAX);
    now = steps.length - 1;
    after = null;
    tell();
  };
  const goTo = (history: History): History => {
    const left = { original, steps, now };
    ({ original, steps, now } = history);
    return left;
  };
  const openingOf = ({ steps: [first] }: History) => `open ${first?.files.main}`;
  const isChanged = () => !isSame(original, files());
  const setText: Workspace["setText"] = (what, file, text, isTyping = false) => {
    const present = files();
    if (present === null || present.texts[file] === text) return;
    push({
      what,
      files: { main: present.main, texts: { ...present.texts, [file]: text } },
      typedIn: isTyping ? file : null,
    });
  };
  const editFiles: Workspace["editFiles"] = (what, change) => {
    const present = files();
    if (present === null) return "There is no file to change: open one first.";
    try {
      const next = change(present);
      if (!isSame(present, next)) push({ what, files: next, typedIn: null });
      return null;
    } catch (error) {
      if (error instanceof EditError) return error.message;
      throw error;
    }
  };
  return {
    files,
    original: () => original,
    isChanged,
    open(opened, drafted = opened) {
      // Looking at one scenario after another keeps what was changed before.
      if (isChanged()) before = { original, steps, now };
      after = null;
      original = opened;
      steps = [{ what: "", files: opened, typedIn: null }];
      if (!isSame(opened, drafted)) steps.push({ what: "all changes of the draft", files: drafted, typedIn: null });
      now = steps.length - 1;
      tell();
    },
    edit: (what, change) =>
      editFiles(what, ({ main, texts }) => ({ main, texts: { ...texts, [main]: change(texts[main] ?? "") } })),
    editFiles,
    setText,
    undo() {
      if (now > 0) now -= 1;
      else if (before !== null) [before, after] = [null, goTo(before)];
      else return;
      tell();
    },
    redo() {
      if (now < steps.length - 1) now += 1;
      else if (after !== null) [before, after] = [goTo(after), null];
      else return;
      tell();
    },
    undoes: () => (now > 0 ? (steps[now]?.what ?? null) : before && openingOf({ original, steps, now })),
    redoes: () => steps[now + 1]?.what ?? (after && openingOf(after)),
    saved() {
      original = files();
      tell();
    },
    subscribe(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}

export function isSame(one: ScenarioTexts | null, other: ScenarioTexts | null): boolean {
  if (one === null || other === null || one === other) return one === other;
  const names = new Set([...Object.keys(one.texts), ...Object.keys(other.texts)]);
  return one.main === other.main && [...names].every((name) => one.texts[name] === other.texts[name]);
}
