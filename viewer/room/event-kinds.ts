/** What can be made to happen in a rig, in the order in which crews think of it: what each needs, and to what. */
import { cableOf } from "../../shared/lines.ts";
import type { DevicePlan, LinkPlan, Plan } from "../../shared/plan.ts";
import { deviceById } from "../../sim/by-id.ts";
import { cableIn, capital, source } from "../../sim/tell/words.ts";
import { SECONDS_MAX } from "./typed.ts";

export interface Choice {
  readonly value: string;
  readonly text: string;
}

/** One thing to fill in beside what it happens to. */
export type Field =
  | {
      readonly name: string;
      readonly label: string;
      readonly type: "choice";
      choices(plan: Plan, which: string): readonly Choice[];
    }
  | {
      readonly name: string;
      readonly label: string;
      readonly type: "number";
      readonly unit: string;
      readonly initial: number;
      readonly min: number;
      readonly max: number;
    }
  | {
      readonly name: string;
      readonly label: string;
      readonly type: "text";
      initial(plan: Plan, which: string): string;
    };

export interface EventKind {
  readonly do: string;
  /** "Pull a cable" */
  readonly words: string;
  /** To what it can happen; empty: not in this rig. */
  things(plan: Plan): readonly Choice[];
  readonly fields: readonly Field[];
  /** Whether it can be over after a while. */
  readonly canEnd: boolean;
  /** What the file says of it, besides time and kind. */
  written(which: string, values: Readonly<Record<string, string>>): Readonly<Record<string, unknown>>;
}

const devices = (plan: Plan, wanted: (device: DevicePlan) => boolean = () => true): Choice[] =>
  plan.devices.filter(wanted).map(({ id, name }) => ({ value: id, text: name }));

/** Each cable once, with its ends where its name does not say them. */
function cables(plan: Plan, wanted: (link: LinkPlan) => boolean = () => true): Choice[] {
  const all = plan.links.filter(wanted);
  return [...new Set(all.map(cableOf))].map((value) => {
    const link = all.find((one) => cableOf(one) === value);
    const text = capital(cableIn(plan, value));
    if (link === undefined || link.stream !== undefined || link.line !== undefined) return { value, text };
    return { value, text: `${text}: ${nameOf(plan, link.a.device)} to ${nameOf(plan, link.b.device)}` };
  });
}

const nameOf = (plan: Plan, id: string) => deviceById(plan, id)?.name ?? id;

function pulled(plan: Plan): ReadonlySet<string> {
  return new Set(
    plan.events.flatMap((event) => (event.do === "unplug" || event.do === "lose-contact" ? [event.link] : [])),
  );
}

const supplies = (plan: Plan): Choice[] =>
  [...new Set(plan.devices.flatMap(({ power }) => power))]
    .sort()
    .map((supply) => ({ value: `supply ${supply}`, text: `Supply ${supply}` }));

const powered = (plan: Plan): Choice[] => [
  ...devices(plan).map(({ value, text }) => ({ value: `device ${value}`, text })),
  ...supplies(plan),
];

function poweredWritten(which: string): Readonly<Record<string, unknown>> {
  const [kind = "", ...name] = which.split(" ");
  return { [kind]: name.join(" ") };
}

const onNetwork = (plan: Plan): Choice[] => {
  const ids = new Set(
    plan.links.flatMap((link) => (link.ethernet === undefined ? [] : [link.a.device, link.b.device])),
  );
  return devices(plan, ({ id }) => ids.has(id));
};

const sourcesOf = (plan: Plan, which: string): readonly string[] => deviceById(plan, which)?.clockSources ?? [];

const portsOf = (plan: Plan, which: string): number[] =>
  [
    ...new Set(
      plan.links.flatMap(({ a, b }) => [a, b].filter(({ device }) => device === which).map(({ port }) => port)),
    ),
  ].sort((one, other) => one - other);

const onDevice = (words: string, name: string, canEnd: boolean): EventKind => ({
  do: name,
  words,
  things: (plan) => devices(plan),
  fields: [],
  canEnd,
  written: (device) => ({ device }),
});

export const EVENT_KINDS: readonly EventKind[] = [
  {
    do: "unplug",
    words: "Pull a cable",
    things: (plan) => cables(plan),
    fields: [],
    canEnd: true,
    written: (link) => ({ link }),
  },
  {
    do: "plug",
    words: "Plug a cable in",
    things: (plan) => {
      const out = pulled(plan);
      return cables(plan, (link) => link.atStart === "unplugged" || out.has(link.id) || out.has(cableOf(link)));
    },
    fields: [],
    canEnd: false,
    written: (link) => ({ link }),
  },
  {
    do: "intermittent",
    words: "A cable comes and goes",
    things: (plan) => cables(plan),
    fields: [
      { name: "outSeconds", label: "out for", type: "number", unit: "s", initial: 0.2, min: 0.001, max: SECONDS_MAX },
      { name: "everySeconds", label: "every", type: "number", unit: "s", initial: 2, min: 0.001, max: SECONDS_MAX },
    ],
    canEnd: true,
    written: (link, { outSeconds, everySeconds }) => ({
      link,
      everySeconds: Number(everySeconds),
      outSeconds: Number(outSeconds),
    }),
  },
  {
    do: "cut",
    words: "Cut all cables along",
    things: (plan) =>
      [...new Set(plan.links.flatMap(({ laidAlong }) => laidAlong))].sort().map((value) => ({ value, text: value })),
    fields: [],
    canEnd: true,
    written: (path) => ({ path }),
  },
  {
    do: "reboot",
    words: "Reboot",
    things: (plan) => devices(plan),
    fields: [
      {
        name: "part",
        label: "which part",
        type: "choice",
        choices: () => [
          { value: "all", text: "all of it" },
          { value: "engine", text: "the engine alone" },
          { value: "surface", text: "the surface alone" },
        ],
      },
    ],
    canEnd: false,
    written: (device, { part }) => ({ device, ...(part === "all" ? {} : { part }) }),
  },
  { do: "power-cut", words: "Cut the power of", things: powered, fields: [], canEnd: true, written: poweredWritten },
  {
    do: "power-back",
    words: "Give power back to",
    things: powered,
    fields: [],
    canEnd: false,
    written: poweredWritten,
  },
  onDevice("Hang", "hang", true),
  { ...onDevice("Stop sending sync", "stop-sync", true), things: onNetwork },
  onDevice("Stick to its clock source", "stick", true),
  {
    do: "set-clock-sources",
    words: "Set the clock sources of",
    things: (plan) => devices(plan),
    fields: [
      {
        name: "clockSources",
        label: "listens to port, then (internal: its own clock)",
        type: "text",
        initial: (plan, which) => sourcesOf(plan, which).join(", then "),
      },
    ],
    canEnd: true,
    written: (device, { clockSources = "" }) => ({ device, clockSources: sourcesIn(clockSources) }),
  },
  {
    do: "choose-source",
    words: "Send to a clock source",
    things: (plan) => devices(plan, ({ clockSources }) => clockSources.length > 1),
    fields: [
      {
        name: "source",
        label: "goes to",
        type: "choice",
        choices: (plan, which) => sourcesOf(plan, which).map((value) => ({ value, text: source(value) })),
      },
    ],
    canEnd: false,
    written: (device, { source }) => ({ device, source }),
  },
  {
    do: "set-port-clock",
    words: "Turn the clock of a port round",
    things: (plan) => devices(plan, ({ id }) => portsOf(plan, id).length > 0),
    fields: [
      {
        name: "port",
        label: "port",
        type: "choice",
        choices: (plan, which) => portsOf(plan, which).map((port) => ({ value: String(port), text: String(port) })),
      },
      {
        name: "clock",
        label: "to",
        type: "choice",
        choices: () => [
          { value: "give", text: "give clock" },
          { value: "take", text: "take clock" },
        ],
      },
    ],
    canEnd: true,
    written: (device, { port, clock }) => ({ device, port: Number(port), clock }),
  },
  {
    do: "step-frequency",
    words: "Step the own clock of",
    things: (plan) => devices(plan),
    fields: [
      { name: "offsetPpm", label: "to", type: "number", unit: "ppm off nominal", initial: 5, min: -1000, max: 1000 },
    ],
    canEnd: true,
    written: (device, { offsetPpm }) => ({ device, offsetPpm: Number(offsetPpm) }),
  },
  {
    do: "temperature",
    words: "Change the air around",
    things: (plan) => [{ value: "", text: "All devices" }, ...devices(plan)],
    fields: [
      { name: "toCelsius", label: "to", type: "number", unit: "°C", initial: 35, min: -50, max: 100 },
      { name: "overSeconds", label: "within", type: "number", unit: "s", initial: 600, min: 0, max: SECONDS_MAX },
    ],
    canEnd: false,
    written: (device, { toCelsius, overSeconds }) => ({
      ...(device === "" ? {} : { device }),
      toCelsius: Number(toCelsius),
      overSeconds: Number(overSeconds),
    }),
  },
];

/** "port 1, then 2, then its own clock" → ["1", "2", "internal"]; what is none of these goes on as it was typed. */
export function sourcesIn(text: string): string[] {
  return text
    .split(/,|\bthen\b/iu)
    .map((word) => word.replace(/\bport\b/iu, "").trim())
    .filter((word) => word !== "")
    .map((word) => (/^(?:its )?own(?: clock)?$/iu.test(word) ? "internal" : word));
}

/** The kind's words with whom it is about, where no run has told of it yet: "Pull a cable: Main". */
export function plainWords(plan: Plan | null, event: Readonly<Record<string, unknown>>): string {
  const kind = EVENT_KINDS.find((one) => one.do === event.do);
  const which = event.link ?? event.path ?? event.supply ?? event.device ?? "";
  const things = plan === null ? [] : (kind?.things(plan) ?? []);
  const thing = things.find(
    ({ value }) => value === which || value === `device ${which}` || value === `supply ${which}`,
  );
  return `${kind?.words ?? String(event.do)}: ${thing?.text ?? String(which)}.`;
}
