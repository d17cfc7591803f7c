/**
 * Phase of every device over show time as CSV (RFC 4180): seconds first, then one column per device, named by its id and
 * the unit. Every digit is written, so that what is read back is what was played; a cell is empty where a device puts
 * out no clock.
 */
import type { Plan } from "../../shared/plan.ts";
import type { RunRecord } from "../../shared/record.ts";
import { timebasesOf } from "../../sim/lives.ts";
import { phaseSeries } from "../../sim/phase-series.ts";

export interface PhaseTable {
  readonly text: string;
  readonly devices: number;
  readonly rows: number;
}

export function phaseTable(plan: Plan, record: RunRecord, stepSeconds: number): PhaseTable {
  const timebases = timebasesOf(plan);
  const columns = plan.devices.map(({ id }) => phaseSeries(plan, record, timebases, id, { stepSeconds }).phaseSeconds);
  const rows = columns[0]?.length ?? 0;
  const lines = [["seconds", ...plan.devices.map(({ id }) => `${id}_phase_s`)].join(",")];
  for (let row = 0; row < rows; row++) {
    const cells = columns.map((column) => {
      const seconds = column[row] as number;
      return Number.isNaN(seconds) ? "" : String(seconds);
    });
    // Nine digits after the point are whole nanoseconds, and less than the sum of decimal fractions would show.
    lines.push([String(Number((row * stepSeconds).toFixed(9))), ...cells].join(","));
  }
  lines.push("");
  return { text: lines.join("\r\n"), devices: columns.length, rows };
}

/** How many rows a step makes, give or take one. */
export function phaseRows({ lengthNs }: Plan, stepSeconds: number): number {
  return lengthNs / 1e9 / stepSeconds + 1;
}
