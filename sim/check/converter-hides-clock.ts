/**
 * A sample-rate converter between two devices that are meant to be on one clock. Where they are, it only delays; where
 * one of them is not, it is what keeps anybody from hearing so.
 */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { capital, duration } from "../tell/words.ts";
import type { ConvertedEnds } from "./converted-ends.ts";
import { convertedEnds } from "./converted-ends.ts";
import { head, mid } from "./finding.ts";

export function converterHidesClock(plan: Plan): readonly Finding[] {
  return convertedEnds(plan)
    .filter(({ isOneDomain }) => isOneDomain)
    .map((ends) => findingFor(plan, ends));
}

function findingFor(plan: Plan, { at, fromRoot, toRoot, isOneClock }: ConvertedEnds): Finding {
  const { from, to, link, converter } = at;
  const costs = `delays the sound by ${duration(converter.delaySeconds)}`;
  const place = `the sample-rate converter at port ${to.port} of ${mid(plan, to.device)}`;
  const shared = {
    rule: "converter-hides-clock",
    devices: [from.device, to.device].sort(),
    links: [link.id],
    path: ["devices", to.device, "ports", String(to.port), "converter"],
  };
  if (isOneClock)
    return {
      ...shared,
      severity: "advice",
      what: `${capital(place)} stands between two devices that are on one clock.`,
      why: `It is not needed and ${costs}; should one of the two ever leave that clock, nobody would hear it there.`,
      see: "Nothing, now or then.",
      remedy: `${head(plan, to.device)}, port ${to.port}: switch the converter off, so that a wrong setting is heard before doors.`,
    };
  const [one, other] = [mid(plan, from.device), mid(plan, to.device)];
  const clocks =
    fromRoot === from.device && toRoot === to.device
      ? `${one} and ${other} each run on their own clock`
      : `${one} ${clockOf(plan, from.device, fromRoot)} and ${other} ${clockOf(plan, to.device, toRoot)}`;
  return {
    ...shared,
    severity: "warning",
    what: `${capital(place)} hides that ${clocks}.`,
    why: `The two are joined elsewhere without a converter, so one clock is meant for both. What comes through this one sounds clean all the same, and it ${costs}.`,
    see: "Nothing on this link; clicks on every other way between the two.",
    remedy: "Set the clock sources so that both follow one leader; then switch the converter off.",
  };
}

function clockOf(plan: Plan, id: string, root: string | null): string {
  if (root === null) return "takes its clock out of a ring";
  return root === id ? "runs on its own clock" : `takes its clock from ${mid(plan, root)}`;
}
