/** Options of `stability` as typed, read all at once: what is wrong with them comes back as issues. */
import { NO_CLOCK, readInstant } from "../../shared/as-said.ts";
import { type Issue, quote, withoutLine } from "../../shared/issues.ts";
import { nearest } from "../../shared/nearest.ts";
import type { Ns } from "../../shared/time.ts";
import { formatShowTime, SHOW_TIME_EXPECTED } from "../../shared/units.ts";
import {
  aes11Masks,
  MASKS,
  type Mask,
  NOISE_TYPES,
  type NoiseType,
  STATISTICS,
  type StatisticName,
} from "../../sim/stability/index.ts";

export interface StabilityRequest {
  readonly file: string;
  /** Texts as typed; null where the option was left out. */
  readonly column: string | null;
  readonly tau0: string | null;
  readonly rateHz: string | null;
  /** Given: the file is a scenario, to be played. */
  readonly device: string | null;
  readonly against: string | null;
  readonly step: string | null;
  readonly from: string | null;
  readonly to: string | null;
  readonly seed: string | null;
  readonly taus: string | null;
  readonly noise: string | null;
  readonly confidence: string | null;
  readonly statistics: string | null;
  /** Masks that have to hold; none: all are compared, and none decides the status. */
  readonly masks: readonly string[];
  readonly json: boolean;
}

/** A device's clock in a run. */
export interface RunOptions {
  readonly device: string;
  readonly against: string | null;
  /** Null: the wander grid. */
  readonly stepSeconds: number | null;
  readonly fromNs: Ns | null;
  readonly toNs: Ns | null;
  readonly seed: string | null;
}

export interface StabilityOptions {
  readonly tau0Seconds: number | null;
  readonly rateHz: number | null;
  /** Null: the file is a record, not a scenario. */
  readonly run: RunOptions | null;
  readonly tausSeconds: readonly number[] | null;
  readonly noise: NoiseType | "identified";
  readonly confidence: number;
  readonly statistics: readonly StatisticName[];
  /** Ids; empty: all. */
  readonly masks: readonly string[];
}

/** What was typed has no lines. */
export function optionIssue(option: string, expected: string, received: string, remedy: string): Issue {
  return { ...withoutLine(option), expected, received, remedy };
}

/** At a rate: with the limits of AES11. Without one there is no sample period to take a share of. */
export function masksFor(ids: readonly string[], rateHz: number | null): readonly Mask[] {
  const all = [...MASKS, ...(rateHz === null ? [] : aes11Masks(rateHz))];
  return ids.length === 0 ? all : all.filter(({ id }) => ids.includes(id));
}

export function readOptions(request: StabilityRequest): {
  readonly options: StabilityOptions;
  readonly issues: readonly Issue[];
} {
  const issues: Issue[] = [];
  const refuse = (option: string, expected: string, received: string, remedy: string) => {
    issues.push(optionIssue(option, expected, quote(received), remedy));
  };
  const positive = (option: string, text: string | null, example: string): number | null => {
    if (text === null) return null;
    const value = text.trim() === "" ? Number.NaN : Number(text);
    if (value > 0 && Number.isFinite(value)) return value;
    refuse(option, "a number above 0", text, `write it like ${option} ${example}`);
    return null;
  };
  const known = <Name extends string>(option: string, text: string, names: readonly Name[]): Name | null => {
    const found = names.find((name) => name.toLowerCase() === text.trim().toLowerCase());
    if (found !== undefined) return found;
    const meant = nearest(text, names);
    refuse(option, `one of ${names.join(", ")}`, text, meant === null ? "choose one of them" : `did you mean ${meant}`);
    return null;
  };
  const instant = (option: string, text: string | null): Ns | null => {
    if (text === null) return null;
    const read = readInstant(text, NO_CLOCK);
    if ("expected" in read) refuse(option, read.expected, text, read.remedy);
    else if (read.understood !== null)
      refuse(
        option,
        SHOW_TIME_EXPECTED,
        text,
        `write ${formatShowTime(read.value)} if it is ${read.understood.split(",")[0]}`,
      );
    return "value" in read ? read.value : null;
  };
  const parts = (text: string) => text.split(",").map((part) => part.trim());

  // Each kind of file has options of its own; one that would do nothing is refused, not passed over.
  const isRun = request.device !== null;
  const ofOtherKind: readonly (readonly [string, string | null])[] = isRun
    ? [
        ["--column", request.column],
        ["--tau0", request.tau0],
        ["--rate-hz", request.rateHz],
      ]
    : [
        ["--against", request.against],
        ["--step", request.step],
        ["--from", request.from],
        ["--to", request.to],
        ["--seed", request.seed],
      ];
  for (const [option, text] of ofOtherKind) {
    if (text === null) continue;
    if (isRun) refuse(option, "no such option beside --device", text, "leave it out: the scenario says it");
    else refuse(option, `--device beside ${option}`, text, "name the device of the scenario, or leave this out");
  }
  if (request.seed === "") refuse("--seed", "a text", "", "leave it out, or write one such as quay-2");
  if (request.device !== null && request.against === request.device)
    refuse("--against", "another device", request.against, "leave it out for true time");
  const fromNs = instant("--from", request.from);
  const toNs = instant("--to", request.to);
  if (fromNs !== null && toNs !== null && fromNs >= toNs)
    refuse("--to", "a time after --from", request.to ?? "", "give the later of both to --to");

  const tau0Seconds = positive("--tau0", request.tau0, "1");
  const rateHz = positive("--rate-hz", request.rateHz, "48000");
  const stepSeconds = positive("--step", request.step, "1");
  const tausSeconds =
    request.taus === null
      ? null
      : parts(request.taus).map((part) => positive("--taus", part, "1,10,100") ?? Number.NaN);
  const noiseNames = ["identified", ...Object.keys(NOISE_TYPES)] as (NoiseType | "identified")[];
  const noise = request.noise === null ? "identified" : known("--noise", request.noise, noiseNames);
  let confidence = 0.95;
  if (request.confidence !== null) {
    confidence = Number(request.confidence);
    if (!(confidence > 0 && confidence < 1))
      refuse(
        "--confidence",
        "a probability above 0 and below 1",
        request.confidence,
        "write it like --confidence 0.95",
      );
  }
  const names = Object.keys(STATISTICS) as StatisticName[];
  const statistics =
    request.statistics === null
      ? names
      : parts(request.statistics).flatMap((part) => known("--statistics", part, names) ?? []);
  const withoutRate = MASKS.map(({ id }) => id);
  // Of the limits of AES11 only the names are asked for here, which no rate changes.
  const withRate = aes11Masks(48_000).map(({ id }) => id);
  const masks = request.masks.flatMap((text) => {
    const id = known("--mask", text, [...withoutRate, ...withRate]);
    if (id !== null && withRate.includes(id) && request.rateHz === null && !isRun)
      refuse("--mask", "a sample rate beside a mask of AES11", text, "add --rate-hz 48000");
    return id ?? [];
  });
  const { device, against, seed } = request;
  return {
    options: {
      ...{ tau0Seconds, rateHz, tausSeconds, confidence, statistics, masks, noise: noise ?? "identified" },
      run: device === null ? null : { device, against, stepSeconds, fromNs, toNs, seed },
    },
    issues,
  };
}
