/** A rehearsal as text. */

import { timeOfDay } from "../../shared/as-said.ts";
import type { Summary } from "../../shared/summary.ts";
import type { Telling, TimelineLine } from "../../shared/telling.ts";
import { parseShowTime } from "../../shared/units.ts";
import { aboutWords } from "../../sim/check/accepted.ts";
import type { Ink, Style } from "./ink.ts";
import { oneLine, wrapped } from "./plain.ts";

export interface RehearsalPrint {
  /** As typed. */
  readonly file: string;
  readonly version: string;
  /** Of the plan: "K7-QF". */
  readonly stamp: string;
  readonly telling: Telling;
  readonly summary: Summary;
  /** The time of day at show time 0; null: the file does not say. */
  readonly startsAt: string | null;
  readonly listsAssumed: boolean;
}

const TIME_STYLE: Readonly<Record<TimelineLine["weight"], Style | null>> = {
  event: "bold",
  clock: null,
  heard: "yellow",
};

export function rehearsalText(
  print: RehearsalPrint,
  { ink, columns }: { readonly ink: Ink; readonly columns: number | null },
): string {
  const { telling, summary } = print;
  const paragraph = (text: string, indent = 0) => wrapped(oneLine(text), columns, indent);
  const row = (head: string, text: string, style: Style | null) => {
    const line = wrapped(`${head}  ${oneLine(text)}`, columns, head.length + 2);
    return style === null ? line : ink(style, line.slice(0, head.length)) + line.slice(head.length);
  };
  const clocked = (at: string) => {
    const atNs = print.startsAt === null ? null : parseShowTime(at);
    return atNs === null || print.startsAt === null ? at : `${at} (${timeOfDay(print.startsAt, atNs)})`;
  };
  const whoWidth = Math.max(8, ...telling.heard.map(({ who }) => oneLine(who).length));
  const parts: string[][] = [
    [ink("bold", paragraph(telling.title)), ink("dim", paragraph(identity(print)))],
    telling.timeline.map(({ at, text, weight }) => row(clocked(at), text, TIME_STYLE[weight])),
    telling.heard.map(({ who, text }) => row(oneLine(who).padEnd(whoWidth), text, "bold")),
    telling.beforeReturn.map((text) => paragraph(text, /^\d/.test(text) ? 3 : 0)),
    telling.ridesOut.map((text) => paragraph(text, 2)),
    telling.converters.map((text) => paragraph(text)),
    telling.holdovers.map(({ at, text }) => row(clocked(at), text, null)),
    telling.chain === null ? [] : [paragraph(telling.chain)],
    [
      ...telling.verdict.map((text, index) => paragraph(text, index === 0 ? 0 : 2)),
      ...(telling.fixFirst === null ? [] : [ink("bold", paragraph(telling.fixFirst))]),
    ],
    [
      ...findingsNote(print),
      ...acceptedLines(summary),
      boundNote(summary),
      ...shakeNote(summary),
      ...assumedLines(print),
    ].map((text) => ink("dim", paragraph(text, 2))),
    [paragraph(telling.last)],
  ];
  return `${parts
    .filter((lines) => lines.length > 0)
    .map((lines) => lines.join("\n"))
    .join("\n\n")}\n`;
}

/** The rig, as a crew says it; then what the same bytes come out of again. */
export function identity({
  file,
  stamp,
  summary,
  version,
}: Pick<RehearsalPrint, "file" | "stamp" | "summary" | "version">): string {
  return `${file}, plan ${stamp}, sha256 ${summary.scenario.sha256.slice(0, 12)}, seed ${summary.seed}, pulltest ${version}`;
}

function findingsNote({ summary, file }: RehearsalPrint): string[] {
  const count = summary.findings.length;
  if (count === 0) return [];
  return [`The plan check has ${count === 1 ? "one finding" : `${count} findings`}: pulltest check ${oneLine(file)}`];
}

/** Never left out: who reads only this has to know what was looked at and let be. */
function acceptedLines({ accepted }: Summary): string[] {
  if (accepted.length === 0) return [];
  return [
    `Accepted, and counted nowhere: ${accepted.length === 1 ? "one finding" : `${accepted.length} findings`}.`,
    ...accepted.map((finding) => `- ${finding.rule}, ${aboutWords(finding)}: ${finding.reason}`),
  ];
}

function boundNote({ worstErrorSamples }: Summary): string {
  if (worstErrorSamples === null)
    return "How exact the clocks are computed cannot be bounded: there is a ring of sources.";
  return `Clocks computed to within ${significant(worstErrorSamples)} of a sample.`;
}

/** Beside the bound: it is chance, and no clock of the run has it. */
function shakeNote({ networks, devices }: Summary): string[] {
  const followers = networks.flatMap((network) => network.devices);
  const [worst] = followers.toSorted((one, other) => shakenBy(other) - shakenBy(one));
  if (worst === undefined || shakenBy(worst) < 0.5) return [];
  const name = devices.find(({ id }) => id === worst.device)?.name ?? worst.device;
  const most =
    shakenBy(worst) >= 999.5 ? `${significant(shakenBy(worst) / 1000)} µs` : `${significant(shakenBy(worst))} ns`;
  return [`Not in it: packets that wait in switches. They shake clocks by up to ${most} rms (${oneLine(name)}).`];
}

function shakenBy({ follows }: Summary["networks"][number]["devices"][number]): number {
  return follows?.inUse === true ? follows.jitterNanoseconds.kept : 0;
}

/** Rounded up, so that the bound stays one. */
function significant(value: number): string {
  if (value === 0) return "0";
  const scale = 10 ** (1 - Math.floor(Math.log10(value)));
  return String(Math.ceil(value * scale) / scale);
}

/** How many there are; with the option, one line each with whom it is about, and what is measured after what is not. */
function assumedLines({ summary, listsAssumed }: RehearsalPrint): string[] {
  const { assumed, measured = [] } = summary;
  if (!listsAssumed) {
    if (assumed.length === 0) return [`No number is assumed.${measuredNote(measured)}`];
    const many = assumed.length === 1 ? "One number is" : `${assumed.length} numbers are`;
    return [`${many} assumed${measured.length === 0 ? "" : `, ${measured.length} measured`}; --assumed lists them.`];
  }
  return [
    ...(assumed.length === 0 ? ["No number is assumed."] : ["Assumed, until the file says otherwise:"]),
    ...assumed.map((line) => `- ${line}`),
    ...(measured.length === 0 ? [] : ["Measured:", ...measured.map((line) => `- ${line}`)]),
  ];
}

function measuredNote(measured: readonly string[]): string {
  if (measured.length === 0) return "";
  return ` ${measured.length === 1 ? "One is" : `${measured.length} are`} measured; --assumed lists them.`;
}
