/** Networks as lanes: who leads each of them, what each device is on it, which cables are held back. */
import { ptpProfile } from "../../shared/ptp-profiles.ts";
import type { NetworkLookKey } from "../../shared/states.ts";
import { CABLE_LOOKS, NETWORK_LOOKS, PORT_ROLE_LOOKS } from "../../shared/states.ts";
import type { NetworkSummary, RoleStretch } from "../../shared/summary.ts";
import { deviceById } from "../by-id.ts";
import type { Run } from "../rehearse.ts";
import { inSentence, isolated, listed } from "../tell/words.ts";
import type { Lane, Stretch } from "./lane.ts";

function nameIn({ plan }: Run, id: string): string {
  return isolated(deviceById(plan, id)?.name ?? id);
}

/** What a device is on each of its networks: a line each, under its state. */
export function roleLines(run: Run, device: string): readonly (readonly Stretch[])[] {
  return run.summary.networks.flatMap((network) => {
    const node = network.devices.find((each) => each.device === device);
    return node === undefined ? [] : [node.roles.map((stretch) => roleStretch(run, network, stretch))];
  });
}

function roleStretch(run: Run, network: NetworkSummary, stretch: RoleStretch): Stretch {
  const { role, fromSeconds, toSeconds } = stretch;
  const look = PORT_ROLE_LOOKS[role];
  const says = `${isolated(inSentence(network.name))}: ${roleWords(run, { ...stretch, parent: null })}`;
  return { fromSeconds, toSeconds, key: `role-${role}`, look, says };
}

/** "follows FOH desk, through Switch on stage". */
export function roleWords(run: Run, { role, leader, parent }: Pick<RoleStretch, "role" | "leader" | "parent">): string {
  switch (role) {
    case "leads":
      return "leads";
    case "follows": {
      const through = parent === null || parent === leader ? "" : `, through ${nameIn(run, parent)}`;
      return leader === null ? "follows" : `follows ${nameIn(run, leader)}${through}`;
    }
    case "passive":
      return "stands aside";
    case "listening":
      return "listens for a leader";
    case "about-to-lead":
      return "waits before it passes time on";
    case "down":
      return "not on it";
  }
}

export function networkLane(run: Run, network: NetworkSummary): Lane {
  const first = network.leaders.find(({ fromSeconds }) => fromSeconds === 0)?.leader ?? null;
  const edges = new Set<number>([0]);
  const storms = network.bridging.filter(({ storm }) => storm);
  for (const { fromSeconds, toSeconds } of [...network.leaders, ...storms]) edges.add(fromSeconds).add(toSeconds);
  const end = run.summary.runSeconds;
  const starts = [...edges].filter((at) => at < end).sort((one, other) => one - other);
  const stretches: Stretch[] = [];
  for (const [index, fromSeconds] of starts.entries()) {
    const toSeconds = starts[index + 1] ?? end;
    const leaders = network.leaders.filter((each) => covers(each, fromSeconds)).map(({ leader }) => leader);
    const isStorm = storms.some((each) => covers(each, fromSeconds));
    const key: NetworkLookKey = isStorm
      ? "storm"
      : leaders.length > 1
        ? "split"
        : leaders.length === 0
          ? "leaderless"
          : leaders[0] === first
            ? "led"
            : "led-by-other";
    const names = listed(leaders.map((id) => nameIn(run, id)));
    const lead = leaders.length === 0 ? "Nobody leads" : `${names} ${leaders.length === 1 ? "leads" : "lead"}`;
    const says = isStorm ? `${NETWORK_LOOKS.storm.word}; ${lead}` : lead;
    stretches.push({ fromSeconds, toSeconds, key: `network-${key}`, look: NETWORK_LOOKS[key], says });
  }
  return {
    key: `network ${network.id}`,
    kind: "network",
    id: network.id,
    name: network.name,
    note: ptpProfile(network.profile).name,
    warning: "",
    stretches,
    strips: [],
    lines: [],
    marks: [],
  };
}

function covers(span: { readonly fromSeconds: number; readonly toSeconds: number }, seconds: number): boolean {
  return span.fromSeconds <= seconds && seconds < span.toSeconds;
}

/** Cut where its bridges hold a cable back, which is up all the same. */
export function withHeldBack({ summary }: Run, link: string, stretches: readonly Stretch[]): readonly Stretch[] {
  const spans = summary.networks.flatMap(({ bridging }) => bridging.filter(({ blocked }) => blocked.includes(link)));
  if (spans.length === 0) return stretches;
  const look = CABLE_LOOKS["held-back"];
  return stretches.flatMap((stretch) => {
    if (stretch.key !== "link-up") return [stretch];
    const edges = new Set<number>([stretch.fromSeconds]);
    for (const { fromSeconds, toSeconds } of spans)
      for (const at of [fromSeconds, toSeconds]) if (stretch.fromSeconds < at && at < stretch.toSeconds) edges.add(at);
    const starts = [...edges].sort((one, other) => one - other);
    const cut = starts.map((fromSeconds, index): Stretch => {
      const span = { fromSeconds, toSeconds: starts[index + 1] ?? stretch.toSeconds };
      return spans.some((each) => covers(each, fromSeconds))
        ? { ...span, key: "cable-held-back", look, says: look.word }
        : { ...stretch, ...span };
    });
    return joined(cut);
  });
}

function joined(cut: readonly Stretch[]): Stretch[] {
  const found: Stretch[] = [];
  for (const stretch of cut) {
    const last = found.at(-1);
    if (last?.key === stretch.key) found[found.length - 1] = { ...last, toSeconds: stretch.toSeconds };
    else found.push(stretch);
  }
  return found;
}
