/**
 * How short a break of a link must be to be ridden out, from the plan in closed form.
 *
 * A break shorter than noticing is over before anybody knows. A longer one takes the link down, and once whole again it
 * needs its time to come up, so what is to happen `act` seconds after the break happens unless
 *
 *   break + coming up ≤ act, that is break ≤ act − coming up, or break < noticing.
 */
import type { DevicePlan, LinkPlan, Plan, SparePlan } from "../shared/plan.ts";
import type { RidesOutBeyond, RidesOutSummary } from "../shared/summary.ts";
import { linkById } from "./by-id.ts";
import { clockGraph } from "./clock-graph.ts";
import { isMerged, skewSeconds } from "./latency.ts";

export function ridesOut(plan: Plan): RidesOutSummary[] {
  const graph = clockGraph(plan);
  return [
    ...plan.spares.flatMap((spare) => ofSpare(plan, spare)),
    ...plan.devices.flatMap((device) => {
      const used = graph.used(device.id)?.heard;
      const link = used?.kind === "device" ? linkById(plan, used.link) : undefined;
      // An election has its own ways of noticing.
      if (link === undefined || link.ethernet !== undefined) return [];
      const next = graph
        .choices(device.id)
        .find(({ heard }) => heard.kind === "own" || (heard.kind === "device" && heard.link !== link.id));
      return [ofClock(device, link, next?.heard.kind ?? null)];
    }),
  ];
}

/** The longest break that is over before what would follow `actSeconds` after it. */
function ridden({ noticeSeconds, comingUpSeconds }: LinkPlan, actSeconds: number): number {
  return actSeconds <= noticeSeconds ? actSeconds : Math.max(noticeSeconds, actSeconds - comingUpSeconds);
}

function ofSpare(plan: Plan, spare: SparePlan): RidesOutSummary[] {
  const [main, other] = spare.links.flatMap((id) => {
    const link = linkById(plan, id);
    return link?.atStart === "plugged" ? [link] : [];
  });
  if (main === undefined) return [];
  const row = (beyond: RidesOutBeyond | null, afterSeconds: number | null): RidesOutSummary => ({
    kind: "spare",
    id: spare.id,
    link: main.id,
    unnoticedSeconds: main.noticeSeconds,
    seconds: afterSeconds === null ? null : ridden(main, afterSeconds),
    beyond,
    beyondAfterSeconds: afterSeconds,
  });
  if (other === undefined) return [row("none", null)];
  if (spare.mode !== "duplicate")
    return [row(spare.mode === "manual" ? "by-hand" : "spare", main.noticeSeconds + spare.switchSeconds)];
  return [isMerged(plan, spare, main, other) ? row(null, null) : row("gap", skewSeconds(plan, main, other))];
}

/** @param next what else its list has; null: nothing. */
function ofClock(device: DevicePlan, link: LinkPlan, next: "own" | "device" | "nothing" | null): RidesOutSummary {
  const { noticeSeconds } = link;
  const row = { kind: "clock", id: device.id, link: link.id, unnoticedSeconds: noticeSeconds } as const;
  if (next !== null)
    return {
      ...row,
      // Back within hold-off it is the same source still; only then does it choose.
      seconds: ridden(link, noticeSeconds + device.holdOffSeconds),
      beyond: next === "own" ? "own-clock" : "next-source",
      beyondAfterSeconds: noticeSeconds + device.holdOffSeconds + device.reactionSeconds,
    };
  return {
    ...row,
    seconds: noticeSeconds,
    beyond: device.holdoverSeconds > 0 ? "holdover" : "own-clock",
    beyondAfterSeconds: noticeSeconds,
  };
}
