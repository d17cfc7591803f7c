/**
 * What sample-rate converters did in a run, read from its record: how long each converted, and how long meanwhile its two
 * ends were on different clocks, and how far apart. That is what nobody hears, and what a wrong setting hides behind.
 */
import { clockPhaseAt } from "../shared/clock-phase.ts";
import type { DevicePlan, Plan } from "../shared/plan.ts";
import type { ConverterState, RunRecord } from "../shared/record.ts";
import type { ConverterSummary } from "../shared/summary.ts";
import type { Ns } from "../shared/time.ts";
import { secondsBetween } from "../shared/time.ts";
import type { Timebase } from "../shared/timebase.ts";
import { deviceById, linkById } from "./by-id.ts";
import { byText } from "./check/finding.ts";
import { converterAt } from "./converted.ts";
import type { FlowLine } from "./timeline.ts";
import { looksOf, stretches } from "./timeline.ts";

/** A converter and one cable that it heard. */
interface Heard {
  readonly to: DevicePlan;
  readonly port: number;
  readonly link: string;
  readonly way: "there" | "back";
  readonly changes: { atNs: Ns; value: ConverterState }[];
}

export function conversionsIn(
  plan: Plan,
  record: RunRecord,
  timebases: readonly Timebase[],
): readonly ConverterSummary[] {
  const all = heardIn(plan, record);
  if (all.length === 0) return [];
  const { flows } = looksOf(record);
  return all
    .flatMap((heard) => summaryOf(plan, heard, record.endNs, flows, timebases))
    .sort(
      (one, two) =>
        byText(one.device, two.device) || one.port - two.port || byText(one.link, two.link) || byText(one.way, two.way),
    );
}

function heardIn(plan: Plan, record: RunRecord): readonly Heard[] {
  const byId = new Map(plan.devices.map((device) => [device.id, device]));
  const found = new Map<string, Heard>();
  for (const { atNs, subject, fact } of record.rows) {
    if (fact.kind !== "converter" || fact.link === null || fact.way === null) continue;
    const dot = subject.lastIndexOf(".");
    const to = byId.get(subject.slice("port ".length, dot));
    if (to === undefined) continue;
    const key = `${subject} ${fact.link} ${fact.way}`;
    const known = found.get(key) ?? {
      to,
      port: Number(subject.slice(dot + 1)),
      link: fact.link,
      way: fact.way,
      changes: [],
    };
    found.set(key, known);
    known.changes.push({ atNs, value: fact.state });
  }
  return [...found.values()];
}

function summaryOf(
  plan: Plan,
  { to, port, link: id, way, changes }: Heard,
  endNs: Ns,
  flows: ReadonlyMap<string, FlowLine>,
  timebases: readonly Timebase[],
): readonly ConverterSummary[] {
  const link = linkById(plan, id);
  const converter = converterAt(to, port);
  const sender = link === undefined ? undefined : way === "there" ? link.a.device : link.b.device;
  const from = deviceById(plan, sender);
  if (from === undefined || converter === null) return [];
  const states = stretches({ changes }, endNs);
  let [convertsSeconds, apartSeconds, aheadSeconds] = [0, 0, 0];
  for (const { fromNs, toNs, value } of states) {
    if (value !== "converting") continue;
    convertsSeconds += secondsBetween(fromNs, toNs);
    for (const part of apartWithin(flows.get(from.id), flows.get(to.id), fromNs, toNs)) {
      apartSeconds += secondsBetween(part.fromNs, part.toNs);
      const ahead = (at: Ns): number =>
        clockPhaseAt(timebases, part.theirs, at) - clockPhaseAt(timebases, part.own, at);
      aheadSeconds += ahead(part.toNs) - ahead(part.fromNs);
    }
  }
  return [
    {
      device: to.id,
      port,
      link: id,
      way,
      from: from.id,
      fromRateHz: from.sampleRateHz,
      rateHz: to.sampleRateHz,
      delaySeconds: converter.delaySeconds,
      convertsSeconds,
      searches: states.filter(({ value }) => value === "finding").length,
      apartSeconds,
      aheadPpm: apartSeconds === 0 ? null : (aheadSeconds / apartSeconds) * 1e6,
    },
  ];
}

/** Stretches within which neither side says anything new, and the two come from different oscillators. */
function* apartWithin(theirs: FlowLine | undefined, own: FlowLine | undefined, fromNs: Ns, toNs: Ns) {
  if (theirs === undefined || own === undefined) return;
  const lines = [stretches(theirs, toNs), stretches(own, toNs)] as const;
  let [i, j] = [0, 0];
  while (i < lines[0].length && j < lines[1].length) {
    const [one, two] = [lines[0][i]!, lines[1][j]!];
    const start = Math.max(one.fromNs, two.fromNs, fromNs) as Ns;
    const end = Math.min(one.toNs, two.toNs) as Ns;
    if (end > start && one.value !== null && two.value !== null && one.value.timebase !== two.value.timebase)
      yield { theirs: one.value, own: two.value, fromNs: start, toNs: end };
    if (one.toNs <= two.toNs) i++;
    else j++;
  }
}
