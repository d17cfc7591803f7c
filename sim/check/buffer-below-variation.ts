/**
 * Receive buffers that are shorter than packets may be late: the waits in all bridges on the way, if all of them wait at
 * once. One finding for those at rest, one for those on another way.
 */
import type { Finding } from "../../shared/finding.ts";
import type { Plan } from "../../shared/plan.ts";
import { deviceOf, linkOf } from "../by-id.ts";
import type { StreamWay } from "../network/stream-ways.ts";
import { streamWays } from "../network/stream-ways.ts";
import { capital } from "../tell/words.ts";
import { byText, streams } from "./finding.ts";
import { micros } from "./micros.ts";

interface Late {
  readonly peakSeconds: number;
  readonly bufferSeconds: number;
}

export function bufferBelowVariation(plan: Plan): readonly Finding[] {
  const [atRest, ...later] = streamWays(plan);
  if (atRest === undefined) return [];
  const late = lateIn(plan, atRest.ways);
  const lateThen = new Map<string, Late>();
  for (const { ways } of later)
    for (const [id, one] of lateIn(plan, ways))
      if (!late.has(id) && (lateThen.get(id)?.peakSeconds ?? 0) < one.peakSeconds) lateThen.set(id, one);
  return [
    ...(late.size === 0 ? [] : [findingFor(late, "error")]),
    ...(lateThen.size === 0 ? [] : [findingFor(lateThen, "warning")]),
  ];
}

function lateIn(plan: Plan, ways: ReadonlyMap<string, StreamWay>): Map<string, Late> {
  const late = new Map<string, Late>();
  for (const [id, { bridges }] of ways) {
    const link = linkOf(plan, id);
    const bufferSeconds = link.buffer.startSamples / deviceOf(plan, link.b.device).sampleRateHz;
    const peakSeconds = bridges.reduce((sum, { device }) => sum + (device.bridge?.delayVariationSeconds ?? 0), 0);
    if (peakSeconds > bufferSeconds) late.set(id, { peakSeconds, bufferSeconds });
  }
  return late;
}

function findingFor(late: ReadonlyMap<string, Late>, severity: "error" | "warning"): Finding {
  const links = [...late.keys()].sort(byText);
  const worst = links.reduce((most, id) => (late.get(id)!.peakSeconds > late.get(most)!.peakSeconds ? id : most));
  const { peakSeconds, bufferSeconds } = late.get(worst)!;
  const what = `packets of ${streams(links)} may be up to ${micros(peakSeconds)} late, and the receive buffer${links.length === 1 ? " bridges" : `s do not bridge that: ${worst}`} ${links.length === 1 ? "" : "bridges "}${micros(bufferSeconds)}`;
  return {
    rule: "buffer-below-variation",
    severity,
    devices: [],
    links,
    path: ["links", worst, "buffer"],
    what: severity === "error" ? `${capital(what)}.` : `When packets have to take another way, ${what}.`,
    why: "A packet waits behind others in every bridge; one that comes after its turn is lost.",
    see:
      severity === "error"
        ? "Clicks all the time, more of them the busier the network is."
        : "Clicks from the moment a cable or a bridge is gone, though every stream is there.",
    remedy:
      "A longer receive buffer, which costs delay; fewer bridges on the way, or priority for audio packets in them.",
  };
}
