/** Numbers as the curves say them. */
import type { ChartKey } from "./charts.ts";

/** "+4.20", "−0.10": true minus, and a sign where either is possible. */
export function signed(value: number, decimals: number): string {
  const text = Math.abs(value).toFixed(decimals);
  if (Number(text) === 0) return text;
  return `${value < 0 ? "−" : "+"}${text}`;
}

/** As {@link signed}, without a plus. */
export function plain(value: number, decimals: number): string {
  return signed(value, decimals).replace("+", "");
}

/** Decimals that tell a thousandth of a range apart, within reason. */
export function decimalsOf(range: number, least: number): number {
  if (!(range > 0)) return least;
  return Math.min(6, Math.max(least, Math.ceil(-Math.log10(range / 1000) - 1e-9)));
}

/** How far what is drawn can be from the exact model, as the flows of the record say. */
export function boundWords(samples: number, key: ChartKey, sampleRateHz: number): string {
  if (samples === Number.POSITIVE_INFINITY) return "Some of it goes round in a ring, so nothing bounds its error.";
  const what = key === "frequency" ? "Phase behind it is exact" : "Exact";
  const ns = (samples / sampleRateHz) * 1e9;
  return `${what} within ${samples < 1e-6 ? "a millionth of a sample" : `${Number(samples.toPrecision(2))} samples (${Number(ns.toPrecision(2))} ns)`}.`;
}
