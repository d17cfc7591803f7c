/** Five policies for a leader that comes back, in words: what is compared, what was changed, what follows from it. */
import type { Plan } from "../../shared/plan.ts";
import { deviceById, deviceOf, feedById, feedOf } from "../by-id.ts";
import type { Edit } from "../policies/edits.ts";
import type { FeedOutcome, Spread } from "../policies/outcome.ts";
import type { Policy } from "../policies/variants.ts";
import type { PolicyComparison, PolicyOutcome } from "../policies.ts";
import {
  agree,
  capital,
  counted,
  deviceHead,
  duration,
  grouped,
  isPlural,
  listed,
  listener,
  showTime,
  theDevice,
} from "./words.ts";

const NAMES: Readonly<Record<Policy, string>> = {
  "at-once": "back at once",
  "after-wait": "back after a wait",
  stay: "stay until told",
  follows: "back following",
  "another-leads": "another leads",
};

export function policyName(policy: Policy): string {
  return NAMES[policy];
}

/** The same inside a sentence, as what happens: "the FOH desk coming back as a follower". */
function policyWords(plan: Plan, { absence, policies }: PolicyComparison, policy: Policy): string {
  switch (policy) {
    case "at-once":
      return "going back at once";
    case "after-wait":
      return "going back after a wait";
    case "stay":
      return "staying until told";
    case "follows":
      return `${theDevice(deviceOf(plan, absence.leader))} coming back as a follower`;
    case "another-leads": {
      const lead = policies.find((each) => each.policy === policy)?.leads ?? null;
      const device = lead === null ? undefined : deviceById(plan, lead);
      return device === undefined ? "another device leading" : `${theDevice(device)} leading from the start`;
    }
  }
}

/** For a table: "1", "0–1". */
export function spreadText({ least, most }: Spread, word: (value: number) => string = grouped): string {
  const [from, to] = [word(least), word(most)];
  return from === to ? to : `${from}–${to}`;
}

/** Less silence than this is the moment in which a cable comes up. */
export const OTHER_SILENCE_COUNTS_FROM_SECONDS = 0.25;

/** One thing that a listener has of a policy; `kind` is what it is drawn as. */
export interface HeardUnder {
  readonly kind: "clean" | "clicks" | "dropout" | "device-down" | "clock" | "other" | "level" | "doubt";
  readonly text: string;
}

/** What a feed is under one policy, piece by piece: at least one. */
export function heardUnder(feed: FeedOutcome, runs: number): readonly HeardUnder[] {
  const { dropouts, slips, silentForClockSeconds, returnsAtFullLevel } = feed;
  const many = (spread: Spread, one: string, more: string) =>
    `${spreadText(spread)} ${spread.least === 1 && spread.most === 1 ? one : more}`;
  const pieces: HeardUnder[] = [];
  const add = (isSo: boolean, kind: HeardUnder["kind"], text: () => string) => {
    if (isSo) pieces.push({ kind, text: text() });
  };
  add(
    feed.silentForDeviceDownSeconds > 0,
    "device-down",
    () => `silent ${duration(feed.silentForDeviceDownSeconds)}: device down`,
  );
  add(
    silentForClockSeconds.most > 0,
    "clock",
    () => `silent ${spreadText(silentForClockSeconds, (value) => (value === 0 ? "0" : duration(value)))}: clock`,
  );
  add(
    feed.silentOtherwiseSeconds >= OTHER_SILENCE_COUNTS_FROM_SECONDS,
    "other",
    () => `silent ${duration(feed.silentOtherwiseSeconds)}: cable or rate`,
  );
  add(slips.most > 0, "clicks", () => many(slips, "click", "clicks"));
  add(
    dropouts.whileFaulty.most > 0,
    "dropout",
    () => `${many(dropouts.whileFaulty, "dropout", "dropouts")} while faulty`,
  );
  add(dropouts.onReturn.most > 0, "dropout", () => `${many(dropouts.onReturn, "dropout", "dropouts")} on return`);
  add(returnsAtFullLevel > 0, "level", () =>
    returnsAtFullLevel === runs ? "back at full level" : `back at full level in ${returnsAtFullLevel} of ${runs}`,
  );
  add(mayBeSilentInstead(feed), "doubt", () => "either silent or clicking: test it");
  return pieces.length === 0 ? [{ kind: "clean", text: "clean" }] : pieces;
}

/** Where it clicks or drops out on the return, a device on the way may mute instead: nobody has said which. */
export function mayBeSilentInstead({ mayBeSilent, slips, dropouts }: FeedOutcome): boolean {
  return mayBeSilent && (slips.most > 0 || dropouts.onReturn.most > 0);
}

/** Who goes, when, and how it is compared. */
export function comparisonSentences(plan: Plan, { absence, otherAbsences, shiftsSeconds }: PolicyComparison): string[] {
  const { leader, how, goneAtSeconds, backAtSeconds } = absence;
  const device = deviceById(plan, leader)!;
  const plural = isPlural(device.name);
  const goes = {
    reboot: agree(plural, "reboots", "reboot"),
    power: agree(plural, "loses power", "lose power"),
    unplugged: agree(plural, "is cut off from those who listen to it", "are cut off from those who listen to them"),
  }[how];
  const is = agree(plural, "is", "are");
  const span = (shiftsSeconds.at(-1) ?? 0) + (shiftsSeconds[1] ?? 0);
  return [
    `${deviceHead(device)} ${agree(plural, "leads", "lead")}, ${goes} at ${showTime(goneAtSeconds)} and ${is} back at ${showTime(backAtSeconds)}: the return is a second fault.`,
    `Each policy is played ${counted(shiftsSeconds.length, "time", "times")}, with the return up to ${duration(span)} later: where that makes a difference, both ends are given.`,
    ...(otherAbsences > 0
      ? [
          `${capital(counted(otherAbsences, "other absence of a leader is", "other absences of leaders are"))} in the same show, and what is heard of ${otherAbsences === 1 ? "it" : "them"} counts here too.`,
        ]
      : []),
  ];
}

/** "Monitor desk leads the stage box and 3 others; the FOH desk leads the PA processor." */
export function endSentence(plan: Plan, { outcome }: PolicyOutcome): string {
  if (outcome === null) return "";
  const names = (ids: readonly string[]) => {
    const all = ids.map((id) => theDevice(deviceById(plan, id)!));
    return all.length > 3 ? `${all.slice(0, 2).join(", ")} and ${all.length - 2} others` : listed(all);
  };
  const isOne = outcome.clocksAtEnd.length === 1;
  const parts = outcome.clocksAtEnd.map(({ leader, followers }) => {
    if (leader === null) return `a ring of sources: ${names(followers)}`;
    const device = deviceById(plan, leader)!;
    const plural = isPlural(device.name);
    if (followers.length === 0)
      return `${theDevice(device)} ${agree(plural, "is on its own clock", "are on their own clock")}`;
    const whom = isOne && followers.length > 1 ? "everybody" : names(followers);
    return `${theDevice(device)} ${agree(plural, "leads", "lead")} ${whom}`;
  });
  return `${capital(parts.join("; "))}.`;
}

/** What was changed, or why it cannot be; `before` stands on the line above. */
export function changeSentence({ isAsFiled, words, whyNot }: PolicyOutcome, before?: PolicyOutcome): string {
  if (whyNot !== null && whyNot === before?.whyNot) return "Nor can this one.";
  if (whyNot !== null) return `Cannot be made here: ${whyNot}.`;
  return `${isAsFiled ? "As the file has it. " : ""}${capital(words ?? "")}.`;
}

/** As it would stand in the file, on one line; what is inside a string keeps its own line ends escaped. */
export function editText(edit: Edit): string {
  const inFile = (value: unknown) => JSON.stringify(value, null, 1).replace(/\n\s*/g, " ");
  if (edit.do === "set") return `${edit.device ?? "rig"}: "${edit.field}": ${inFile(edit.to)}`;
  return `events: ${edit.do === "add-event" ? "add" : "take out"} ${inFile(edit.event)}`;
}

/** Which is the lesser evil, whose part it takes, and what no policy changes. */
export function adviceSentences(plan: Plan, comparison: PolicyComparison): string[] {
  const { advice, policies } = comparison;
  const device = deviceById(plan, comparison.absence.leader)!;
  const stays = staysSentence(plan, comparison);
  const last = stays === null ? [] : [stays];
  if (advice === null) {
    const only = policies.find(({ outcome }) => outcome !== null);
    const played =
      only === undefined
        ? "None of the five can be made here."
        : `Only one can be made here: ${policyName(only.policy)}.`;
    return [played, ...last];
  }
  const words = (of: readonly Policy[]) => of.map((policy) => policyWords(plan, comparison, policy));
  const { best, worse } = advice;
  const tie =
    best.length === 1
      ? ""
      : `; no listener hears a difference between ${best.length === 2 ? "the two" : `the ${counted(best.length, "", "").trim()}`}`;
  const first = worse.length === 0 ? "All that can be made here" : "Least harm to those who hear it";
  const by = [...new Set(worse.map((one) => one.by))].map(
    (harm) => `${listed(words(worse.filter((one) => one.by === harm).map(({ policy }) => policy)))}, by ${harm}`,
  );
  return [
    `${first}: ${listed(words(best), best.length > 2 ? "or" : ", or").replace(" , or", ", or")}${tie}.`,
    ...(best.includes("follows")
      ? [`For ${theDevice(device)} to come back as a follower, somebody has to set it during the show.`]
      : []),
    ...(best.includes("stay")
      ? ["Where the others stay until told, somebody has to tell them: in a break, with ears out and outputs down."]
      : []),
    ...(by.length === 0 ? [] : [`Worse: ${by.join("; ")}.`]),
    ...last,
  ];
}

/** "The PA's silence of 1 min 15 s is the same under each: its way leads through the FOH desk, which is down." */
function staysSentence(plan: Plan, { policies, absence }: PolicyComparison): string | null {
  const played = policies.flatMap(({ outcome }) => (outcome === null ? [] : [outcome]));
  const [first] = played;
  const alike = (first?.feeds ?? []).filter(
    ({ id, silentForDeviceDownSeconds }) =>
      silentForDeviceDownSeconds > 0 &&
      feedById(plan, id)?.through.includes(absence.leader) &&
      played.every(({ feeds }) =>
        feeds.some((feed) => feed.id === id && feed.silentForDeviceDownSeconds === silentForDeviceDownSeconds),
      ),
  );
  if (alike[0] === undefined) return null;
  const who = listed(alike.map(({ id }) => listener(feedOf(plan, id), plan.feeds).mid));
  const device = deviceOf(plan, absence.leader);
  return `No clock plan changes the silence of ${duration(alike[0].silentForDeviceDownSeconds)} for ${who}: ${theDevice(device)} ${agree(isPlural(device.name), "is", "are")} on the way, and down.`;
}
