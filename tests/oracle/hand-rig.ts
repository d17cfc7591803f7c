/**
 * Plans by hand for the oracle's own checks: nothing of the scenario reader is needed, so a fault in it cannot hide
 * here. Defaults are the model's (its sections 2 to 5); a device is warm, free of ageing and of drift with heat.
 */
import type { DevicePlan, EventPlan, LinkPlan, OscillatorPlan, Plan } from "../../shared/plan.ts";

type Ns = Plan["lengthNs"];
const ns = (seconds: number): Ns => Math.round(seconds * 1e9) as Ns;

export type DeviceWords = Partial<Omit<DevicePlan, "id" | "oscillator" | "loop">> & {
  readonly offsetPpm?: number;
  readonly oscillator?: Partial<OscillatorPlan>;
  readonly loop?: Partial<DevicePlan["loop"]>;
};

/** A device by its clock sources: `device("stage", ["1", "2"], { offsetPpm: -6 })`. */
export function device(id: string, clockSources: readonly string[], words: DeviceWords = {}): DevicePlan {
  const { offsetPpm = 0, oscillator = {}, loop = {}, ...rest } = words;
  return {
    id,
    name: id,
    kind: "other",
    sampleRateHz: 48_000,
    clockSources,
    ports: {},
    oscillator: {
      type: "crystal",
      offsetPpm,
      tolerancePpm: 50,
      ageingPpbPerDay: 0,
      tempcoPpmPerCelsius: 0,
      tempcoTable: null,
      startCelsius: 25,
      warmUpPpm: 0,
      warmUpSeconds: 0,
      coolDownSeconds: 0,
      wander: null,
      ...oscillator,
    },
    loop: { naturalFrequencyHz: 1, damping: 1, ...loop },
    capturePpm: 50,
    steeringPpm: 100,
    lockWindowPercent: 5,
    unlockWindowPercent: 25,
    dwellSeconds: 1,
    reactionSeconds: 0.01,
    holdOffSeconds: 0.3,
    holdoverSeconds: 0,
    holdoverAverageSeconds: 0,
    holdoverErrorPpb: 0,
    waitToRestoreSeconds: 0,
    revertive: true,
    givesWhenUnlocked: true,
    whileBooting: "nothing",
    bootSeconds: 60,
    surfaceBootSeconds: words.bootSeconds ?? 60,
    engineBootSeconds: words.bootSeconds ?? 60,
    muteWhile: ["starting"],
    muteOutOfStep: "unknown",
    unmuteSeconds: 0,
    unmuteRampSeconds: 0,
    power: [id],
    atStart: "on",
    ...rest,
  };
}

const end = (written: string): LinkPlan["a"] => {
  const [id, port] = written.split(".") as [string, string];
  return { device: id, port: Number(port) };
};

/** One cable, sender first: `cable("foh.1", "stage.1")`. Coaxial, with clock in it, unless the words say otherwise. */
export function cable(from: string, to: string, words: Partial<LinkPlan> = {}): LinkPlan {
  return {
    id: `${from} ${to}`,
    type: "by hand",
    twoWay: false,
    hasReturn: false,
    a: end(from),
    b: end(to),
    medium: "coax",
    lengthMetres: 0,
    delaySeconds: 0,
    laidAlong: [],
    noticeSeconds: 0,
    comingUpSeconds: 0,
    clockIsAgreed: false,
    channels: 2,
    latencySeconds: 0,
    buffer: { slipSamples: 1, depthSamples: 2, startSamples: 1 },
    atStart: "plugged",
    ...words,
  };
}

type Deed = EventPlan extends infer Each ? (Each extends EventPlan ? Omit<Each, "atNs" | "undoes"> : never) : never;

/** An event of the world: `at(12, { do: "cut", path: "wall" })`. */
export function at(seconds: number, deed: Deed): EventPlan {
  return { atNs: ns(seconds), undoes: null, ...deed } as EventPlan;
}

export function unplug(seconds: number, link: string, end: "a" | "b" | null = null): EventPlan {
  return at(seconds, { do: "unplug", link, end, way: null, into: null });
}

export function plug(seconds: number, link: string, end: "a" | "b" | null = null): EventPlan {
  return at(seconds, { do: "plug", link, end, way: null, into: null });
}

export function plan(
  seconds: number,
  devices: readonly DevicePlan[],
  links: readonly LinkPlan[],
  events: readonly EventPlan[] = [],
  begin: Plan["begin"] = "settled",
): Plan {
  const byId = (a: { readonly id: string }, b: { readonly id: string }) => (a.id < b.id ? -1 : 1);
  return {
    title: "by hand",
    story: "",
    lengthNs: ns(seconds),
    seed: "none",
    begin,
    wanderGridSeconds: 1,
    sampleRateHz: 48_000,
    leaders: [],
    devices: [...devices].sort(byId),
    links: [...links].sort(byId),
    spares: [],
    feeds: [],
    events: [...events].sort((a, b) => a.atNs - b.atNs),
    expect: [],
    assumed: [],
  };
}
