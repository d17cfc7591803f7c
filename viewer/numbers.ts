/**
 * The numbers behind one device: what each is, where it comes from, and which way the run would go if somebody measured it
 * and found another. Words only: nothing is played for them.
 */
import type { DevicePlan, OriginPlan, Plan } from "../shared/plan.ts";
import { capital, duration, listed, source } from "../sim/tell/words.ts";

export interface DeviceNumber {
  /** As a file writes it. */
  readonly name: string;
  readonly label: string;
  readonly value: string;
  /** In words. */
  readonly origin: string;
  /** Nobody has a source for it. */
  readonly isAssumed: boolean;
  /** Something in this run hangs on it. */
  readonly isAsked: boolean;
  readonly ifMeasured: string;
}

const ORIGIN_WORDS: Readonly<Record<OriginPlan["origin"], string>> = {
  "own entry": "Given in the file",
  "device type": "Given by its type in the file",
  standard: "Default, from a standard",
  handbook: "Default, from a handbook",
  "common practice": "Default, common practice",
  "from memory": "Default, from memory",
  assumed: "Assumed",
  "none needed": "Default",
};

interface Row {
  readonly name: string;
  readonly label: string;
  readonly value: (device: DevicePlan) => string;
  readonly ifMeasured: string;
}

const none = (seconds: number) => (seconds === 0 ? "none" : duration(seconds));
const yesNo = (is: boolean) => (is ? "yes" : "no");

// biome-ignore format: a table, a row in a few lines
const ROWS: readonly Row[] = [
  { name: "clockSources", label: "Clock sources, best first", value: ({ clockSources }) => listed(clockSources.map(source), "then"),
    ifMeasured: "Everything hangs on it: whom it follows, and whether it has another to go to. Read it off the device." },
  { name: "bootSeconds", label: "Takes to boot", value: ({ bootSeconds }) => none(bootSeconds),
    ifMeasured: "Longer: what goes through it is silent for as much longer." },
  { name: "surfaceBootSeconds", label: "Surface alone takes to boot", value: ({ surfaceBootSeconds }) => none(surfaceBootSeconds),
    ifMeasured: "Longer: nobody can mute from it for as much longer." },
  { name: "engineBootSeconds", label: "Engine alone takes to boot", value: ({ engineBootSeconds }) => none(engineBootSeconds),
    ifMeasured: "Longer: what goes through it is silent for as much longer when the engine reboots." },
  { name: "whileBooting", label: "Gives while it boots", value: ({ whileBooting }) => whileBooting.replaceAll("-", " "),
    ifMeasured: "If it gives a clock meanwhile: those who follow it stay with it, and what they hear from it clicks or is off pitch." },
  { name: "oscillator.type", label: "Oscillator", value: ({ oscillator }) => oscillator.type,
    ifMeasured: "A steadier one: left alone it clicks more rarely and coasts further." },
  { name: "oscillator.offsetPpm", label: "Own clock off nominal by", value: ({ oscillator }) => offset(oscillator.offsetPpm),
    ifMeasured: "Clicks on its own clock come as fast as it differs from the others: measured, that rhythm is known and not drawn." },
  { name: "oscillator.tolerancePpm", label: "May be off by", value: ({ oscillator }) => `±${figure(oscillator.tolerancePpm)} ppm`,
    ifMeasured: "Narrower: on its own clock it clicks more rarely, and the loop needs less to pull it." },
  { name: "oscillator.ageingPpbPerDay", label: "Ages by", value: ({ oscillator }) => `${figure(oscillator.ageingPpbPerDay)} ppb a day`,
    ifMeasured: "More: over days its own clock ends further off." },
  { name: "oscillator.tempcoPpmPerCelsius", label: "Heat moves it by", value: ({ oscillator }) => heat(oscillator),
    ifMeasured: "More: while it warms or cools, its own clock and its coasting drift further." },
  { name: "startCelsius", label: "Stands at", value: ({ oscillator }) => `${figure(oscillator.startCelsius)} °C`,
    ifMeasured: "Further from where it ends: its own clock moves more on the way." },
  { name: "oscillator.warmUpPpm", label: "Off when cold by", value: ({ oscillator }) => `${figure(oscillator.warmUpPpm)} ppm`,
    ifMeasured: "More: after a power cut it begins further off, and clicks faster at first." },
  { name: "oscillator.warmUpSeconds", label: "Warms within", value: ({ oscillator }) => none(oscillator.warmUpSeconds),
    ifMeasured: "Longer: after a power cut it stays off for longer." },
  { name: "oscillator.coolDownSeconds", label: "Cools within", value: ({ oscillator }) => none(oscillator.coolDownSeconds),
    ifMeasured: "Longer: a short power cut leaves it warm, and it returns where it was." },
  { name: "oscillator.sigma1", label: "Wanders", value: ({ oscillator }) => (oscillator.wander === null ? "not in this run" : "by its numbers"),
    ifMeasured: "Steadier: clicks come at more even distances, and what is said in advance is surer." },
  { name: "loop.naturalFrequencyHz", label: "Loop's natural frequency", value: ({ loop }) => `${figure(loop.naturalFrequencyHz)} Hz`,
    ifMeasured: "Higher: it pulls in sooner and passes more of what shakes its source on to those behind it. Lower: the other way about." },
  { name: "loop.damping", label: "Loop's damping", value: ({ loop }) => figure(loop.damping),
    ifMeasured: "Less: it swings further past a new frequency, and so do all behind it." },
  { name: "capturePpm", label: "Takes sources within", value: ({ capturePpm }) => `±${figure(capturePpm)} ppm`,
    ifMeasured: "Narrower: it may refuse a source that is far off nominal, and stay on its own clock." },
  { name: "steeringPpm", label: "Can be pulled by", value: ({ steeringPpm }) => `±${figure(steeringPpm)} ppm`,
    ifMeasured: "Narrower: it comes to its stop behind a source that is far off, and clicks although it follows." },
  { name: "lockWindowPercent", label: "Locked within", value: ({ lockWindowPercent }) => `${figure(lockWindowPercent)} % of a sample`,
    ifMeasured: "Wider: it says locked sooner, and less is meant by it." },
  { name: "unlockWindowPercent", label: "No longer locked beyond", value: ({ unlockWindowPercent }) => `${figure(unlockWindowPercent)} % of a sample`,
    ifMeasured: "Narrower: it gives its lock up sooner when its source moves." },
  { name: "dwellSeconds", label: "Locked after", value: ({ dwellSeconds }) => none(dwellSeconds),
    ifMeasured: "Longer: it says locked later, and what waits for the lock opens later." },
  { name: "reactionSeconds", label: "Takes to change source", value: ({ reactionSeconds }) => none(reactionSeconds),
    ifMeasured: "Longer: each change of source takes as much longer." },
  { name: "holdOffSeconds", label: "Waits before it believes a loss", value: ({ holdOffSeconds }) => none(holdOffSeconds),
    ifMeasured: "Longer: it rides out longer breaks, and is later on its second source when the first has really gone." },
  { name: "holdoverSeconds", label: "Coasts for", value: ({ holdoverSeconds }) => none(holdoverSeconds),
    ifMeasured: "Longer: after a loss it keeps its frequency for as long, so clicks begin later, or not at all before a source is back." },
  { name: "holdoverAverageSeconds", label: "Keeps the average over", value: ({ holdoverAverageSeconds }) => none(holdoverAverageSeconds),
    ifMeasured: "Longer: a source that shook before it went leaves less of that in the frequency that is kept." },
  { name: "holdoverErrorPpb", label: "Coasts off by", value: ({ holdoverErrorPpb }) => `${figure(holdoverErrorPpb)} ppb`,
    ifMeasured: "More: while it coasts, clicks begin sooner." },
  { name: "waitToRestoreSeconds", label: "Waits before it trusts a return", value: ({ waitToRestoreSeconds }) => none(waitToRestoreSeconds),
    ifMeasured: "Longer: a source that comes and goes disturbs it less often; one that is back to stay is taken later." },
  { name: "revertive", label: "Goes back by itself", value: ({ revertive }) => yesNo(revertive),
    ifMeasured: "If it stays: the return of its first source disturbs nobody, until somebody sends it back." },
  { name: "givesWhenUnlocked", label: "Gives clock when it has none", value: ({ givesWhenUnlocked }) => yesNo(givesWhenUnlocked),
    ifMeasured: "If it stops: those behind it notice the loss and take their next source, where they have one." },
  { name: "muteWhile", label: "Mutes its outputs while", value: ({ muteWhile }) => (muteWhile.length === 0 ? "never" : listed(muteWhile, "or")),
    ifMeasured: "In more states: silence where there would be noise. In fewer: noise may come out." },
  { name: "muteOutOfStep", label: "Mutes what is out of step", value: ({ muteOutOfStep }) => (muteOutOfStep === "unknown" ? "not known" : yesNo(muteOutOfStep)),
    ifMeasured: "If it does: silence in place of clicks. Until it is tried on site it may be either." },
  { name: "unmuteSeconds", label: "Opens after", value: ({ unmuteSeconds }) => none(unmuteSeconds),
    ifMeasured: "Longer: silence lasts longer, and there is more time to turn it down." },
  { name: "unmuteRampSeconds", label: "Fades in over", value: ({ unmuteRampSeconds }) => none(unmuteRampSeconds),
    ifMeasured: "Any fade: what was lost does not come back at full level." },
];

/** The assumed ones that count first, then all others that count, then what this run does not ask for. */
export function numbersOf(plan: Pick<Plan, "origins">, device: DevicePlan): readonly DeviceNumber[] {
  const found = new Map<string, OriginPlan>();
  for (const row of plan.origins ?? []) if (row.ids.includes(device.id)) found.set(row.name, row);
  const numbers = ROWS.map(({ name, label, value, ifMeasured }): DeviceNumber => {
    const row = found.get(name);
    const origin = plan.origins === undefined ? "Not known" : wordsOf(row);
    // The run asks for no wander of a device that is steady, whoever said so.
    const isAsked = name === "oscillator.sigma1" ? device.oscillator.wander !== null : (row?.isAsked ?? true);
    const isAssumed = row?.origin === "assumed";
    return { name, label, value: value(device), origin, isAssumed, isAsked, ifMeasured };
  });
  const rank = ({ isAssumed, isAsked }: DeviceNumber) => (isAsked ? (isAssumed ? 0 : 1) : 2);
  return [...numbers].sort((one, other) => rank(one) - rank(other));
}

/** What somebody measured is said first: it is worth more than where it stands. */
function wordsOf(row: OriginPlan | undefined): string {
  const given = ORIGIN_WORDS[row?.origin ?? "own entry"];
  if (row?.said === undefined) return given;
  return row.measured === undefined ? `${given}: ${row.said}` : `${capital(row.said)}. ${given}`;
}

function figure(value: number): string {
  return String(Number(value.toPrecision(4)));
}

function offset(ppm: number | null): string {
  return ppm === null ? "drawn within what it may be off by" : `${ppm > 0 ? "+" : ""}${figure(ppm)} ppm`;
}

function heat({ tempcoPpmPerCelsius, tempcoTable }: DevicePlan["oscillator"]): string {
  return tempcoTable === null ? `${figure(tempcoPpmPerCelsius)} ppm/°C` : "a table in the file";
}
