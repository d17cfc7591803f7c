/**
 * Random rigs: whole plans for the laws, valid as the scenario reader would make them.
 *
 * A rig is a tree of devices from one leader outward, each on its parent's clock; on demand with second sources (from
 * devices nearer the leader, so that no ring forms), spare pairs, or a ring on purpose. Everything is first drawn as a
 * flat recipe of small numbers, which fast-check can shrink, and then made into a plan by plain arithmetic. Instants and
 * timers lie on whole milliseconds, so that an oracle that goes in such steps sees them when they are due.
 */
import fc from "fast-check";
import type { LinkTypeName } from "../../shared/link-types.ts";
import { channelsAt, linkType, NS_PER_METRE, POINT_TO_POINT } from "../../shared/link-types.ts";
import type {
  DevicePlan,
  EventDeed,
  EventPlan,
  FeedPlan,
  LinkPlan,
  Plan,
  SparePlan,
  WanderPlan,
} from "../../shared/plan.ts";
import type { Ns } from "../../shared/time.ts";

export type EventKind =
  | "unplug"
  | "move"
  | "cut"
  | "reboot"
  | "power"
  | "supply"
  | "hang"
  | "set-clock-sources"
  | "choose-source"
  | "set-port-clock"
  | "step-frequency"
  | "temperature";

export const EVERY_EVENT: readonly EventKind[] = [
  ...["unplug", "move", "cut", "reboot", "power", "supply", "hang", "set-clock-sources"],
  ...["choose-source", "set-port-clock", "step-frequency", "temperature"],
] as EventKind[];

/** What takes clocks away from followers: drawn three times as often as the rest. */
const OFTEN: readonly EventKind[] = ["unplug", "reboot", "power", "set-clock-sources"];

export interface Wish {
  readonly devices?: readonly [number, number];
  readonly seconds?: readonly [number, number];
  readonly events?: readonly EventKind[];
  readonly eventCount?: readonly [number, number];
  /** No event before this. */
  readonly quietSeconds?: number;
  readonly secondSources?: boolean;
  readonly spares?: boolean;
  /** The first device takes the clock of the last: a ring of them all, or of a branch. */
  readonly ring?: boolean;
  /** Devices that are on their own clock whatever arrives, so that something slips. */
  readonly loners?: boolean;
  readonly loopHz?: readonly [number, number];
  /** Oscillators that age, feel heat and warm up. */
  readonly bending?: boolean;
  /** Some feel heat by a table of points, and stand in the cold or in the sun as the show begins. */
  readonly heatTables?: boolean;
  /** Oscillators that wander by chance: like real ones and somewhat louder, or as these do. */
  readonly wandering?: boolean | readonly WanderPlan[];
  /** Knots of wander this far apart; 1 s unless told. */
  readonly wanderGridSeconds?: number;
  /** Nobody is off by more; 40 ppm unless told. 0: all that moves moves by chance. */
  readonly offsetPpmMax?: number;
  /** Holdover goes on with an average and with an error of its own, on some devices. */
  readonly averaging?: boolean;
  /** All loops within capture and steering of any offset, so that everybody can follow. */
  readonly wideRanges?: boolean;
  readonly cold?: boolean;
  /** All timers and instants on whole multiples of this; 1 unless told. */
  readonly gridMs?: number;
  /** No two events closer than this. */
  readonly apartMs?: number;
  /** Timers drawn without favourites, so that two of them hardly ever end together. */
  readonly noTies?: boolean;
  readonly noDelay?: boolean;
  readonly centredBuffers?: boolean;
}

interface LinkRecipe {
  readonly type: LinkTypeName;
  readonly lengthMetres: number;
  readonly hasReturn: boolean;
  readonly noticeMs: number;
  readonly comingUpMs: number;
  readonly buffer: number;
  readonly path: number;
}

interface DeviceRecipe {
  readonly offsetPpb: number;
  readonly loopHz: number;
  readonly damping: number;
  readonly holdOffMs: number;
  readonly holdoverMs: number;
  readonly waitMs: number;
  readonly reactionMs: number;
  readonly dwellMs: number;
  readonly bootMs: number;
  readonly isRevertive: boolean;
  readonly givesWhenUnlocked: boolean;
  readonly whileBooting: DevicePlan["whileBooting"];
  readonly endsWithInternal: boolean;
  readonly parent: number;
  readonly up: LinkRecipe;
  readonly second: { readonly from: number; readonly link: LinkRecipe } | null;
  readonly spare: LinkRecipe | null;
  readonly switchMs: number;
  readonly isLoner: boolean;
  readonly hasSharedSupply: boolean;
  readonly ageing: number;
  readonly tempco: number;
  readonly warmUp: number;
  readonly heat: { readonly table: DevicePlan["oscillator"]["tempcoTable"]; readonly startCelsius: number } | null;
  readonly wander: WanderPlan | null;
  readonly average: { readonly ms: number; readonly errorPpb: number } | null;
  readonly capturePpm: number;
  readonly muteOutOfStep: boolean;
}

interface EventRecipe {
  readonly kind: EventKind;
  readonly atShare: number;
  readonly forMs: number | null;
  readonly pick: number;
  readonly other: number;
  readonly value: number;
}

interface Recipe {
  readonly names: readonly string[];
  readonly devices: readonly DeviceRecipe[];
  readonly events: readonly EventRecipe[];
  readonly seconds: number;
  readonly seed: number;
}

const NAMES = ["amp", "box", "clk", "desk", "ears", "foh", "gate", "hut", "ios", "jib", "kit", "loft"];

/** Slip, depth and start of the buffers: the usual, a deeper one, a packet of six. */
const BUFFERS = [
  { slipSamples: 1, depthSamples: 2, startSamples: 1 },
  { slipSamples: 1, depthSamples: 4, startSamples: 2 },
  { slipSamples: 2, depthSamples: 5, startSamples: 3 },
  { slipSamples: 6, depthSamples: 48, startSamples: 24 },
] as const;
const DAMPINGS = [0.5, 0.6, Math.SQRT1_2, 0.9, 1, 1.1, 1.5, 2] as const;
/** Few places: what shrinks stays readable, and the whole range of live gear is there. */
const FREQUENCIES_HZ = [0.02, 0.05, 0.1, 0.2, 0.35, 0.5, 0.8, 1, 1.3, 2, 3, 5, 7, 10] as const;

/** The flat S of an AT cut, a straight line, and one that rises to the middle and falls. */
const HEAT_TABLES: readonly NonNullable<DevicePlan["oscillator"]["tempcoTable"]>[] = [
  [
    { celsius: -10, ppm: -3 },
    { celsius: 10, ppm: 1.5 },
    { celsius: 40, ppm: -1.5 },
    { celsius: 60, ppm: 3 },
  ],
  [
    { celsius: -40, ppm: -6.5 },
    { celsius: 85, ppm: 6 },
  ],
  [
    { celsius: 0, ppm: -8 },
    { celsius: 25, ppm: 0 },
    { celsius: 45, ppm: -5 },
  ],
];

/** Quiet, as the handbook's cheap oscillators, and loud enough to be seen in a minute. */
const WANDERS: readonly WanderPlan[] = [
  { sigma1: 3e-13, sigma2: 3e-12, sigma3: 0, hMinus1: 7e-25 },
  { sigma1: 3e-10, sigma2: 6e-10, sigma3: 0, hMinus1: 7e-21 },
  { sigma1: 1e-7, sigma2: 0, sigma3: 0, hMinus1: 0 },
  { sigma1: 0, sigma2: 2e-8, sigma3: 0, hMinus1: 0 },
];

const pick = fc.nat({ max: 9999 });
const whole = (min: number, max: number) => fc.noBias(fc.integer({ min, max }));

function linkRecipe(types: readonly LinkTypeName[]): fc.Arbitrary<LinkRecipe> {
  return fc.record({
    type: fc.constantFrom(...types),
    lengthMetres: whole(1, 150),
    hasReturn: fc.boolean(),
    noticeMs: fc.oneof(fc.constantFrom(0, 10, 50), whole(1, 400)),
    comingUpMs: fc.oneof(fc.constantFrom(0, 100), whole(1, 3000)),
    buffer: fc.nat({ max: BUFFERS.length - 1 }),
    path: fc.nat({ max: 3 }),
  });
}

const audio: readonly LinkTypeName[] = POINT_TO_POINT.filter((type) => type !== "word-clock");

function deviceRecipe(wish: Wish): fc.Arbitrary<DeviceRecipe> {
  const timer = (favourites: readonly number[], max: number): fc.Arbitrary<number> =>
    wish.noTies === true ? whole(1, max) : fc.oneof(fc.constantFrom(...favourites), whole(1, max));
  const loops = FREQUENCIES_HZ.filter((hz) => hz >= (wish.loopHz?.[0] ?? 0.1) && hz <= (wish.loopHz?.[1] ?? 10));
  return fc.record({
    offsetPpb: whole(-40_000, 40_000),
    loopHz: fc.constantFrom(...loops),
    damping: fc.constantFrom(...DAMPINGS),
    holdOffMs: timer([0, 300], 3000),
    holdoverMs: fc.oneof(fc.constant(0), whole(1, 30_000)),
    waitMs: fc.oneof(fc.constant(0), whole(1, 8000)),
    reactionMs: timer([10], 200),
    dwellMs: fc.oneof(fc.constant(1000), whole(100, 2500)),
    bootMs: whole(1500, 9000),
    isRevertive: fc.boolean(),
    givesWhenUnlocked: fc.oneof({ weight: 3, arbitrary: fc.constant(true) }, fc.constant(false)),
    whileBooting: fc.constantFrom("nothing" as const, "nothing" as const, "own-clock" as const, "wrong-rate" as const),
    endsWithInternal: fc.boolean(),
    parent: pick,
    up: linkRecipe(POINT_TO_POINT),
    second:
      wish.secondSources === true
        ? fc.option(fc.record({ from: pick, link: linkRecipe(POINT_TO_POINT) }))
        : fc.constant(null),
    spare: wish.spares === true ? fc.option(linkRecipe(audio)) : fc.constant(null),
    switchMs: whole(1, 900),
    isLoner:
      wish.loners === true
        ? fc.oneof({ weight: 3, arbitrary: fc.constant(false) }, fc.constant(true))
        : fc.constant(false),
    hasSharedSupply: fc.boolean(),
    ageing: wish.bending === true ? fc.constantFrom(0, 0, 1, -5, 20) : fc.constant(0),
    tempco: wish.bending === true ? fc.constantFrom(0, 0.04, -0.3) : fc.constant(0),
    warmUp: wish.bending === true ? fc.constantFrom(0, 2, -8) : fc.constant(0),
    heat:
      wish.heatTables === true
        ? fc.option(fc.record({ table: fc.constantFrom(...HEAT_TABLES), startCelsius: whole(-20, 50) }))
        : fc.constant(null),
    wander:
      wish.wandering === undefined || wish.wandering === false
        ? fc.constant(null)
        : fc.constantFrom(null, ...(wish.wandering === true ? WANDERS : wish.wandering)),
    average:
      wish.averaging === true
        ? fc.option(fc.record({ ms: whole(10, 12_000), errorPpb: whole(-300, 300) }))
        : fc.constant(null),
    capturePpm: wish.wideRanges === true ? fc.constant(150) : fc.constantFrom(25, 50, 50, 100, 100),
    muteOutOfStep: fc.boolean(),
  });
}

/** A random plan of the wished kind. */
export function plans(wish: Wish = {}): fc.Arbitrary<Plan> {
  const [fewest, most] = wish.devices ?? [2, 8];
  const [shortest, longest] = wish.seconds ?? [60, 600];
  const [least, greatest] = wish.eventCount ?? [0, 8];
  const event = fc.record({
    kind: fc.constantFrom(
      ...(wish.events ?? EVERY_EVENT).flatMap((kind) => (OFTEN.includes(kind) ? [kind, kind, kind] : [kind])),
    ),
    atShare: whole(0, 999_999),
    forMs: fc.option(fc.oneof(whole(1, 500), whole(1, 20_000)), { freq: 4 }),
    pick,
    other: pick,
    value: whole(-60_000, 60_000),
  });
  return fc
    .record({
      names: fc.shuffledSubarray(NAMES, { minLength: NAMES.length, maxLength: NAMES.length }),
      devices: fc.array(deviceRecipe(wish), { minLength: fewest, maxLength: most }),
      events: fc.array(event, { minLength: least, maxLength: greatest }),
      seconds: whole(shortest, longest),
      seed: pick,
    })
    .map((recipe) => planOf(recipe, wish));
}

// ---------------------------------------------------------------------------------------------------- from the recipe

interface Draft {
  readonly devices: DevicePlan[];
  readonly links: LinkPlan[];
  readonly spares: SparePlan[];
  readonly portsUsed: Map<string, number>;
}

function planOf(recipe: Recipe, wish: Wish): Plan {
  const lengthNs = (recipe.seconds * 1e9) as Ns;
  const draft: Draft = { devices: [], links: [], spares: [], portsUsed: new Map() };
  const id = (index: number): string => recipe.names[index] as string;
  const parents: (number | null)[] = [];
  for (const [index, each] of recipe.devices.entries()) {
    const name = id(index);
    const sources: string[] = [];
    const isLeader = index === 0 || each.isLoner;
    parents.push(index === 0 ? null : each.parent % index);
    if (index > 0) {
      const port = addLink(draft, wish, each.up, id(each.parent % index), name);
      if (!isLeader) sources.push(port);
      if (each.spare !== null && each.up.type !== "word-clock") {
        const main = draft.links[draft.links.length - 1] as LinkPlan;
        const sparePort = addLink(
          draft,
          wish,
          { ...each.spare, hasReturn: main.hasReturn },
          id(each.parent % index),
          name,
          main.type as LinkTypeName,
        );
        if (!isLeader) sources.push(sparePort);
        const spare = draft.links[draft.links.length - 1] as LinkPlan;
        draft.spares.push({
          id: `pair-${name}`,
          links: [main.id, spare.id],
          mode: "standby",
          switchSeconds: seconds(wish, each.switchMs),
          revertive: each.isRevertive,
          waitToRestoreSeconds: seconds(wish, each.waitMs),
        });
      }
      if (each.second !== null && index > 1) {
        const port2 = addLink(draft, wish, each.second.link, id(each.second.from % index), name);
        if (!isLeader) sources.push(port2);
      }
    }
    if (index === 0 && wish.ring !== true) sources.push("internal");
    else if (isLeader || each.endsWithInternal) sources.push("internal");
    draft.devices.push(deviceOf(name, index, each, sources, wish));
  }
  if (wish.ring === true) closeRing(draft, recipe, wish);
  const leader = id(0);
  const events = eventsOf(recipe, draft, wish);
  const devices = draft.devices.sort(byId);
  const plan: Plan = {
    title: "A random rig",
    story: "",
    lengthNs,
    seed: `quay-${recipe.seed}`,
    begin: wish.cold === true ? "cold" : "settled",
    wanderGridSeconds: wish.wanderGridSeconds ?? 1,
    sampleRateHz: 48_000,
    leaders: [leader],
    devices,
    links: draft.links.sort(byId),
    spares: draft.spares.sort(byId),
    feeds: feedsOf(recipe, draft, parents),
    events,
    expect: [],
    assumed: [],
  };
  return plan;
}

/** Seconds on the wished grid, never less than asked. */
function seconds(wish: Wish, ms: number): number {
  const grid = wish.gridMs ?? 1;
  return (Math.ceil(ms / grid) * grid) / 1000;
}

function byId(a: { readonly id: string }, b: { readonly id: string }): number {
  return a.id < b.id ? -1 : a.id > b.id ? 1 : 0;
}

function freshPort(draft: Draft, device: string): number {
  const port = (draft.portsUsed.get(device) ?? 0) + 1;
  draft.portsUsed.set(device, port);
  return port;
}

/** Adds a link and returns the port at which `to` hears `from`. */
function addLink(
  draft: Draft,
  wish: Wish,
  recipe: LinkRecipe,
  from: string,
  to: string,
  type: LinkTypeName = recipe.type,
): string {
  const { twoWay, clockIsAgreed, media } = linkType(type);
  const medium = (media[0] as (typeof media)[number]).name;
  const port = freshPort(draft, to);
  const perMetre = NS_PER_METRE[medium].value * 1e-9;
  const buffer = BUFFERS[recipe.buffer] as (typeof BUFFERS)[number];
  draft.links.push({
    id: `${type.slice(0, 2)}${draft.links.length}`,
    type,
    twoWay,
    hasReturn: !twoWay && recipe.hasReturn,
    a: { device: from, port: freshPort(draft, from) },
    b: { device: to, port },
    medium,
    lengthMetres: recipe.lengthMetres,
    delaySeconds: wish.noDelay === true ? 0 : recipe.lengthMetres * perMetre,
    laidAlong: recipe.path === 0 ? [] : [`wall-${recipe.path}`],
    noticeSeconds: seconds(wish, recipe.noticeMs),
    comingUpSeconds: seconds(wish, recipe.comingUpMs),
    clockIsAgreed,
    channels: channelsAt(type, 48_000),
    latencySeconds: 0,
    buffer: wish.centredBuffers === true && buffer.startSamples * 2 !== buffer.depthSamples ? BUFFERS[0] : buffer,
    atStart: "plugged",
  });
  return String(port);
}

function deviceOf(
  id: string,
  index: number,
  each: DeviceRecipe,
  clockSources: readonly string[],
  wish: Wish,
): DevicePlan {
  const { capturePpm } = each;
  return {
    id,
    name: id,
    kind: "other",
    sampleRateHz: 48_000,
    clockSources,
    ports: {},
    oscillator: {
      type: "crystal",
      offsetPpm: (each.offsetPpb / 1000) * ((wish.offsetPpmMax ?? 40) / 40),
      tolerancePpm: 50,
      ageingPpbPerDay: each.ageing * 1000,
      tempcoPpmPerCelsius: each.heat === null ? each.tempco : 0,
      tempcoTable: each.heat?.table ?? null,
      startCelsius: each.heat?.startCelsius ?? 25,
      warmUpPpm: each.warmUp,
      warmUpSeconds: each.warmUp === 0 ? 0 : 20,
      coolDownSeconds: each.warmUp === 0 ? 0 : 60,
      wander: each.wander,
    },
    loop: { naturalFrequencyHz: each.loopHz, damping: each.damping },
    capturePpm,
    steeringPpm: wish.wideRanges === true ? 250 : capturePpm + 50,
    lockWindowPercent: 5,
    unlockWindowPercent: 25,
    dwellSeconds: seconds(wish, each.dwellMs),
    reactionSeconds: seconds(wish, each.reactionMs),
    holdOffSeconds: seconds(wish, each.holdOffMs),
    holdoverSeconds: seconds(wish, each.holdoverMs),
    holdoverAverageSeconds: each.average === null ? 0 : seconds(wish, each.average.ms),
    holdoverErrorPpb: each.average?.errorPpb ?? 0,
    waitToRestoreSeconds: seconds(wish, each.waitMs),
    revertive: each.isRevertive,
    givesWhenUnlocked: index === 0 || each.givesWhenUnlocked,
    whileBooting: each.whileBooting,
    bootSeconds: seconds(wish, each.bootMs),
    // Shorter, and longer, than all of it: a law that took one for another would break.
    surfaceBootSeconds: seconds(wish, each.bootMs + 700),
    engineBootSeconds: seconds(wish, each.bootMs - 400),
    muteWhile: ["starting"],
    muteOutOfStep: each.muteOutOfStep,
    unmuteSeconds: 0,
    unmuteRampSeconds: 0,
    power: each.hasSharedSupply ? [id, "stage-mains"] : [id],
    atStart: "on",
  };
}

/** The last device's clock comes back to the first, which takes it before anything else. */
function closeRing(draft: Draft, recipe: Recipe, wish: Wish): void {
  const first = draft.devices[0] as DevicePlan;
  const last = draft.devices[draft.devices.length - 1] as DevicePlan;
  const back = { ...(recipe.devices[0] as DeviceRecipe).up, hasReturn: false };
  const port = addLink(draft, wish, back, last.id, first.id, "aes3");
  draft.devices[0] = { ...first, clockSources: [port] };
}

/** Down each branch as far as audio goes, and up every link that carries it back. */
function feedsOf(recipe: Recipe, draft: Draft, parents: readonly (number | null)[]): FeedPlan[] {
  const feeds: FeedPlan[] = [];
  for (let leaf = 1; leaf < recipe.devices.length; leaf++) {
    const through: string[] = [];
    const hops: FeedPlan["hops"][number][] = [];
    for (let at = leaf; ; at = parents[at] as number) {
      through.unshift(recipe.names[at] as string);
      const parent = parents[at];
      if (parent === null || parent === undefined) break;
      const ids = linksBetween(draft, recipe.names[parent] as string, recipe.names[at] as string);
      if (ids.length === 0) break;
      hops.unshift({
        from: recipe.names[parent] as string,
        to: recipe.names[at] as string,
        channels: 2,
        over: ids.map((link) => ({ link, way: "there" as const })),
        spare: ids.length > 1 ? `pair-${recipe.names[at]}` : null,
      });
    }
    if (hops.length > 0)
      feeds.push({ id: `to-${through[through.length - 1]}`, name: "", through, hops, heardBy: ["pa"] });
  }
  for (const link of draft.links) {
    if (link.channels === 0 || !(link.twoWay || link.hasReturn)) continue;
    const hop = {
      from: link.b.device,
      to: link.a.device,
      channels: 2,
      over: [{ link: link.id, way: "back" as const }],
      spare: null,
    };
    feeds.push({ id: `back-${link.id}`, name: "", through: [hop.from, hop.to], hops: [hop], heardBy: ["record"] });
  }
  return feeds.sort(byId);
}

/** The audio links by which a child hears its parent: the spare pair, or the first. */
function linksBetween(draft: Draft, from: string, to: string): string[] {
  const pair = draft.spares.find((spare) => spare.id === `pair-${to}`);
  const links = draft.links.filter((link) => link.a.device === from && link.b.device === to && link.channels > 0);
  if (pair !== undefined && links.some((link) => link.id === pair.links[0])) return [...pair.links];
  return links.slice(0, 1).map((link) => link.id);
}

// ---------------------------------------------------------------------------------------------------- events

/** An event with what ends it; `subjects`: what must be left alone meanwhile, so that each event finds what it expects. */
interface Happening {
  readonly atNs: Ns;
  readonly deed: EventDeed;
  readonly undoing: { readonly atNs: Ns; readonly deed: EventDeed } | null;
}

function eventsOf(recipe: Recipe, draft: Draft, wish: Wish): EventPlan[] {
  const busyUntil = new Map<string, number>();
  const happenings: Happening[] = [];
  const onGrid = (ms: number): number => Math.floor(ms / (wish.gridMs ?? 1)) * (wish.gridMs ?? 1);
  const lengthMs = recipe.seconds * 1000;
  const quietMs = (wish.quietSeconds ?? 1) * 1000;
  const written = recipe.events
    .map((event) => ({ event, atMs: onGrid(quietMs + (event.atShare / 1e6) * Math.max(lengthMs - quietMs, 1)) }))
    .sort((a, b) => a.atMs - b.atMs);
  const instants: number[] = [];
  const isCrowded = (ms: number): boolean => instants.some((other) => Math.abs(other - ms) < (wish.apartMs ?? 0));
  for (const { event, atMs } of written) {
    const backMs = event.forMs === null ? null : atMs + onGrid(event.forMs) + (wish.gridMs ?? 1);
    if (isCrowded(atMs) || (backMs !== null && (isCrowded(backMs) || backMs - atMs < (wish.apartMs ?? 0)))) continue;
    const made = deedOf(event, draft, happenings, atMs);
    if (made === null) continue;
    if (made.subjects.some((subject) => (busyUntil.get(subject) ?? -1) >= atMs)) continue;
    const isUndone = made.undo !== null && backMs !== null && backMs <= lengthMs;
    for (const subject of made.subjects) {
      busyUntil.set(subject, made.undo === null ? atMs : (backMs ?? Number.POSITIVE_INFINITY));
    }
    instants.push(atMs, ...(isUndone ? [backMs as number] : []));
    made.adopt?.();
    happenings.push({
      atNs: (atMs * 1e6) as Ns,
      deed: made.deed,
      undoing: isUndone ? { atNs: ((backMs as number) * 1e6) as Ns, deed: made.undo as EventDeed } : null,
    });
  }
  const flat = happenings.flatMap((each) => [
    { atNs: each.atNs, deed: each.deed, of: null as Happening | null, self: each as Happening | null },
    ...(each.undoing === null ? [] : [{ atNs: each.undoing.atNs, deed: each.undoing.deed, of: each, self: null }]),
  ]);
  flat.sort((a, b) => a.atNs - b.atNs);
  return flat.map(({ atNs, deed, of }) => ({
    atNs,
    undoes: of === null ? null : flat.findIndex(({ self }) => self === of),
    ...deed,
  }));
}

interface Made {
  readonly deed: EventDeed;
  readonly undo: EventDeed | null;
  readonly subjects: readonly string[];
  /** What the rig needs so that the event makes sense. */
  readonly adopt?: () => void;
}

function deedOf(event: EventRecipe, draft: Draft, before: readonly Happening[], atMs: number): Made | null {
  // Of two picks the one nearer the leader: more hangs from it.
  const devices = draft.devices.length;
  const device = draft.devices[
    Math.min(event.pick % devices, Math.floor(event.pick / devices) % devices)
  ] as DevicePlan;
  const link = draft.links[event.pick % draft.links.length] as LinkPlan | undefined;
  switch (event.kind) {
    case "unplug": {
      if (link === undefined) return null;
      const end = ([null, "a", "b"] as const)[event.other % 3] as "a" | "b" | null;
      const way = link.hasReturn ? (([null, "there", "back"] as const)[event.value % 3] ?? null) : null;
      const deed = { link: link.id, end, way, into: null };
      return { deed: { do: "unplug", ...deed }, undo: { do: "plug", ...deed }, subjects: plugSubjects(link) };
    }
    case "move": {
      // Out at the far end, and into a port of its own there, which the device listens to as a last resort.
      if (link === undefined || event.forMs === null) return null;
      const port = freshPort(draft, link.b.device);
      const index = draft.devices.findIndex((each) => each.id === link.b.device);
      const listener = draft.devices[index] as DevicePlan;
      return {
        deed: { do: "unplug", link: link.id, end: "b", way: null, into: null },
        undo: { do: "plug", link: link.id, end: "b", way: null, into: port },
        subjects: plugSubjects(link),
        adopt: () => {
          if (listener.clockSources[0] !== "internal") {
            draft.devices[index] = { ...listener, clockSources: [...listener.clockSources, String(port)] };
          }
        },
      };
    }
    case "cut": {
      const paths = [...new Set(draft.links.flatMap((each) => each.laidAlong))];
      const path = paths[event.pick % Math.max(paths.length, 1)];
      if (path === undefined) return null;
      const along = draft.links.filter((each) => each.laidAlong.includes(path));
      return {
        deed: { do: "cut", path },
        undo: { do: "mend", path },
        subjects: [`path ${path}`, ...along.map((each) => `link ${each.id}`)],
      };
    }
    case "reboot": {
      const part = (["all", "engine", "surface", "all"] as const)[event.other % 4] as "all" | "engine" | "surface";
      return { deed: { do: "reboot", device: device.id, part }, undo: null, subjects: [`boot ${device.id}`] };
    }
    case "power": {
      const whom = { device: device.id, supply: null };
      return {
        deed: { do: "power-cut", ...whom },
        undo: { do: "power-back", ...whom },
        subjects: [`power ${device.id}`],
      };
    }
    case "supply": {
      const supplies = [...new Set(draft.devices.flatMap((each) => each.power))];
      const whom = { device: null, supply: supplies[event.pick % supplies.length] as string };
      return {
        deed: { do: "power-cut", ...whom },
        undo: { do: "power-back", ...whom },
        subjects: [`supply ${whom.supply}`],
      };
    }
    case "hang":
      return {
        deed: { do: "hang", device: device.id },
        undo: { do: "unhang", device: device.id },
        subjects: [`hang ${device.id}`],
      };
    case "set-clock-sources": {
      const known = sourcesAt(device, before, atMs);
      const turned = known.slice(1).concat(known.slice(0, 1));
      const clockSources =
        event.other % 3 === 0 || turned.length < 2 ? ["internal"] : turned.slice(0, 1 + (event.other % turned.length));
      const subjects = [`sources ${device.id}`];
      return {
        deed: { do: "set-clock-sources", device: device.id, clockSources },
        undo: { do: "set-clock-sources", device: device.id, clockSources: known },
        subjects,
      };
    }
    case "choose-source": {
      const known = sourcesAt(device, before, atMs);
      const source = known[event.other % Math.max(known.length, 1)];
      if (source === undefined) return null;
      return {
        deed: { do: "choose-source", device: device.id, source },
        undo: null,
        subjects: [`sources ${device.id}`],
      };
    }
    case "set-port-clock": {
      const agreed = draft.links.filter((each) => each.clockIsAgreed);
      const chosen = agreed[event.pick % Math.max(agreed.length, 1)];
      if (chosen === undefined) return null;
      const at = event.other % 2 === 0 ? chosen.a : chosen.b;
      const owner = draft.devices.find((each) => each.id === at.device) as DevicePlan;
      const takes = owner.clockSources.includes(String(at.port));
      const set = (clock: "give" | "take"): EventDeed => ({
        do: "set-port-clock",
        device: at.device,
        port: at.port,
        clock,
      });
      return {
        deed: set(takes ? "give" : "take"),
        undo: set(takes ? "take" : "give"),
        subjects: [`port ${at.device}.${at.port}`],
      };
    }
    case "step-frequency": {
      const step = (offsetPpm: number | null): EventDeed => ({ do: "step-frequency", device: device.id, offsetPpm });
      return { deed: step(event.value / 1000), undo: step(null), subjects: [`frequency ${device.id}`] };
    }
    case "temperature": {
      const whom = event.other % 3 === 0 ? null : device.id;
      const deed: EventDeed = {
        do: "temperature",
        device: whom,
        toCelsius: 25 + event.value / 3000,
        overSeconds: (event.other % 20_000) / 1000,
      };
      return { deed, undo: null, subjects: ["temperature"] };
    }
  }
}

function plugSubjects(link: LinkPlan): string[] {
  return [`link ${link.id}`, ...link.laidAlong.map((path) => `path ${path}`)];
}

/** The list in force just before an instant, as the events so far leave it. */
function sourcesAt(device: DevicePlan, before: readonly Happening[], atMs: number): readonly string[] {
  let list = device.clockSources;
  for (const { deed, undoing } of before) {
    if (deed.do !== "set-clock-sources" || deed.device !== device.id) continue;
    list = deed.clockSources;
    if (undoing !== null && undoing.atNs <= atMs * 1e6 && undoing.deed.do === "set-clock-sources")
      list = undoing.deed.clockSources;
  }
  return list;
}
