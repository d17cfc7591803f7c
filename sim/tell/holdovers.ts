/** How long a device can go on alone: what its numbers say in advance, and what the run did. */
import type { ForetoldSummary, HoldoverSummary } from "../../shared/summary.ts";
import type { HoldoverLine } from "../../shared/telling.ts";
import { deviceById } from "../by-id.ts";
import type { Told } from "./picture.ts";
import { agree, deviceHead, duration, grouped, isPlural, ppm, showTime, theCableIn, theDevice } from "./words.ts";

/** Shorter than this, and without a slip, it is a step on the way to another source. */
const TOLD_FROM_SECONDS = 10;
/** The first times of a device say what the next would. */
const LINES_PER_DEVICE = 2;
const LINES_MAX = 8;
/** Wander that moves an instant by less than this share of it is not worth a sentence. */
const SPREAD_SHARE = 0.02;

/** One line per device left alone long enough to matter; none where nobody was. */
export function holdoverLines(told: Told): HoldoverLine[] {
  const counts = new Map<string, number>();
  const worth = told.summary.holdovers.filter(isWorthALine).filter(({ device }) => {
    const count = (counts.get(device) ?? 0) + 1;
    counts.set(device, count);
    return count <= LINES_PER_DEVICE;
  });
  const lines = worth
    .slice(0, LINES_MAX)
    .map((each) => ({ at: showTime(each.atSeconds), text: holdoverText(told, each) }));
  const left = [...counts.values()].reduce((sum, count) => sum + count, 0) - lines.length;
  const last = worth[LINES_MAX - 1] ?? worth.at(-1);
  if (left > 0 && last !== undefined)
    lines.push({
      at: showTime(last.atSeconds),
      text: `${grouped(left)} more such ${left === 1 ? "loss" : "losses"} in this run; --json lists ${left === 1 ? "it" : "them all"}.`,
    });
  return lines;
}

/** Something slipped, or the device was long alone: holding a frequency, or with somebody's clock to click against. */
function isWorthALine({ state, links, ended }: HoldoverSummary): boolean {
  if (links.some(({ ranSeconds }) => ranSeconds !== null)) return true;
  if (state === "free-run") return links.some(({ watchedSeconds }) => watchedSeconds >= TOLD_FROM_SECONDS);
  return (ended?.afterSeconds ?? Number.POSITIVE_INFINITY) >= TOLD_FROM_SECONDS;
}

/** "Stage box holds its frequency: a quarter of a sample after 43 s, first slip after 2 min 53 s. The run: 43 s and 2 min 53 s." */
function holdoverText(told: Told, each: HoldoverSummary): string {
  const quarter = each.allowances.find(({ percent }) => percent === 25);
  const slip = firstSlip(each);
  return [
    `${capitalSubject(told, each)}: ${foretoldWords(each, quarter, slip)}.`,
    ...spreadWords(slip ?? quarter),
    ranWords(told, each, quarter, slip),
  ].join(" ");
}

/** The slip that is foretold first; where none is, the one that fell first. */
function firstSlip({ links }: HoldoverSummary): HoldoverSummary["links"][number] | undefined {
  const soonest = (of: (each: HoldoverSummary["links"][number]) => number | null) =>
    links.reduce<HoldoverSummary["links"][number] | undefined>((best, each) => {
      const seconds = of(each);
      const least = best === undefined ? null : of(best);
      return seconds !== null && (least === null || seconds < least) ? each : best;
    }, undefined);
  return soonest(({ predictedSeconds }) => predictedSeconds) ?? soonest(({ ranSeconds }) => ranSeconds) ?? links[0];
}

function capitalSubject({ plan }: Told, { device, state, followed, ownOffsetPpm }: HoldoverSummary): string {
  const own = deviceById(plan, device)!;
  const other = deviceById(plan, followed)!;
  const plural = isPlural(own.name);
  const its = agree(plural, "its", "their");
  if (state === "holdover") return `${deviceHead(own)} ${agree(plural, "holds", "hold")} ${its} frequency`;
  const distance =
    ownOffsetPpm === 0
      ? ""
      : `, ${ppm(ownOffsetPpm)} ${ownOffsetPpm > 0 ? "faster" : "slower"} than ${theDevice(other)}`;
  return `${deviceHead(own)} ${agree(plural, "is", "are")} on ${its} own clock${distance}`;
}

function foretoldWords(
  { links }: HoldoverSummary,
  quarter: ForetoldSummary | undefined,
  slip: HoldoverSummary["links"][number] | undefined,
): string {
  const at = quarter?.predictedSeconds ?? null;
  const slipAt = slip?.predictedSeconds ?? null;
  if (at === null) return "by its numbers that keeps it within a quarter of a sample";
  const phase = `a quarter of a sample after ${duration(at)}`;
  if (links.length === 0) return phase;
  return slipAt === null ? `${phase}, by its numbers no slip` : `${phase}, first slip after ${duration(slipAt)}`;
}

function spreadWords(foretold: ForetoldSummary | undefined): string[] {
  if (foretold?.predictedSeconds == null || foretold.giveOrTakeSeconds === null) return [];
  if (foretold.giveOrTakeSeconds < SPREAD_SHARE * foretold.predictedSeconds) return [];
  return [`Wander moves that by ${duration(foretold.giveOrTakeSeconds)} or so.`];
}

function ranWords(
  told: Told,
  each: HoldoverSummary,
  quarter: ForetoldSummary | undefined,
  slip: HoldoverSummary["links"][number] | undefined,
): string {
  const at = quarter?.ranSeconds ?? null;
  const slipAt = slip?.ranSeconds ?? null;
  const where = slip === undefined ? "" : ` (${theCableIn(told.plan, slip.link)})`;
  if (slipAt !== null && at !== null) return `The run: ${duration(at)} and ${duration(slipAt)}${where}.`;
  if (slipAt !== null) return `The run: a slip after ${duration(slipAt)}${where}.`;
  const end = isOvertaken(each, slip)
    ? `the rig changes after ${duration(slip?.watchedSeconds ?? 0)}`
    : endWords(told, each);
  if (at !== null) return `The run: ${duration(at)}; ${slip === undefined ? end : `${end}, before a slip`}.`;
  if (quarter?.predictedSeconds == null) return `So it does in the run, until ${end}.`;
  return `In the run ${end}, before that.`;
}

/** The link, or the clock at its other end, was not what it had been before this device was back. */
function isOvertaken({ ended, allowances }: HoldoverSummary, slip: ForetoldSummary | undefined): boolean {
  const alone = ended?.afterSeconds ?? allowances[0]?.watchedSeconds ?? 0;
  return slip !== undefined && slip.watchedSeconds < alone;
}

function endWords({ plan, summary }: Told, { device, ended, atSeconds }: HoldoverSummary): string {
  const plural = isPlural(deviceById(plan, device)!.name);
  if (ended === null) return `the show ends after ${duration(summary.runSeconds - atSeconds)}`;
  const after = `after ${duration(ended.afterSeconds)}`;
  if (ended.state === "off") return `${agree(plural, "it is", "they are")} off ${after}`;
  if (ended.state === "starting") return `${agree(plural, "it reboots", "they reboot")} ${after}`;
  return `${agree(plural, "it is", "they are")} back on a source ${after}`;
}
