/** What became of each network: who led it and for how long, and how each device stands on it at the end. */
import { ALL_LOOKS, PORT_ROLE_LOOKS } from "../../shared/states.ts";
import type { FollowSummary, NetworkSummary, NodeSummary } from "../../shared/summary.ts";
import { type Lane, nameOf } from "../../sim/lanes/lane.ts";
import { roleWords } from "../../sim/lanes/network-lanes.ts";
import { counted, duration, grouped } from "../../sim/tell/words.ts";
import { foldedIfLong, h, name, part, table } from "../dom.ts";
import type { Run } from "../run.ts";
import { signIcon } from "./sign.ts";

/** Null where the rig has no network. */
export function networksPart(run: Run, lanes: readonly Lane[]): HTMLElement | null {
  const { networks } = run.summary;
  if (networks.length === 0) return null;
  const rows = networks.flatMap((network) => network.devices.map((node) => deviceRow(run, network, node)));
  return part(
    "networks",
    "What became of each network",
    table(
      "Outcome per network",
      [
        { head: "Network" },
        { head: "Who led" },
        { head: "New leaders", kind: "number" },
        { head: "Cables held back at the end" },
      ],
      networks.map((network) => networkRow(network, lanes)),
    ),
    h(
      "p",
      {},
      "A follower takes both ways of a packet as equally long: where they are not, its clock stands off by half the difference. What packets wait in switches shakes it; its loop lets a part of that through.",
    ),
    foldedIfLong(
      rows.length,
      "devices on networks",
      table(
        "Devices on networks at the end",
        [
          { head: "Device" },
          { head: "Network" },
          { head: "Role" },
          { head: "Packets pass", kind: "number" },
          { head: "They take", kind: "number" },
          { head: "Clock stands off", kind: "number" },
          { head: "Shaken by at most, rms", kind: "number" },
        ],
        rows,
      ),
    ),
  );
}

function networkRow(network: NetworkSummary, lanes: readonly Lane[]): readonly (Node | string)[] {
  const lane = lanes.find(({ key }) => key === `network ${network.id}`);
  const seconds = new Map<string, { key: string; says: string; total: number }>();
  for (const { key, says, fromSeconds, toSeconds } of lane?.stretches ?? []) {
    const before = seconds.get(says);
    seconds.set(says, { key, says, total: (before?.total ?? 0) + toSeconds - fromSeconds });
  }
  const list = h("ul", { class: "time-in" });
  for (const { key, says, total } of seconds.values()) {
    const look = ALL_LOOKS.find((each) => each.key === key)?.look;
    const part = seconds.size === 1 ? "all the time" : duration(total);
    list.append(h("li", {}, look === undefined ? null : signIcon(key, look), h("span", {}, `${says}: ${part}`)));
  }
  const held = network.bridging.filter(({ toSeconds }) => toSeconds === (lane?.stretches.at(-1)?.toSeconds ?? 0));
  const blocked = held.flatMap((stretch) => stretch.blocked);
  return [name(network.name), list, grouped(network.changes), blocked.length === 0 ? "none" : blocked.join(", ")];
}

function deviceRow(run: Run, network: NetworkSummary, { device, roles, follows }: NodeSummary) {
  const last = roles.at(-1);
  const look = PORT_ROLE_LOOKS[last?.role ?? "down"];
  const elsewhere = follows?.inUse === false ? " (clock from elsewhere)" : "";
  const words = last === undefined ? "" : roleWords(run, last) + elsewhere;
  const icon = signIcon(`role-${last?.role ?? "down"}`, look);
  const role = h("ul", { class: "time-in" }, h("li", {}, icon, h("span", {}, words)));
  return [name(nameOf(run.plan, device)), name(network.name), role, ...numbers(follows)];
}

function numbers(follows: FollowSummary | null): string[] {
  if (follows === null) return ["–", "–", "–", "–"];
  const { bridges, steps, pathMicroseconds, shiftNanoseconds, jitterNanoseconds } = follows;
  return [
    counted(bridges + steps, "switch", "switches"),
    time(pathMicroseconds * 1000),
    Math.abs(shiftNanoseconds) < 0.5
      ? "0 ns"
      : `${time(Math.abs(shiftNanoseconds))} ${shiftNanoseconds < 0 ? "late" : "early"}`,
    time(jitterNanoseconds.kept),
  ];
}

function time(nanoseconds: number): string {
  if (nanoseconds >= 999.5) return `${Number((nanoseconds / 1000).toPrecision(3))} µs`;
  return `${Math.round(nanoseconds)} ns`;
}
