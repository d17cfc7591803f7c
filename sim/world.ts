/** What the events of a plan order the machines of a rig to do, beside the machines: another course of events needs no other rig. */
import { isAbout } from "../shared/lines.ts";
import type { LinkPlan, Plan } from "../shared/plan.ts";
import { powerChanges, sourcesChanges } from "./lives.ts";
import type { WorldEvent } from "./machine.ts";
import type { Order } from "./mail.ts";

/** A cable of the rig: a link, or one way of it. */
export interface WorldCable {
  /** Of its machine. */
  readonly id: string;
  readonly link: LinkPlan;
  readonly ways: readonly ("there" | "back")[];
}

export const deviceId = (id: string): string => `device ${id}`;

/** A path that nothing can be laid along, for no text in a file is empty: what a bad contact does is a cut of one cable. */
const BAD_CONTACT = "";

export function worldOf(
  plan: Plan,
  slots: ReadonlyMap<string, number>,
  cables: readonly WorldCable[],
): WorldEvent<Order>[] {
  const power = plan.devices.map((device) => ({ id: device.id, changes: powerChanges(plan, device) }));
  const sources = plan.devices
    .map((device) => ({ id: device.id, changes: sourcesChanges(plan, device) }))
    .filter(({ changes }) => changes.length > 0);
  const stopsSync = new Set(plan.events.flatMap((event) => (event.do === "stop-sync" ? [event.device] : [])));
  return plan.events.map((event, index) => {
    const orders: { to: number; order: Order }[] = [];
    const toDevice = (id: string, order: Order): void => {
      orders.push({ to: slots.get(deviceId(id)) as number, order });
    };
    const toCables = (isMeant: (cable: WorldCable) => boolean, order: Order): void => {
      for (const cable of cables) if (isMeant(cable)) orders.push({ to: slots.get(cable.id) as number, order });
    };
    const toNodes = (id: string, order: Order): void => {
      for (const [machine, to] of slots) if (machine.startsWith(`node ${id} `)) orders.push({ to, order });
    };
    const isNamed = (cable: WorldCable): boolean =>
      "link" in event && isAbout(event, cable.link) && (event.way === null || cable.ways.includes(event.way));
    switch (event.do) {
      case "unplug":
        toCables(isNamed, { do: "unplug", end: event.end });
        break;
      case "plug":
        toCables(isNamed, { do: "plug", end: event.end, into: event.into });
        break;
      case "lose-contact":
      case "make-contact":
        toCables(isNamed, { do: event.do === "lose-contact" ? "cut" : "mend", path: BAD_CONTACT });
        break;
      case "cut":
      case "mend":
        toCables((cable) => cable.link.laidAlong.includes(event.path), { do: event.do, path: event.path });
        break;
      case "power-cut":
      case "battery-empty":
      case "power-back":
        for (const { id, changes } of power) {
          const change = changes.find((each) => each.event === index);
          if (change === undefined) continue;
          toDevice(id, { do: "power", on: change.on });
          if (stopsSync.has(id)) toNodes(id, { do: "sync", stopped: false });
        }
        break;
      case "reboot":
        toDevice(event.device, { do: "reboot", part: event.part });
        // Whatever had stopped it starts anew.
        if (event.part !== "surface" && stopsSync.has(event.device))
          toNodes(event.device, { do: "sync", stopped: false });
        break;
      case "hang":
      case "unhang":
        toDevice(event.device, { do: "hang", hung: event.do === "hang" });
        break;
      case "stop-sync":
      case "start-sync":
        toNodes(event.device, { do: "sync", stopped: event.do === "stop-sync" });
        break;
      case "stick":
      case "unstick":
        toDevice(event.device, { do: "stick", stuck: event.do === "stick" });
        toNodes(event.device, { do: "stick", stuck: event.do === "stick" });
        break;
      case "set-clock-sources":
        break;
      case "choose-source":
        toDevice(event.device, { do: "choose-source", source: event.source });
        break;
      case "set-port-clock":
        toDevice(event.device, { do: "set-port-clock", port: event.port, clock: event.clock });
        break;
      case "step-frequency":
        toDevice(event.device, { do: "bend" });
        break;
      case "temperature":
        for (const { id, oscillator } of plan.devices) {
          const feelsHeat = oscillator.tempcoTable !== null || oscillator.tempcoPpmPerCelsius !== 0;
          if ((event.device ?? id) === id && feelsHeat) toDevice(id, { do: "bend" });
        }
        break;
    }
    for (const { id, changes } of sources)
      for (const { event: by, clockSources } of changes)
        if (by === index) toDevice(id, { do: "set-clock-sources", clockSources });
    return { atNs: event.atNs, fact: { kind: "event", index, event }, orders };
  });
}
