/** What somebody saw and timed on site, against the rehearsal. */
import type { PullResult } from "../../shared/scenario-pull-results.ts";
import { duration } from "../tell/words.ts";

/** Two presses of a thumb, each some 0.2 s after the ear, and a little doubt: *assumed*. */
export const HAND_SECONDS = 0.5;

/** How much longer it took than the rehearsal has, s; null: nothing to compare. */
export function longerBy({ measuredSeconds, expectedSeconds }: PullResult): number | null {
  return measuredSeconds === undefined || expectedSeconds === undefined ? null : measuredSeconds - expectedSeconds;
}

/** Sound was gone and came back, where the rehearsal has none of that. */
function hasGapUnforeseen({ sound, measuredSeconds }: PullResult): boolean {
  return (sound === "stays" || sound === "gone") && (measuredSeconds ?? 0) > HAND_SECONDS;
}

/** Done, and as the rehearsal has it but for how long it took. */
export function isAsRehearsed(pull: PullResult): boolean {
  return pull.answer === "expected" && !hasGapUnforeseen(pull);
}

export function isDone({ answer }: PullResult): boolean {
  return answer === "expected" || answer === "different";
}

/** "Measured 81.2 s, the rehearsal has 75.1 s: 6.1 s longer."; empty: nothing was measured. */
export function measuredWords(pull: PullResult): string {
  const { measuredSeconds, expectedSeconds, sound } = pull;
  if (measuredSeconds === undefined) return "";
  const measured = `Measured ${duration(measuredSeconds)}`;
  if (sound === "stays") return `${measured} without sound; in the rehearsal it stays.`;
  if (sound === "gone") return `${measured} until sound; in the rehearsal it does not come back.`;
  const longer = longerBy(pull) ?? 0;
  const apart =
    Math.abs(longer) <= HAND_SECONDS
      ? "within what a hand on a stopwatch can tell"
      : `${duration(Math.abs(longer))} ${longer > 0 ? "longer" : "shorter"}`;
  return `${measured}, the rehearsal has ${duration(expectedSeconds ?? 0)}: ${apart}.`;
}

/** In which the site contradicts the rehearsal. */
export function contradicts(pull: PullResult): boolean {
  if (!isDone(pull)) return false;
  return !isAsRehearsed(pull) || Math.abs(longerBy(pull) ?? 0) > HAND_SECONDS;
}

/** "Reboot the FOH desk: not as expected. Measured … Note: …" */
export function resultWords(pull: PullResult): string {
  const { does, answer, note } = pull;
  const said =
    answer === "expected" ? "as expected" : answer === "different" ? "not as expected" : (answer ?? "not come to yet");
  return [`${does.replaceAll("\n", ", ")}: ${said}.`, measuredWords(pull), note === undefined ? "" : `Note: ${note}.`]
    .filter((words) => words !== "")
    .join(" ");
}
