/**
 * Rings of sources that the plan does not have as it stands, and that the absence of one device closes, or a list of
 * clock sources that comes later: by an order of the show, or with a reboot.
 *
 * To take away one cable instead of a device finds nothing more. Only its receiver turns, so the ring leads out of that;
 * a sender outside the ring can as well be gone whole, and one inside it had closed the ring already.
 */
import type { Finding } from "../../shared/finding.ts";
import type { DevicePlan, Plan } from "../../shared/plan.ts";
import { formatShowTime } from "../../shared/units.ts";
import { deviceOf } from "../by-id.ts";
import type { ClockGraph } from "../clock-graph.ts";
import { clockGraph, meantToLead, rigParts } from "../clock-graph.ts";
import { sourcesChanges } from "../lives.ts";
import { electionMeant } from "../network/meant.ts";
import { sitesOf } from "../network/sites.ts";
import { capital } from "../tell/words.ts";
import { byText, circleWords, linksOfRing, mid, names } from "./finding.ts";

/** The plan with the lists that hold at some time, and what brings them. */
interface Later {
  readonly plan: Plan;
  /** "after a reboot of the monitor desk"; null: they are those it begins with. */
  readonly when: string | null;
  readonly path: Finding["path"] | null;
  /** Whose lists are others than the plan's: a new ring leads through one of them. */
  readonly turned: readonly string[];
}

export function ringClosesLater(plan: Plan): readonly Finding[] {
  // "ring-of-sources" tells of those that stand, and of those that the absence of a leader closes.
  const told = new Set(clockGraph(plan).rings.map(keyOf));
  for (const part of rigParts(plan)) {
    const leader = meantToLead(plan, part);
    if (leader !== null && part.length > 2) for (const ring of clockGraph(plan, leader).rings) told.add(keyOf(ring));
  }
  const found: Finding[] = [];
  const asWritten: Later = { plan, when: null, path: null, turned: plan.devices.map(({ id }) => id) };
  for (const later of [asWritten, ...afterOneReboot(plan), ...duringTheShow(plan)]) {
    for (const { gone, rings } of ringsByAbsence(later)) {
      for (const ring of rings) {
        if (told.has(keyOf(ring))) continue;
        told.add(keyOf(ring));
        const graph = clockGraph(later.plan, gone);
        if (gone !== null || ring.every((id) => isSureToTurn(later.plan, graph, id)))
          found.push(findingFor(plan, graph, ring, later, gone));
      }
    }
  }
  return found;
}

/** The same whoever it begins with. */
function keyOf(ring: readonly string[]): string {
  return [...ring].sort(byText).join(" ");
}

/** Whoever is not revertive may stay where it is, whatever stands first in its list. */
function isSureToTurn(plan: Plan, graph: ClockGraph, id: string): boolean {
  return deviceOf(plan, id).revertive || graph.choices(id).filter(({ heard }) => heard.kind !== "nothing").length === 1;
}

interface RingsWithout {
  readonly gone: string | null;
  readonly rings: readonly (readonly string[])[];
}

function ringsByAbsence({ plan, turned }: Later): readonly RingsWithout[] {
  // Without a device another one may be elected: then the whole graph has to be asked.
  if (electionMeant(plan).sites.length > 0)
    return [null, ...absencesThatTurn(plan)].map((gone) => ({ gone, rings: clockGraph(plan, gone).rings }));
  const hears = heardIn(plan);
  const heard = new Set([...hears.values()].flatMap((all) => all.filter((id) => id !== null)));
  return [null, ...[...heard].sort(byText)].map((gone) => ({ gone, rings: ringsWithout(hears, gone, turned) }));
}

/** What each device hears at the entries of its list that can be used; null: its own clock. */
type Hears = ReadonlyMap<string, readonly (string | null)[]>;

function heardIn(plan: Plan): Hears {
  const graph = clockGraph(plan);
  const entries = (id: string) =>
    graph
      .choices(id)
      .flatMap(({ heard }) => (heard.kind === "nothing" ? [] : [heard.kind === "own" ? null : heard.device]));
  return new Map(plan.devices.map(({ id }) => [id, entries(id)]));
}

/** Rings that the walks from `starts` end in, each from its smallest id. */
function ringsWithout(hears: Hears, gone: string | null, starts: readonly string[]): readonly (readonly string[])[] {
  const rings: string[][] = [];
  const walked = new Set<string>();
  for (const start of starts) {
    const way: string[] = [];
    let id: string | null | undefined = start;
    while (typeof id === "string" && id !== gone && !walked.has(id)) {
      walked.add(id);
      way.push(id);
      id = hears.get(id)?.find((one) => one === null || one !== gone);
    }
    const met = typeof id === "string" ? way.indexOf(id) : -1;
    if (met < 0) continue;
    const ring = way.slice(met);
    const first = ring.indexOf([...ring].sort(byText)[0]!);
    rings.push([...ring.slice(first), ...ring.slice(0, first)]);
  }
  return rings;
}

/** Each device that comes back with a list of its own, whether it reboots in this show or not. */
function afterOneReboot(plan: Plan): readonly Later[] {
  return plan.devices.flatMap((device): Later[] => {
    const { id, afterReboot, clockSources } = device;
    if (afterReboot === undefined || String(afterReboot.clockSources) === String(clockSources)) return [];
    // No ring leads through whoever is on its own clock.
    if (afterReboot.clockSources[0] === "internal") return [];
    return [
      {
        plan: withLists(plan, new Map([[id, afterReboot.clockSources]])),
        when: `after a reboot of ${mid(plan, id)}`,
        path: ["devices", id, "afterReboot", "clockSources"],
        turned: [id],
      },
    ];
  });
}

/** All lists together as they stand behind each instant at which one of them becomes another. */
function duringTheShow(plan: Plan): readonly Later[] {
  const changes = plan.devices
    .flatMap((device) => sourcesChanges(plan, device).map((change) => ({ ...change, id: device.id })))
    .sort((one, two) => one.event - two.event);
  const lists = new Map<string, readonly string[]>();
  const laters: Later[] = [];
  const seen = new Set<string>();
  for (const [index, { id, clockSources, atNs }] of changes.entries()) {
    lists.set(id, clockSources);
    if (changes[index + 1]?.atNs === atNs) continue;
    const key = JSON.stringify([...lists].sort((one, two) => byText(one[0], two[0])));
    if (seen.has(key)) continue;
    seen.add(key);
    laters.push({
      plan: withLists(plan, new Map(lists)),
      when: `with the clock sources as they are set from ${formatShowTime(atNs)} on`,
      path: ["devices", id, "clockSources"],
      turned: [...lists.keys()],
    });
  }
  return laters;
}

function withLists(plan: Plan, lists: ReadonlyMap<string, readonly string[]>): Plan {
  const devices = plan.devices.map((device): DevicePlan => {
    const clockSources = lists.get(device.id);
    return clockSources === undefined ? device : { ...device, clockSources };
  });
  return { ...plan, devices };
}

/**
 * Devices that somebody hears who stands in a circle of all that the lists name, first or later: without them that one
 * turns. Over a network whoever takes part in the election may come to be heard; the election itself closes no circle,
 * so there has to be a cable of another kind in it.
 */
function absencesThatTurn(plan: Plan): readonly string[] {
  const graph = clockGraph(plan);
  const mayLead = candidatesByPort(plan);
  const heardBy = new Map<string, Set<string>>();
  const direct: (readonly [string, string])[] = [];
  for (const { id } of plan.devices) {
    const heard = new Set<string>();
    for (const { source, heard: what } of graph.choices(id)) {
      if (what.kind === "own") break;
      if (what.kind === "device" && what.network === null) {
        heard.add(what.device);
        direct.push([id, what.device]);
      } else for (const other of mayLead(id, Number(source))) if (other !== id) heard.add(other);
    }
    heardBy.set(id, heard);
  }
  const reaches = (from: string, to: string): boolean => {
    const open = [from];
    const seen = new Set(open);
    for (let at = open.pop(); at !== undefined; at = open.pop()) {
      for (const next of heardBy.get(at) ?? []) {
        if (next === to) return true;
        if (!seen.has(next)) open.push(next);
        seen.add(next);
      }
    }
    return false;
  };
  const inCircle = new Set(direct.filter(([one, two]) => reaches(two, one)).flat());
  return [...new Set([...inCircle].flatMap((id) => [...(heardBy.get(id) ?? [])]))].sort(byText);
}

/** Who may come to lead the network that a port of a device is on. */
function candidatesByPort(plan: Plan): (id: string, port: number) => readonly string[] {
  const candidates = new Map<string, string[]>();
  for (const { device, network } of electionMeant(plan).sites) {
    if (device.ptp?.followerOnly === true) continue;
    const known = candidates.get(network.id);
    if (known === undefined) candidates.set(network.id, [device.id]);
    else known.push(device.id);
  }
  const { siteOf } = sitesOf(plan);
  return (id, port) => candidates.get(siteOf(id, port)?.network.id ?? "") ?? [];
}

function findingFor(
  plan: Plan,
  graph: ClockGraph,
  ring: readonly string[],
  { when, path }: Later,
  gone: string | null,
): Finding {
  const parts = [...(when === null ? [] : [when]), ...(gone === null ? [] : [`once ${mid(plan, gone)} is gone`])];
  const next = plan.leaders.find((id) => ring.includes(id));
  return {
    rule: "ring-closes-later",
    severity: "warning",
    devices: ring,
    links: linksOfRing(graph, ring),
    path: path ?? ["devices", ring[0]!, "clockSources"],
    what: `${capital(parts.join(", "))}, sources form a ring: ${circleWords(plan, ring)}.`,
    why: "Each list is in order as long as nothing happens; then each waits for the other's clock, and the delay of the cables pulls all of them away from nominal.",
    see: `Nothing${gone === null ? " before that" : `, until ${mid(plan, gone)} goes`}. Then lock lamps may be lit all round, and whatever is outside the ring clicks, more and more often.`,
    remedy: `In the list that ${next === undefined ? `one of ${names(plan, ring)}` : mid(plan, next)} has then, put "internal" before the port that closes the ring.`,
  };
}
