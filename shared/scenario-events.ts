/**
 * Events: what each is about must be there, and make sense at its instant. They are played through in order of time,
 * so far as the file alone decides: which plug is in which port, which sources a device listens to, what a port gives,
 * which battery is empty. `forSeconds` becomes a second event, with what was in force before; a cable that comes and
 * goes becomes two for each turn.
 */
import { quote } from "./issues.ts";
import type { EventDeed, EventPlan, IntermittentPlan } from "./plan.ts";
import type { Item, Place } from "./scenario-draft.ts";
import { reportDuplicates, sound } from "./scenario-draft.ts";
import type { Names, Rig } from "./scenario-names.ts";
import { namesIn } from "./scenario-names.ts";
import { Plugs } from "./scenario-plugs.ts";
import type { EventFile } from "./scenario-schema.ts";
import { Settings } from "./scenario-settings.ts";
import type { Ns } from "./time.ts";
import { later, nsFromSeconds } from "./time.ts";
import { formatShowTime, parseShowTime } from "./units.ts";

/** One instant of a written event: all of it, its second half, one turn of many. */
interface Happening {
  readonly atNs: Ns;
  readonly undoes: Happening | null;
  /** Place in the file's `events`; null: from the command line. */
  readonly written: number | null;
  /** Asked for in order of time. Null: nothing happens. */
  play(): EventDeed | null;
  deed: EventDeed | null;
}

/** More turns than this tell nobody more, and each costs a run its time. */
const TURNS_MAX = 1000;

export function resolveEvents(rig: Rig): EventPlan[] {
  const { draft } = rig;
  const names = namesIn(rig);
  const plugs = new Plugs(rig);
  const settings = new Settings(rig, names, plugs);
  const batteries = new Batteries(rig, names);
  const happenings: Happening[] = [];
  // What runs down loses against a supply that is back at the same instant.
  const last: Happening[] = [];
  const isInRun = (atNs: Ns): boolean => draft.lengthNs === null || atNs <= draft.lengthNs;
  for (const item of draft.events) {
    if (item.value === null) continue;
    const event = item.value;
    const written = item.json === draft.scenario.json ? Number(item.path.at(-1)) : null;
    const add = (list: Happening[], atNs: Ns, undoes: Happening | null, play: Happening["play"]): Happening => {
      const happening: Happening = { atNs, undoes, written, play, deed: null };
      list.push(happening);
      return happening;
    };
    const atNs = parseShowTime(event.at) as Ns;
    checkThings(rig, names, item, event);
    if (!isInRun(atNs))
      rig.report(item, ["at"], {
        expected: `an instant within the run, up to ${formatShowTime(draft.lengthNs as Ns)}`,
        remedy: "make run.length longer, or the event earlier",
      });
    if (event.do === "intermittent") {
      for (const turn of turnsOf(rig, plugs, item, event, atNs)) {
        const first = add(happenings, turn.fromNs, null, () => ({ do: "lose-contact", ...turn.deed }));
        if (isInRun(turn.toNs)) add(happenings, turn.toNs, first, () => ({ do: "make-contact", ...turn.deed }));
      }
      continue;
    }
    const first = add(happenings, atNs, null, () => play(item, event, atNs, plugs, settings, batteries));
    const batterySeconds = event.do === "power-cut" ? batteries.secondsOf(event.supply) : undefined;
    if (batterySeconds !== undefined && event.do === "power-cut" && event.supply !== undefined) {
      const { supply } = event;
      const emptyNs = later(atNs, nsFromSeconds(batterySeconds));
      if (isInRun(emptyNs)) add(last, emptyNs, null, () => batteries.empty(supply, atNs));
    }
    if (!("forSeconds" in event) || event.forSeconds === undefined) continue;
    const backNs = later(atNs, atLeastOne(event.forSeconds));
    if (isInRun(backNs))
      add(happenings, backNs, first, () => undo(first.deed, item, event, backNs, plugs, settings, batteries));
  }
  // Sorting is stable: at one instant, as written.
  const sorted = [...happenings, ...last].sort((a, b) => a.atNs - b.atNs);
  for (const happening of sorted) {
    happening.deed = happening.play();
    if (happening.deed !== null) settings.follow(happening.deed);
  }
  const kept = sorted.filter(({ deed }) => deed !== null);
  const index = new Map(kept.map((happening, position) => [happening, position]));
  return kept.map(({ atNs, deed, undoes, written }) => ({
    atNs,
    undoes: undoes === null ? null : (index.get(undoes) ?? null),
    written,
    ...(deed as EventDeed),
  }));
}

function atLeastOne(seconds: number): Ns {
  return Math.max(1, nsFromSeconds(seconds)) as Ns;
}

// ---- what there is

function checkThings(rig: Rig, names: Names, item: Place, event: EventFile): void {
  const { report, unknown } = rig;
  if ("device" in event && event.device !== undefined && !names.sets.device.has(event.device))
    report(item, ["device"], {
      expected: "the id of a device",
      remedy: unknown(event.device, names.devices, "device"),
    });
  else if (event.do === "stop-sync") checkNetwork(rig, names, item, event.device);
  if ("link" in event && !names.sets.link.has(event.link))
    report(item, ["link"], { expected: "the id of a link", remedy: unknown(event.link, names.links, "link") });
  if (event.do === "cut" && names.linksAreWhole && !names.sets.path.has(event.path))
    report(item, ["path"], {
      expected: "something that a link is laid along",
      remedy: unknown(event.path, names.paths, "laidAlong"),
    });
  if (event.do === "power-cut" || event.do === "power-back") {
    const { device, supply } = event;
    if (supply !== undefined && names.devicesAreWhole && !names.sets.supply.has(supply))
      report(item, ["supply"], { expected: "a supply of a device", remedy: unknown(supply, names.supplies, "supply") });
    if ((device === undefined) === (supply === undefined))
      report(item, [], {
        expected: "a device or a supply",
        received: device === undefined ? "neither" : "both",
        remedy: device === undefined ? 'add "device" or "supply"' : "keep one of the two",
      });
  }
}

/** Sync is what a device sends to a network. */
function checkNetwork({ links, report }: Rig, names: Names, item: Place, device: string): void {
  const onNetwork = [...links.values()].flatMap(({ plan }) =>
    plan.ethernet === undefined ? [] : [plan.a.device, plan.b.device],
  );
  if (!names.linksAreWhole || onNetwork.includes(device)) return;
  const [first] = [...new Set(onNetwork)].sort();
  report(item, ["device"], {
    expected: "a device with an ethernet link: only a network has sync",
    remedy: first === undefined ? "take the event out: this rig has no network" : `name one such as ${quote(first)}`,
  });
}

/** Supplies that go on for a while without mains, and since when they have none. */
class Batteries {
  private readonly seconds = new Map<string, number>();
  private readonly cutAtNs = new Map<string, Ns>();

  constructor({ draft, report, unknown }: Rig, names: Names) {
    reportDuplicates(draft.supplies, "supply", report);
    for (const item of sound(draft.supplies)) {
      if (item.value.batterySeconds !== undefined) this.seconds.set(item.id, item.value.batterySeconds);
      if (names.devicesAreWhole && !names.sets.supply.has(item.id))
        report(item, ["id"], {
          expected: "a supply that a device has in its power",
          remedy: unknown(item.id, names.supplies, "supply"),
        });
    }
  }

  secondsOf(supply: string | undefined): number | undefined {
    return supply === undefined ? undefined : this.seconds.get(supply);
  }

  cut(supply: string, atNs: Ns): void {
    if (!this.cutAtNs.has(supply)) this.cutAtNs.set(supply, atNs);
  }

  /** From here on the battery is full again: the better case. */
  back(supply: string): void {
    this.cutAtNs.delete(supply);
  }

  /** Null where the supply has been back since that cut, or had been cut before. */
  empty(supply: string, cutAtNs: Ns): EventDeed | null {
    return this.cutAtNs.get(supply) === cutAtNs ? { do: "battery-empty", supply } : null;
  }
}

// ---- a cable that comes and goes

interface Turn {
  readonly fromNs: Ns;
  readonly toNs: Ns;
  readonly deed: Omit<EventDeed & { do: "lose-contact" }, "do">;
}

/** Turns that begin within `forSeconds`, or so many, or up to the end of the run. */
function turnsOf(
  { draft, report }: Rig,
  plugs: Plugs,
  item: Place,
  event: EventFile & { do: "intermittent" },
  atNs: Ns,
): Turn[] {
  const { everySeconds, outSeconds, count, forSeconds } = event;
  const named = plugs.named(item, event);
  if (outSeconds >= everySeconds)
    report(item, ["outSeconds"], {
      expected: `less than everySeconds, ${everySeconds}: the cable comes back in between`,
      remedy: "make it shorter, or write an unplug for a cable that stays out",
    });
  if (count !== undefined && forSeconds !== undefined)
    report(item, ["count"], {
      expected: "count or forSeconds, not both",
      remedy: "keep one of the two",
    });
  const everyNs = atLeastOne(everySeconds);
  const fitting = draft.lengthNs === null ? 1 : Math.floor((draft.lengthNs - atNs) / everyNs) + 1;
  const meant = count ?? (forSeconds === undefined ? fitting : Math.ceil(nsFromSeconds(forSeconds) / everyNs));
  const turns = Math.max(1, Math.min(fitting, meant));
  if (turns > TURNS_MAX) {
    report(item, ["everySeconds"], {
      expected: `at most ${TURNS_MAX} turns in the run`,
      received: `${turns} of them`,
      remedy: "make everySeconds longer, or add a count or forSeconds",
    });
    return [];
  }
  if (named === null) return [];
  const { link, side } = named;
  return Array.from({ length: turns }, (_, index) => {
    const fromNs = later(atNs, (index * everyNs) as Ns);
    const intermittent: IntermittentPlan = { turn: index + 1, turns, everySeconds, outSeconds };
    const deed = { link: link.id, end: side, way: event.way ?? null, intermittent };
    return { fromNs, toNs: later(fromNs, atLeastOne(outSeconds)), deed };
  });
}

// ---- deeds

type Written = Exclude<EventFile, { do: "intermittent" }>;

function play(
  item: Item<EventFile>,
  event: Written,
  atNs: Ns,
  plugs: Plugs,
  settings: Settings,
  batteries: Batteries,
): EventDeed | null {
  switch (event.do) {
    case "unplug":
    case "plug": {
      const named = plugs.named(item, event);
      if (!named) return null;
      const into = event.do === "plug" ? (event.into ?? null) : null;
      if (event.do === "unplug") plugs.pull(named);
      else plugs.push(named, into, item, into === null ? ["link"] : ["into"], atNs, false);
      return { do: event.do, link: named.link.id, end: named.side, way: event.way ?? null, into };
    }
    case "cut":
      return { do: "cut", path: event.path };
    case "reboot":
      return { do: "reboot", device: event.device, part: event.part ?? "all" };
    case "power-cut": {
      const { device = null, supply = null } = event;
      const batterySeconds = batteries.secondsOf(event.supply);
      if (supply !== null) batteries.cut(supply, atNs);
      return { do: "power-cut", device, supply, ...(batterySeconds === undefined ? {} : { batterySeconds }) };
    }
    case "power-back":
      if (event.supply !== undefined) batteries.back(event.supply);
      return { do: "power-back", device: event.device ?? null, supply: event.supply ?? null };
    case "hang":
    case "stop-sync":
    case "stick":
      return { do: event.do, device: event.device };
    case "step-frequency":
      return { do: "step-frequency", device: event.device, offsetPpm: event.offsetPpm };
    case "temperature":
      return {
        do: "temperature",
        device: event.device ?? null,
        toCelsius: event.toCelsius,
        overSeconds: event.overSeconds,
      };
    default:
      return settings.play(item, atNs, event);
  }
}

function undo(
  deed: EventDeed | null,
  item: Place,
  event: Written,
  backNs: Ns,
  plugs: Plugs,
  settings: Settings,
  batteries: Batteries,
): EventDeed | null {
  if (deed === null) return null;
  switch (deed.do) {
    case "unplug": {
      const named = plugs.named(item, event as EventFile & { do: "unplug" });
      if (named) plugs.push(named, null, item, ["forSeconds"], backNs, true);
      return { ...deed, do: "plug" };
    }
    case "cut":
      return { ...deed, do: "mend" };
    case "power-cut":
      if (deed.supply !== null) batteries.back(deed.supply);
      return { do: "power-back", device: deed.device, supply: deed.supply };
    case "hang":
      return { ...deed, do: "unhang" };
    case "stop-sync":
      return { ...deed, do: "start-sync" };
    case "stick":
      return { ...deed, do: "unstick" };
    case "step-frequency":
      return { ...deed, offsetPpm: null };
    default:
      return settings.undo(event);
  }
}
