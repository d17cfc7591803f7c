/**
 * Random rigs on a network: bridges of every kind in a tree, with a loop where something sees to it; devices that lead,
 * follow or do either; streams between them; cables, devices and sync that go and come back.
 */
import fc from "fast-check";
import type { Plan } from "../../shared/plan.ts";
import { PTP_PROFILES, RECOVERIES } from "../../shared/plan.ts";
import { readScenario } from "../../shared/scenario.ts";
import type { Ns } from "../../shared/time.ts";
import { formatShowTime } from "../../shared/units.ts";

export interface NetworkWish {
  readonly seconds?: readonly [number, number];
  readonly cold?: boolean;
  /** How many things happen. */
  readonly events?: readonly [number, number];
  /** Left out: all. */
  readonly happenings?: readonly Happening[];
  readonly profiles?: readonly (typeof PTP_PROFILES)[number][];
  readonly recoveries?: readonly (typeof RECOVERIES)[number][];
}

const HAPPENINGS = ["unplug", "reboot", "power-cut", "stop-sync", "set-clock-sources"] as const;
export type Happening = (typeof HAPPENINGS)[number];

const timings = ["plain", "transparent", "boundary"] as const;

interface Numbers {
  readonly profile: (typeof PTP_PROFILES)[number];
  readonly recovery: (typeof RECOVERIES)[number];
  readonly switches: readonly { readonly timing: (typeof timings)[number]; readonly under: number }[];
  readonly hasLoop: boolean;
  readonly devices: readonly {
    readonly on: number;
    readonly part: "either" | "follows" | "leads";
    readonly priority1: number;
    readonly clockClass: number;
    readonly offsetPpm: number;
    readonly holdoverSeconds: number;
    readonly metres: number;
  }[];
  readonly streams: readonly { readonly from: number; readonly to: number }[];
  readonly seconds: number;
  readonly events: readonly {
    readonly do: Happening;
    readonly which: number;
    readonly atMs: number;
    readonly forMs: number;
  }[];
}

/** The scenario as a file, and what it comes to. */
export interface RandomNetwork {
  readonly file: object;
  readonly plan: Plan;
}

export function networkPlans(wish: NetworkWish = {}): fc.Arbitrary<RandomNetwork> {
  const [shortest, longest] = wish.seconds ?? [40, 90];
  const [fewest, most] = wish.events ?? [1, 4];
  const numbers: fc.Arbitrary<Numbers> = fc.record({
    profile: fc.constantFrom(...(wish.profiles ?? PTP_PROFILES)),
    recovery: fc.constantFrom(...(wish.recoveries ?? RECOVERIES)),
    switches: fc.array(fc.record({ timing: fc.constantFrom(...timings), under: fc.nat(3) }), {
      minLength: 1,
      maxLength: 4,
    }),
    hasLoop: fc.boolean(),
    devices: fc.array(
      fc.record({
        on: fc.nat(3),
        part: fc.constantFrom("either" as const, "either" as const, "follows" as const, "leads" as const),
        priority1: fc.constantFrom(100, 110, 128, 128),
        clockClass: fc.constantFrom(248, 248, 248, 13, 6),
        offsetPpm: fc.noBias(fc.integer({ min: -12, max: 12 })),
        holdoverSeconds: fc.constantFrom(0, 5, 60),
        metres: fc.noBias(fc.integer({ min: 1, max: 90 })),
      }),
      { minLength: 2, maxLength: 6 },
    ),
    streams: fc.array(fc.record({ from: fc.nat(5), to: fc.nat(5) }), { maxLength: 3 }),
    seconds: fc.integer({ min: shortest, max: longest }),
    events: fc.array(
      fc.record({
        do: fc.constantFrom(...(wish.happenings ?? HAPPENINGS)),
        which: fc.nat(20),
        atMs: fc.noBias(fc.integer({ min: 2000, max: shortest * 600 })),
        forMs: fc.oneof(fc.noBias(fc.integer({ min: 5, max: 400 })), fc.noBias(fc.integer({ min: 400, max: 15_000 }))),
      }),
      { minLength: fewest, maxLength: most },
    ),
  });
  return numbers.map((each) => {
    const file = fileOf(each, wish.cold === true);
    const bytes = new TextEncoder().encode(JSON.stringify(file));
    const { plan, issues } = readScenario({ file: "random.json", bytes }, () => ({ problem: "there is none" }));
    if (plan === null) throw new Error(JSON.stringify(issues));
    return { file, plan };
  });
}

function fileOf(numbers: Numbers, isCold: boolean): object {
  const { switches } = numbers;
  const bridges = switches.map(({ timing }, index) => ({
    id: `sw-${index}`,
    kind: "switch",
    bridge: { timing },
    oscillator: { offsetPpm: index - 1 },
    bootSeconds: 4,
  }));
  const links: { id: string }[] = [];
  const cable = (id: string, a: string, b: string, lengthMetres: number, asymmetryNanoseconds = 0): void => {
    links.push({
      ...{ id, type: "ethernet", ends: [a, b], lengthMetres, asymmetryNanoseconds },
      ...{ comingUpSeconds: 0.4, laidAlong: [`path of ${id}`] },
    });
  };
  switches.forEach(({ under }, index) => {
    const above = under % Math.max(index, 1);
    if (index > 0) cable(`trunk-${index}`, `sw-${above}.${40 + index}`, `sw-${index}.1`, 40 + index, 30);
  });
  const hasLoop = numbers.hasLoop && switches.length > 1 && numbers.recovery !== "none";
  if (hasLoop) cable("loop", "sw-0.50", `sw-${switches.length - 1}.50`, 90);
  const devices = numbers.devices.map((device, index) => {
    const id = `d-${index}`;
    const on = device.on % switches.length;
    cable(`c-${index}`, `sw-${on}.${2 + index}`, `${id}.1`, device.metres);
    return {
      id,
      clockSources: device.part === "leads" ? ["internal"] : ["1", "internal"],
      holdoverSeconds: device.holdoverSeconds,
      oscillator: { offsetPpm: device.offsetPpm },
      bootSeconds: 4,
      ptp:
        device.part === "follows"
          ? { followerOnly: true }
          : { priority1: device.priority1, clockClass: device.clockClass },
    };
  });
  const feeds: object[] = [];
  numbers.streams.forEach(({ from, to }, index) => {
    const [a, b] = [from % devices.length, to % devices.length];
    if (a === b) return;
    links.push({ id: `s-${index}`, ...{ type: "aes67", from: `d-${a}.1`, to: `d-${b}.1` } });
    feeds.push({ id: `f-${index}`, through: [`d-${a}`, `d-${b}`], channels: 2, over: [`s-${index}`], heardBy: ["pa"] });
  });
  return {
    format: 1,
    title: "A random network",
    run: { length: formatShowTime((numbers.seconds * 1e9) as Ns), seed: "quay-1", begin: isCold ? "cold" : "settled" },
    rig: {
      sampleRateHz: 48_000,
      networks: [{ id: "net", profile: numbers.profile, recovery: numbers.recovery }],
      devices: [...bridges, ...devices],
      links,
      feeds,
    },
    events: numbers.events.map((event) => eventOf(event, links, [...bridges, ...devices], devices)),
  };
}

function eventOf(
  { do: deed, which, atMs, forMs }: Numbers["events"][number],
  links: readonly { id: string }[],
  all: readonly { id: string }[],
  devices: readonly { id: string }[],
): object {
  const of = <T>(items: readonly T[]): T => items[which % items.length] as T;
  const at = formatShowTime((atMs * 1e6) as Ns);
  const forSeconds = forMs / 1000;
  switch (deed) {
    case "unplug":
      return { at, do: deed, link: of(links).id, forSeconds };
    case "reboot":
      return { at, do: deed, device: of(all).id };
    case "power-cut":
      return { at, do: deed, device: of(all).id, forSeconds };
    case "stop-sync":
      return { at, do: deed, device: of(devices).id, forSeconds };
    case "set-clock-sources":
      return { at, do: deed, device: of(devices).id, clockSources: ["internal"], forSeconds };
  }
}
