/** What a pull test has to show once, and whether a rehearsed pull shows it. */

import type { HopPlan, Plan } from "../../shared/plan.ts";
import { later, type Ns, nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { carrierLine } from "../hearing/carriers.ts";
import { isPlainSwitch } from "../network/outcome.ts";
import { linkInPort } from "../tell/picture.ts";
import { valueAt } from "../timeline.ts";
import type { Fault } from "../trials/list.ts";
import { carriersIn, justBefore, type Rehearsed, type Sight, sightings } from "./rehearsed.ts";

/** What has to be seen once. */
export type Duty =
  /** A cable of a spare group has been out. */
  | { readonly kind: "out"; readonly spare: string; readonly link: string }
  /** A spare carries. */
  | { readonly kind: "carries"; readonly spare: string; readonly link: string }
  /** One of two, a stream among them, carries while the other does not: of a stream nobody can say that it is out. */
  | { readonly kind: "alone"; readonly spare: string; readonly link: string }
  /** A device takes a source that is not its first; "internal" is its own clock. */
  | { readonly kind: "source"; readonly device: string; readonly source: string }
  /** Whoever leads has been away. */
  | { readonly kind: "away"; readonly device: string }
  /** Somebody else leads a network. */
  | { readonly kind: "leads"; readonly network: string }
  /** A cable that a network holds back passes packets on. */
  | { readonly kind: "passes"; readonly network: string; readonly link: string }
  /** A device that has another supply as well goes on without this one. */
  | { readonly kind: "supply"; readonly device: string; readonly supply: string };

/** Of the rig as it stands. */
export function dutiesOf({ plan, looks, record, atNs, endNs }: Rehearsed): readonly Duty[] {
  const inPlan = new Set(plan.links.filter(({ stream }) => stream === undefined).map(({ id }) => id));
  const rest = sightings({ plan, looks, record, atNs, endNs, harms: [], silences: [] }, atNs, atNs);
  const before = justBefore(atNs);
  const duties: Duty[] = plan.spares.flatMap(({ id, links }): Duty[] => {
    const cables = links.filter((link) => inPlan.has(link));
    const out = cables.map((link): Duty => ({ kind: "out", spare: id, link }));
    // Where no feed goes over the group, nobody could tell which of them carries.
    if (!plan.feeds.some(({ hops }) => hops.some(({ spare }) => spare === id))) return out;
    // With the main one out the spare carries, and with the spare out the main one: of streams both have to be asked for.
    const isEither = links.length === 2 && cables.length < 2;
    const carrying = isEither ? links : links.slice(1);
    return [...out, ...carrying.map((link): Duty => ({ kind: isEither ? "alone" : "carries", spare: id, link }))];
  });
  for (const device of plan.devices) {
    const sight = rest.get(device.id)?.[0];
    if (sight === undefined || isPlainSwitch(plan, device) || sight.key === "off") continue;
    for (const source of device.clockSources.slice(1)) duties.push({ kind: "source", device: device.id, source });
    if (sight.key === "leading") duties.push({ kind: "away", device: device.id });
  }
  for (const network of plan.networks ?? []) {
    const nodes = [...looks.nodes].filter(([key]) => key.endsWith(` ${network.id}`));
    const may = nodes.filter(([key]) => {
      const device = plan.devices.find(({ id }) => `${id} ${network.id}` === key);
      return device?.ptp !== undefined && !device.ptp.followerOnly;
    });
    if (may.length > 1) duties.push({ kind: "leads", network: network.id });
  }
  for (const [key, line] of looks.bridging) {
    const network = key.split(" ")[0] as string;
    for (const link of valueAt(line, before)?.blocked ?? []) duties.push({ kind: "passes", network, link });
  }
  for (const { id, power } of plan.devices) {
    const key = rest.get(id)?.[0]?.key;
    if (power.length < 2 || key === undefined || key === "off") continue;
    for (const supply of power) duties.push({ kind: "supply", device: id, supply });
  }
  return duties;
}

/**
 * Whether a rehearsed pull brings it about.
 * @param backSeconds when what was pulled is back, since the pull
 */
export function isDone(
  duty: Duty,
  faults: readonly Fault[],
  rehearsed: Rehearsed,
  seen: ReturnType<typeof sightings>,
  backSeconds: number,
): boolean {
  const { plan, looks, atNs } = rehearsed;
  const before = justBefore(atNs);
  switch (duty.kind) {
    case "out":
      return faults.some(({ kind, links }) => kind === "cable-out" && links.includes(duty.link));
    case "carries": {
      const changes = carriersIn(rehearsed).filter(({ spare }) => spare === duty.spare);
      return changes[0]?.link !== duty.link && changes.some(({ link }) => link === duty.link);
    }
    case "alone": {
      // Once all has settled: a network that finds another way has lost a stream for a moment that nobody can watch.
      const settled = justBefore(later(atNs, nsFromSeconds(backSeconds)));
      return plan.feeds.some(({ hops }) =>
        hops.some((hop) => hop.spare === duty.spare && carriesAlone(rehearsed, hop, duty.link, settled)),
      );
    }
    case "source": {
      // Who boots tries all that it has: that proves nothing.
      if (faults.some(({ devices }) => devices.includes(duty.device))) return false;
      const [first, ...later] = seen.get(duty.device) ?? [];
      const isTaken = ({ key, source }: Sight) =>
        source === duty.source && (duty.source === "internal" || key === "locked" || key === "locked-later");
      return first?.source !== duty.source && later.some(isTaken);
    }
    case "away":
      return faults.some(({ kind, on }) => kind === "reboot" && on === duty.device);
    case "leads":
      return [...looks.nodes].some(
        ([key, line]) =>
          key.endsWith(` ${duty.network}`) &&
          valueAt(line, before)?.role !== "leads" &&
          line.changes.some((change) => change.atNs >= atNs && change.value.role === "leads"),
      );
    case "passes":
      return [...looks.bridging.values()].some((line) =>
        line.changes.some((change) => change.atNs >= atNs && change.value.forwards.includes(duty.link)),
      );
    case "supply": {
      // Nobody's only supply is switched off to see who has another.
      const goesOn = ({ id, power }: Plan["devices"][number]) =>
        !power.includes(duty.supply) || (seen.get(id) ?? []).every(({ key }) => key !== "off" && key !== "starting");
      return faults.some((fault) => takesAway(fault, duty.supply)) && plan.devices.every(goesOn);
    }
  }
}

function carriesAlone({ plan, looks }: Rehearsed, hop: HopPlan, link: string, at: Ns): boolean {
  const isUp = (each: HopPlan["over"][number]) => {
    const line = looks.links.get(`${each.link} ${each.way}`);
    return line !== undefined && valueAt(line, at)?.state === "up";
  };
  return (
    valueAt(carrierLine(plan, hop, looks), at)?.link === link &&
    hop.over.every((each) => isUp(each) === (each.link === link))
  );
}

/** With a battery it is there until that is empty. */
function takesAway({ kind, on, course }: Fault, supply: string): boolean {
  return (
    kind === "supply-out" &&
    on === supply &&
    course.some(
      ({ deed }) => deed.do === "battery-empty" || (deed.do === "power-cut" && deed.batterySeconds === undefined),
    )
  );
}

/** What comes before it in the list that it stands in: each has to be out for it to be seen. */
export function linksBefore(plan: Plan, duty: Duty): readonly string[] {
  if (duty.kind === "carries") {
    const links = plan.spares.find(({ id }) => id === duty.spare)?.links ?? [];
    return links.slice(0, links.indexOf(duty.link));
  }
  if (duty.kind !== "source") return [];
  const sources = plan.devices.find(({ id }) => id === duty.device)?.clockSources ?? [];
  return sources
    .slice(0, sources.indexOf(duty.source))
    .flatMap((source) => linkInPort(plan, duty.device, source, secondsFromNs(plan.lengthNs))?.id ?? []);
}
