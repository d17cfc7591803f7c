/** Layouts side by side, in sentences and as rows of tables: for command and page alike. */
import { feedById } from "../by-id.ts";
import { guarded } from "../tables/values.ts";
import { counted, duration, grouped, listed, listener } from "../tell/words.ts";
import type { Comparison, Difference, FaultDifference, LayoutFigures, LayoutTried, PairCompared } from "./compare.ts";
import { type Audience, isHeard, nameOf, ranked } from "./rank.ts";
import { caseMid } from "./words.ts";
import { seconds } from "./words-faults.ts";

export const WHO: Readonly<Record<Audience, string>> = {
  ears: "ears",
  pa: "PA",
  wedges: "wedges",
  broadcast: "broadcast",
  record: "recording",
};

export function letter(place: number): string {
  return place < 26 ? String.fromCharCode(65 + place) : `#${place + 1}`;
}

/** A row of figures for each thing that is counted: its name, then a cell for each layout. */
export function figureRows({ layouts }: Comparison, tried: readonly LayoutTried[]): (readonly [string, ...string[]])[] {
  const audiences = [...new Set(layouts.flatMap((layout) => layout.audiences.map(({ audience }) => audience)))];
  const figure = (layout: LayoutFigures, audience: Audience) =>
    layout.audiences.find((each) => each.audience === audience);
  return [
    ["faults tried", ...layouts.map(({ faults }) => grouped(faults))],
    ["heard by anybody", ...layouts.map(({ tolls }) => grouped(tolls.filter(isHeard).length))],
    ...audiences.flatMap((audience): [string, ...string[]][] => [
      [`${WHO[audience]}: faults heard`, ...layouts.map((layout) => grouped(figure(layout, audience)?.hears ?? 0))],
      [
        `${WHO[audience]}: longest silence`,
        ...layouts.map((layout) => {
          const longest = figure(layout, audience)?.longestSilence ?? null;
          return longest === null ? "none" : duration(longest.seconds);
        }),
      ],
      [`${WHO[audience]}: most clicks`, ...layouts.map((layout) => grouped(figure(layout, audience)?.mostClicks ?? 0))],
      [
        `${WHO[audience]}: back at full level`,
        ...layouts.map((layout) => grouped(figure(layout, audience)?.atFullLevel ?? 0)),
      ],
    ]),
    ["devices", ...layouts.map(({ needs }) => grouped(needs.devices))],
    ["cables", ...layouts.map(({ needs }) => grouped(needs.cables))],
    ["metres", ...layouts.map(({ needs }) => grouped(Math.round(needs.metres)))],
    ["sockets in use", ...layouts.map(({ needs }) => grouped(needs.ports))],
    ["assumed numbers", ...tried.map(({ sweep }) => grouped(sweep.plan.assumed.length))],
  ];
}

export function worstWords({ tolls, own }: LayoutFigures, { sweep }: LayoutTried, place: number): string {
  const [worst] = ranked(sweep.plan, tolls);
  const text =
    worst === undefined || !isHeard(worst)
      ? "no single fault is heard"
      : `worst is ${caseMid(sweep.plan, worst.faults)}`;
  const alone =
    own.length === 0 ? "" : `; ${counted(own.length, "fault", "faults")} in its list that no other layout can have`;
  return `${letter(place)}  ${text}${alone}`;
}

/** What is left to choose from. */
export function undominatedWords(layouts: readonly LayoutFigures[]): string {
  const places = layouts.flatMap(({ isUndominated }, place) => (isUndominated ? [letter(place)] : []));
  const beaten = layouts.flatMap(({ isUndominated }, place) => (isUndominated ? [] : [letter(place)]));
  if (beaten.length === 0)
    return `None is worse in everything: ${listed(places)} each have something that the ${places.length === 2 ? "other lacks" : "others lack"}.`;
  return `${listed(beaten)} ${beaten.length === 1 ? "is" : "are"} no better in anything, and worse in something, than another layout; what is left to choose from is ${listed(places)}.`;
}

/** "B against A: 12 faults that both have, all else their own" */
export function pairWords({ layouts: [one, other], common }: PairCompared): string {
  return `${letter(other)} against ${letter(one)}: ${counted(common, "fault", "faults")} that both have, all else their own`;
}

/** "A 1 min 30 s silent, B 0.3 s; B 12 clicks or dropouts more". */
export function differenceWords(
  { silence, disturbances }: Pick<FaultDifference, "silence" | "disturbances">,
  one: string,
  other: string,
): string {
  const parts = [silenceWords(silence, one, other), disturbanceWords(disturbances, one, other)].filter(
    (text) => text !== null,
  );
  return parts.length === 0 ? "no difference." : `${parts.join("; ")}.`;
}

function silenceWords({ first, second, low, high, verdict }: Difference, one: string, other: string): string | null {
  if (verdict === "same") return null;
  const amount = (seconds: number) => (seconds < 0.05 ? "never silent" : `silent for ${duration(seconds)}`);
  const both = `${one} ${amount(first)}, ${other} ${amount(second)}`;
  return verdict === "unclear" ? `${both}: cannot tell apart (${span(low, high)})` : both;
}

function span(low: number, high: number): string {
  if (!Number.isFinite(low) || !Number.isFinite(high)) return "one draw says nothing";
  const sign = (seconds: number) => `${seconds < 0 ? "−" : "+"}${duration(Math.abs(seconds))}`;
  return `${sign(low)} to ${sign(high)}`;
}

/** "1,910.6" */
function tenths(value: number): string {
  const [whole, part] = value.toFixed(1).split(".");
  return `${grouped(Number(whole))}.${part}`;
}

function disturbanceWords({ first, second, verdict }: Difference, one: string, other: string): string | null {
  if (verdict === "same") return null;
  const count = (value: number) => (Number.isInteger(value) ? grouped(value) : tenths(value));
  const both = `clicks and dropouts: ${one} ${count(first)}, ${other} ${count(second)}`;
  return verdict === "unclear" ? `${both}, cannot tell apart` : both;
}

const COLUMNS = [
  "fault",
  "listener",
  "feed",
  "layout",
  "silent_s",
  "longest_silence_s",
  "clicks",
  "dropouts",
  "back_at_full_level",
  "trials",
] as const;

/** For CSV: the worst of all trials of each fault, in each layout that has it. */
export function comparisonRows(comparison: Comparison, tried: readonly LayoutTried[]): (readonly string[])[] {
  const rows = comparison.layouts.flatMap(({ tolls, name }, place) => {
    const { plan } = (tried[place] as LayoutTried).sweep;
    return tolls.flatMap((toll) =>
      toll.feeds.map((feed) => {
        const found = feedById(plan, feed.feed);
        return [
          guarded(nameOf(toll)),
          guarded(found === undefined ? feed.feed : listener(found, plan.feeds).head),
          guarded(feed.feed),
          guarded(name),
          seconds(feed.silentSeconds),
          seconds(feed.longestSilenceSeconds),
          String(feed.clicks),
          String(feed.dropouts),
          String(feed.atFullLevel),
          String(feed.trials),
        ];
      }),
    );
  });
  return [COLUMNS, ...rows];
}
