/** What delays each feed, hop by hop and cable by cable. */
import type { FeedPlan, Plan } from "../../shared/plan.ts";
import { type HopLatency, hopLatencies, type PathLatency } from "../../sim/latency.ts";
import { milliseconds } from "../../sim/tell/heard.ts";
import { h, name, table } from "../dom.ts";
import type { Run } from "../run.ts";

export function latencyFold({ plan }: Run): HTMLElement {
  return h(
    "details",
    { class: "long" },
    h("summary", {}, "Delay, hop by hop"),
    table(
      "What the mixing in a device takes, no plan says: it comes on top",
      [
        { head: "Feed" },
        { head: "Hop" },
        { head: "Cable" },
        { head: "Link", kind: "number" },
        { head: "Length", kind: "number" },
        { head: "Buffer", kind: "number" },
        { head: "Converter", kind: "number" },
        { head: "Held back for the latest", kind: "number" },
        { head: "Together", kind: "number" },
      ],
      plan.feeds.flatMap((feed) =>
        hopLatencies(plan, feed).flatMap((hop) => hop.paths.map((path) => row(plan, feed, hop, path))),
      ),
    ),
  );
}

function row({ devices }: Plan, feed: FeedPlan, { from, to }: HopLatency, path: PathLatency): (Node | string)[] {
  const named = (id: string) => name(devices.find((device) => device.id === id)?.name ?? id);
  const time = (seconds: number) => (seconds === 0 ? "0" : milliseconds(seconds));
  return [
    name(feed.name),
    h("span", {}, named(from), " to ", named(to)),
    name(path.link),
    time(path.linkSeconds),
    time(path.propagationSeconds),
    time(path.bufferSeconds),
    time(path.converterSeconds),
    time(path.heldBackSeconds),
    time(path.seconds),
  ];
}
