/**
 * What somebody in front of a device should see, in words of the plan: its lock lamp, which clock source it names, what
 * comes out. Of lamps it says "may": what a device lights for which state is nowhere agreed.
 */
import type { DevicePlan, Plan } from "../../shared/plan.ts";
import type { DeviceState } from "../../shared/record.ts";
import type { DeviceLookKey } from "../../shared/states.ts";
import { networkBehind } from "./picture.ts";
import { duration, kilohertz, listed, source } from "./words.ts";

export const LAMPS: Readonly<Record<DeviceLookKey, string>> = {
  leading: "Its lock lamp may be dark or lit: it follows nobody.",
  locked: "Its lock lamp may be lit and steady. To whom it is locked the lamp does not say.",
  "locked-later": "Its lock lamp may be lit and steady, as with its first source.",
  acquiring: "Its lock lamp may be dark, or come and go.",
  holdover: "Its lock lamp may go out, come and go, or stay lit.",
  "free-run": "Its lock lamp may be lit all the same: to its own clock.",
  works: "It has no lock lamp of its own; the lamps of its ports may flicker.",
  starting: "Lamps may light in any order while it boots.",
  off: "Dark.",
};

export interface ReadsFrom {
  readonly source: string | null;
  /** Where it takes its clock from; null while on its own, or on none. */
  readonly upstream: DevicePlan | null;
  /** Clock sources as set by then. */
  readonly clockSources: readonly string[];
}

/** @param named how a name from a file stands in a sentence */
export function readsWords(
  plan: Plan,
  device: DevicePlan,
  key: DeviceLookKey,
  standing: ReadsFrom | undefined,
  named: (name: string) => string,
): string {
  if (key === "off" || key === "starting" || standing === undefined) return "Reads nothing.";
  const rate = kilohertz(device.sampleRateHz);
  const { source: current, upstream } = standing;
  if (current === null || current === "internal" || key === "free-run" || key === "leading") {
    const set = standing.clockSources.filter((one) => one !== "internal");
    const instead = key === "free-run" && set.length > 0 ? `, not ${listed(set.map(source), "or")}` : "";
    return `Reads: clock source internal${instead}; ${rate}.`;
  }
  const network = networkBehind(plan, device.id, current);
  const names = [network?.name, upstream?.name].filter((name) => name !== undefined).map(named);
  const from = names.length === 0 ? "" : ` (${names.join(", ")})`;
  const lost = key === "holdover" ? "was " : "";
  return `Reads: clock source ${lost}${source(current)}${from}; ${rate}.`;
}

/** How the state of a run is called in `muteWhile`. */
function stateOf(key: DeviceLookKey): DeviceState {
  if (key === "leading" || key === "works") return "free-run";
  return key === "locked-later" ? "locked" : key;
}

export function outputWords(device: DevicePlan, key: DeviceLookKey): string {
  const { muteWhile } = device;
  if (key === "off") return "Nothing comes out of it.";
  if (!muteWhile.includes(stateOf(key))) return "Its outputs are open.";
  return `It mutes its outputs itself; they open ${openingWords(device)}.`;
}

/** "2 s after that, at full level, with no fade" */
function openingWords({ unmuteSeconds, unmuteRampSeconds }: DevicePlan): string {
  const after = unmuteSeconds > 0 ? `${duration(unmuteSeconds)} after that` : "right after that";
  const level = unmuteRampSeconds > 0 ? `with a fade of ${duration(unmuteRampSeconds)}` : "at full level, with no fade";
  return `${after}, ${level}`;
}
