/** The quantities that lessons ask about, from a plan and its run: their values, and their words. */
import type { Choice, Figure, Lesson } from "../../shared/lesson.ts";
import { ANSWER, secondsOf } from "../../shared/lesson.ts";
import { DEVICE_LOOKS, LINK_CLOCK_LOOKS } from "../../shared/states.ts";
import type { FeedStretch, FeedSummary } from "../../shared/summary.ts";
import { type Ns, nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { slipsHeard } from "../../sim/hear.ts";
import { slipInstants } from "../../sim/slips.ts";
import { duration, grouped, interval, listed, listener, ppm, showTime } from "../../sim/tell/words.ts";
import { looksOf, valueAt } from "../../sim/timeline.ts";
import type { Run } from "../run.ts";

/** Seconds, samples, ppm or a count; a word; null where there is none. */
export type Value = number | string | null;

export type Played = Pick<Run, "plan" | "record" | "summary">;

/** Throws where the lesson does not fit the run: `LessonRead.against` says so beforehand. */
export function figureValue(run: Played, figure: Figure): Value {
  const { plan, record, summary } = run;
  switch (figure.is) {
    case "apart-ppm": {
      const [one, other] = figure.devices.map((id) => found(plan.devices, id).oscillator.offsetPpm);
      return typeof one === "number" && typeof other === "number" ? Math.abs(one - other) : null;
    }
    case "boot-seconds":
      return found(plan.devices, figure.device).bootSeconds;
    case "event-at":
      return (plan.events[figure.event - 1]?.atNs ?? 0) / 1e9;
    case "slips":
      return slipsIn(run, figure).length;
    case "seconds-between-clicks": {
      const slips = slipsIn(run, figure);
      const [first, last] = [slips[0], slips.at(-1)];
      return first === undefined || last === undefined || slips.length < 2 ? null : (last - first) / (slips.length - 1);
    }
    case "silent-seconds":
      return found(summary.feeds, figure.feed).silentSeconds;
    case "outcome":
      return outcomeIn(found(summary.feeds, figure.feed), ...stretchOf(run, figure));
    case "first-audible":
      return found(summary.feeds, figure.feed).firstAudibleAtSeconds;
    case "seconds-until-audible": {
      const after = secondsOf(figure.after);
      const at = troublesOf(run, figure.feed).find((seconds) => seconds >= after);
      return at === undefined ? null : at - after;
    }
    case "troubled": {
      const { whileFaulty, onReturn } = found(summary.feeds, figure.feed).dropouts;
      if (whileFaulty > 0) return onReturn > 0 ? "both" : "while-faulty";
      return onReturn > 0 ? "on-return" : "never";
    }
    case "dropouts-on-return":
      return found(summary.feeds, figure.feed).dropouts.onReturn;
    case "clicking-feeds": {
      const clicking = summary.feeds.filter(({ slips }) => slips > 0).map(({ id }) => id);
      return clicking.length === 0 ? null : clicking.sort().join(" ");
    }
    case "state": {
      const line = looksOf(record).devices.get(figure.device);
      return (line && valueAt(line, nsFromSeconds(secondsOf(figure.at)))?.state) ?? null;
    }
    case "link-clock": {
      const line = looksOf(record).links.get(`${figure.link} there`);
      return (line && valueAt(line, nsFromSeconds(secondsOf(figure.at)))?.clock) ?? null;
    }
    case "offset-ppm":
      return found(summary.devices, figure.device).offsetPpm;
  }
}

function found<T extends { readonly id: string }>(all: readonly T[], id: string): T {
  const one = all.find((each) => each.id === id);
  if (one === undefined) throw new Error(`The lesson names ${id}, which the scenario does not have.`);
  return one;
}

type Stretch = { readonly from?: string | undefined; readonly to?: string | undefined };

function stretchOf({ summary }: Played, { from, to }: Stretch): [from: number, to: number] {
  return [from === undefined ? 0 : secondsOf(from), to === undefined ? summary.runSeconds : secondsOf(to)];
}

function slipsIn(run: Played, figure: Stretch & { readonly feed: string }): readonly number[] {
  const [from, to] = stretchOf(run, figure).map(nsFromSeconds) as [Ns, Ns];
  const instants = (slipsHeard(run.plan, run.record).get(figure.feed) ?? []).flatMap((part) => {
    const [first, last] = [Math.max(from, part.fromNs) as Ns, Math.min(to, part.toNs) as Ns];
    return first > last ? [] : slipInstants(part.train, first, last);
  });
  return instants.sort((one, other) => one - other).map(secondsFromNs);
}

/** Every instant at which trouble begins or a slip falls, sorted. */
function troublesOf(run: Played, feed: string): readonly number[] {
  const { states, realignedAtSeconds } = found(run.summary.feeds, feed);
  const silences = states.filter(({ state }) => state === "silent" || state === "not-carried");
  return [...silences.map(({ fromSeconds }) => fromSeconds), ...realignedAtSeconds, ...slipsIn(run, { feed })].sort(
    (one, other) => one - other,
  );
}

const WORST_FIRST: readonly (readonly [FeedStretch["state"], string])[] = [
  ["silent", "silent"],
  ["not-carried", "not-carried"],
  ["slipping", "clicks"],
];

function outcomeIn({ states, realignedAtSeconds }: FeedSummary, from: number, to: number): string {
  const here = states.filter(({ fromSeconds, toSeconds }) => fromSeconds < to && toSeconds > from);
  const worst = WORST_FIRST.find(([state]) => here.some((each) => each.state === state));
  if (worst !== undefined) return worst[1];
  return realignedAtSeconds.some((at) => at >= from && at <= to) ? "dropout" : "clean";
}

const OUTCOME_WORDS: Readonly<Record<string, string>> = {
  clean: "clean",
  dropout: "a dropout",
  clicks: "clicks",
  "not-carried": "nothing that can be decoded",
  silent: "silence",
};

const TROUBLED_WORDS: Readonly<Record<string, string>> = {
  never: "at no time",
  "while-faulty": "during the failure",
  "on-return": "on the return",
  both: "during the failure and again on the return",
};

/** A value as it stands inside a sentence. */
export function wordsOf({ plan }: Pick<Played, "plan">, figure: Figure, value: Value): string {
  if (figure.is === "clicking-feeds") {
    const ids = value === null ? [] : String(value).split(" ");
    const heard = plan.feeds.filter(({ id }) => ids.includes(id)).map((feed) => listener(feed, plan.feeds).mid);
    return heard.length === 0 ? "nobody" : listed(heard);
  }
  if (value === null) return figure.is === "state" ? "without a state" : "never";
  switch (figure.is) {
    case "apart-ppm":
    case "offset-ppm":
      return ppm(Number(value));
    case "boot-seconds":
    case "silent-seconds":
    case "seconds-until-audible":
      return value === 0 ? "no time at all" : duration(Number(value));
    case "seconds-between-clicks":
      return interval(Number(value));
    case "event-at":
    case "first-audible":
      return showTime(Number(value));
    case "slips":
      return value === 0 ? "none" : grouped(Number(value));
    case "dropouts-on-return":
      return value === 0 ? "no dropout" : value === 1 ? "one dropout" : `${value} dropouts`;
    case "outcome":
      return OUTCOME_WORDS[value] ?? String(value);
    case "troubled":
      return TROUBLED_WORDS[value] ?? String(value);
    case "state":
      return DEVICE_LOOKS[value as keyof typeof DEVICE_LOOKS].word.toLowerCase();
    case "link-clock":
      return LINK_CLOCK_LOOKS[value as keyof typeof LINK_CLOCK_LOOKS].word.toLowerCase();
  }
}

/** A text with what stands in its braces; `{answer}` is what the prediction asks for. */
export function filled(
  run: Played,
  { figures, prediction }: Pick<Lesson, "figures" | "prediction">,
  text: string,
): string {
  return text.replace(/\{([^{}]*)\}/g, (whole, name: string) => {
    const figure = name === ANSWER ? prediction.of : figures[name];
    return figure === undefined ? whole : wordsOf(run, figure, figureValue(run, figure));
  });
}

export function claims(choice: Choice, value: Value): boolean {
  if ("is" in choice) return choice.is === value;
  return typeof value === "number" && value >= choice.from && value < choice.below;
}

/** What a learner said: the place of a choice, or a number in the prediction's unit. */
export type Predicted = { readonly choice: number } | { readonly number: number };

export function isBorneOut({ prediction }: Pick<Lesson, "prediction">, predicted: Predicted, value: Value): boolean {
  if ("choices" in prediction) {
    const choice = "choice" in predicted ? prediction.choices[predicted.choice] : undefined;
    return choice !== undefined && claims(choice, value);
  }
  if (!("number" in predicted) || typeof value !== "number") return false;
  return Math.abs(predicted.number - value) <= (Math.abs(value) * prediction.withinPercent) / 100;
}
