/** What stands on paper of ends, cables and states. */
import type { DevicePlan, LinkPlan, Plan, PortRef } from "../../shared/plan.ts";
import { DEVICE_LOOKS } from "../../shared/states.ts";
import { deviceById } from "../by-id.ts";
import { cableIn, deviceHead, duration, inSentence, source } from "../tell/words.ts";
import type { Sight } from "./rehearsed.ts";

/** "FOH desk port 1" */
export function endWords(plan: Plan, { device, port }: PortRef): string {
  const found = deviceById(plan, device);
  return `${found === undefined ? device : deviceHead(found)} port ${port}`;
}

/** "Locked to FOH desk (port 1)", "On its own clock", "Leading" */
export function sightWords({ key, source: current, upstream }: Sight): string {
  const { word } = DEVICE_LOOKS[key];
  if (key === "locked" || key === "locked-later" || key === "acquiring") {
    const to = upstream === null ? "" : ` to ${inSentence(upstream.name)}`;
    const at = current === null || current === "internal" ? "" : ` (${source(current)})`;
    const head = key === "acquiring" ? "Pulling in" : "Locked";
    return `${head}${to}${at}${key === "locked-later" ? ", not its first source" : ""}`;
  }
  return key === "leading" ? "Leading, on its own clock" : word;
}

/** What a cable is in the plan: "main of stage-pair", "spare of stage-pair", "" for one that has no spare. */
export function partWords(plan: Plan, { id }: LinkPlan): string {
  return plan.spares
    .filter(({ links }) => links.includes(id))
    .map(({ id: group, links }) => {
      const place = links.indexOf(id);
      const word = place === 0 ? "main" : links.length === 2 ? "spare" : `spare ${place}`;
      return `${word} of ${group}`;
    })
    .join(", ");
}

/** "Cable main, FOH desk port 1 to stage box port 2" */
export function cableWithEnds(plan: Plan, link: LinkPlan): string {
  const [a, b] = [endWords(plan, link.a), endWords(plan, link.b)];
  return `${cableIn(plan, link.id)}, ${a} to ${inSentence(b)}`;
}

export const KIND_WORDS: Readonly<Record<DevicePlan["kind"], string>> = {
  desk: "desk",
  "stage-box": "stage box",
  processor: "processor",
  recorder: "recorder",
  transmitter: "transmitter",
  truck: "truck",
  "house-clock": "house clock",
  converter: "converter",
  switch: "switch",
  other: "device",
};

/** "after 5 min", "at once" */
export function afterWords(seconds: number): string {
  return seconds < 0.001 ? "at once" : `after ${duration(seconds)}`;
}

/** "port 1, then its own clock" */
export function sourcesInOrder(clockSources: readonly string[]): string {
  return clockSources.map(source).join(", then ");
}

/** Inside a sentence, where it does not begin with a name. */
export function lowered(text: string): string {
  return `${text[0]?.toLowerCase() ?? ""}${text.slice(1)}`;
}

/** " (assumed)" where nobody has entered one of these numbers of the device: on paper it must not pass for a setting. */
export function assumedMark(plan: Plan, device: string, ...names: readonly string[]): string {
  const isAssumed = (plan.assumptions ?? []).some(
    ({ on, name, ids }) => on === "device" && names.includes(name) && ids.includes(device),
  );
  return isAssumed ? " (assumed)" : "";
}
