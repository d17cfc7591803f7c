/** One rig for the tests of spares: a stage box on two cables to a desk, and a processor behind it; MADI and AES3. */
import type { Plan } from "../../shared/plan.ts";
import type { FeedSummary } from "../../shared/summary.ts";
import { plan } from "../helpers/rig.ts";

export type Words = Readonly<Record<string, unknown>>;

export interface Parts {
  readonly stage?: Words;
  readonly foh?: Words;
  readonly pa?: Words;
  readonly main?: Words;
  readonly spare?: Words;
  readonly pair?: Words;
  readonly feed?: Words;
  readonly length?: string;
}

/** As its file. MADI notices in 0.01 s and comes up in 0.1 s; 48 kHz. */
export function spareFile(events: readonly object[], parts: Parts = {}) {
  return {
    format: 1,
    title: "a pair",
    run: { length: parts.length ?? "00:30:00" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["foh"],
      devices: [
        {
          id: "foh",
          name: "FOH desk",
          kind: "desk",
          clockSources: ["internal"],
          oscillator: { offsetPpm: 4.1 },
          ...parts.foh,
        },
        {
          id: "pa",
          name: "PA processor",
          kind: "processor",
          clockSources: ["1"],
          oscillator: { offsetPpm: 2.3 },
          ...parts.pa,
        },
        {
          id: "stage",
          name: "Stage box",
          kind: "stage-box",
          clockSources: ["1", "2"],
          oscillator: { offsetPpm: -5.9 },
          ...parts.stage,
        },
      ],
      links: [
        { id: "main", type: "madi", from: "stage.1", to: "foh.1", return: true, laidAlong: ["left"], ...parts.main },
        { id: "spare", type: "madi", from: "stage.2", to: "foh.2", return: true, laidAlong: ["right"], ...parts.spare },
        { id: "to-pa", type: "aes3", from: "foh.3", to: "pa.1" },
      ],
      spares: [{ id: "pair", links: ["main", "spare"], ...parts.pair }],
      feeds: [{ id: "mix", through: ["stage", "foh", "pa"], channels: [32, 2], heardBy: ["pa"], ...parts.feed }],
    },
    events,
  };
}

export function spareRig(events: readonly object[], parts: Parts = {}): Plan {
  return plan(spareFile(events, parts));
}

/** The same with another audio latency of one link, in seconds: types have theirs, and files do not say it. */
export function withLatency(made: Plan, latencies: Readonly<Record<string, number>>): Plan {
  const links = made.links.map((link) => ({ ...link, latencySeconds: latencies[link.id] ?? link.latencySeconds }));
  return { ...made, links };
}

/** "600 silent link-down main": each stretch by its beginning. */
export function inWords(feed: FeedSummary): string[] {
  return feed.states.map(
    (each) => `${each.fromSeconds} ${each.state}${each.silence === null ? "" : ` ${each.silence} ${each.because}`}`,
  );
}
