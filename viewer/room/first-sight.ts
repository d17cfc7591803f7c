/**
 * The page as it stands before the rest of it is there: the bar, and of a run that the page holds what people wait for.
 * What they do meanwhile is done when the rest comes.
 */
import { h } from "../dom.ts";
import type { Room } from "../page.ts";
import type { Run } from "../run.ts";
import { type Bar, type BarActions, bar } from "./bar.ts";
import { createDrawing, type Drawing } from "./drawing.ts";
import { createWorkspace } from "./workspace.ts";

export interface FirstSight {
  readonly place: Element;
  readonly bar: Bar;
  /** With nothing in them but their heads. */
  readonly folds: { readonly tables: HTMLDetailsElement; readonly text: HTMLDetailsElement };
  readonly room: Room;
  readonly drawing: Drawing;
  /** The run that the page holds; null: none. */
  readonly run: Run | null;
  /** From now on these do what is asked. Returns what does what was asked before. */
  come(deeds: Deeds): () => void;
}

export interface Deeds {
  readonly bar: BarActions;
  readonly room: Omit<Room, "workspace">;
}

const TOO_EARLY = "The page is not all there yet: try again in a moment.";

export function firstSight(place: Element, run: Run | null): FirstSight {
  let deeds: Deeds | null = null;
  let asked: ((there: Deeds) => void)[] = [];
  const when = (act: (there: Deeds) => void) => {
    if (deeds === null) asked.push(act);
    else act(deeds);
  };
  const head = bar(
    {
      openFiles: (files) => when((there) => there.bar.openFiles(files)),
      openText: (text) => when((there) => there.bar.openText(text)),
      openShipped: (file) => when((there) => there.bar.openShipped(file)),
      openTemplate: (name) => when((there) => there.bar.openTemplate(name)),
      newRig: () => when((there) => there.bar.newRig()),
      save: () => when((there) => there.bar.save()),
      undo: () => when((there) => there.bar.undo()),
      redo: () => when((there) => there.bar.redo()),
      discard: () => when((there) => there.bar.discard()),
    },
    run?.files ?? null,
  );
  const fold = (kind: string, text: string) =>
    h("details", { class: kind, hidden: run?.files === undefined }, h("summary", {}, text));
  const folds = {
    tables: fold("rig-tables", "The rig as tables"),
    text: fold("text-pane", "The files as text"),
  };
  const room: Room = {
    workspace: createWorkspace(),
    open: (files) => new Promise((told) => when((there) => told(there.room.open(files)))),
    edit: (what, change) => when((there) => there.room.edit(what, change)),
    editFiles: (what, change) => (deeds === null ? TOO_EARLY : deeds.room.editFiles(what, change)),
    get changed() {
      return deeds?.room.changed ?? NOTHING_CHANGED;
    },
    newEngine() {
      if (deeds === null) throw new Error("there is no engine before the rest of the page");
      return deeds.room.newEngine();
    },
  };
  place.append(head.element, folds.tables, folds.text);
  const drawing = createDrawing(place, room);
  if (run !== null) drawing.show(run);
  return {
    ...{ place, bar: head, folds, room, drawing, run },
    come(there) {
      deeds = there;
      return () => {
        for (const act of asked) act(there);
        asked = [];
      };
    },
  };
}

const NOTHING_CHANGED: Room["changed"] = { since: () => null, marks: () => new Map(), compareWith: () => null };
