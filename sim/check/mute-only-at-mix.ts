/** Feeds to loudspeakers or ears that end at a desk: the plan has nothing behind it that could mute it. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { agree, capital, inSentence, isPlural, listed } from "../tell/words.ts";
import { byText, names } from "./finding.ts";
import { loudFeeds } from "./heard-loud.ts";

export function muteOnlyAtMix(plan: Plan): readonly Finding[] {
  const feeds = loudFeeds(plan).filter((feed) => deviceOf(plan, feed.through.at(-1)!).kind === "desk");
  if (feeds.length === 0) return [];
  const desks = [...new Set(feeds.map((feed) => feed.through.at(-1)!))].sort(byText);
  const isOne = desks.length === 1;
  const feedNames = [...new Set(feeds.map(({ name }) => inSentence(name)))];
  return [
    {
      rule: "mute-only-at-mix",
      severity: "advice",
      devices: desks,
      links: [],
      path: ["feeds", feeds[0]!.id, "through"],
      what: `${capital(listed(feedNames))} ${agree(feedNames.length > 1 || isPlural(feedNames[0]!), "ends", "end")} at ${names(plan, desks)}: by this plan nothing behind ${isOne ? "it" : "them"} can mute.`,
      why: "The mute for an emergency must not depend on what failed. While a surface starts, or a desk hangs, nobody can mute there.",
      see: "Full-level noise, or audio that comes back at full level, and a mute that does nothing.",
      remedy:
        "Agree who mutes where: at the amplifiers, the speaker processor or the receivers. Put that device at the end of the feed.",
    },
  ];
}
