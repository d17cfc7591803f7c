/** What events may speak of: a rig as far as it could be read, and the names in it. */
import type { LinkPlan } from "./plan.ts";
import type { DeviceFound } from "./scenario-devices.ts";
import type { Draft, Report, Unknown } from "./scenario-draft.ts";
import { idsOf } from "./scenario-draft.ts";
import type { LinkFound } from "./scenario-links.ts";

export interface Rig {
  readonly draft: Draft;
  readonly devices: ReadonlyMap<string, DeviceFound>;
  readonly links: ReadonlyMap<string, LinkFound>;
  readonly report: Report;
  readonly unknown: Unknown;
}

export interface Names {
  readonly devices: readonly string[];
  readonly links: readonly string[];
  readonly supplies: readonly string[];
  readonly paths: readonly string[];
  /** True where no device, no link is broken, so that a missing name is missing. */
  readonly devicesAreWhole: boolean;
  readonly linksAreWhole: boolean;
  readonly sets: Readonly<Record<"device" | "link" | "supply" | "path", ReadonlySet<string>>>;
}

export function namesIn({ draft, devices, links }: Rig): Names {
  const supplies = [...new Set([...devices.values()].flatMap(({ plan }) => plan.power))];
  const paths = [...new Set([...links.values()].flatMap(({ plan }) => plan.laidAlong))];
  const names = { devices: idsOf(draft.devices), links: idsOf(draft.links), supplies, paths };
  return {
    ...names,
    devicesAreWhole: devices.size === draft.devices.length,
    linksAreWhole: areWhole(draft, links),
    sets: {
      device: new Set(names.devices),
      link: new Set(names.links),
      supply: new Set(supplies),
      path: new Set(paths),
    },
  };
}

/** Whether every link of the file could be read. There may be more of them than in the file: each tap is one. */
export function areWhole({ links: written }: Pick<Draft, "links">, links: ReadonlyMap<string, LinkFound>): boolean {
  const ids = new Set(written.map(({ id }) => id));
  return ids.size === written.length && written.every(({ id }) => id !== null && links.has(id));
}

export type Side = "a" | "b";
export const SIDES: readonly Side[] = ["a", "b"];

export interface LinkEnd {
  readonly link: LinkPlan;
  readonly side: Side;
}
