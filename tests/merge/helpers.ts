/** Two plans to be joined, as a test writes them. */

import type { Company, PlanRead } from "../../sim/merge/company.ts";
import { freePort, type Join } from "../../sim/merge/join.ts";
import { type Merge, readMerge } from "../../sim/merge.ts";
import { type Files, plan } from "../helpers/rig.ts";

export function planRead(file: string, scenario: object, files: Files = {}): PlanRead {
  const text = (value: string | object) => (typeof value === "string" ? value : JSON.stringify(value, null, 2));
  const others = Object.fromEntries(
    Object.entries(files).map(([name, value]) => [name.replace(/^\.\//, ""), text(value)]),
  );
  return { file, plan: plan(scenario, files), texts: { main: file, texts: { [file]: text(scenario), ...others } } };
}

export const HOUSE = "house.json";
export const TOUR = "tour.json";

interface Asked {
  readonly joins?: readonly Join[];
  readonly same?: readonly string[];
  readonly names?: readonly [string, string] | null;
}

export function merged(house: object, tour: object, { joins = [], same = [], names = null }: Asked = {}): Merge {
  return readMerge({ plans: [planRead(HOUSE, house), planRead(TOUR, tour)], joins, same, names });
}

export function join(here: string, there: string, type: Join["type"] = "madi", ways: Join["ways"] = "both"): Join {
  const end = (text: string) => {
    const [device = "", port = ""] = text.split(".");
    return { device, port: Number(port) };
  };
  return { text: `${here}=${there}:${type}:${ways}`, ends: [end(here), end(there)], type, ways };
}

/** Between the leaders, at ports that are free. */
export function joinLeaders([one, other]: readonly [Company, Company]): Join {
  const end = (company: Company) => `${company.leader}.${freePort(company, company.leader as string)}`;
  return join(end(one), end(other));
}

export interface Thing extends Record<string, unknown> {
  id: string;
}

/** A house: a matrix that leads a PA processor and a stage box. */
export function house() {
  return {
    format: 1,
    title: "The house",
    run: { length: "00:20:00", seed: "quay-1" } as Record<string, unknown>,
    rig: {
      sampleRateHz: 48_000,
      leaders: ["matrix"],
      devices: [
        { id: "matrix", name: "Matrix", clockSources: ["internal"], oscillator: { offsetPpm: 2.5 } },
        { id: "pa", name: "PA processor", clockSources: ["1"], oscillator: { offsetPpm: -1.7 } },
        { id: "box", name: "Stage box", clockSources: ["1"], oscillator: { offsetPpm: -6.3 } },
      ] as Thing[],
      links: [
        { id: "box-matrix", type: "madi", from: "box.1", to: "matrix.1", return: true },
        { id: "matrix-pa", type: "aes3", from: "matrix.2", to: "pa.1" },
      ] as Thing[],
      feeds: [{ id: "calls", through: ["box", "matrix", "pa"], channels: 2, heardBy: ["pa"] }] as Thing[],
    } as Rig,
    events: [] as Record<string, unknown>[],
    expect: [] as Record<string, unknown>[],
    accepted: [] as Record<string, unknown>[],
  };
}

/** A touring company: a FOH desk that leads a monitor desk, which has the in-ears. */
export function tour() {
  return {
    format: 1,
    title: "The tour",
    run: { length: "00:20:00", seed: "quay-1" } as Record<string, unknown>,
    rig: {
      sampleRateHz: 48_000,
      leaders: ["foh", "mon"],
      devices: [
        { id: "foh", name: "FOH desk", clockSources: ["internal"], oscillator: { offsetPpm: -4.6 } },
        { id: "mon", name: "Monitor desk", clockSources: ["1", "internal"], oscillator: { offsetPpm: 3.1 } },
        { id: "ears", name: "In-ear transmitter", clockSources: ["1"], oscillator: { offsetPpm: 8.1 } },
      ] as Thing[],
      links: [
        { id: "foh-mon", type: "madi", from: "foh.1", to: "mon.1", return: true },
        { id: "mon-ears", type: "madi", from: "mon.2", to: "ears.1" },
      ] as Thing[],
      feeds: [{ id: "mixes", through: ["foh", "mon", "ears"], channels: 8, heardBy: ["in-ears"] }] as Thing[],
    } as Rig,
    events: [] as Record<string, unknown>[],
    expect: [] as Record<string, unknown>[],
    accepted: [] as Record<string, unknown>[],
  };
}

interface Rig extends Record<string, unknown> {
  sampleRateHz: number;
  leaders: string[];
  devices: Thing[];
  links: Thing[];
  feeds: Thing[];
}
