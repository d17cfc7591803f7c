/**
 * Changes to a plan that might mend what the check found, or soften what its events do. Each is a plan again, so the
 * same rehearsal can be played with it: whether a change helps is for the run to say, not for this file. What no setting
 * can mend (a cable too long, too many channels) has none.
 */
import { defaultOf } from "../shared/defaults.ts";
import type { Finding } from "../shared/finding.ts";
import type { ConverterPlan, DevicePlan, LinkPlan, Plan, PortRef } from "../shared/plan.ts";
import { later, type Ns, nsFromSeconds, secondsFromNs, ZERO } from "../shared/time.ts";
import { deviceOf, linkOf } from "./by-id.ts";
import { inputsToConvert } from "./check/converted-ends.ts";
import { mid, sharedPaths } from "./check/finding.ts";
import { check } from "./check/index.ts";
import { endToGive } from "./check/port-clock.ts";
import { clockGraph, meantToLead, portsThatHear, portTowards, rigParts } from "./clock-graph.ts";
import { waysOf } from "./converted.ts";
import { leadBy } from "./lead-by.ts";
import { sourcesChanges } from "./lives.ts";
import { leftBySpares } from "./spare-clocks.ts";
import { named } from "./tell/event-words.ts";
import { cable, duration, inSentence, kilohertz, listed, path } from "./tell/words.ts";

export interface Fix {
  /** The rule it answers: one of the check's, "after-reboot", "leader-returns" or "returns-at-full-level". */
  readonly rule: string;
  /** What to do, as one would say it to the crew: "monitor desk, clock source: port 1 (FOH desk), not internal". */
  readonly words: string;
  /** The one feed that it is for, if there is one: where that feed is well, there is nothing to try. */
  readonly feed?: string;
  apply(plan: Plan): Plan;
}

/** The default of ITU-T G.781, 5 min, as quoted in equipment manuals. */
const WAIT_SECONDS = 300;
/** Long enough for a hand to reach the fader, short enough not to be missed: *common practice, no source*. */
const RAMP_SECONDS = 2;

/** Lists that a reboot of this show brings, then in the order of the findings, then other events; no two with the same words. */
export function candidateFixes(plan: Plan): readonly Fix[] {
  const all = [
    ...afterReboots(plan),
    ...check(plan).flatMap((finding) => fixesFor(plan, finding)),
    ...afterTheLeader(plan),
    ...fades(plan),
  ];
  const words = new Set<string>();
  return all.filter((fix) => !words.has(fix.words) && words.add(fix.words));
}

/** Devices that a reboot of this show turns to other clock sources than they had: they come back with those. */
function afterReboots(plan: Plan): readonly Fix[] {
  return plan.devices.flatMap((device): Fix[] => {
    if (device.afterReboot === undefined) return [];
    const lists = [
      { clockSources: device.clockSources, isAfterReboot: false, atNs: ZERO },
      ...sourcesChanges(plan, device),
    ];
    const turned = lists.findIndex(
      ({ clockSources, isAfterReboot }, index) =>
        isAfterReboot && String(clockSources) !== String(lists[index - 1]?.clockSources),
    );
    const { clockSources = [] } = lists[turned - 1] ?? {};
    if (clockSources.length === 0) return [];
    const seconds = secondsFromNs(lists[turned]!.atNs);
    const entries = clockSources.map((one) => (one === "internal" ? one : named(plan, device.id, one, seconds)));
    const what = clockSources.length === 1 ? "clock source" : "clock sources";
    return [
      {
        rule: "after-reboot",
        words: `${bare(plan, device.id)}, ${what} after a reboot: ${entries.join(", then ")}, as before it`,
        apply: (now) => withDevice(now, device.id, (one) => ({ ...one, afterReboot: { clockSources } })),
      },
    ];
  });
}

function fixesFor(plan: Plan, finding: Finding): readonly Fix[] {
  switch (finding.rule) {
    case "left-on-internal":
    case "source-misses-leader":
      return finding.devices.flatMap((id) => listenToLeader(plan, id, finding.rule));
    case "two-leaders": {
      const leader = leaderOf(plan, finding.devices[0]!);
      return finding.devices
        .filter((id) => id !== leader)
        .flatMap((id) => {
          const listens = listenToLeader(plan, id, finding.rule);
          return listens.length > 0 || leader === null
            ? listens
            : convert(inputsToConvert(plan, id), plan, finding.rule);
        });
    }
    case "no-leader":
      return finding.severity === "error" ? [putLeaderFirst(plan, finding)] : [];
    case "ring-of-sources":
      return breakRing(plan, finding);
    case "clock-disputed":
      return finding.links.map((link) => takeInstead(plan, link));
    case "clock-unclaimed":
      return finding.links.map((link) => giveInstead(plan, link));
    case "sources-share-path":
    case "spare-shares-path":
      return [layElsewhere(plan, finding)];
    case "spare-without-clock":
      return listenToSpare(plan, finding);
    case "rate-mismatch":
      return [setRate(plan, finding), ...convert(inputsAcross(plan, finding), plan, finding.rule)];
    case "wait-with-one-source":
      return finding.devices.map((id) => ({
        rule: finding.rule,
        words: `${bare(plan, id)}: trust a returned source at once (wait-to-restore 0)`,
        apply: (now) => withDevice(now, id, (device) => ({ ...device, waitToRestoreSeconds: 0 })),
      }));
    case "leader-not-elected":
      return winElections(plan, finding);
    case "network-loop":
      return [recover(String(finding.path[1]), finding.rule)];
    case "out-of-capture":
      return leadInstead(plan, finding.devices[1]!, finding.rule);
    default:
      return [];
  }
}

/** The nearest port that leads to the leader goes first, then others that do, then "internal" if it was there. */
function listenToLeader(plan: Plan, id: string, rule: string): readonly Fix[] {
  const leader = leaderOf(plan, id);
  if (leader === null || leader === id) return [];
  const best = portTowards(plan, id, leader);
  if (best === null) return [];
  const { clockSources } = deviceOf(plan, id);
  const source = String(best.port);
  if (clockSources[0] === source) return [];
  const without = clockGraph(plan, id);
  const rest = without
    .choices(id)
    .filter((one) => one.source !== source && one.heard.kind === "device" && without.trace(one).ends === leader)
    .map((one) => one.source);
  const sources = [source, ...rest, ...(clockSources.includes("internal") ? ["internal"] : [])];
  return [
    {
      rule,
      words: `${bare(plan, id)}, clock source: port ${source} (${deviceOf(plan, best.from).name}), not ${clockSources[0] === "internal" ? "internal" : `port ${clockSources[0]}`}`,
      apply: (now) => withDevice(now, id, (device) => listening(device, sources, source)),
    },
  ];
}

function listenToSpare(plan: Plan, { rule, devices }: Finding): readonly Fix[] {
  return leftBySpares(plan)
    .filter(({ device }) => devices.includes(device))
    .map(({ device: id, other, port }) => {
      const { clockSources } = deviceOf(plan, id);
      const isOwn = (source: string) => source === "internal";
      const sources = [...clockSources.filter((one) => !isOwn(one)), String(port), ...clockSources.filter(isOwn)];
      return {
        rule,
        words: `${bare(plan, id)}, clock source behind port ${clockSources[0]}: port ${port} (${cable(other)})`,
        apply: (now) => withDevice(now, id, (device) => listening(device, sources, String(port))),
      };
    });
}

/** A port that is listened to takes, so what was written against that goes. */
function listening(device: DevicePlan, clockSources: readonly string[], port: string): DevicePlan {
  return { ...device, clockSources, ports: withoutPort(device, port) };
}

function withoutPort(device: DevicePlan, port: string): DevicePlan["ports"] {
  return Object.fromEntries(Object.entries(device.ports).filter(([one]) => one !== port));
}

function putLeaderFirst(plan: Plan, finding: Finding): Fix {
  const id = finding.path[0] === "devices" ? finding.devices[0]! : mostListenedTo(plan, finding.devices);
  return {
    rule: finding.rule,
    words: `${bare(plan, id)}, clock source: internal first; it leads`,
    apply: (now) => onOwnClock(now, id),
  };
}

function onOwnClock(plan: Plan, id: string): Plan {
  const leaders = plan.leaders.includes(id) ? plan.leaders : [...plan.leaders, id];
  return withDevice({ ...plan, leaders }, id, (device) => ({
    ...device,
    clockSources: ["internal", ...device.clockSources.filter((one) => one !== "internal")],
  }));
}

function mostListenedTo(plan: Plan, ids: readonly string[]): string {
  const graph = clockGraph(plan);
  const listeners = (id: string) =>
    plan.devices.filter((device) => {
      const heard = graph.used(device.id)?.heard;
      return heard?.kind === "device" && heard.device === id;
    }).length;
  return [...ids].sort((one, two) => listeners(two) - listeners(one) || (one < two ? -1 : 1))[0]!;
}

function breakRing(plan: Plan, finding: Finding): readonly Fix[] {
  const ring = finding.devices;
  const leader = leaderOf(plan, ring[0]!);
  const next = plan.leaders.find((id) => ring.includes(id));
  if (finding.severity === "warning") {
    const id = next ?? mostListenedTo(plan, ring);
    return [
      {
        rule: finding.rule,
        words: `${bare(plan, id)}, second clock source: internal; it is next to lead`,
        apply: (now) =>
          withDevice(now, id, (device) => ({
            ...device,
            clockSources: [device.clockSources[0]!, "internal"],
          })),
      },
    ];
  }
  if (next !== undefined && next === leader) return [putLeaderFirst(plan, { ...finding, devices: [next] })];
  if (leader === null) return [putLeaderFirst(plan, { ...finding, path: ["leaders"] })];
  return ring.flatMap((id) => listenToLeader(plan, id, finding.rule));
}

/** Who is meant to lead gets a lower priority1 than the device that is elected, where there is one. */
function winElections(plan: Plan, { rule, devices }: Finding): readonly Fix[] {
  const [elected, meant] = devices.map((id) => deviceOf(plan, id));
  const lowest = elected?.ptp?.priority1 ?? 0;
  if (meant?.ptp === undefined || meant.ptp.followerOnly || lowest === 0) return [];
  const ptp = { ...meant.ptp, priority1: lowest - 1 };
  return [
    {
      rule,
      words: `${bare(plan, meant.id)}: priority1 ${ptp.priority1}, below that of ${mid(plan, elected!.id)}`,
      apply: (now) => withDevice(now, meant.id, (device) => ({ ...device, ptp })),
    },
  ];
}

function recover(id: string, rule: string): Fix {
  return {
    rule,
    words: `network ${id}: rapid spanning tree on every bridge`,
    apply: (now) => ({
      ...now,
      networks: (now.networks ?? []).map((network) =>
        network.id === id ? { ...network, recovery: "rapid-spanning-tree" } : network,
      ),
    }),
  };
}

function takeInstead(plan: Plan, link: string): Fix {
  const ends = linkOf(plan, link);
  const { device: id, port } = endToGive(plan, ends) === "a" ? ends.b : ends.a;
  return {
    rule: "clock-disputed",
    words: `${bare(plan, id)}, port ${port}: take clock, not give`,
    apply: (now) => withDevice(now, id, (device) => ({ ...device, ports: { ...device.ports, [port]: "take" } })),
  };
}

function giveInstead(plan: Plan, link: string): Fix {
  const ends = linkOf(plan, link);
  const { device: id, port } = ends[endToGive(plan, ends)];
  return {
    rule: "clock-unclaimed",
    words: `${bare(plan, id)}, port ${port}: give clock, not take`,
    apply: (now) =>
      withDevice(now, id, (device) => {
        const rest = device.clockSources.filter((one) => one !== String(port));
        return {
          ...device,
          clockSources: rest.length === 0 ? ["internal"] : rest,
          ports: { ...device.ports, [port]: "give" },
        };
      }),
  };
}

function layElsewhere(plan: Plan, finding: Finding): Fix {
  const id = String(finding.path[1]);
  const other = finding.links.find((link) => link !== id) ?? id;
  const shared = sharedPaths(linkOf(plan, id), linkOf(plan, other));
  return {
    rule: finding.rule,
    words: `${cable(id)}: lay it along another path than ${listed(shared.map(path))}`,
    apply: (now) =>
      withLink(now, id, (link) => ({ ...link, laidAlong: link.laidAlong.filter((one) => !shared.includes(one)) })),
  };
}

function setRate(plan: Plan, finding: Finding): Fix {
  const id = String(finding.path[1]);
  return {
    rule: finding.rule,
    words: `${bare(plan, id)}, sample rate: ${kilohertz(plan.sampleRateHz)}`,
    apply: (now) => withDevice(now, id, (device) => ({ ...device, sampleRateHz: now.sampleRateHz })),
  };
}

/** Sample-rate converters at inputs; at more than a few it is not one change any more. */
function convert(inputs: readonly PortRef[], plan: Plan, rule: string): readonly Fix[] {
  if (inputs.length === 0 || inputs.length > 3) return [];
  const converter: ConverterPlan = {
    delaySeconds: defaultOf("device", "converter.delaySeconds"),
    lockSeconds: defaultOf("device", "converter.lockSeconds"),
    ratioMax: defaultOf("device", "converter.ratioMax"),
  };
  const at = listed(inputs.map(({ device, port }) => `port ${port} of ${mid(plan, device)}`));
  return [
    {
      rule,
      words: `put a sample-rate converter at ${at}; it delays the sound by ${duration(converter.delaySeconds)}, and the clocks stay apart`,
      apply: (now) =>
        inputs.reduce(
          (so, { device: id, port }) =>
            withDevice(so, id, (device) => ({ ...device, converters: { ...device.converters, [port]: converter } })),
          now,
        ),
    },
  ];
}

/** The inputs on links between two sample rates; a device that takes its clock there cannot have a converter. */
function inputsAcross(plan: Plan, finding: Finding): readonly PortRef[] {
  return finding.links.flatMap((id) => {
    const ends = waysOf(linkOf(plan, id)).map(({ to }) => to);
    return ends.some(({ device, port }) => deviceOf(plan, device).clockSources.includes(String(port))) ? [] : ends;
  });
}

/** What might spare the others when a leader goes and comes back. */
function afterTheLeader(plan: Plan): readonly Fix[] {
  return rigParts(plan).flatMap((part) => {
    const leader = meantToLead(plan, part);
    if (leader === null || !plan.events.some((event) => takesDown(plan, event, leader))) return [];
    const graph = clockGraph(plan);
    const hearsLeader = (id: string) => {
      const heard = graph.used(id)?.heard;
      return heard?.kind === "device" && heard.device === leader;
    };
    const goBack = part.filter((id) => {
      const device = deviceOf(plan, id);
      return device.revertive && device.clockSources.length > 1 && hearsLeader(id);
    });
    return [
      ...leadInstead(plan, leader, "leader-returns"),
      ...comeBackFollowing(plan, leader, goBack),
      ...(goBack.length === 0 ? [] : [stay(plan, goBack, leader)]),
      ...wait(
        plan,
        goBack.filter((id) => deviceOf(plan, id).waitToRestoreSeconds < WAIT_SECONDS),
        leader,
      ),
    ];
  });
}

/** A reboot of the clock, or power that every supply of the device loses. */
function takesDown(plan: Plan, event: Plan["events"][number], id: string): boolean {
  if (event.do === "reboot") return event.device === id && event.part !== "surface";
  if (event.do !== "power-cut" && event.do !== "battery-empty") return false;
  if (event.do === "power-cut" && event.device === id) return true;
  const { power } = deviceOf(plan, id);
  const isDead = event.do === "battery-empty" || event.batterySeconds === undefined;
  return isDead && power.length === 1 && power[0] === event.supply;
}

/** Devices that no event takes down, the sturdiest kinds first; at most two, for each costs a rehearsal. */
function leadInstead(plan: Plan, leader: string, rule: string): readonly Fix[] {
  const part = rigParts(plan).find((ids) => ids.includes(leader)) ?? [];
  const sturdy = (id: string) => {
    const { kind } = deviceOf(plan, id);
    return kind === "house-clock" ? 0 : kind === "stage-box" ? 1 : plan.leaders.includes(id) ? 2 : 3;
  };
  return part
    .filter((id) => id !== leader && sturdy(id) < 3 && deviceOf(plan, id).atStart === "on")
    .filter((id) => !plan.events.some((event) => takesDown(plan, event, id)))
    .sort((one, two) => sturdy(one) - sturdy(two) || (one < two ? -1 : 1))
    .flatMap((id): Fix[] =>
      leadBy(plan, part, id) === null
        ? []
        : [
            {
              rule,
              words: `let ${mid(plan, id)} lead; everyone else follows it`,
              apply: (now) => leadBy(now, part, id) ?? now,
            },
          ],
    )
    .slice(0, 2);
}

function stay(plan: Plan, ids: readonly string[], leader: string): Fix {
  return {
    rule: "leader-returns",
    words: `${thoseWhoHear(plan, ids, leader)}: stay until told (not revertive)`,
    apply: (now) => ids.reduce((so, id) => withDevice(so, id, (device) => ({ ...device, revertive: false })), now),
  };
}

function wait(plan: Plan, ids: readonly string[], leader: string): readonly Fix[] {
  if (ids.length === 0) return [];
  const waiting = (device: DevicePlan) => ({ ...device, waitToRestoreSeconds: WAIT_SECONDS });
  return [
    {
      rule: "leader-returns",
      words: `${thoseWhoHear(plan, ids, leader)}: wait ${duration(WAIT_SECONDS)} before a returned source is trusted (wait-to-restore)`,
      apply: (now) => ids.reduce((so, id) => withDevice(so, id, waiting), now),
    },
  ];
}

function halfBoot({ bootSeconds, engineBootSeconds }: DevicePlan, event: Plan["events"][number]): Ns {
  const isEngineAlone = event.do === "reboot" && event.part === "engine";
  return nsFromSeconds((isEngineAlone ? engineBootSeconds : bootSeconds) / 2);
}

/** The leader is told to follow while it starts, and the others stay with whoever leads meanwhile. */
function comeBackFollowing(plan: Plan, leader: string, goBack: readonly string[]): readonly Fix[] {
  const without = clockGraph(plan, leader);
  const port = portsThatHear(plan, leader).find(({ from }) => {
    const used = without.used(from);
    const ends = used === null ? null : used.heard.kind === "own" ? from : without.trace(used).ends;
    return ends !== null && ends !== leader;
  });
  const reboots = plan.events.filter((event) => event.do === "reboot" && takesDown(plan, event, leader));
  if (port === undefined) return [];
  const orders = reboots
    .map((event): Plan["events"][number] => ({
      atNs: later(event.atNs, halfBoot(deviceOf(plan, leader), event)),
      undoes: null,
      do: "set-clock-sources",
      device: leader,
      clockSources: [String(port.port), "internal"],
    }))
    .filter((order) => order.atNs <= plan.lengthNs);
  if (orders.length === 0) return [];
  const staying = (device: DevicePlan) => ({ ...device, revertive: false });
  return [
    {
      rule: "leader-returns",
      words: `${bare(plan, leader)}: while it starts, set its clock source to port ${port.port} (${deviceOf(plan, port.from).name}); the others stay where they are`,
      apply: (now) =>
        withEvents(
          goBack.reduce((so, id) => withDevice(so, id, staying), now),
          orders,
        ),
    },
  ];
}

/** A fade where the feed is heard; and, where another device brings it back, at every device on its way. */
function fades(plan: Plan): readonly Fix[] {
  if (plan.events.length === 0) return [];
  const fading = (device: DevicePlan) => ({ ...device, unmuteRampSeconds: RAMP_SECONDS });
  const fade = (feed: string, who: string, ids: readonly string[]): Fix => ({
    rule: "returns-at-full-level",
    feed,
    words: `${who}: fade in over ${duration(RAMP_SECONDS)} when audio returns`,
    apply: (now) => ids.reduce((so, id) => withDevice(so, id, fading), now),
  });
  return plan.feeds.flatMap((feed): Fix[] => {
    const abrupt = feed.through.filter((id) => deviceOf(plan, id).unmuteRampSeconds === 0);
    const last = feed.through[feed.through.length - 1] as string;
    const everywhere =
      abrupt.length <= 3
        ? listed(abrupt.map((id) => bare(plan, id)))
        : `the ${abrupt.length} devices on the way of ${inSentence(feed.name)}`;
    return [
      ...(abrupt.includes(last) ? [fade(feed.id, bare(plan, last), [last])] : []),
      ...(abrupt.some((id) => id !== last) ? [fade(feed.id, everywhere, abrupt)] : []),
    ];
  });
}

function leaderOf(plan: Plan, id: string): string | null {
  return meantToLead(plan, rigParts(plan).find((ids) => ids.includes(id)) ?? [id]);
}

/** By name, or all that have a second source besides this one where there are too many to name. */
function thoseWhoHear(plan: Plan, ids: readonly string[], leader: string): string {
  if (ids.length <= 4) return listed(ids.map((id) => bare(plan, id)));
  return `the ${ids.length} devices that listen to ${mid(plan, leader)} first and have a second source`;
}

/** A name at the head of an instruction, without article: "monitor desk". */
function bare(plan: Plan, id: string): string {
  return inSentence(deviceOf(plan, id).name);
}

function withDevice(plan: Plan, id: string, change: (device: DevicePlan) => DevicePlan): Plan {
  return { ...plan, devices: plan.devices.map((device) => (device.id === id ? change(device) : device)) };
}

function withLink(plan: Plan, id: string, change: (link: LinkPlan) => LinkPlan): Plan {
  return { ...plan, links: plan.links.map((link) => (link.id === id ? change(link) : link)) };
}

/** Adds events in their places, behind those of the same instant, and keeps `undoes` pointing at the same events. */
function withEvents(plan: Plan, added: readonly Plan["events"][number][]): Plan {
  const all = [...plan.events.map((event, was) => ({ event, was })), ...added.map((event) => ({ event, was: -1 }))];
  all.sort((one, two) => one.event.atNs - two.event.atNs);
  const index = new Map(all.map(({ was }, now) => [was, now]));
  const events = all.map(({ event }) =>
    event.undoes === null ? event : { ...event, undoes: index.get(event.undoes)! },
  );
  return { ...plan, events };
}
