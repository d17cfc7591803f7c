/** What can be done at the cursor to the chosen device or cable, in words. */
import type { DevicePlan, LinkPlan } from "../../shared/plan.ts";
import { deviceById, linkById } from "../../sim/by-id.ts";
import { isPlainSwitch } from "../../sim/network/outcome.ts";
import { along, capital, theCableIn, theDevice } from "../../sim/tell/words.ts";
import { h } from "../dom.ts";
import type { PageContext } from "../page.ts";
import { timeAtCursor } from "../room/event-list.ts";
import type { MapActions } from "./actions.ts";
import type { Moments } from "./moments.ts";
import { sourcesInPlan } from "./sources.ts";

export interface MapMenu {
  readonly element: HTMLElement;
  /** @param chosen "device foh", "link main", or null */
  show(chosen: string | null): void;
}

export function mapMenu(context: PageContext, moments: Moments, actions: MapActions): MapMenu {
  const { run, store, announce, lanes } = context;
  const { plan } = run;
  const time = h("strong", { class: "time" });
  const matter = h("div", {});
  const element = h(
    "div",
    { class: "map-menu", role: "group", "aria-label": "What can be done at the cursor", hidden: true },
    h("p", {}, "At ", time, " in this rehearsal:"),
    matter,
  );
  const at = () => store.look().cursorSeconds;
  const button = (words: string, act: (atSeconds: number) => void) => {
    const made = h("button", { type: "button" }, words);
    made.addEventListener("click", () => {
      announce(`${words}, at ${timeAtCursor(context)}`);
      act(at());
    });
    return made;
  };

  const ofDevice = (device: DevicePlan): readonly HTMLElement[] => {
    const { id } = device;
    const it = theDevice(device);
    const isOff = moments.device(id, at())?.stretch.key === "device-off";
    const parts = device.kind === "desk" ? (["surface", "engine"] as const) : [];
    const buttons = isOff
      ? [button(`Give ${it} power`, (seconds) => actions.power(id, true, seconds))]
      : [
          button(`Reboot ${it}`, (seconds) => actions.reboot(id, "all", seconds)),
          ...parts.map((part) => button(`Reboot its ${part} only`, (seconds) => actions.reboot(id, part, seconds))),
          button(`Take power from ${it}`, (seconds) => actions.power(id, false, seconds)),
        ];
    const list = h("div", { class: "map-deeds" }, ...buttons);
    if (isPlainSwitch(plan, device)) return [list];
    const editor = sourcesInPlan(plan, device, lanes.followers.sourcesAt(device, at()), (sources) =>
      actions.setSources(id, sources, at()),
    );
    return [list, editor];
  };

  const ofLink = (link: LinkPlan): readonly HTMLElement[] => {
    const it = theCableIn(plan, link.id);
    if (link.stream !== undefined)
      return [h("p", {}, `${capital(it)} has no cable of its own: pull one that it goes over.`)];
    const end = (which: "a" | "b") => deviceById(plan, link[which].device);
    const isOut = moments.link(link.id, at())?.carries === "dead";
    const ends = (["a", "b"] as const).flatMap((which) => {
      const device = end(which);
      if (device === undefined) return [];
      return button(`Pull ${it} at ${theDevice(device)}`, (seconds) => actions.pull(link.id, which, seconds));
    });
    const deeds = isOut ? [button(`Plug ${it} in`, (seconds) => actions.plug(link.id, seconds))] : ends;
    const cuts = link.laidAlong.map((path) =>
      button(`Cut all that is laid ${along(path)}`, (seconds) => actions.cut(path, seconds)),
    );
    return [h("div", { class: "map-deeds" }, ...deeds, ...cuts)];
  };

  let shown = "";
  return {
    element,
    show(chosen) {
      // As it will be written: a cursor a thousandth before an event is where that event is.
      time.textContent = timeAtCursor(context);
      const [kind, id] = chosen === null ? ["", ""] : [chosen.split(" ")[0], chosen.slice(chosen.indexOf(" ") + 1)];
      const device = kind === "device" ? deviceById(plan, id) : undefined;
      const link = kind === "link" ? linkById(plan, id) : undefined;
      const state =
        device === undefined
          ? moments.link(id, at())?.carries
          : `${moments.device(id, at())?.stretch.key === "device-off"} ${lanes.followers.sourcesAt(device, at())}`;
      const key = `${chosen} ${state}`;
      if (key === shown) return;
      shown = key;
      element.hidden = device === undefined && link === undefined;
      matter.replaceChildren(...(device === undefined ? (link === undefined ? [] : ofLink(link)) : ofDevice(device)));
    },
  };
}
