/**
 * Survival limits: the longest break, the shortest pause between two breaks, the longest reboot that nobody hears, each
 * found by halving. What is heard need not grow with what is done (a return may fall well or badly), so a limit says that
 * what is just below it is not heard and what is just above is, and not that nothing below it ever is.
 */
import type { DevicePlan, EventDeed, LinkPlan, Plan } from "../../shared/plan.ts";
import type { Ns } from "../../shared/time.ts";
import type { Fault } from "./list.ts";
import type { Standing } from "./moments.ts";
import { Trier, watchedEnough } from "./trial.ts";

export interface Limit {
  readonly kind: "break" | "reboot" | "contact";
  /** Cable or device. */
  readonly on: string;
  /** Not heard, s; null: not even the shortest that was tried. */
  readonly unheardSeconds: number | null;
  /** Heard, s; null: not even the longest that was tried. */
  readonly heardSeconds: number | null;
  /** Feeds that hear it first. */
  readonly feeds: readonly string[];
}

/** The least and the most that is tried, s: a tenth of a millisecond is five samples; an hour is a show. */
const LEAST_SECONDS = 1e-4;
const MOST_SECONDS = 3600;
/** Halvings of the ratio between the two: the limit is then known to a thousandth. */
const STEPS = 34;
const CLOSE = 1.001;
/** Of a cable that comes and goes: how long it is out each time, and how often, *assumed*. */
const CONTACT_OUT_SECONDS = 0.02;
const CONTACT_TURNS = 6;

export function limitsOf(
  plan: Plan,
  standing: Standing,
  onProgress: (done: number, of: number) => void = () => {},
): Limit[] {
  const cables = plan.links.filter(({ stream }) => stream === undefined);
  const asked = [
    ...cables.map((link) => () => breakLimit(plan, standing, link)),
    ...cables.map((link) => () => contactLimit(plan, standing, link)),
    ...plan.devices.map((device) => () => rebootLimit(plan, standing, device)),
  ];
  return asked.map((ask, place) => {
    const limit = ask();
    onProgress(place + 1, asked.length);
    return limit;
  });
}

function breakLimit(plan: Plan, standing: Standing, link: LinkPlan): Limit {
  const end = link.line === undefined ? null : "b";
  const deed = { link: link.id, end, way: null, into: null } as const;
  const found = bisect((seconds) => {
    const course = [
      { afterSeconds: 0, deed: { do: "unplug", ...deed } as EventDeed },
      { afterSeconds: seconds, deed: { do: "plug", ...deed } as EventDeed, undoes: 0 },
    ];
    return heardFrom(plan, standing, faultOf("cable-out", link.id, course, seconds));
  });
  return { kind: "break", on: link.id, ...found };
}

/** How long it must hold between two breaks of 20 ms for none of six to be heard: the other way round. */
function contactLimit(plan: Plan, standing: Standing, link: LinkPlan): Limit {
  const end = link.line === undefined ? null : "b";
  const found = bisect(
    (seconds) => {
      const everySeconds = CONTACT_OUT_SECONDS + seconds;
      const course = Array.from({ length: CONTACT_TURNS }, (_, index) => {
        const intermittent = { turn: index + 1, turns: CONTACT_TURNS, everySeconds, outSeconds: CONTACT_OUT_SECONDS };
        const deed = { link: link.id, end, way: null, intermittent } as const;
        const afterSeconds = index * everySeconds;
        return [
          { afterSeconds, deed: { do: "lose-contact", ...deed } as EventDeed },
          {
            afterSeconds: afterSeconds + CONTACT_OUT_SECONDS,
            deed: { do: "make-contact", ...deed } as EventDeed,
            undoes: 2 * index,
          },
        ];
      });
      return heardFrom(plan, standing, faultOf("bad-contact", link.id, course.flat(), null));
    },
    { isHeardBelow: true, most: 60 },
  );
  return { kind: "contact", on: link.id, ...found };
}

/** The device as if it took so long to boot. */
function rebootLimit(plan: Plan, standing: Standing, device: DevicePlan): Limit {
  const found = bisect((seconds) => {
    const devices = plan.devices.map((each) =>
      each.id === device.id
        ? { ...each, bootSeconds: seconds, surfaceBootSeconds: seconds, engineBootSeconds: seconds }
        : each,
    );
    const course = [{ afterSeconds: 0, deed: { do: "reboot", device: device.id, part: "all" } as EventDeed }];
    return heardFrom({ ...plan, devices }, standing, faultOf("reboot", device.id, course, null));
  });
  return { kind: "reboot", on: device.id, ...found };
}

function faultOf(kind: Fault["kind"], on: string, course: Fault["course"], ends: number | null): Fault {
  return { id: `${kind} ${on}`, kind, on, devices: [], links: [], course, repairedAfterSeconds: ends };
}

/** Feeds in which it is heard. */
function heardFrom(plan: Plan, standing: Standing, fault: Fault): string[] {
  const cases = [[fault]];
  const watchSeconds = watchedEnough(plan, cases, 0);
  const neededNs = Math.ceil(standing.atNs + (watchSeconds + 1) * 1e9) as Ns;
  const lengthNs = neededNs > plan.lengthNs ? neededNs : plan.lengthNs;
  const sweep = {
    plan: { ...plan, lengthNs },
    standings: [standing],
    seeds: [plan.seed],
    cases,
    watchSeconds,
    apartSeconds: 0,
  };
  return new Trier(sweep)
    .play(0)
    .harms.flatMap(({ feed, normalAfterSeconds }) => (normalAfterSeconds === 0 ? [] : [feed]));
}

type Found = Omit<Limit, "kind" | "on">;

/** @param isHeardBelow short is what hurts, and long is not heard */
export function bisect(
  heardAt: (seconds: number) => readonly string[],
  { isHeardBelow = false, most = MOST_SECONDS }: { readonly isHeardBelow?: boolean; readonly most?: number } = {},
): Found {
  const [quiet, loud] = isHeardBelow ? [most, LEAST_SECONDS] : [LEAST_SECONDS, most];
  const atQuiet = heardAt(quiet);
  if (atQuiet.length > 0) return { unheardSeconds: null, heardSeconds: quiet, feeds: atQuiet };
  const atLoud = heardAt(loud);
  if (atLoud.length === 0) return { unheardSeconds: loud, heardSeconds: null, feeds: [] };
  let [unheard, heard, feeds] = [quiet, loud, atLoud];
  for (let step = 0; step < STEPS && Math.max(heard / unheard, unheard / heard) > CLOSE; step += 1) {
    // In the middle of the ratio: limits are as often milliseconds as minutes.
    const middle = Math.sqrt(unheard * heard);
    const found = heardAt(middle);
    if (found.length === 0) unheard = middle;
    else [heard, feeds] = [middle, found];
  }
  return { unheardSeconds: unheard, heardSeconds: heard, feeds };
}
