/** Which device a part of the page is about: what is chosen among the lanes, and a list to choose from. */
import type { DevicePlan } from "../../shared/plan.ts";
import { h } from "../dom.ts";
import type { PageContext } from "../page.ts";

export interface DeviceChoice {
  readonly element: HTMLElement;
  /** In the order of the page. */
  readonly devices: readonly DevicePlan[];
  device(): DevicePlan;
  onChange(listener: () => void): void;
}

/** @param verb to tell two such lists apart by name @returns null: the rig has no device */
export function deviceChoice({ run, store }: PageContext, verb: string): DeviceChoice | null {
  const known = new Map(run.plan.devices.map((device) => [device.id, device]));
  const devices = run.summary.devices.flatMap(({ id }) => known.get(id) ?? []);
  const [first] = devices;
  if (first === undefined) return null;
  const listeners: (() => void)[] = [];
  const chosenLane = () => devices.find(({ id }) => store.look().lane === `device ${id}`);
  let device = chosenLane() ?? first;
  const list = h(
    "select",
    { "aria-label": `${verb}: device` },
    ...devices.map(({ id, name }) => h("option", { value: id, selected: id === device.id }, name)),
  );
  const show = (next: DevicePlan) => {
    if (next === device) return;
    device = next;
    list.value = next.id;
    for (const listener of listeners) listener();
  };
  list.addEventListener("change", () => {
    const next = devices.find(({ id }) => id === list.value);
    if (next === undefined) return;
    show(next);
    store.set({ lane: `device ${next.id}` });
  });
  store.subscribe(() => {
    const next = chosenLane();
    if (next !== undefined) show(next);
  });
  return {
    element: h("div", { class: "choices" }, h("label", { class: "choice" }, "Device ", list)),
    devices,
    device: () => device,
    onChange: (listener) => listeners.push(listener),
  };
}
