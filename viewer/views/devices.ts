/** What became of each device: how long in which state; parts per million last, after what can be heard. */
import { ALL_LOOKS } from "../../shared/states.ts";
import { deviceById } from "../../sim/by-id.ts";
import type { Lane } from "../../sim/lanes/lane.ts";
import { isPlainSwitch } from "../../sim/network/outcome.ts";
import { duration, grouped, ppm } from "../../sim/tell/words.ts";
import { foldedIfLong, h, name, part, table } from "../dom.ts";
import type { Run } from "../run.ts";
import { chainTable } from "./chains.ts";
import { holdoverTable } from "./holdovers.ts";
import { signIcon } from "./sign.ts";

export function devicesPart(run: Run, lanes: readonly Lane[]): HTMLElement {
  const { summary } = run;
  const hasNetworks = summary.networks.length > 0;
  const rows = summary.devices.map((device) => {
    const lane = lanes.find(({ key }) => key === `device ${device.id}`);
    return [
      name(device.name),
      timeIn(lane, summary.runSeconds),
      grouped(Math.max(0, (lane?.stretches.length ?? 1) - 1)),
      grouped(lane?.marks.length ?? 0),
      ...(hasNetworks ? [rolesAtEnd(lane)] : []),
      clockAtEnd(run, device.id, device.offsetPpm),
    ];
  });
  return part(
    "devices",
    "What became of each device",
    rows.length === 0
      ? h("p", { class: "none" }, "This rig has no devices.")
      : foldedIfLong(
          rows.length,
          "devices",
          table(
            "Outcome per device",
            [
              { head: "Device" },
              { head: "Time in each state" },
              { head: "Changes", kind: "number" },
              { head: "Re-aligned", kind: "number" },
              ...(hasNetworks ? [{ head: "On its networks at the end" }] : []),
              { head: "Clock at the end, against nominal", kind: "number" },
            ],
            rows,
          ),
        ),
    holdoverTable(run),
    chainTable(run),
  );
}

function clockAtEnd({ plan }: Run, id: string, offsetPpm: number | null): string {
  if (offsetPpm === null) return "off";
  const device = deviceById(plan, id);
  return device !== undefined && isPlainSwitch(plan, device) ? "–" : sided(offsetPpm);
}

function rolesAtEnd(lane: Lane | undefined): Node {
  const list = h("ul", { class: "time-in" });
  for (const line of lane?.lines ?? []) {
    const last = line.at(-1);
    if (last !== undefined) list.append(h("li", {}, signIcon(last.key, last.look), h("span", {}, last.says)));
  }
  return list.childElementCount === 0 ? h("span", {}, "–") : list;
}

function timeIn(lane: Lane | undefined, runSeconds: number): Node {
  const seconds = new Map<string, number>();
  for (const { key, fromSeconds, toSeconds } of lane?.stretches ?? [])
    seconds.set(key, (seconds.get(key) ?? 0) + toSeconds - fromSeconds);
  const list = h("ul", { class: "time-in" });
  for (const { key, look } of ALL_LOOKS) {
    const total = seconds.get(key);
    if (total === undefined) continue;
    const part = seconds.size === 1 ? "all the time" : `${duration(total)}, ${shareWords(total / runSeconds)}`;
    list.append(h("li", {}, signIcon(key, look), h("span", {}, `${look.word}: ${part}`)));
  }
  return list;
}

/** Rounded, but never to none or to all. */
export function shareWords(share: number): string {
  const percent = 100 * share;
  if (percent < 0.1) return "under 0.1 %";
  return percent > 99.9 ? "over 99.9 %" : `${percent.toFixed(1)} %`;
}

function sided(offsetPpm: number): string {
  if (offsetPpm === 0) return "0 ppm";
  return `${ppm(offsetPpm)} ${offsetPpm > 0 ? "fast" : "slow"}`;
}
