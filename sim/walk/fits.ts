/**
 * Numbers of a plan that were measured on site. A stopwatch times until sound is back; what else the rehearsal has in that
 * stretch (noticing, locking, opening) is taken as it has it, and one number takes the difference. Where something else
 * than expected came about, nobody knows what was timed. A table says its numbers itself.
 */
import { namedUnit } from "../../shared/named-units.ts";
import type { OriginSaid, Plan } from "../../shared/plan.ts";
import { numberAt, sameValue, valueWords } from "../../shared/scenario-origins.ts";
import type { PullResult, PullResults } from "../../shared/scenario-pull-results.ts";
import type { DeviceTypeFile } from "../../shared/scenario-schema.ts";
import { deviceById, spareById } from "../by-id.ts";
import type { Measurement } from "../library/grow.ts";
import { deviceHead } from "../tell/words.ts";
import { HAND_SECONDS, isAsRehearsed, longerBy } from "./judged.ts";

export interface Fit {
  readonly on: "device" | "spare";
  /** Of the device or the spare group. */
  readonly id: string;
  /** "bootSeconds", "oscillator.offsetPpm" */
  readonly name: string;
  readonly was: unknown;
  readonly value: unknown;
  /** What stands beside it. A spare group has no room for that. */
  readonly said: OriginSaid;
  /** "FOH desk: boot 81 s, was 75 s" */
  readonly words: string;
}

/** @param walked the plan that was walked with */
export function fitsOf(walked: Plan, { pulls }: PullResults): readonly Fit[] {
  return pulls.flatMap((pull): Fit[] => {
    const longer = longerBy(pull);
    if (longer === null || !isAsRehearsed(pull) || pull.sound !== "back") return [];
    const fit = pull.device === undefined ? switchFit(walked, pull, longer) : bootFit(walked, pull, longer);
    return fit === null ? [] : [fit];
  });
}

/** @param measurements of devices: `type` is the id of one */
export function fitsFrom(plan: Plan, measurements: readonly Measurement[]): readonly Fit[] {
  return measurements.flatMap(({ type: id, name, said }): Fit[] => {
    const device = deviceById(plan, id);
    if (device === undefined) return [];
    const was = numberAt(device as unknown as DeviceTypeFile, name);
    return [fitOf("device", id, deviceHead(device), name, was, said)];
  });
}

function bootFit(walked: Plan, pull: PullResult, longer: number): Fit | null {
  const device = deviceById(walked, pull.device);
  // Where sound is back before it has booted, the boot is not what was timed.
  if (device === undefined || (pull.expectedSeconds ?? 0) < pull.outSeconds) return null;
  const head = deviceHead(device);
  const from = `pull test, ${head}, stopwatch until sound`.slice(0, 200);
  const said = { value: fitted(device.bootSeconds, longer), from, measured: pull.date ?? "" };
  return fitOf("device", device.id, head, "bootSeconds", device.bootSeconds, said);
}

function switchFit(walked: Plan, { switches, date = "" }: PullResult, longer: number): Fit | null {
  const [only, ...others] = switches;
  const spare = others.length > 0 ? undefined : spareById(walked, only ?? null);
  // Below what a hand can tell nothing is learnt of a time that is of its order itself.
  if (spare === undefined || spare.mode === "duplicate" || Math.abs(longer) <= HAND_SECONDS) return null;
  const { id, switchSeconds } = spare;
  const said = { value: fitted(switchSeconds, longer), from: "pull test, stopwatch until sound", measured: date };
  return fitOf("spare", id, `Spare group ${id}`, "switchSeconds", switchSeconds, said);
}

/** To a tenth of a second; as it was where a hand can tell no difference. */
function fitted(was: number, longer: number): number {
  return Math.abs(longer) <= HAND_SECONDS ? was : Math.max(0, Math.round((was + longer) * 10) / 10);
}

function fitOf(on: Fit["on"], id: string, head: string, name: string, was: unknown, said: OriginSaid): Fit {
  const { value } = said;
  const words = sameValue(was, value)
    ? `${valueWords(name, value)}, as it stands`
    : `${valueWords(name, value)}${was === undefined ? "" : `, was ${valueWords(name, was)}`}`;
  return { on, id, name, was, value, said, words: `${head}: ${namedUnit(name).label} ${words}` };
}
