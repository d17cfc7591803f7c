/** What can be changed about the chosen device or cable in the plan itself: for the whole show, not from the cursor on. */
import type { Plan } from "../../shared/plan.ts";
import { deviceById, linkById } from "../../sim/by-id.ts";
import { isPlainSwitch } from "../../sim/network/outcome.ts";
import { theCableIn, theDevice } from "../../sim/tell/words.ts";
import { h } from "../dom.ts";
import type { PageContext } from "../page.ts";
import {
  joinForm,
  newDeviceForm,
  type PlanForm,
  removeForm,
  renameForm,
  sourcesForm,
  spareForm,
} from "./plan-forms.ts";
import type { RigActions } from "./rig-actions.ts";

export interface PlanMenu {
  readonly element: HTMLElement;
  /** @param chosen "device foh", "link main", or null */
  show(chosen: string | null): void;
  /** Asks whether what is chosen is to be taken out. */
  takeOut(): void;
}

type Offer = readonly [words: string, form: () => PlanForm | null];

export function planMenu({ run, store, announce }: PageContext, rig: RigActions): PlanMenu {
  const { plan } = run;
  const buttons = h("div", { class: "map-deeds" });
  const place = h("div", {});
  const element = h(
    "div",
    { class: "map-menu map-plan", role: "group", "aria-label": "What can be changed in the plan", hidden: true },
    h("p", {}, "In the plan, for the whole show:"),
    buttons,
    place,
  );
  // What was changed may have another name by now: the menu stays until the new run is drawn, for the focus in it.
  let isDone = false;
  const close = () => {
    place.replaceChildren();
    for (const button of buttons.children) button.setAttribute("aria-expanded", "false");
  };
  const done = (words: string, chosen: string | null | undefined, opener: HTMLElement) => {
    isDone = true;
    close();
    const left = chosen === null ? someDevice(store.look().lane) : null;
    (left ?? opener).focus({ preventScroll: true });
    if (chosen !== undefined) store.set({ lane: chosen });
    announce(`${words}: done. Undo takes it back.`);
  };
  const offered = ([words, formOf]: Offer) => {
    const opener = h("button", { type: "button", "aria-expanded": "false" }, words);
    opener.addEventListener("click", () => {
      const isOpen = opener.getAttribute("aria-expanded") === "true";
      close();
      const form = isOpen ? null : formOf();
      if (form === null) return;
      opener.setAttribute("aria-expanded", "true");
      form.element.addEventListener("keydown", (event) => {
        if (event.key !== "Escape") return;
        event.stopPropagation();
        close();
        opener.focus();
      });
      form.element.addEventListener("submit", (event) => {
        event.preventDefault();
        const problem = form.submit();
        form.says.textContent = problem ?? "";
        if (problem === null) done(words, form.chosen?.(store.look().lane), opener);
      });
      place.replaceChildren(form.element);
      const first = form.element.querySelector<HTMLElement>("input, select, button");
      first?.focus();
      if (first instanceof HTMLInputElement) first.select();
    });
    return opener;
  };
  let shown: string | null = null;
  return {
    element,
    show(chosen) {
      if (chosen === shown || (chosen === null && isDone)) return;
      shown = chosen;
      const offers = chosen === null ? [] : offersFor(plan, chosen, rig);
      element.hidden = offers.length === 0;
      buttons.replaceChildren(...offers.map(offered));
      place.replaceChildren();
    },
    takeOut() {
      const button = buttons.lastElementChild;
      if (button instanceof HTMLElement && button.getAttribute("aria-expanded") !== "true") button.click();
    },
  };
}

/** Where the focus goes when what was chosen does: to a device on the map that stays. */
function someDevice(gone: string | null): SVGElement | null {
  const all = document.querySelectorAll<SVGElement>("#map [data-device]");
  return [...all].find(({ dataset }) => `device ${dataset.device}` !== gone) ?? null;
}

function offersFor(plan: Plan, chosen: string, rig: RigActions): readonly Offer[] {
  const [kind, id] = [chosen.slice(0, chosen.indexOf(" ")), chosen.slice(chosen.indexOf(" ") + 1)];
  const device = kind === "device" ? deviceById(plan, id) : undefined;
  if (device !== undefined) {
    const it = theDevice(device);
    const listens: Offer = [`What ${it} listens to`, () => sourcesForm(plan, rig, device)];
    return [
      ["Another name", () => renameForm(rig, "device", { id, name: device.name })],
      ...(isPlainSwitch(plan, device) ? [] : [listens]),
      [`Join ${it} to another device`, () => joinForm(plan, rig, device)],
      [`Add a device at ${it}`, () => newDeviceForm(rig, device)],
      [`Take ${it} out`, () => removeForm(rig, "device", id, it)],
    ];
  }
  const found = kind === "link" ? linkById(plan, id) : undefined;
  if (found === undefined) return [];
  // A tap is part of its line.
  const link = found.line?.id ?? id;
  const it = theCableIn(plan, id);
  const spare: Offer = [`Add a spare of ${it}`, () => spareForm(rig, found)];
  return [
    ["Another name", () => renameForm(rig, "link", { id: link })],
    ...(found.line === undefined ? [spare] : []),
    [`Take ${it} out`, () => removeForm(rig, "link", link, it)],
  ];
}
