/** What stands in a cell while it is edited: a field for its text, or the order of what a device listens to. */
import { LINK_TYPES } from "../../shared/link-types.ts";
import { DEVICE_KINDS } from "../../shared/scenario-schema-devices.ts";
import { HEARD_BY } from "../../shared/scenario-schema-links.ts";
import { textsIn } from "../../sim/rig-files.ts";
import { h } from "../dom.ts";
import { sourcesEditor } from "../map/sources.ts";
import { type Bench, calledItem, columnOf, inherited, itemsIn, type RigTable } from "./bench.ts";
import { sourceWords } from "./shown.ts";

/** Where to go on: to the next cell or the one before, down or up, or to stay. */
export type Step = "next" | "before" | "down" | "up" | "stay";

export interface Editing {
  readonly label: string;
  readonly text: string;
  /** Returns why the text was not taken; null: it was. */
  done(text: string, step: Step): string | null;
  giveUp(): void;
  /** More than one cell was pasted. */
  paste(text: string): void;
}

export function textEditor(request: Editing, suggested: readonly string[]): HTMLElement {
  const list = h("datalist", { id: "cell-words" }, ...suggested.map((value) => h("option", { value })));
  const input = h("input", {
    ...{ "aria-label": request.label, value: request.text, autocomplete: "off", spellcheck: false },
    list: suggested.length === 0 ? null : list.id,
  });
  const says = h("span", { class: "cell-issue", role: "alert" });
  let isOver = false;
  const finish = (step: Step) => {
    if (isOver) return;
    isOver = true;
    const problem = request.done(input.value, step);
    isOver = problem === null;
    says.textContent = problem ?? "";
  };
  input.addEventListener("keydown", (event) => {
    const { key, shiftKey, isComposing } = event;
    event.stopPropagation();
    if (isComposing || !["Enter", "Tab", "Escape"].includes(key)) return;
    event.preventDefault();
    if (key === "Escape") {
      isOver = true;
      request.giveUp();
    } else if (key === "Tab") finish(shiftKey ? "before" : "next");
    else finish(shiftKey ? "up" : "down");
  });
  input.addEventListener("paste", (event) => {
    const text = event.clipboardData?.getData("text/plain") ?? "";
    event.stopPropagation();
    if (!/[\t\r\n]/.test(text.trimEnd())) return;
    event.preventDefault();
    isOver = true;
    request.paste(text);
  });
  input.addEventListener("blur", () => finish("stay"));
  return h("div", { class: "cell-editor" }, input, says, suggested.length === 0 ? null : list);
}

export interface OrderEditor {
  readonly element: HTMLElement;
  /** Somebody went elsewhere: what is ordered by then is what stands there. */
  leave(): void;
}

/** Ordered by buttons and keys. */
export function orderEditor(bench: Bench, index: number, request: Editing): OrderEditor {
  const device = itemsIn(bench.rig, "devices")[index] ?? {};
  const own = device.clockSources ?? inherited(device, "clockSources", bench.types)?.value;
  const heard = bench.called.arrivals.flatMap((each) => (each.device === device.id ? [each.port] : []));
  const set = (sources: readonly string[]) => request.done(sources.join("; "), "stay");
  let draft: readonly string[] = [];
  const element = sourcesEditor({
    of: calledItem("devices", device),
    now: textsIn(own),
    heard: [...new Set(heard)],
    words: (entry) => sourceWords(bench, device.id, entry),
    deed: "Set it so",
    set,
    drafted(sources) {
      draft = sources;
    },
  });
  element.addEventListener("keydown", (event) => {
    event.stopPropagation();
    if (event.key === "Escape") request.giveUp();
  });
  const giveUp = h("button", { type: "button" }, "Leave it as it was");
  giveUp.addEventListener("click", request.giveUp);
  element.append(giveUp);
  element.classList.add("cell-editor");
  return {
    element,
    leave: () => (draft.length === 0 ? request.done(request.text, "stay") : set(draft)),
  };
}

/** What may be typed, where that is a choice. */
export function suggestedFor({ rig, types }: Bench, table: RigTable, key: string): readonly string[] {
  const devices = () => itemsIn(rig, "devices").map((device) => calledItem("devices", device));
  switch (`${table} ${key}`) {
    case "devices kind":
      return DEVICE_KINDS;
    case "devices like":
      return Object.keys(types);
    case "cables type":
      return LINK_TYPES;
    case "cables from":
    case "cables to":
    case "feeds through":
      return devices();
    case "cables ~spareOf":
      return itemsIn(rig, "cables").map(({ id }) => String(id));
    case "feeds heardBy":
      return HEARD_BY;
    default:
      return columnOf(table, key).as === "yes" ? ["yes", "no"] : [];
  }
}
