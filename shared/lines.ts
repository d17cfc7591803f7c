/**
 * T-ed word-clock lines: one cable, one sender, several receivers. Each receiver's tap is a link of its own, so whatever
 * is about the cable has to ask here which links that are.
 */
import type { EventPlan, LinkPlan } from "./plan.ts";

/** The cable that a link is, or is a tap of, by its id. */
export function cableOf(link: LinkPlan): string {
  return link.line?.id ?? link.id;
}

/** Whether the link is all of its cable: on a line only the last tap, which is as long as the line. */
export function isWholeCable({ line, b }: LinkPlan): boolean {
  return line === undefined || line.taps.at(-1) === b.device;
}

/** Whether what happens at a cable happens to this link: at a tap's own end only that tap, else all of its line. */
export function isAbout(event: Pick<EventPlan & { do: "unplug" }, "link" | "end">, link: LinkPlan): boolean {
  return event.link === (event.end === "b" ? link.id : cableOf(link));
}
