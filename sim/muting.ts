/**
 * Which outputs to mute before something that failed comes back, in which order, by whom, and where: at the last device
 * on the way of the sound that works and can be muted by itself (common practice, no source). What nobody listens to in
 * the moment is left out: a recording hurts nobody.
 */
import type { EventPlan, FeedPlan, Plan } from "../shared/plan.ts";
import { DevicePower } from "../shared/power.ts";
import { deviceById } from "./by-id.ts";

/** Ears first, where sudden level does most harm; then the stage, the house, and who is far away. */
export const MUTE_ORDER = ["in-ears", "assisted-hearing", "comms", "wedges", "pa", "broadcast", "stream"] as const;
export type MutedEars = (typeof MUTE_ORDER)[number];

/** Who has these outputs under the hands (common practice, no source). */
const WHO: Readonly<Record<MutedEars, string>> = {
  "in-ears": "monitor engineer",
  "assisted-hearing": "FOH engineer",
  comms: "stage manager",
  wedges: "monitor engineer",
  pa: "system engineer",
  broadcast: "broadcast engineer",
  stream: "stream engineer",
};

/** Where to mute when no device on the way of the feed can be relied on. */
const BEHIND: Readonly<Record<MutedEars, "receivers" | "amplifiers" | "far-end">> = {
  "in-ears": "receivers",
  "assisted-hearing": "receivers",
  comms: "receivers",
  wedges: "amplifiers",
  pa: "amplifiers",
  broadcast: "far-end",
  stream: "far-end",
};

export type MutePlace =
  | { readonly kind: "device"; readonly device: string }
  | { readonly kind: "receivers" | "amplifiers" | "far-end" };

export interface Mute {
  readonly ears: MutedEars;
  readonly who: string;
  readonly at: MutePlace;
  /** Ids, in the order of the plan. */
  readonly feeds: readonly string[];
}

/** Devices at which nobody can mute for a while: without power, hung, or starting, if only their surface. */
export function failedBy(plan: Plan, events: readonly EventPlan[]): ReadonlySet<string> {
  const failed = plan.devices.filter((device) => {
    const power = new DevicePower({ ...device, atStart: "on" });
    return events.some((event) => {
      const wasOn = power.isOn;
      power.play(event);
      const isHit = (event.do === "reboot" || event.do === "hang") && event.device === device.id;
      return isHit || (wasOn && !power.isOn);
    });
  });
  return new Set(failed.map(({ id }) => id));
}

/** In the order in which to mute. */
export function mutesFor(plan: Plan, failed: ReadonlySet<string>, feeds: readonly FeedPlan[]): readonly Mute[] {
  return MUTE_ORDER.flatMap((ears) => {
    const mutes = new Map<string, Mute>();
    for (const feed of feeds.filter(({ heardBy }) => heardBy.includes(ears))) {
      const at = mutePlace(plan, failed, feed, ears);
      const key = at.kind === "device" ? `device ${at.device}` : at.kind;
      const known = mutes.get(key)?.feeds ?? [];
      mutes.set(key, { ears, who: WHO[ears], at, feeds: [...known, feed.id] });
    }
    return [...mutes.values()];
  });
}

/** The last device of the feed, unless it has failed, or is a stage box: a desk mutes that, over a link that may be gone. */
export function mutePlace(plan: Plan, failed: ReadonlySet<string>, { through }: FeedPlan, ears: MutedEars): MutePlace {
  const last = deviceById(plan, through.at(-1));
  if (last === undefined || failed.has(last.id) || last.kind === "stage-box") return { kind: BEHIND[ears] };
  return { kind: "device", device: last.id };
}
