/** Devices at the end of feeds to loudspeakers or ears that open again without a fade. One finding for all of them. */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf } from "../by-id.ts";
import { agree, capital } from "../tell/words.ts";
import { byText, names } from "./finding.ts";
import { loudFeeds } from "./heard-loud.ts";

export function returnsAtFullLevel(plan: Plan): readonly Finding[] {
  const lasts = loudFeeds(plan).map(({ through }) => through.at(-1)!);
  const hard = [...new Set(lasts)].filter((id) => deviceOf(plan, id).unmuteRampSeconds === 0).sort(byText);
  if (hard.length === 0) return [];
  const isOne = hard.length === 1;
  return [
    {
      rule: "returns-at-full-level",
      severity: "advice",
      devices: hard,
      links: [],
      path: ["devices", hard[0]!, "unmuteRampSeconds"],
      what: `After a dropout ${names(plan, hard)} ${agree(!isOne, "opens", "open")} at full level, with no fade.`,
      why: "What was lost comes back when nobody expects it, with the faders where they were.",
      see: "A jump from silence to show level, in the PA or in somebody's ears.",
      remedy: `${capital(names(plan, hard))}: set a fade if there is one, and write it as unmuteRampSeconds. Otherwise outputs down at the last device, ears out, until everything is back.`,
    },
  ];
}
