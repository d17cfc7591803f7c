/**
 * What somebody in front of a device should see, in words: its lock lamp, which clock source it names, what arrives at its
 * ports, what comes out, what to do. Of lamps it says "may": what a device lights for which state is nowhere agreed.
 * No drawing here.
 */
import type { DevicePlan, Plan } from "../shared/plan.ts";
import type { DeviceLookKey } from "../shared/states.ts";
import { secondsFromNs } from "../shared/time.ts";
import { deviceById } from "../sim/by-id.ts";
import type { Following } from "../sim/lanes/follow.ts";
import { changesOf, type Lane, type Lanes, type Stretch } from "../sim/lanes/lane.ts";
import { isPlainSwitch } from "../sim/network/outcome.ts";
import { isTold } from "../sim/tell/event-words.ts";
import { eventSentence } from "../sim/tell/events.ts";
import { LAMPS, outputWords, readsWords } from "../sim/tell/should-see.ts";
import { cableIn, duration, listed, showTime, source } from "../sim/tell/words.ts";
import { isolated } from "./dom.ts";
import type { Moment, Moments } from "./map/moments.ts";
import type { Run } from "./run.ts";

export interface Seen {
  /** Its state, as everywhere on the page. */
  readonly state: Stretch;
  readonly lamp: string;
  /** What it names as its clock source, and at which rate. */
  readonly reads: string;
  /** Its outputs; empty: no feed goes through it. */
  readonly outputs: string;
  /** What holds beside its state, and what it is on its networks; empty: nothing. */
  readonly beside: string;
  readonly todo: string;
}

/** A stretch of a sheet: what is seen from an instant on. */
export interface SheetLine {
  readonly atSeconds: number;
  /** What happens at that instant, in sentences; empty: the device changes by itself. */
  readonly event: string;
  /** Null: stays as it was. */
  readonly seen: Seen | null;
  /** Further changes before the next event that are left out. */
  readonly more: number;
}

/** As long as this many changes between two events are told one by one. */
const MOST_CHANGES = 6;

export interface ShouldSee {
  /** Null: the run tells nothing of it. */
  at(device: DevicePlan, seconds: number): Seen | null;
  /** What arrives and leaves at each of its ports: "port 1, main cable, FOH desk: Up". */
  ports(device: DevicePlan, seconds: number): readonly string[];
  /** The beginning, then each event and what the device does until the next. */
  sheet(device: DevicePlan): readonly SheetLine[];
}

export function shouldSee(run: Pick<Run, "plan" | "summary">, lanes: Lanes, moments: Moments): ShouldSee {
  const { plan, summary } = run;
  const onFeeds = new Set(plan.feeds.flatMap(({ through }) => through));
  const byId = new Map(lanes.all.flatMap((lane) => (lane.kind === "device" ? [[lane.id, lane] as const] : [])));
  let asked: { readonly seconds: number; readonly following: Following } | null = null;
  /** Of all devices the same instant is asked for, one after the other. */
  const followingAt = (seconds: number): Following => {
    if (asked?.seconds !== seconds) asked = { seconds, following: lanes.followers.at(seconds) };
    return asked.following;
  };

  const at: ShouldSee["at"] = (device, seconds) => {
    const moment = moments.device(device.id, seconds);
    if (moment === undefined) return null;
    const key = moment.stretch.key.replace(/^device-/u, "") as DeviceLookKey;
    const standing = followingAt(seconds).standings.get(device.id);
    return {
      state: moment.stretch,
      lamp: LAMPS[key],
      reads: isPlainSwitch(plan, device) ? "" : readsWords(plan, device, key, standing, isolated),
      outputs: onFeeds.has(device.id) ? outputWords(device, key) : "",
      beside: [...moment.beside, ...moment.lines].map(({ says }) => says).join("; "),
      todo: todo(plan, device, key, standing, moment),
    };
  };

  return {
    at,
    ports: (device, seconds) =>
      endsAt(plan, device.id).flatMap(({ port, link, far }) => {
        const moment = moments.link(link.id, seconds);
        if (moment === undefined) return [];
        const states = [moment.stretch, ...moment.beside].map(({ says }) => says).join("; ");
        const to = deviceById(plan, far);
        return `Port ${port}, ${cableIn(plan, link.id)}, ${isolated(to?.name ?? far)}: ${states}`;
      }),
    sheet(device) {
      const lane = byId.get(device.id);
      if (lane === undefined) return [];
      const events = eventsByInstant(plan);
      const borders = [0, ...events.map(({ atSeconds }) => atSeconds).filter((each) => each > 0)];
      return borders.flatMap((fromSeconds, index) => {
        const untilSeconds = borders[index + 1] ?? summary.runSeconds;
        const event = events.find(({ atSeconds }) => atSeconds === fromSeconds)?.words ?? "";
        return linesBetween(lane, fromSeconds, untilSeconds, event, (seconds) => at(device, seconds));
      });
    },
  };
}

/** Everything that is plugged in or subscribed to at a device, by port. */
function endsAt({ links }: Plan, device: string) {
  return links
    .flatMap((link) => [
      { port: link.a.port, at: link.a.device, link, far: link.b.device },
      { port: link.b.port, at: link.b.device, link, far: link.a.device },
    ])
    .filter(({ at }) => at === device)
    .sort((one, other) => one.port - other.port);
}

/** What happens at one instant in one line; of a cable that comes and goes the first turn alone. */
function eventsByInstant(plan: Plan): readonly { readonly atSeconds: number; readonly words: string }[] {
  const found = new Map<number, string[]>();
  for (const event of plan.events) {
    if (!isTold(event)) continue;
    const at = secondsFromNs(event.atNs);
    const words = found.get(at);
    if (words === undefined) found.set(at, [eventSentence(plan, event)]);
    else words.push(eventSentence(plan, event));
  }
  return [...found].map(([atSeconds, words]) => ({ atSeconds, words: words.join(" ") }));
}

function linesBetween(
  lane: Lane,
  fromSeconds: number,
  untilSeconds: number,
  event: string,
  seenAt: (seconds: number) => Seen | null,
): readonly SheetLine[] {
  const all = changesOf(lane);
  const isSame = fromSeconds > 0 && !all.includes(fromSeconds);
  const changes = all.filter((seconds) => seconds > fromSeconds && seconds < untilSeconds);
  const told = changes.slice(0, MOST_CHANGES);
  const more = changes.length - told.length;
  const lines = [
    { atSeconds: fromSeconds, event, seen: isSame ? null : seenAt(fromSeconds), more: 0 },
    ...told.map((atSeconds) => ({ atSeconds, event: "", seen: seenAt(atSeconds), more: 0 })),
  ];
  return lines.map((line, index) => (index === lines.length - 1 ? { ...line, more } : line));
}

type Standing = Following["standings"] extends ReadonlyMap<string, infer S> ? S : never;

/** Of the engine alone where nothing else of it reboots at that moment. */
function bootSecondsFrom(
  { events }: Plan,
  { id, bootSeconds, engineBootSeconds }: DevicePlan,
  atSeconds: number,
): number {
  const isEngineAlone = events.some(
    (event) =>
      event.do === "reboot" &&
      event.device === id &&
      event.part === "engine" &&
      secondsFromNs(event.atNs) === atSeconds,
  );
  return isEngineAlone ? engineBootSeconds : bootSeconds;
}

function todo(
  plan: Plan,
  device: DevicePlan,
  key: DeviceLookKey,
  standing: Standing | undefined,
  moment: Moment,
): string {
  if (moment.beside.some((strip) => strip.key === "beside-hung"))
    return "Mute behind it, at the last device you control: its own mute may do nothing.";
  if (moment.beside.some((strip) => strip.key === "beside-surface-down"))
    return "Mute behind it if you have to: nobody can mute from its surface.";
  const ports = (standing?.clockSources ?? []).filter((one) => one !== "internal").map(source);
  const { stretch, next } = moment;
  switch (key) {
    case "leading":
      return "Leave it as it is: the others hang on it.";
    case "locked":
    case "works":
      return "Nothing.";
    case "locked-later":
      return "Nothing now. In a break, see why its first source is gone, before this one goes too.";
    case "acquiring":
      return "Wait, ears out, outputs down, until it is locked.";
    case "holdover":
      return next?.key === "device-free-run"
        ? `Bring a source back by ${showTime(stretch.toSeconds)}: from then on it is on its own clock. Ears out first.`
        : "Leave it: a source comes back while it coasts. Ears out until it is locked.";
    case "free-run":
      if (plan.leaders.includes(device.id) && ports.length === 0)
        return "Ears out. It is meant to lead: the others come to it by themselves, or have to be sent.";
      return ports.length === 0
        ? "By its settings internal is its only clock source. If it should follow: ears out, outputs down, then set a port."
        : `Ears out, outputs down at the last device you control; then see what arrives at ${listed(ports, "and")}.`;
    case "starting":
      return `Outputs down at the last device you control before it is back; it takes ${duration(bootSecondsFrom(plan, device, stretch.fromSeconds))}.`;
    case "off":
      return "Outputs down behind it before it gets power.";
  }
}
