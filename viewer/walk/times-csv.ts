/** The times of devices in a pull test as a table of measurements, which `library measured --rig` reads. */
import { csvFormatRow } from "d3";
import type { Fit } from "../../sim/walk/fits.ts";

export function timesCsv(fits: readonly Fit[]): string {
  const rows = fits
    .filter(({ on }) => on === "device")
    .map(({ id, name, value, said }) => [id, name, String(value), said.measured ?? "", said.from]);
  return [["device", "number", "value", "measured", "note"], ...rows].map((row) => `${csvFormatRow(row)}\r\n`).join("");
}
