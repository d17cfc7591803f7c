/**
 * What you should see: one device as a sheet, at the cursor in large letters and then event by event; all devices at the
 * cursor as a table. Which device it is follows what is chosen on the page, and chooses it there.
 */
import { counted } from "../../sim/tell/words.ts";
import { h, name, part, table } from "../dom.ts";
import { createMoments } from "../map/moments.ts";
import { paceOf, READ_MS } from "../pace.ts";
import type { PageContext } from "../page.ts";
import { type Seen, type SheetLine, shouldSee } from "../should-see.ts";
import { decimalsFor, fineTime } from "../show-time.ts";
import { showing } from "../store.ts";
import { deviceChoice } from "./device-choice.ts";
import { signIcon } from "./sign.ts";

export function shouldSeePart(context: PageContext): HTMLElement | null {
  const { run, lanes, store } = context;
  const choice = deviceChoice(context, "See");
  if (choice === null) return null;
  const see = shouldSee(run, lanes, createMoments(lanes.all));
  const now = h("div", { class: "see-now" });
  const sheet = h("div", { class: "see-sheet" });
  const allBody = h("div", {});
  const all = h("details", {}, h("summary", {}, "All devices at the cursor"), allBody);
  const time = (seconds: number) => fineTime(seconds, decimalsFor(store.lengthSeconds));

  const drawNow = () => {
    const device = choice.device();
    const { cursorSeconds } = store.look();
    const seen = see.at(device, cursorSeconds);
    now.replaceChildren(
      h("h3", {}, name(device.name), ` at ${time(cursorSeconds)}`),
      ...(seen === null ? [h("p", { class: "none" }, "The run tells nothing of it.")] : seenLines(seen)),
      h(
        "ul",
        { class: "see-ports", "aria-label": "At its ports" },
        ...see.ports(device, cursorSeconds).map((text) => h("li", {}, text)),
      ),
    );
  };
  const lineOf = (line: SheetLine): readonly (Node | string)[] => {
    const at = h("button", { type: "button", class: "time", title: "Put the cursor here" }, time(line.atSeconds));
    at.addEventListener("click", () =>
      store.set({ cursorSeconds: line.atSeconds, event: null, ...showing(store.look(), line.atSeconds) }),
    );
    const { seen, more } = line;
    const rest =
      more === 0
        ? null
        : h("p", { class: "none" }, `${counted(more, "more change", "more changes")} before the next event.`);
    const when = h("div", {}, at, h("span", { class: "on-paper" }, time(line.atSeconds)));
    if (seen === null) return [when, line.event, h("div", {}, "Stays as it was.", rest), "As before.", "As before."];
    const state = h(
      "p",
      { class: "see-state" },
      signIcon(seen.state.key, seen.state.look),
      h("strong", {}, seen.state.says),
    );
    return [
      when,
      line.event === "" ? (line.atSeconds === 0 ? "The show begins." : "It changes by itself.") : line.event,
      h("div", {}, state, seen.beside === "" ? null : h("p", {}, seen.beside), h("p", {}, seen.lamp), rest),
      h("div", {}, h("p", {}, seen.reads), seen.outputs === "" ? null : h("p", {}, seen.outputs)),
      seen.todo,
    ];
  };
  const drawSheet = () => {
    const device = choice.device();
    const lines = see.sheet(device);
    sheet.replaceChildren(
      table(
        `${device.name}: event by event`,
        [
          { head: "From" },
          { head: "What happens" },
          { head: "You should see" },
          { head: "It reads, and its outputs" },
          { head: "What to do" },
        ],
        lines.map(lineOf),
      ),
    );
  };
  const drawAll = () => {
    if (!all.open) return;
    const { cursorSeconds } = store.look();
    const rows = choice.devices.flatMap((device) => {
      const seen = see.at(device, cursorSeconds);
      if (seen === null) return [];
      const state = h(
        "span",
        { class: "see-state" },
        signIcon(seen.state.key, seen.state.look),
        h("span", {}, seen.state.says),
      );
      return [[name(device.name), state, seen.lamp, `${seen.reads} ${seen.outputs}`.trim(), seen.todo]];
    });
    const heads = ["Device", "You should see", "Lamp", "It reads, and its outputs", "What to do"];
    allBody.replaceChildren(
      table(
        `All devices at ${time(cursorSeconds)}`,
        heads.map((head) => ({ head })),
        rows,
      ),
    );
  };
  all.addEventListener("toggle", drawAll);
  choice.onChange(() => {
    drawNow();
    drawSheet();
  });
  drawNow();
  drawSheet();
  const made = part(
    "should-see",
    "What you should see",
    choice.element,
    now,
    h(
      "p",
      { class: "see-differs" },
      "If what you see differs: mute, then think. Then read its clock source, not its lamp.",
    ),
    sheet,
    all,
  );
  made.classList.add("in-words");
  const pace = paceOf(made, READ_MS, () => {
    drawNow();
    drawAll();
  });
  store.subscribe((before, isMoving) => {
    if (store.look().cursorSeconds !== before.cursorSeconds) pace.changed(isMoving);
  });
  return made;
}

function seenLines({ state, lamp, reads, outputs, beside, todo }: Seen): readonly HTMLElement[] {
  return [
    h("p", { class: "see-state" }, signIcon(state.key, state.look), h("strong", {}, state.says)),
    ...[beside, lamp, reads, outputs].filter((text) => text !== "").map((text) => h("p", {}, text)),
    h("p", {}, h("strong", {}, "What to do: "), todo),
  ];
}
