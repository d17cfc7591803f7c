/** The clock of one device of a scenario: plays it, and samples the device's phase. */
import type { Issue } from "../../shared/issues.ts";
import { nearest } from "../../shared/nearest.ts";
import type { Plan } from "../../shared/plan.ts";
import { type Ns, secondsFromNs, ZERO } from "../../shared/time.ts";
import { formatShowTime } from "../../shared/units.ts";
import { deviceById } from "../../sim/by-id.ts";
import { timebasesOf } from "../../sim/lives.ts";
import {
  isStraight,
  jumpsWithin,
  longestInLock,
  meanFrequency,
  type PhaseSeries,
  phaseSeries,
} from "../../sim/phase-series.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { POINTS_MAX } from "../samples-csv.ts";
import { readScenarioFile } from "../scenario.ts";
import type { Io } from "../terminal.ts";
import { optionIssue, type RunOptions } from "./stability-options.ts";

/** What a table of a run stands on. */
export interface RunFacts {
  readonly device: string;
  readonly deviceName: string;
  /** Null: true time. */
  readonly against: string | null;
  readonly againstName: string | null;
  readonly seed: string;
  readonly scenarioSha256: string;
  /** First and last sample. */
  readonly fromSeconds: number;
  readonly toSeconds: number;
  /**
   * How the stretch was chosen: "asked": by --from or --to; "in-lock": the longest in which every device was locked or
   * leading; "running": none was ever, so the longest with a clock.
   */
  readonly stretch: "asked" | "in-lock" | "running";
  /** Re-alignments in the stretch. */
  readonly jumps: number;
  /** From the first sample to the last, fractional; null where there is only one. */
  readonly meanFrequency: number | null;
  /** Whether any oscillator of the run wanders. */
  readonly oscillatorsWander: boolean;
  readonly wanderGridSeconds: number;
  /** Nothing but a frequency in it, within `roundingSeconds`. */
  readonly isStraight: boolean;
  readonly roundingSeconds: number;
  /** How far a sample may be from the exact model; null where a ring leaves no bound. */
  readonly withinSeconds: number | null;
}

export type RunRead =
  | { readonly issues: readonly Issue[] }
  | { readonly series: PhaseSeries; readonly run: RunFacts; readonly sampleRateHz: number };

/** @param mayPlay false: only says what is wrong with the file, because nothing would be computed anyway. */
export async function readRunSamples(
  file: string,
  options: RunOptions,
  io: Io,
  { mayPlay }: { readonly mayPlay: boolean },
): Promise<RunRead> {
  const read = await readScenarioFile(file, io, { events: [], options: [], seed: options.seed });
  if (read.issues.length > 0 || read.plan === null) return { issues: read.issues };
  const { plan, sha256 } = read;
  const issues = planIssues(plan, options);
  if (issues.length > 0 || !mayPlay) return { issues };

  const { device, against } = options;
  const devices = against === null ? [device] : [device, against];
  const { record } = rehearse(plan, { sha256 });
  const isAsked = options.fromNs !== null || options.toNs !== null;
  const found = isAsked ? null : longestInLock(record, devices);
  if (!isAsked && found === null)
    return {
      issues: [
        optionIssue(
          "--device",
          against === null ? "a device that puts out a clock" : "two devices that put out clocks at the same time",
          devices.join(" and "),
          "choose another, or look at rehearse for what became of it",
        ),
      ],
    };
  const stepSeconds = options.stepSeconds ?? plan.wanderGridSeconds;
  const fromNs = options.fromNs ?? found?.fromNs ?? ZERO;
  const toNs = options.toNs ?? found?.toNs ?? record.endNs;
  const series = phaseSeries(plan, record, timebasesOf(plan), device, {
    ...{ stepSeconds, fromNs, toNs, against },
  });
  if (series.phaseSeconds.every(Number.isNaN)) {
    const stretch = `${formatShowTime(fromNs)} to ${formatShowTime(toNs)}`;
    return {
      issues: [
        series.phaseSeconds.length === 0
          ? optionIssue("--step", `an instant to sample from ${stretch}`, `${stepSeconds} s`, "give a shorter step")
          : optionIssue("--from", "a stretch with a clock to sample", stretch, "choose another stretch"),
      ],
    };
  }
  const lastNs = (series.startNs + (series.phaseSeconds.length - 1) * stepSeconds * 1e9) as Ns;
  return {
    series,
    sampleRateHz: plan.sampleRateHz,
    run: {
      ...{ device, against, seed: plan.seed, scenarioSha256: sha256 },
      deviceName: deviceById(plan, device)?.name ?? device,
      againstName: against === null ? null : (deviceById(plan, against)?.name ?? against),
      fromSeconds: secondsFromNs(series.startNs),
      toSeconds: secondsFromNs(Math.round(lastNs) as Ns),
      stretch: isAsked ? "asked" : found?.isInLock ? "in-lock" : "running",
      jumps: jumpsWithin(record, devices, { fromNs: series.startNs, toNs: lastNs }),
      meanFrequency: meanFrequency(series),
      oscillatorsWander: plan.devices.some(({ oscillator }) => oscillator.wander !== null),
      wanderGridSeconds: plan.wanderGridSeconds,
      isStraight: isStraight(series),
      roundingSeconds: series.roundingSeconds,
      withinSeconds: series.withinSeconds === Number.POSITIVE_INFINITY ? null : series.withinSeconds,
    },
  };
}

/** More ids than this are no help to choose from. */
const IDS_SHOWN = 12;

/** What the options ask of a plan that it does not have. */
function planIssues(plan: Plan, { device, against, stepSeconds, fromNs, toNs }: RunOptions): Issue[] {
  const issues: Issue[] = [];
  const ids = plan.devices.map(({ id }) => id);
  for (const [option, id] of [
    ["--device", device],
    ["--against", against],
  ] as const) {
    if (id === null || ids.includes(id)) continue;
    const meant = nearest(id, ids);
    const more = ids.length > IDS_SHOWN ? ` and ${ids.length - IDS_SHOWN} more` : "";
    const choice =
      ids.length === 0 ? "the scenario has no devices" : `choose one of ${ids.slice(0, IDS_SHOWN).join(", ")}${more}`;
    issues.push(
      optionIssue(
        option,
        "the id of a device of the scenario",
        JSON.stringify(id),
        meant === null ? choice : `did you mean ${meant}`,
      ),
    );
  }
  const end = formatShowTime(plan.lengthNs);
  for (const [option, at] of [
    ["--from", fromNs],
    ["--to", toNs],
  ] as const) {
    if (at !== null && (at > plan.lengthNs || (option === "--from" && at === plan.lengthNs)))
      issues.push(
        optionIssue(
          option,
          `an instant within the run, which ends at ${end}`,
          formatShowTime(at),
          "choose an earlier one",
        ),
      );
  }
  const step = stepSeconds ?? plan.wanderGridSeconds;
  const points = secondsFromNs(((toNs ?? plan.lengthNs) - (fromNs ?? 0)) as Ns) / step;
  if (!(points <= POINTS_MAX))
    issues.push(
      optionIssue(
        "--step",
        `at most ${POINTS_MAX} samples`,
        `${step} s, which makes ${Math.round(points)}`,
        "give a longer step, or a shorter stretch with --from and --to",
      ),
    );
  return issues;
}
