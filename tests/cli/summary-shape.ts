/** The documented shape of `rehearse --json` and `check --json`, written a second time: strict, so nothing creeps in. */
import * as z from "zod";
import type { Finding } from "../../shared/finding.ts";
import type { Summary } from "../../shared/summary.ts";

const seconds = z.number().nonnegative();
const count = z.int().nonnegative();
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
      states: z.array(
        z.strictObject({
          state: z.enum(["clean", "slipping", "silent", "not-carried"]),
          silence: z.enum(["device-down", "link-down", "muted", "out-of-step"]).nullable(),
          because: z.string().nullable(),
          slips: count,
          fromSeconds: seconds,
          toSeconds: seconds,
        }),
      ),
      realignedAtSeconds: z.array(seconds),
    }),
  ),
  events: z.array(z.strictObject({ atSeconds: seconds, do: z.string(), on: z.string(), undoes: z.boolean() })),
  expect: z.array(z.strictObject({ expected: z.string(), met: z.boolean(), found: z.string() })),
  findings: z.array(finding),
  assumed: z.array(z.string()),
  worstErrorSamples: z.number().nonnegative().nullable(),
}) satisfies z.ZodType<Summary>;

export const checkShape = z.strictObject({
  schemaVersion: z.literal(1),
  scenario: summaryShape.shape.scenario,
  findings: z.array(
    finding.extend({
      place: z.strictObject({ file: z.string(), line: z.int().positive(), column: z.int().positive() }),
    }),
  ),
  errors: count,
  warnings: count,
  advice: count,
});
