/** Faults from the command line, as events in the words of a scenario file. */
import { type Issue, quote } from "../shared/issues.ts";
import { nearest } from "../shared/nearest.ts";
import { parseShowTime, SHOW_TIME_EXPECTED } from "../shared/units.ts";

export interface FaultOption {
  /** "--reboot" */
  readonly option: string;
  /** "foh@00:20:00" */
  readonly text: string;
}

/** An event as a scenario file writes it. */
export type WrittenEvent = Readonly<Record<string, string | number>>;

export type ReadFault = { readonly event: WrittenEvent } | { readonly issue: Issue };

export function readFaults(options: readonly FaultOption[]): {
  readonly events: readonly WrittenEvent[];
  /** What each event was typed as. */
  readonly options: readonly FaultOption[];
  readonly issues: readonly Issue[];
} {
  const read = options.map((option) => ({ option, ...readFault(option) }));
  const whole = read.flatMap((one) => ("event" in one ? [one] : []));
  return {
    events: whole.map(({ event }) => event),
    options: whole.map(({ option }) => option),
    issues: read.flatMap((one) => ("issue" in one ? [one.issue] : [])),
  };
}

const PARTS = ["surface", "engine", "all"];

/** `device@time[/part]` for `--reboot`, `thing@time[+duration]` for the others. */
export function readFault({ option, text }: FaultOption): ReadFault {
  const refuse = (expected: string, received: string, remedy: string): ReadFault => ({
    issue: { file: `${option} ${text}`, line: 0, column: 0, path: [], expected, received: quote(received), remedy },
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
  const at = text.lastIndexOf("@");
  if (at < 1) return refuse(form, text, `write it like ${option} ${example}`);
  const what = text.slice(0, at);
  const [time = "", tail] = text.slice(at + 1).split(isReboot ? /\/(.*)/s : /\+(.*)/s);
  if (isReboot && /^[^+]+\+/.test(text.slice(at + 1)))
    return refuse(form, text, "leave out what follows the +: a reboot takes the device's bootSeconds");
  if (parseShowTime(time) === null) return refuse(SHOW_TIME_EXPECTED, time, `write it like ${option} ${example}`);

  if (isReboot) {
    if (tail === undefined) return { event: { at: time, do: "reboot", device: what } };
    if (PARTS.includes(tail)) return { event: { at: time, do: "reboot", device: what, part: tail } };
    const meant = nearest(tail, PARTS);
    return refuse(
      "surface, engine or all",
      tail,
      meant === null ? "choose one of them, or leave it out" : `did you mean ${meant}`,
    );
  }
  const subject = subjectOf(option, what);
  if (tail === undefined) return { event: { at: time, ...subject } };
  const seconds = durationSeconds(tail);
  if (seconds === null)
    return refuse("a duration like 90s, 1m30s, 2h or 500ms", tail, `write it like ${option} ${example}`);
  return { event: { at: time, ...subject, forSeconds: seconds } };
}

function subjectOf(option: string, what: string): WrittenEvent {
  if (option === "--unplug") return { do: "unplug", link: what };
  if (option === "--supply-cut") return { do: "power-cut", supply: what };
  if (option === "--stop-sync") return { do: "stop-sync", device: what };
  return option === "--cut" ? { do: "cut", path: what } : { do: "power-cut", device: what };
}

const UNIT_SECONDS: Readonly<Record<string, number>> = { h: 3600, m: 60, min: 60, s: 1, ms: 0.001 };

/** "90s", "1m30s", "2h", "500ms" in seconds; null for anything else. */
export function durationSeconds(text: string): number | null {
  if (!/^(?:\d+(?:\.\d+)?(?:h|min|ms|m|s))+$/.test(text)) return null;
  let milliseconds = 0;
  for (const [, amount = "", unit = ""] of text.matchAll(/(\d+(?:\.\d+)?)(h|min|ms|m|s)/g)) {
    milliseconds += Math.round(Number(amount) * UNIT_SECONDS[unit]! * 1000);
  }
  return milliseconds / 1000;
}
