/** Short times in words: "12.3 µs", "2.5 ms". */
export function micros(seconds: number): string {
  const [value, unit] = seconds < 1e-3 ? [seconds * 1e6, "µs"] : [seconds * 1e3, "ms"];
  return `${Number(value.toPrecision(3))} ${unit}`;
}
