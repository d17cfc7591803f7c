/**
 * Runs written by hand, for what no rehearsal of ours gives on demand: two hundred devices, a hundred thousand slips,
 * names that are markup, seventy days, nothing at all. The states are invented; they only have to fit together.
 */
import type { DevicePlan, EventDeed, FeedPlan, LinkPlan, Plan, SparePlan } from "../../shared/plan.ts";
import type { Fact, Row, RunRecord } from "../../shared/record.ts";
import type { DeviceStretch, FeedStretch, FeedSummary, LinkStretch, Summary } from "../../shared/summary.ts";
import { type Ns, nsFromSeconds } from "../../shared/time.ts";
import { tell } from "../../sim/tell.ts";
import type { Run } from "../../viewer/run.ts";

export const RUN_SECONDS = 5400;
/** FOH comes back at 20 min + 75 s. */
const REBOOT = 1200;
const BACK = 1275;
const PULL = 2400;

export function device(
  id: string,
  name: string,
  clockSources: readonly string[],
  more: Partial<DevicePlan> = {},
): DevicePlan {
  return {
    id,
    name,
    kind: "desk",
    sampleRateHz: 48_000,
    clockSources,
    ports: {},
    oscillator: {
      type: "crystal",
      offsetPpm: 0,
      tolerancePpm: 25,
      ageingPpbPerDay: 0,
      tempcoPpmPerCelsius: 0,
      tempcoTable: null,
      startCelsius: 25,
      warmUpPpm: 0,
      warmUpSeconds: 300,
      coolDownSeconds: 900,
      wander: null,
    },
    loop: { naturalFrequencyHz: 1, damping: 1 },
    capturePpm: 50,
    steeringPpm: 75,
    lockWindowPercent: 5,
    unlockWindowPercent: 25,
    dwellSeconds: 1,
    reactionSeconds: 0.01,
    holdOffSeconds: 0.3,
    holdoverSeconds: 30,
    holdoverAverageSeconds: 0,
    holdoverErrorPpb: 0,
    waitToRestoreSeconds: 0,
    revertive: true,
    givesWhenUnlocked: true,
    whileBooting: "nothing",
    bootSeconds: 75,
    surfaceBootSeconds: more.bootSeconds ?? 75,
    engineBootSeconds: more.bootSeconds ?? 75,
    muteWhile: ["starting"],
    muteOutOfStep: "unknown",
    unmuteSeconds: 0,
    unmuteRampSeconds: 0,
    power: [],
    atStart: "on",
    ...more,
  };
}

export function link(
  id: string,
  from: readonly [string, number],
  to: readonly [string, number],
  more: Partial<LinkPlan> = {},
): LinkPlan {
  return {
    id,
    type: "madi",
    twoWay: false,
    hasReturn: true,
    a: { device: from[0], port: from[1] },
    b: { device: to[0], port: to[1] },
    medium: "coax",
    lengthMetres: 80,
    delaySeconds: 4.04e-7,
    laidAlong: [],
    noticeSeconds: 0.01,
    comingUpSeconds: 0.5,
    clockIsAgreed: false,
    channels: 56,
    latencySeconds: 6e-5,
    buffer: { slipSamples: 1, depthSamples: 2, startSamples: 1 },
    atStart: "plugged",
    ...more,
  };
}

export function feed(
  id: string,
  name: string,
  through: readonly string[],
  over: FeedPlan["hops"][number]["over"],
  heardBy: readonly string[],
): FeedPlan {
  const hops = over.map((hop, index) => ({
    from: through[index]!,
    to: through[index + 1]!,
    channels: 2,
    over: [hop],
    spare: null,
  }));
  return { id, name, through, hops, heardBy };
}

/** Slips at an even pace, first to last, all drops. */
export function train(
  link: string,
  way: "there" | "back",
  fromSeconds: number,
  everySeconds: number,
  count: number,
): Fact {
  return {
    kind: "slips",
    link,
    way,
    fromNs: nsFromSeconds(fromSeconds),
    toNs: nsFromSeconds(fromSeconds + everySeconds * (count - 1)),
    sign: 1,
    count,
    slipSamples: 1,
    depthSamples: 2,
    curve: { atNs: nsFromSeconds(fromSeconds), samples: 2, perSecond: 1 / everySeconds, perSecond2: 0, wander: null },
    netBefore: 0,
  };
}

type Deed = EventDeed & { readonly atSeconds: number; readonly undoes?: number };

interface Parts {
  readonly title?: string;
  readonly story?: string;
  readonly runSeconds?: number;
  readonly leaders?: readonly string[];
  readonly devices?: readonly DevicePlan[];
  readonly links?: readonly LinkPlan[];
  readonly spares?: readonly SparePlan[];
  readonly feeds?: readonly FeedPlan[];
  readonly events?: readonly Deed[];
  readonly facts?: readonly { readonly atSeconds: number; readonly subject: string; readonly fact: Fact }[];
  /** By device, "link way" and feed; what is left out is locked, given and clean throughout. */
  readonly states?: Readonly<Record<string, readonly DeviceStretch[]>>;
  readonly linkStates?: Readonly<Record<string, readonly LinkStretch[]>>;
  readonly feedStates?: Readonly<Record<string, readonly FeedStretch[]>>;
  readonly feedNotes?: Readonly<Record<string, Partial<FeedSummary>>>;
  readonly summary?: Partial<Summary>;
}

export function buildRun(parts: Parts): Run {
  const runSeconds = parts.runSeconds ?? RUN_SECONDS;
  const { devices = [], links = [], feeds = [], leaders = ["foh"] } = parts;
  const events = (parts.events ?? []).map(({ atSeconds, undoes = null, ...deed }) => ({
    ...deed,
    atNs: nsFromSeconds(atSeconds),
    undoes,
  }));
  const plan: Plan = {
    title: parts.title ?? "A run by hand",
    story: parts.story ?? "",
    lengthNs: nsFromSeconds(runSeconds),
    seed: "quay-1",
    begin: "settled",
    wanderGridSeconds: 1,
    sampleRateHz: 48_000,
    leaders,
    devices,
    links,
    spares: parts.spares ?? [],
    feeds,
    events,
    expect: [],
    assumed: ["holdoverSeconds 0: stage, pa", "dwellSeconds 1: stage, mon, pa", "reactionSeconds 0.01: all"],
  };
  const rows: Row[] = [
    ...events.map(
      (event, index): Row => ({ atNs: event.atNs, subject: "world", cause: -1, fact: { kind: "event", index, event } }),
    ),
    ...(parts.facts ?? []).map(
      ({ atSeconds, subject, fact }): Row => ({ atNs: nsFromSeconds(atSeconds), subject, cause: -1, fact }),
    ),
  ].sort((one, other) => one.atNs - other.atNs);
  const record: RunRecord = {
    format: 1,
    scenarioSha256: "0f".repeat(32),
    seed: plan.seed,
    endNs: nsFromSeconds(runSeconds) as Ns,
    rows,
    worstErrorSamples: 0.00031,
    assumed: plan.assumed,
  };
  const always = { fromSeconds: 0, toSeconds: runSeconds };
  const summary: Summary = {
    schemaVersion: 1,
    scenario: { title: plan.title, sha256: record.scenarioSha256 },
    seed: plan.seed,
    runSeconds,
    verdict: "none",
    devices: devices.map(({ id, name, clockSources }) => ({
      id,
      name,
      states: parts.states?.[id] ?? [
        clockSources[0] === "internal"
          ? { state: "free-run", source: "internal", ...always }
          : { state: "locked", source: clockSources[0] ?? null, ...always },
      ],
      offsetPpm: 4.2,
    })),
    links: links.flatMap(({ id, twoWay, hasReturn }) =>
      (twoWay ? (["both"] as const) : hasReturn ? (["there", "back"] as const) : (["there"] as const)).map((way) => ({
        id,
        way,
        states: parts.linkStates?.[`${id} ${way}`] ?? [
          { state: "up" as const, clock: hasReturn ? ("each-way" as const) : ("given" as const), ...always },
        ],
      })),
    ),
    feeds: feeds.map(({ id, name, heardBy }) => {
      const states = parts.feedStates?.[id] ?? [
        { state: "clean" as const, silence: null, because: null, slips: 0, ...always },
      ];
      const slips = states.reduce((sum, { slips }) => sum + slips, 0);
      const silent = states
        .filter(({ state }) => state === "silent")
        .map(({ fromSeconds, toSeconds }) => toSeconds - fromSeconds);
      return {
        id,
        name,
        heardBy,
        slips,
        drops: slips,
        repeats: 0,
        silentSeconds: silent.reduce((sum, seconds) => sum + seconds, 0),
        silentForDeviceDownSeconds: 0,
        silentForClockSeconds: 0,
        longestSilenceSeconds: Math.max(0, ...silent),
        dropouts: { whileFaulty: 0, onReturn: 0 },
        firstAudibleAtSeconds: 0,
        cleanAgainAtSeconds: null,
        returnsAtFullLevel: silent.length > 0,
        mayBeSilent: false,
        converterDelaySeconds: 0,
        latency: { mainSeconds: 0.001, mainSamples: 48, spareSeconds: null, spareSamples: null },
        states,
        realignedAtSeconds: [],
        ...parts.feedNotes?.[id],
      };
    }),
    events: events.map((event) => ({
      atSeconds: event.atNs / 1e9,
      do: event.do,
      on: "device" in event ? String(event.device) : "link" in event ? event.link : "path" in event ? event.path : "",
      undoes: event.undoes !== null,
    })),
    chains: { atStart: null, worst: null },
    expect: [],
    converters: [],
    holdovers: [],
    ridesOut: [],
    networks: [],
    findings: [],
    accepted: [],
    assumed: plan.assumed,
    worstErrorSamples: record.worstErrorSamples,
    ...parts.summary,
  };
  return { format: 1, plan, record, summary, telling: tell({ plan, record, summary }) };
}

/** The leader reboots, comes back, then a main cable is pulled for 90 s: every kind of state a lane can have. */
export function busyRun(): Run {
  const clean = (fromSeconds: number, toSeconds: number): FeedStretch => ({
    state: "clean",
    silence: null,
    because: null,
    slips: 0,
    fromSeconds,
    toSeconds,
  });
  const silent = (
    silence: FeedStretch["silence"],
    because: string,
    fromSeconds: number,
    toSeconds: number,
  ): FeedStretch => ({ state: "silent", silence, because, slips: 0, fromSeconds, toSeconds });
  const clicks = (slips: number, fromSeconds: number, toSeconds: number): FeedStretch => ({
    state: "slipping",
    silence: null,
    because: null,
    slips,
    fromSeconds,
    toSeconds,
  });
  const up = (fromSeconds: number, toSeconds: number): LinkStretch => ({
    state: "up",
    clock: "each-way",
    fromSeconds,
    toSeconds,
  });
  const link2 = (state: LinkStretch["state"], fromSeconds: number, toSeconds: number): LinkStretch => ({
    state,
    clock: "each-way",
    fromSeconds,
    toSeconds,
  });
  const is = (
    state: DeviceStretch["state"],
    source: string | null,
    fromSeconds: number,
    toSeconds: number,
  ): DeviceStretch => ({ state, source, fromSeconds, toSeconds });
  const end = RUN_SECONDS;
  const linkAfterReboot = (id: string) => ({
    [`${id} there`]: [
      up(0, REBOOT),
      link2("down", REBOOT, BACK),
      link2("coming-up", BACK, BACK + 0.5),
      up(BACK + 0.5, end),
    ],
    [`${id} back`]: [
      up(0, REBOOT),
      link2("down", REBOOT, BACK),
      link2("coming-up", BACK, BACK + 0.5),
      up(BACK + 0.5, end),
    ],
  });
  return buildRun({
    title: "The FOH desk reboots in act two",
    story:
      "The musical at Lantern Quay is in its second act when the FOH desk, which leads the clock and makes the PA mix, reboots. Twenty minutes later somebody trips over the main.",
    leaders: ["foh", "mon"],
    devices: [
      device("ears", "In-ear transmitters", ["1"], { kind: "transmitter" }),
      device("foh", "FOH desk", ["internal"]),
      device("guest", "Guest desk", ["internal"], { muteOutOfStep: "unknown" }),
      device("mon", "Monitor desk", ["2", "internal"]),
      device("pa", "PA processor", ["1"], { kind: "processor" }),
      device("stage", "Stage box", ["1", "2", "3"], { kind: "stage-box" }),
    ],
    links: [
      link("guest-in", ["guest", 1], ["foh", 4], {
        twoWay: true,
        hasReturn: false,
        type: "aes50",
        clockIsAgreed: true,
      }),
      link("main", ["stage", 1], ["foh", 1]),
      link("mon-stage", ["stage", 2], ["mon", 1]),
      link("spare", ["stage", 3], ["foh", 2]),
      link("tie", ["foh", 5], ["mon", 2]),
      link("to-ears", ["mon", 3], ["ears", 1], { hasReturn: false }),
      link("to-pa", ["foh", 3], ["pa", 1], { hasReturn: false }),
    ],
    feeds: [
      feed(
        "ear-mix",
        "In-ear mix",
        ["stage", "mon", "ears"],
        [
          { link: "mon-stage", way: "there" },
          { link: "to-ears", way: "there" },
        ],
        ["in-ears"],
      ),
      feed(
        "guest-mix",
        "Guest band",
        ["guest", "foh", "pa"],
        [
          { link: "guest-in", way: "there" },
          { link: "to-pa", way: "there" },
        ],
        ["pa"],
      ),
      feed(
        "pa-mix",
        "PA mix",
        ["stage", "foh", "pa"],
        [
          { link: "main", way: "there" },
          { link: "to-pa", way: "there" },
        ],
        ["pa"],
      ),
    ],
    events: [
      { atSeconds: REBOOT, do: "reboot", device: "foh", part: "all" },
      { atSeconds: PULL, do: "unplug", link: "main", end: null, way: null, into: null },
      { atSeconds: PULL + 90, do: "plug", link: "main", end: null, way: null, into: null, undoes: 1 },
      { atSeconds: 3600, do: "reboot", device: "mon", part: "surface" },
    ],
    states: {
      ears: [
        is("locked", "1", 0, REBOOT + 0.6),
        is("acquiring", "1", REBOOT + 0.6, REBOOT + 2),
        is("locked", "1", REBOOT + 2, end),
      ],
      foh: [
        is("free-run", "internal", 0, REBOOT),
        is("starting", null, REBOOT, BACK),
        is("free-run", "internal", BACK, end),
      ],
      mon: [
        is("locked", "2", 0, REBOOT + 0.01),
        is("holdover", null, REBOOT + 0.01, REBOOT + 0.31),
        is("free-run", "internal", REBOOT + 0.31, BACK + 0.51),
        is("acquiring", "2", BACK + 0.51, BACK + 2.9),
        is("locked", "2", BACK + 2.9, end),
      ],
      pa: [
        is("locked", "1", 0, REBOOT + 0.01),
        is("holdover", null, REBOOT + 0.01, REBOOT + 30),
        is("free-run", null, REBOOT + 30, BACK + 0.51),
        is("acquiring", "1", BACK + 0.51, BACK + 2.4),
        is("locked", "1", BACK + 2.4, end),
      ],
      stage: [
        is("locked", "1", 0, REBOOT + 0.01),
        is("holdover", null, REBOOT + 0.01, REBOOT + 0.32),
        is("acquiring", "2", REBOOT + 0.32, REBOOT + 1.9),
        is("locked", "2", REBOOT + 1.9, BACK + 0.51),
        is("acquiring", "1", BACK + 0.51, BACK + 2.9),
        is("locked", "1", BACK + 2.9, PULL + 0.01),
        is("holdover", null, PULL + 0.01, PULL + 0.32),
        is("acquiring", "2", PULL + 0.32, PULL + 1.7),
        is("locked", "2", PULL + 1.7, PULL + 90.51),
        is("acquiring", "1", PULL + 90.51, PULL + 92),
        is("locked", "1", PULL + 92, end),
      ],
    },
    linkStates: {
      "guest-in both": [
        { state: "up", clock: "disputed", fromSeconds: 0, toSeconds: REBOOT },
        { state: "down", clock: "disputed", fromSeconds: REBOOT, toSeconds: BACK },
        { state: "coming-up", clock: "disputed", fromSeconds: BACK, toSeconds: BACK + 0.5 },
        { state: "up", clock: "disputed", fromSeconds: BACK + 0.5, toSeconds: end },
      ],
      ...linkAfterReboot("tie"),
      ...linkAfterReboot("spare"),
      "main there": [
        ...linkAfterReboot("main")["main there"]!.slice(0, 3),
        up(BACK + 0.5, PULL),
        link2("down", PULL, PULL + 90),
        link2("coming-up", PULL + 90, PULL + 90.5),
        up(PULL + 90.5, end),
      ],
      "main back": [
        ...linkAfterReboot("main")["main back"]!.slice(0, 3),
        up(BACK + 0.5, PULL),
        link2("down", PULL, PULL + 90),
        link2("coming-up", PULL + 90, PULL + 90.5),
        up(PULL + 90.5, end),
      ],
      "to-pa there": linkAfterReboot("to-pa")["to-pa there"]!.map((stretch) => ({
        ...stretch,
        clock: "given" as const,
      })),
    },
    feedStates: {
      "ear-mix": [clean(0, BACK + 3), silent("muted", "mon", BACK + 3, BACK + 3.8), clean(BACK + 3.8, end)],
      "guest-mix": [
        clicks(348, 3.4, 3.4 + 347 * 3.44),
        silent("device-down", "foh", REBOOT, BACK + 0.5),
        clicks(1198, BACK + 4, BACK + 4 + 1197 * 3.44),
      ],
      "pa-mix": [
        clean(0, REBOOT),
        silent("device-down", "foh", REBOOT, BACK),
        silent("link-down", "main", BACK, BACK + 0.5),
        clean(BACK + 0.5, PULL),
        silent("link-down", "main", PULL, PULL + 90.5),
        silent("out-of-step", "pa", PULL + 90.5, PULL + 92.5),
        clean(PULL + 92.5, end),
      ],
    },
    feedNotes: {
      "ear-mix": {
        dropouts: { whileFaulty: 0, onReturn: 1 },
        cleanAgainAtSeconds: BACK + 3.8,
        realignedAtSeconds: [BACK + 0.51],
      },
      "guest-mix": { mayBeSilent: true, dropouts: { whileFaulty: 1, onReturn: 1 } },
      "pa-mix": {
        silentForDeviceDownSeconds: 75,
        silentForClockSeconds: 2,
        dropouts: { whileFaulty: 2, onReturn: 0 },
        cleanAgainAtSeconds: PULL + 92.5,
      },
    },
    facts: [
      { atSeconds: 3.4, subject: "port foh.4", fact: train("guest-in", "there", 3.4, 3.44, 348) },
      { atSeconds: BACK + 4, subject: "port foh.4", fact: train("guest-in", "there", BACK + 4, 3.44, 1198) },
      {
        atSeconds: 0,
        subject: "port foh.4",
        fact: { kind: "input", link: "guest-in", way: "there", decodes: true, inStep: false },
      },
      { atSeconds: BACK + 0.51, subject: "device mon", fact: { kind: "re-aligned", bySeconds: 4.1e-6 } },
      { atSeconds: 3600, subject: "device mon", fact: { kind: "surface", works: false } },
      { atSeconds: 3675, subject: "device mon", fact: { kind: "surface", works: true } },
    ],
    summary: {
      verdict: "failed",
      expect: [
        { expected: "PA mix: silent for 75 to 80 s", met: false, found: "silent for 2 min 48 s" },
        { expected: "In-ear mix: at most 1 slip", met: true, found: "no slips" },
      ],
      findings: [
        {
          rule: "left-on-internal",
          severity: "error",
          devices: ["guest"],
          links: ["guest-in"],
          path: ["rig", "devices", 2, "clockSources"],
          what: "The guest desk is left on its own clock although the FOH desk gives it one.",
          why: "Two clocks are never quite equal, so what passes between them slips.",
          see: "Its lock lamp may be lit; the PA clicks every 3.4 s.",
          remedy: "Set the clock source of the guest desk to port 1 (FOH desk).",
        },
        {
          rule: "clock-disputed",
          severity: "warning",
          devices: ["guest", "foh"],
          links: ["guest-in"],
          path: ["rig", "links", 0],
          what: "Both ends of cable guest-in give clock.",
          why: "One end of this kind of link has to take.",
          see: "Both ends may show lock.",
          remedy: "Let port 1 of the guest desk take.",
        },
      ],
    },
  });
}

export function emptyRun(): Run {
  return buildRun({ title: "Nothing at all", leaders: [], summary: { assumed: [] } });
}

/** Devices in a row of stars, most of them quiet, with a link each. */
export function largeRun(count: number): Run {
  const ids = Array.from({ length: count }, (_, index) => `d${String(index).padStart(3, "0")}`);
  const devices = ids.map((id, index) => device(id, `Device ${index + 1}`, index === 0 ? ["internal"] : ["1"]));
  const links = ids.slice(1).map((id, index) => link(`l${index}`, [ids[Math.floor(index / 8)]!, 100 + index], [id, 1]));
  const flapping = Array.from(
    { length: 3000 },
    (_, index): DeviceStretch => ({
      state: index % 2 ? "locked" : "acquiring",
      source: "1",
      fromSeconds: index * 1.8,
      toSeconds: (index + 1) * 1.8,
    }),
  );
  return buildRun({ title: "Many devices", leaders: [ids[0]!], devices, links, states: { [ids[7]!]: flapping } });
}

/** One feed that slips a hundred thousand times within an hour and a half. */
export function slippingRun(count: number): Run {
  const everySeconds = (RUN_SECONDS - 2) / count;
  const last = 1 + everySeconds * (count - 1);
  return buildRun({
    title: "Very many slips",
    devices: [device("foh", "FOH desk", ["internal"]), device("mon", "Monitor desk", ["internal"])],
    links: [link("tie", ["foh", 1], ["mon", 1], { hasReturn: false })],
    feeds: [feed("split", "Split", ["foh", "mon"], [{ link: "tie", way: "there" }], ["wedges"])],
    feedStates: {
      split: [
        { state: "clean", silence: null, because: null, slips: 0, fromSeconds: 0, toSeconds: 1 },
        { state: "slipping", silence: null, because: null, slips: count, fromSeconds: 1, toSeconds: last },
        { state: "clean", silence: null, because: null, slips: 0, fromSeconds: last, toSeconds: RUN_SECONDS },
      ],
    },
    facts: [{ atSeconds: 1, subject: "port mon.1", fact: train("tie", "there", 1, everySeconds, count) }],
  });
}

/** Seventy days with one slip on the last evening. */
export function longRun(): Run {
  const runSeconds = 70 * 86_400;
  const at = runSeconds - 3600;
  return buildRun({
    title: "Seventy days",
    runSeconds,
    devices: [device("foh", "FOH desk", ["internal"]), device("mon", "Monitor desk", ["internal"])],
    links: [link("tie", ["foh", 1], ["mon", 1], { hasReturn: false })],
    feeds: [feed("split", "Split", ["foh", "mon"], [{ link: "tie", way: "there" }], ["record"])],
    feedStates: {
      split: [
        { state: "clean", silence: null, because: null, slips: 0, fromSeconds: 0, toSeconds: at },
        { state: "slipping", silence: null, because: null, slips: 1, fromSeconds: at, toSeconds: at },
        { state: "clean", silence: null, because: null, slips: 0, fromSeconds: at, toSeconds: runSeconds },
      ],
    },
    facts: [{ atSeconds: at, subject: "port mon.1", fact: train("tie", "there", at, 1, 1) }],
  });
}

export const MARKUP_NAME = `<img src=x onerror="document.title='foreign'"> & </script><b>desk</b>`;
export const RIGHT_TO_LEFT_NAME = "שולחן מוניטורים 2";

/** One word, wider than a telephone. */
export const LONG_NAME = `Donaudampfschiff${"fahrtselektrizitätenhauptbetriebswerk".repeat(2)} box`;

export function strangeRun(): Run {
  return buildRun({
    title: MARKUP_NAME,
    devices: [
      device("foh", MARKUP_NAME, ["internal"]),
      device("mon", RIGHT_TO_LEFT_NAME, ["1"]),
      device("box", LONG_NAME, ["1"]),
    ],
    links: [
      link("tie", ["foh", 1], ["mon", 1], { hasReturn: false }),
      link("far", ["foh", 2], ["box", 1], { hasReturn: false }),
    ],
    feeds: [
      feed("split", RIGHT_TO_LEFT_NAME, ["foh", "mon"], [{ link: "tie", way: "there" }], ["wedges"]),
      feed("far-mix", LONG_NAME, ["foh", "box"], [{ link: "far", way: "there" }], ["pa"]),
    ],
    events: [{ atSeconds: 60, do: "reboot", device: "foh", part: "surface" }],
  });
}
