/** Streams with more channels than one packet holds: several side by side. One finding for all of them. */
import type { Finding } from "../../shared/finding.ts";
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import { capital, counted } from "../tell/words.ts";
import { byText, streams } from "./finding.ts";

export function streamSplit(plan: Plan): readonly Finding[] {
  const split = plan.links.filter((link) => parts(link) > 1).sort((one, two) => byText(one.id, two.id));
  if (split.length === 0) return [];
  const links = split.map(({ id }) => id);
  const [first] = split as [LinkPlan];
  const each = `${counted(parts(first), "stream", "streams")} of up to ${first.stream!.channelsPerPacket} channels`;
  return [
    {
      rule: "stream-split",
      severity: "advice",
      devices: [],
      links,
      path: ["links", first.id, "channels"],
      what: `${capital(streams(links))} ${links.length === 1 ? "has" : "have"} more channels than one packet holds: ${first.id} is ${each}, side by side.`,
      why: "A packet has room for 1,440 bytes of audio, and receivers of AES67 need take no more than eight channels in one stream.",
      see: "Nothing, where all of them are set up. One that is forgotten, or put in the wrong place, is a block of channels that is missing or swapped.",
      remedy:
        "Count the streams on the patch sheet and subscribe each by itself; or shorter packets, where the type allows more channels with them.",
    },
  ];
}

function parts({ stream, channels }: LinkPlan): number {
  return stream === undefined ? 0 : Math.ceil(channels / stream.channelsPerPacket);
}
