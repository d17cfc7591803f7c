/** Faults from the command line, as events in the words of a scenario file. */
import { NO_CLOCK, readDuration, readInstant, type ShowClock } from "../shared/as-said.ts";
import { type Issue, quote, withoutLine } from "../shared/issues.ts";
import { nearest } from "../shared/nearest.ts";
import { formatShowTime } from "../shared/units.ts";

export interface FaultOption {
  /** "--reboot" */
  readonly option: string;
  /** "foh@00:20:00" */
  readonly text: string;
}

/** An event as a scenario file writes it. */
export type WrittenEvent = Readonly<Record<string, string | number>>;

export type ReadFault =
  | {
      readonly event: WrittenEvent;
      /** What was read from a form that may mean two things: "20:10 as hours and minutes, 20:10:00". */
      readonly understood: readonly string[];
    }
  | { readonly issue: Issue };

export function readFaults(
  options: readonly FaultOption[],
  clock: ShowClock,
): {
  readonly events: readonly WrittenEvent[];
  /** What each event was typed as. */
  readonly options: readonly FaultOption[];
  /** One line for each form that may mean two things. */
  readonly understood: readonly string[];
  readonly issues: readonly Issue[];
} {
  const read = options.map((option) => ({ option, ...readFault(option, clock) }));
  const whole = read.flatMap((one) => ("event" in one ? [one] : []));
  return {
    events: whole.map(({ event }) => event),
    options: whole.map(({ option }) => option),
    understood: whole.flatMap(({ option, understood }) =>
      understood.map((words) => `${option.option} ${option.text}: read ${words}.`),
    ),
    issues: read.flatMap((one) => ("issue" in one ? [one.issue] : [])),
  };
}

const PARTS = ["surface", "engine", "all"];

/** `device@time[/part]` for `--reboot`, `thing@time[+duration]` for the others. */
export function readFault({ option, text }: FaultOption, clock: ShowClock = NO_CLOCK): ReadFault {
  const refuse = (expected: string, received: string, remedy: string): ReadFault => ({
    issue: { ...withoutLine(`${option} ${text}`), expected, received: quote(received), remedy },
  });
  const isReboot = option === "--reboot";
  const form = isReboot ? "DEVICE@TIME or DEVICE@TIME/PART" : "WHAT@TIME or WHAT@TIME+DURATION";
  const example = {
    "--reboot": "foh@00:20:00",
    "--unplug": "main@00:40:00+90s",
    "--cut": '"stage-left wall@00:40:00"',
    "--power-cut": "foh@00:20:00+2m",
    "--supply-cut": "stage-left@00:20:00+2m",
    "--stop-sync": "foh@00:20:00+2m",
  }[option];
  const sign = text.lastIndexOf("@");
  if (sign < 1) return refuse(form, text, `write it like ${option} ${example}`);
  const what = text.slice(0, sign);
  const [time = "", tail] = text.slice(sign + 1).split(isReboot ? /\/(.*)/s : /\+(.*)/s);
  if (isReboot && /^[^+]+\+/.test(text.slice(sign + 1)))
    return refuse(form, text, "leave out what follows the +: a reboot takes the device's bootSeconds");
  const instant = readInstant(time, clock);
  if ("expected" in instant) return refuse(instant.expected, time, instant.remedy);
  const at = formatShowTime(instant.value);
  const understood = instant.understood === null ? [] : [`${time.trim()} as ${instant.understood}`];

  if (isReboot) {
    if (tail === undefined) return { event: { at, do: "reboot", device: what }, understood };
    if (PARTS.includes(tail)) return { event: { at, do: "reboot", device: what, part: tail }, understood };
    const meant = nearest(tail, PARTS);
    return refuse(
      "surface, engine or all",
      tail,
      meant === null ? "choose one of them, or leave it out" : `did you mean ${meant}`,
    );
  }
  const subject = subjectOf(option, what);
  if (tail === undefined) return { event: { at, ...subject }, understood };
  const lasts = readDuration(tail);
  if ("expected" in lasts) return refuse(lasts.expected, tail, lasts.remedy);
  if (lasts.understood !== null) understood.push(`${tail.trim()} as ${lasts.understood}`);
  return { event: { at, ...subject, forSeconds: lasts.value }, understood };
}

function subjectOf(option: string, what: string): WrittenEvent {
  if (option === "--unplug") return { do: "unplug", link: what };
  if (option === "--supply-cut") return { do: "power-cut", supply: what };
  if (option === "--stop-sync") return { do: "stop-sync", device: what };
  return option === "--cut" ? { do: "cut", path: what } : { do: "power-cut", device: what };
}
