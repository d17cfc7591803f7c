/**
 * The rig map: who is plugged to whom, and at the cursor who is what, which cables carry, where clock goes, and who is on
 * one clock. It is laid out once; a move of the cursor changes only what differs from before.
 */
import "./map.css";
import type { DevicePlan } from "../../shared/plan.ts";
import { h, part } from "../dom.ts";
import { paceOf, READ_MS } from "../pace.ts";
import { BASE_CHANGED, type PageContext } from "../page.ts";
import { planMark } from "../views/plan-mark.ts";
import { mapAbout } from "./about.ts";
import type { MapActions } from "./actions.ts";
import { mapDrawing } from "./drawing.ts";
import { mapHands } from "./hands.ts";
import { mapLegend } from "./legend.ts";
import { mapMarks } from "./marks.ts";
import { mapMenu } from "./menu.ts";
import { createMoments } from "./moments.ts";
import { planMenu } from "./plan-menu.ts";
import { reveal } from "./reveal.ts";
import type { RigActions } from "./rig-actions.ts";
import { mapTable } from "./table.ts";
import { mapTelling } from "./telling.ts";
import { mapTools } from "./tools.ts";
import { sentence } from "./words.ts";

export type { MapActions } from "./actions.ts";

/** Between what has the focus and the words below it. */
const CLEAR = 12;

export function rigMapPart(context: PageContext, actions?: MapActions, rig?: RigActions): HTMLElement {
  const { run, lanes, store } = context;
  const { plan } = run;
  const moments = createMoments(lanes.all);
  const listed = listedDevices(context);
  const devices = new Map(plan.devices.map((device) => [device.id, device]));

  const telling = mapTelling(context, moments);
  const drawing = mapDrawing(context, {
    listed,
    redrawn() {
      telling.forget();
      marks.forget();
      markChanges();
    },
    arranged: () => update(),
  });
  const changedLegend = h("li", { hidden: true }, planMark("new"), planMark("changed"), "new or changed in the plan");
  const marks = mapMarks(context, drawing, `device ${listed[0]?.id}`);
  const choose = (key: string) => {
    const own = key.startsWith("device ") ? [key] : moments.lanesOfLink(idIn(key)).map((lane) => lane.key);
    const { lane } = store.look();
    store.set({ lane: lane !== null && own.includes(lane) ? null : (own[0] ?? null) });
  };
  const hands = mapHands({
    plan,
    drawing,
    choose,
    leave: () => store.set({ lane: null }),
    takeOut(key) {
      if (plans === null) return;
      if (marks.chosen() !== key) choose(key);
      plans.takeOut();
    },
    changed() {
      mark();
      tell();
      keepClear();
    },
  });
  const tools = mapTools(drawing.moving.step, drawing.moving.putBack);
  const about = mapAbout(context);
  const menu = actions === undefined ? null : mapMenu(context, moments, actions);
  const plans = rig === undefined ? null : planMenu(context, rig);
  const table = mapTable(context, () => ({
    said: telling.said,
    devices: listed.map(({ id }) => id),
    links: plan.links.map(({ id }) => id),
  }));
  const words = h("p", {});
  const more = h("button", { type: "button" }, "More about it");
  more.addEventListener("click", () => reveal(about.element));
  const readout = h("div", { class: "map-readout" }, words, more);

  const mark = () => {
    const chosen = marks.chosen();
    marks.update(hands.focused());
    about.show(chosen);
    menu?.show(chosen);
    plans?.show(chosen);
    const device = chosen?.startsWith("device ") ? devices.get(idIn(chosen)) : undefined;
    tools.show(device ?? null, drawing.moving.moved().size > 0);
  };
  /** Of what the pointer or the focus is on, else of what is chosen. */
  const tell = () => {
    const key = hands.pointed() ?? hands.focused() ?? marks.chosen();
    const said = key === null ? undefined : telling.said.get(key);
    words.textContent =
      said === undefined
        ? "Point at a device or a cable, or choose one, to read what it is at the cursor."
        : sentence(said);
    const isNothing = marks.chosen() === null;
    if (more.hidden !== isNothing) more.hidden = isNothing;
  };
  /** What is walked to by keys must not lie behind the words at the foot of the window. */
  const keepClear = () => {
    const key = hands.focused();
    const element = key === null ? undefined : drawing.elements.get(key);
    if (element?.matches(":focus-visible") !== true || getComputedStyle(readout).position !== "sticky") return;
    const hidden = element.getBoundingClientRect().bottom - readout.getBoundingClientRect().top;
    if (hidden > 0) scrollBy({ top: hidden + CLEAR, behavior: "instant" });
  };
  const update = () => {
    if (drawing.placed() === null) return;
    telling.update(drawing);
    mark();
    tell();
    table.update();
  };

  /** On the drawing and in the legend. */
  const markChanges = () => {
    for (const [id, device] of drawing.devices()) device.mark(telling.markOf(`device ${id}`));
    for (const wire of drawing.wires) wire.mark(telling.markOf(`link ${wire.id}`));
    changedLegend.hidden = !telling.hasMarks();
  };
  addEventListener(BASE_CHANGED, () => {
    telling.remark();
    markChanges();
    update();
  });
  addEventListener("resize", drawing.measure);
  const keys = h(
    "p",
    { id: "map-keys", class: "unseen" },
    `Arrow keys walk along the cables, Enter chooses, Shift with an arrow key moves a device${rig === undefined ? "" : ", Delete asks whether it is to be taken out"}. The same facts stand in the table below the map.`,
  );
  const made = part(
    "map",
    "The rig",
    telling.summary,
    keys,
    drawing.frame,
    readout,
    // What people come here for stands nearest: on a phone nothing else is below the words.
    menu?.element ?? null,
    about.element,
    plans?.element ?? null,
    tools.element,
    mapLegend(plan, changedLegend),
    table.element,
  );
  made.classList.add("wide");
  const pace = paceOf(made, READ_MS, update);
  // Most moves are of the window, which the map does not show.
  store.subscribe((before, isMoving) => {
    const look = store.look();
    const { cursorSeconds, lane, finding } = before;
    if (look.lane !== lane || look.finding !== finding) update();
    else if (look.cursorSeconds !== cursorSeconds) pace.changed(isMoving);
  });
  return made;
}

/** "link main" → "main". */
function idIn(key: string): string {
  return key.slice(key.indexOf(" ") + 1);
}

/** In the order of the page. */
function listedDevices({ run }: PageContext): readonly DevicePlan[] {
  const known = new Map(run.plan.devices.map((device) => [device.id, device]));
  const listed = run.summary.devices.flatMap(({ id }) => known.get(id) ?? []);
  return [...listed, ...run.plan.devices.filter((device) => !listed.includes(device))];
}
