/** What a way to join asks of people: settings of devices, cables and boxes, compared with both plans as they stand. */

import { linkType } from "../../shared/link-types.ts";
import type { DevicePlan, Plan, PortRef } from "../../shared/plan.ts";
import { deviceById, deviceOf } from "../by-id.ts";
import { capital, counted, deviceHead, kilohertz, listed, source, theDevice } from "../tell/words.ts";

export interface Setting {
  /** In the joined file. */
  readonly device: string;
  /** "FOH desk: clock source port 4, then its own clock; was its own clock." */
  readonly words: string;
}

/** By device id; devices that come new are no settings. */
export function settingsIn(before: Plan, after: Plan): readonly Setting[] {
  return after.devices.flatMap((device): Setting[] => {
    const was = deviceById(before, device.id);
    if (was === undefined) return [];
    const said = changes(was, device);
    return said.length === 0 ? [] : [{ device: device.id, words: `${deviceHead(device)}: ${said.join("; ")}.` }];
  });
}

function changes(was: DevicePlan, is: DevicePlan): readonly string[] {
  const sources = ({ clockSources }: DevicePlan) => listed(clockSources.map(source), "then");
  const said: string[] = [];
  if (sources(was) !== sources(is)) said.push(`clock source ${sources(is)}, was ${sources(was)}`);
  if (was.sampleRateHz !== is.sampleRateHz)
    said.push(`sample rate ${kilohertz(is.sampleRateHz)}, was ${kilohertz(was.sampleRateHz)}`);
  const converters = Object.keys(is.converters ?? {}).filter((port) => was.converters?.[port] === undefined);
  if (converters.length > 0) said.push(`a sample-rate converter at ${ports(converters)}`);
  const taking = Object.entries(is.ports).filter(([port, clock]) => was.ports[port] !== clock);
  if (taking.length > 0) said.push(listed(taking.map(([port, clock]) => `port ${port} ${clock}s clock`)));
  if (was.ptp?.priority1 !== is.ptp?.priority1) said.push(`priority1 ${is.ptp?.priority1}, was ${was.ptp?.priority1}`);
  return said;
}

function ports(numbers: readonly string[]): string {
  return numbers.length === 1 ? `port ${numbers[0]}` : `ports ${listed(numbers)}`;
}

/** "MADI from port 4 of the FOH desk to port 7 of the tour FOH desk and back: two cables, 10 m (assumed)." */
export function cablesIn(before: Plan, after: Plan, joins: readonly string[]): readonly string[] {
  const known = new Set(before.links.map(({ id }) => id));
  const joining = after.links.filter(({ id }) => joins.includes(id));
  return [...joining, ...after.links.filter(({ id }) => !known.has(id))].map(
    ({ type, twoWay, hasReturn, a, b, lengthMetres }) => {
      const end = ({ device, port }: PortRef) => `port ${port} of ${theDevice(deviceOf(after, device))}`;
      const { name } = linkType(type as Parameters<typeof linkType>[0]);
      const way = twoWay
        ? `between ${end(a)} and ${end(b)}`
        : `from ${end(a)} to ${end(b)}${hasReturn ? " and back" : ""}`;
      const count = counted(hasReturn && !twoWay ? 2 : 1, "cable", "cables");
      return `${name} ${way}: ${count}, ${lengthMetres} m (assumed).`;
    },
  );
}

export function boxesIn(before: Plan, after: Plan): readonly string[] {
  const fresh = after.devices.filter(({ id }) => deviceById(before, id) === undefined);
  const converters = after.devices.flatMap((device) =>
    Object.keys(device.converters ?? {})
      .filter((port) => deviceById(before, device.id)?.converters?.[port] === undefined)
      .map((port) => `port ${port} of ${theDevice(device)}`),
  );
  return [
    ...fresh.map((device) => `${deviceHead(device)}: a box that neither plan has.`),
    ...(converters.length === 0
      ? []
      : [
          `${capital(counted(converters.length, "sample-rate converter", "sample-rate converters"))} at ${listed(converters)}: a box where the device has none at that input.`,
        ]),
  ];
}
