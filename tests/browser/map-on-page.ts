/** The rig map alone on a page, as a script for the browser: with what can be done from it, and no room around it. */
import "../../viewer/style.css";
import { lanesOf } from "../../sim/lanes/lane.ts";
import type { RunData } from "../../sim/run-data.ts";
import { h } from "../../viewer/dom.ts";
import { type MapActions, rigMapPart } from "../../viewer/map/map.ts";
import { inPageOrder } from "../../viewer/order.ts";
import type { PageContext, Room } from "../../viewer/page.ts";
import type { Mark } from "../../viewer/room/changed.ts";
import { runOf } from "../../viewer/run.ts";
import { createStore, type Look } from "../../viewer/store.ts";
import { themeStyle } from "../../viewer/theme.ts";

/** Every call of an action, in order. */
export const done: unknown[][] = [];
export const announced: string[] = [];

let context: PageContext;

/** @param marks by "device foh" and "link main" */
export function openMap(data: RunData, withActions: boolean, marks: readonly (readonly [string, Mark])[] = []): void {
  const run = inPageOrder(runOf(data));
  const store = createStore(run.summary.runSeconds, 0);
  const room = { changed: { marks: () => new Map(marks) } } as unknown as Room;
  context = {
    run,
    lanes: lanesOf(run),
    slips: new Map(),
    store,
    room,
    announce: (text) => announced.push(text),
    whenWhole() {},
  };
  document.documentElement.lang = "en";
  document.title = run.plan.title;
  document.head.append(h("style", {}, themeStyle()));
  const note =
    (name: keyof MapActions) =>
    (...given: readonly unknown[]) => {
      done.push([name, ...given]);
    };
  const names = ["pull", "plug", "reboot", "power", "setSources", "cut"] as const;
  const actions = Object.fromEntries(names.map((name) => [name, note(name)])) as unknown as MapActions;
  const main = h(
    "main",
    { id: "page" },
    h("h1", {}, run.plan.title),
    rigMapPart(context, withActions ? actions : undefined),
  );
  document.body.replaceChildren(main);
  dispatchEvent(new Event("resize"));
}

export function look(): Look {
  return context.store.look();
}

export function setLook(patch: Partial<Look>): void {
  context.store.set(patch);
}

/** Script time of so many moves of the cursor over the whole run, in milliseconds a move. */
export function millisecondsAMove(moves: number): number {
  const { store } = context;
  const from = performance.now();
  for (let move = 0; move < moves; move += 1) store.set({ cursorSeconds: (store.lengthSeconds * move) / moves });
  return (performance.now() - from) / moves;
}
