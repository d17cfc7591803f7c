/** A random plan as the scenario file that it could have come from, every number written out. */
import type { DevicePlan, EventPlan, LinkPlan, Plan } from "../../shared/plan.ts";
import { formatShowTime } from "../../shared/units.ts";

type Fields = Record<string, unknown>;

export function fileOfPlan(plan: Plan): Fields {
  return {
    format: 1,
    title: "A random rig",
    run: { length: formatShowTime(plan.lengthNs), seed: plan.seed, begin: plan.begin },
    rig: {
      sampleRateHz: plan.sampleRateHz,
      leaders: plan.leaders,
      devices: plan.devices.map(deviceFile),
      links: plan.links.map(linkFile),
      spares: plan.spares.map(({ id, links, mode, switchSeconds, revertive, waitToRestoreSeconds }) => ({
        ...{ id, links, mode, switchSeconds },
        ...(mode === "standby" ? { revertive, waitToRestoreSeconds } : {}),
      })),
      feeds: plan.feeds.map(({ id, name, through, hops, heardBy }) => ({
        ...{ id, ...(name === "" ? {} : { name }), through, channels: hops.map(({ channels }) => channels), heardBy },
        over: [...new Set(hops.flatMap(({ over }) => over.slice(0, 1).map(({ link }) => link)))],
      })),
    },
    events: plan.events.flatMap((event, index) => eventFile(plan, event, index)),
  };
}

function deviceFile(device: DevicePlan): Fields {
  const { oscillator, ports, name, ...rest } = device;
  const { startCelsius, wander, tempcoTable, tempcoPpmPerCelsius, warmUpSeconds, coolDownSeconds, ...own } = oscillator;
  return {
    ...rest,
    name: `Device ${name}`,
    ports: Object.fromEntries(Object.entries(ports).map(([port, clock]) => [port, { clock }])),
    startCelsius,
    oscillator: {
      ...own,
      ...(tempcoTable === null ? { tempcoPpmPerCelsius } : { tempcoTable }),
      ...(warmUpSeconds === 0 ? {} : { warmUpSeconds, coolDownSeconds }),
      wander: wander ?? false,
    },
  };
}

function linkFile(link: LinkPlan): Fields {
  const { id, type, twoWay, hasReturn, a, b, medium, lengthMetres, laidAlong, noticeSeconds, comingUpSeconds } = link;
  const from = `${a.device}.${a.port}`;
  const to = `${b.device}.${b.port}`;
  return {
    ...{ id, type, medium, lengthMetres, laidAlong, noticeSeconds, comingUpSeconds, atStart: link.atStart },
    ...(twoWay ? { ends: [from, to] } : { from, to, return: hasReturn }),
    ...(link.channels === 0 ? {} : { buffer: link.buffer }),
  };
}

/** What ends an event stands with it as a duration; a plug may go into another port, so it stands for itself. */
function eventFile(plan: Plan, event: EventPlan, index: number): Fields[] {
  const { atNs, undoes, ...deed } = event;
  const at = formatShowTime(atNs);
  if (undoes !== null && deed.do !== "plug") return [];
  const end = plan.events.find((other) => other.undoes === index);
  const forSeconds = end === undefined || deed.do === "unplug" ? {} : { forSeconds: (end.atNs - atNs) / 1e9 };
  const said = Object.fromEntries(Object.entries(deed).filter(([, value]) => value !== null));
  if (deed.do !== "unplug" && deed.do !== "plug") return [{ at, ...said, ...forSeconds }];
  const link = plan.links.find(({ id }) => id === deed.link) as LinkPlan;
  const side = deed.end === null ? null : link[deed.end];
  return [
    { at, ...said, ...(side === null ? {} : { end: link.twoWay ? side.device : deed.end === "a" ? "from" : "to" }) },
  ];
}
