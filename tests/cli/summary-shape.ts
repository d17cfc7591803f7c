/** The documented shape of `rehearse --json` and `check --json`, written a second time: strict, so nothing creeps in. */
import * as z from "zod";
import type { AcceptedFinding, Finding } from "../../shared/finding.ts";
import { PTP_PROFILES } from "../../shared/plan.ts";
import { PORT_ROLES } from "../../shared/record.ts";
import type { Summary } from "../../shared/summary.ts";

const seconds = z.number().nonnegative();
const count = z.int().nonnegative();
const span = { fromSeconds: seconds, toSeconds: seconds };
const state = z.enum(["off", "starting", "free-run", "acquiring", "locked", "holdover"]);

const finding = z.strictObject({
  rule: z.string().regex(/^[a-z-]+$/),
  severity: z.enum(["error", "warning", "advice"]),
  devices: z.array(z.string()),
  links: z.array(z.string()),
  path: z.array(z.union([z.string(), z.number()])),
  what: z.string().min(1),
  why: z.string().min(1),
  see: z.string().min(1),
  remedy: z.string().min(1),
}) satisfies z.ZodType<Finding>;

const accepted = finding.extend({ reason: z.string().min(1) }) satisfies z.ZodType<AcceptedFinding>;

const foretold = z.strictObject({
  predictedSeconds: seconds.nullable(),
  giveOrTakeSeconds: seconds.nullable(),
  ranSeconds: seconds.nullable(),
  watchedSeconds: seconds,
});

const chain = z.strictObject({
  devices: z.array(z.string()).min(2),
  depth: z.int().positive(),
  peakDecibels: z.number().positive(),
  peakHz: z.number().positive(),
  fromSeconds: seconds,
  afterOnePpm: z.strictObject({
    errorMicroseconds: z.number().positive(),
    atSeconds: z.number().positive(),
    overshootPercent: z.number().positive(),
  }),
  wander: z.strictObject({ tauSeconds: z.number().positive(), ratio: z.number().positive() }).nullable(),
});
const chains = z.strictObject({ deepest: chain, highest: chain }).nullable();

export const summaryShape = z.strictObject({
  schemaVersion: z.literal(1),
  scenario: z.strictObject({ title: z.string(), sha256: z.string().regex(/^[0-9a-f]{64}$/) }),
  seed: z.string(),
  runSeconds: seconds,
  verdict: z.enum(["met", "failed", "none"]),
  devices: z.array(
    z.strictObject({
      id: z.string(),
      name: z.string(),
      states: z.array(
        z.strictObject({ state, source: z.string().nullable(), fromSeconds: seconds, toSeconds: seconds }),
      ),
      offsetPpm: z.number().nullable(),
    }),
  ),
  links: z.array(
    z.strictObject({
      id: z.string(),
      way: z.enum(["there", "back", "both"]),
      states: z.array(
        z.strictObject({
          state: z.enum(["up", "down", "coming-up"]),
          clock: z.enum(["given", "each-way", "disputed", "unclaimed"]),
          fromSeconds: seconds,
          toSeconds: seconds,
        }),
      ),
    }),
  ),
  feeds: z.array(
    z.strictObject({
      id: z.string(),
      name: z.string(),
      heardBy: z.array(z.string()),
      slips: count,
      drops: count,
      repeats: count,
      silentSeconds: seconds,
      silentForDeviceDownSeconds: seconds,
      silentForClockSeconds: seconds,
      longestSilenceSeconds: seconds,
      dropouts: z.strictObject({ whileFaulty: count, onReturn: count }),
      firstAudibleAtSeconds: seconds.nullable(),
      cleanAgainAtSeconds: seconds.nullable(),
      returnsAtFullLevel: z.boolean(),
      mayBeSilent: z.boolean(),
      converterDelaySeconds: seconds,
      latency: z.strictObject({
        mainSeconds: seconds,
        mainSamples: seconds,
        spareSeconds: seconds.nullable(),
        spareSamples: seconds.nullable(),
      }),
      states: z.array(
        z.strictObject({
          state: z.enum(["clean", "slipping", "silent", "not-carried"]),
          silence: z.enum(["device-down", "link-down", "muted", "finding-rate", "out-of-step"]).nullable(),
          because: z.string().nullable(),
          slips: count,
          fromSeconds: seconds,
          toSeconds: seconds,
        }),
      ),
      realignedAtSeconds: z.array(seconds),
    }),
  ),
  chains: z.strictObject({ atStart: chains, worst: chains }),
  events: z.array(z.strictObject({ atSeconds: seconds, do: z.string(), on: z.string(), undoes: z.boolean() })),
  expect: z.array(z.strictObject({ expected: z.string(), met: z.boolean(), found: z.string() })),
  converters: z.array(
    z.strictObject({
      device: z.string(),
      port: z.int().positive(),
      link: z.string(),
      way: z.enum(["there", "back"]),
      from: z.string(),
      fromRateHz: z.number().positive(),
      rateHz: z.number().positive(),
      delaySeconds: seconds,
      convertsSeconds: seconds,
      searches: count,
      apartSeconds: seconds,
      aheadPpm: z.number().nullable(),
    }),
  ),
  holdovers: z.array(
    z.strictObject({
      device: z.string(),
      atSeconds: seconds,
      state: z.enum(["holdover", "free-run"]),
      followed: z.string(),
      keptSeconds: seconds,
      keptErrorPpb: z.number(),
      driftPpbPerHour: z.number(),
      ownOffsetPpm: z.number(),
      allowances: z.array(foretold.extend({ percent: z.number().positive() })),
      links: z.array(foretold.extend({ link: z.string(), way: z.enum(["there", "back"]), against: z.string() })),
      ended: z.strictObject({ afterSeconds: seconds, state }).nullable(),
    }),
  ),
  ridesOut: z.array(
    z.strictObject({
      kind: z.enum(["spare", "clock"]),
      id: z.string(),
      link: z.string(),
      unnoticedSeconds: seconds,
      seconds: seconds.nullable(),
      beyond: z.enum(["spare", "by-hand", "gap", "none", "next-source", "holdover", "own-clock"]).nullable(),
      beyondAfterSeconds: seconds.nullable(),
    }),
  ),
  networks: z.array(
    z.strictObject({
      id: z.string(),
      name: z.string(),
      profile: z.enum(PTP_PROFILES),
      leaders: z.array(z.strictObject({ leader: z.string(), ...span })),
      changes: count,
      bridging: z.array(
        z.strictObject({
          part: z.int().positive(),
          forwards: z.array(z.string()),
          blocked: z.array(z.string()),
          storm: z.boolean(),
          ...span,
        }),
      ),
      devices: z.array(
        z.strictObject({
          device: z.string(),
          roles: z.array(
            z.strictObject({
              role: z.enum(PORT_ROLES),
              leader: z.string().nullable(),
              parent: z.string().nullable(),
              ...span,
            }),
          ),
          follows: z
            .strictObject({
              leader: z.string(),
              parent: z.string(),
              inUse: z.boolean(),
              steps: count,
              bridges: count,
              pathMicroseconds: z.number().nonnegative(),
              shiftNanoseconds: z.number(),
              jitterNanoseconds: z.strictObject({
                arrives: z.number().nonnegative(),
                kept: z.number().nonnegative(),
              }),
            })
            .nullable(),
        }),
      ),
    }),
  ),
  findings: z.array(finding),
  accepted: z.array(accepted),
  assumed: z.array(z.string()),
  measured: z.array(z.string()).optional(),
  worstErrorSamples: z.number().nonnegative().nullable(),
}) satisfies z.ZodType<Summary>;

const placed = finding.extend({
  place: z.strictObject({ file: z.string(), line: z.int().positive(), column: z.int().positive() }),
});

export const checkShape = z.strictObject({
  schemaVersion: z.literal(1),
  scenario: summaryShape.shape.scenario.extend({ stamp: z.string().regex(/^[A-Z3-9]{2}-[A-Z3-9]{2}$/) }),
  findings: z.array(placed),
  accepted: z.array(placed.extend({ reason: z.string().min(1) })),
  feeds: z.array(
    z.strictObject({ feed: z.string(), disjointWays: count, cuts: z.array(z.array(z.string()).min(1).max(3)) }),
  ),
  errors: count,
  warnings: count,
  advice: count,
});
