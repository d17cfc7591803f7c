/**
 * Which policy is the lesser evil for those who hear it. Listeners are asked one after the other, the gravest harm first;
 * whoever is not as good as the best there is out, and the next listener decides among the rest. What luck could do to a
 * policy counts against it: the worst of its runs is compared.
 */
import type { FeedOutcome, Outcome } from "./outcome.ts";
import type { Policy } from "./variants.ts";

export const HARMS = [
  "sudden level in ears",
  "silence of the PA",
  "dropouts and clicks in the PA",
  "dropouts and clicks in ears",
  "what the recording has",
  "what everybody else hears",
] as const;
export type Harm = (typeof HARMS)[number];

export interface Advice {
  /** More than one: no listener hears a difference between them. */
  readonly best: readonly Policy[];
  /** The others, each with the harm by which it is worse than the best. */
  readonly worse: readonly { readonly policy: Policy; readonly by: Harm }[];
}

/** Ears that cannot be taken out of the way of a loudspeaker: *common practice, no source*. */
const IN_EARS: readonly string[] = ["in-ears", "assisted-hearing", "comms"];
const PA: readonly string[] = ["pa", "wedges"];
/** Less silence than this is a dropout to a listener, and as such it is counted: *common practice, no source*. */
const SILENCE_COUNTS_FROM_SECONDS = 0.25;
/** A return some seconds later makes a click more or less: no reason to prefer a policy. */
const CLICKS_ALIKE = 3;

type Judged = { readonly policy: Policy; readonly outcome: Outcome };

/** Null where fewer than two policies could be played: then there is nothing to choose from. */
export function adviceOf(played: readonly Judged[]): Advice | null {
  if (played.length < 2) return null;
  let left = played;
  const worse: { policy: Policy; by: Harm }[] = [];
  for (const [harm, slack, amountOf] of measures()) {
    const amounts = left.map((each) => amountOf(each.outcome));
    const best = Math.min(...amounts);
    worse.push(
      ...left.filter((_, index) => amounts[index]! > best + slack).map(({ policy }) => ({ policy, by: harm })),
    );
    left = left.filter((_, index) => amounts[index]! <= best + slack);
  }
  return { best: left.map(({ policy }) => policy), worse };
}

type Measure = readonly [harm: Harm, slack: number, amountOf: (outcome: Outcome) => number];

function measures(): readonly Measure[] {
  const over =
    (belongs: (feed: FeedOutcome) => boolean, amount: (feed: FeedOutcome) => number) =>
    ({ feeds }: Outcome) =>
      feeds.filter(belongs).reduce((sum, feed) => sum + amount(feed), 0);
  const heardIn =
    (ears: readonly string[]) =>
    ({ heardBy }: FeedOutcome) =>
      heardBy.some((one) => ears.includes(one));
  const isRecorded = heardIn(["record"]);
  const isNamed = heardIn([...IN_EARS, ...PA, "record"]);
  const isElse = (feed: FeedOutcome) => !isNamed(feed);
  const troubles = (harm: Harm, belongs: (feed: FeedOutcome) => boolean): readonly Measure[] => [
    [harm, 0, over(belongs, ({ dropouts }) => dropouts.whileFaulty.most + dropouts.onReturn.most)],
    [harm, CLICKS_ALIKE, over(belongs, ({ slips }) => slips.most)],
  ];
  return [
    ["sudden level in ears", 0, over(heardIn(IN_EARS), ({ returnsAtFullLevel }) => returnsAtFullLevel)],
    ["silence of the PA", SILENCE_COUNTS_FROM_SECONDS, over(heardIn(PA), silence)],
    ...troubles("dropouts and clicks in the PA", heardIn(PA)),
    ["dropouts and clicks in ears", SILENCE_COUNTS_FROM_SECONDS, over(heardIn(IN_EARS), silence)],
    ...troubles("dropouts and clicks in ears", heardIn(IN_EARS)),
    ["what the recording has", SILENCE_COUNTS_FROM_SECONDS, over(isRecorded, silence)],
    ...troubles("what the recording has", isRecorded),
    ["what everybody else hears", SILENCE_COUNTS_FROM_SECONDS, over(isElse, silence)],
    ...troubles("what everybody else hears", isElse),
  ];
}

function silence({ silentForDeviceDownSeconds, silentForClockSeconds, silentOtherwiseSeconds }: FeedOutcome): number {
  return silentForDeviceDownSeconds + silentForClockSeconds.most + silentOtherwiseSeconds;
}
