/**
 * When a device that leads goes away and comes back, as a run found it: it reboots, loses its power, or all cables over
 * which its clock is listened to are out.
 */
import { addTo } from "../../shared/lists.ts";
import type { Plan } from "../../shared/plan.ts";
import { portsThatHear } from "../clock-graph.ts";
import type { Run } from "../rehearse.ts";
import { type Picture, pictureAt, statesOf, stretchAt, type Told, toldOf } from "../tell/picture.ts";

export interface Absence {
  readonly leader: string;
  readonly how: "reboot" | "power" | "unplugged";
  /** Show time, as are the others. */
  readonly goneAtSeconds: number;
  /** From here on it starts; the same as `goneAtSeconds` where it runs all the time. */
  readonly startsAtSeconds: number;
  readonly backAtSeconds: number;
  /** Devices that listened to it directly before. */
  readonly followers: readonly string[];
}

/** Just before an instant, in seconds. */
const BEFORE = 1e-6;

type Gone = Omit<Absence, "followers">;

/** By instant; of those at the same instant, who had more followers first. Those that do not come back are left out. */
export function absencesOf(run: Run): readonly Absence[] {
  const told = toldOf(run);
  const listened = listenedOver(run.plan);
  const found = run.plan.devices.flatMap(({ id }) => [
    ...downTimes(told, id),
    ...cutOff(told, id, listened.get(id) ?? []),
  ]);
  return found
    .filter(({ goneAtSeconds, backAtSeconds }) => goneAtSeconds > 0 && backAtSeconds < run.summary.runSeconds)
    .flatMap((gone): Absence[] => {
      const before = pictureAt(told, gone.goneAtSeconds - BEFORE);
      if (!before.leaders.some(({ id }) => id === gone.leader)) return [];
      return [{ ...gone, followers: directFollowers(before, gone.leader) }];
    })
    .sort((one, two) => one.goneAtSeconds - two.goneAtSeconds || two.followers.length - one.followers.length);
}

function directFollowers(picture: Picture, leader: string): readonly string[] {
  return [...picture.standings.values()]
    .filter(({ upstream }) => upstream?.id === leader)
    .map(({ device }) => device.id);
}

function downTimes({ summary }: Told, id: string): readonly Gone[] {
  const gone: Gone[] = [];
  let open: Omit<Gone, "backAtSeconds"> | null = null;
  for (const { state, fromSeconds } of statesOf(summary, id)) {
    if (state === "off" || state === "starting") {
      open ??= { leader: id, how: "reboot", goneAtSeconds: fromSeconds, startsAtSeconds: fromSeconds };
      if (state === "off") open = { ...open, how: "power" };
      else open = { ...open, startsAtSeconds: fromSeconds };
    } else if (open !== null) {
      gone.push({ ...open, backAtSeconds: fromSeconds });
      open = null;
    }
  }
  return gone;
}

/** Stretches in which it runs and nobody who lists it can hear it. */
function cutOff({ summary }: Told, leader: string, cables: readonly Cable[]): readonly Gone[] {
  const halves = cables.flatMap(({ link, way }) =>
    summary.links.filter((half) => half.id === link && (half.way === way || half.way === "both")),
  );
  if (halves.length === 0) return [];
  const instants = [...new Set(halves.flatMap(({ states }) => states.map(({ fromSeconds }) => fromSeconds)))].sort(
    (one, two) => one - two,
  );
  const isDown = (at: number) => halves.every(({ states }) => stretchAt(states, at)?.state !== "up");
  const runs = (at: number) => !["off", "starting"].includes(stretchAt(statesOf(summary, leader), at)?.state ?? "off");
  const gone: Gone[] = [];
  let since: number | null = null;
  for (const at of instants) {
    if (isDown(at)) since ??= at;
    else if (since !== null) {
      // The cables of a device that is down are down with it: that is told already.
      if (runs(since) && runs(at - BEFORE))
        gone.push({ leader, how: "unplugged", goneAtSeconds: since, startsAtSeconds: since, backAtSeconds: at });
      since = null;
    }
  }
  return gone;
}

interface Cable {
  readonly link: string;
  /** In which the leader's clock goes. */
  readonly way: "there" | "back";
}

/** By device: the cables over which somebody lists it as a clock source. */
export function listenedOver(plan: Plan): ReadonlyMap<string, readonly Cable[]> {
  const byId = new Map(plan.links.map((link) => [link.id, link]));
  const cables = new Map<string, Cable[]>();
  for (const { id, clockSources } of plan.devices) {
    for (const { port, from, link } of portsThatHear(plan, id)) {
      if (!clockSources.includes(String(port))) continue;
      const way = byId.get(link)?.a.device === from ? "there" : "back";
      addTo(cables, from, { link, way });
    }
  }
  return cables;
}
