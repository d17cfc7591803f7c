/** One cable, and what streams have in common with it: the numbers of its type filled in. */
import { defaultOf, defaultRow } from "./defaults.ts";
import type { LinkTypeName, MediumName, StreamTypeName } from "./link-types.ts";
import { channelsAt, linkType, NS_PER_METRE } from "./link-types.ts";
import type { LinkPlan, PortRef } from "./plan.ts";
import type { LinkFile } from "./scenario-schema.ts";

export type CableFile = Exclude<LinkFile, { type: StreamTypeName }>;

/** Takes note of a default that was filled in. */
export type NoteOfLink = (name: string, value: unknown, unit: string) => void;

/** Propagation is never nothing: a circle of machines must take time. */
export const DELAY_SECONDS_MIN = 1e-9;

export function portKey(device: string, port: number): string {
  return `${device}.${port}`;
}

export function plannedCable(
  file: CableFile,
  [a, b]: readonly [PortRef, PortRef],
  rigHz: number,
  fasterHz: number,
  byDevices: number | undefined,
  note: NoteOfLink,
): LinkPlan {
  const type = linkType(file.type);
  const medium = (file.medium ?? type.media[0]?.name) as MediumName;
  const lengthMetres = file.lengthMetres ?? defaultOf("link", "lengthMetres");
  if (file.lengthMetres === undefined) note("lengthMetres", lengthMetres, "m");
  const channels = channelsAt(file.type, fasterHz);
  const latencySeconds = type.latencySamples.value / rigHz + type.latencySeconds.value;
  if (channels > 0) note(`${type.type}.latencySeconds`, latencySeconds, "s");
  return {
    id: file.id,
    type: type.type,
    twoWay: type.twoWay,
    hasReturn: "return" in file && file.return === true,
    a,
    b,
    medium,
    lengthMetres,
    delaySeconds: Math.max(DELAY_SECONDS_MIN, lengthMetres * NS_PER_METRE[medium].value * 1e-9),
    laidAlong: file.laidAlong ?? [],
    noticeSeconds: secondsByType(file, "noticeSeconds", note),
    comingUpSeconds: byDevices ?? secondsByType(file, "comingUpSeconds", note),
    clockIsAgreed: type.clockIsAgreed,
    channels,
    latencySeconds,
    buffer: plannedBuffer(
      "buffer" in file ? file.buffer : undefined,
      { slipSamples: defaultOf("link", "buffer.slipSamples"), slipsDeep: 2 },
      channels > 0 ? note : () => undefined,
    ),
    atStart: file.atStart ?? defaultOf("link", "atStart"),
    ...(file.tested === undefined ? {} : testedSaid(file.tested)),
  };
}

/** "2026-11-20", or "2026-11-20 K7-QF" */
function testedSaid(text: string): Pick<LinkPlan, "tested" | "testedAs"> {
  const [tested = "", testedAs] = text.split(" ");
  return { tested, ...(testedAs === undefined ? {} : { testedAs }) };
}

export function secondsByType(
  file: { readonly type: LinkTypeName; readonly noticeSeconds?: number; readonly comingUpSeconds?: number },
  name: "noticeSeconds" | "comingUpSeconds",
  note: NoteOfLink,
): number {
  const given = file[name];
  if (given !== undefined) return given;
  const { value } = linkType(file.type)[name];
  note(`${file.type}.${name}`, value, "s");
  return value;
}

type BufferFile = Extract<LinkFile, { type: "madi" }>["buffer"];

/** `slipsDeep`: depth in slips, where the file gives none. */
export function plannedBuffer(
  given: BufferFile,
  byDefault: { readonly slipSamples: number; readonly slipsDeep: number },
  note: NoteOfLink,
): LinkPlan["buffer"] {
  const or = (name: "slipSamples" | "depthSamples" | "startSamples", value: number): number => {
    const full = `buffer.${name}` as const;
    if (given?.[name] === undefined) note(full, value, defaultRow("link", full).unit);
    return given?.[name] ?? value;
  };
  const slipSamples = or("slipSamples", byDefault.slipSamples);
  const depthSamples = or("depthSamples", byDefault.slipsDeep * slipSamples);
  return { slipSamples, depthSamples, startSamples: or("startSamples", depthSamples / 2) };
}
