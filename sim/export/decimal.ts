/** A number for files and addresses: a point, no exponent, down to the whole nanosecond that a run knows. */
export function decimal(value: number): string {
  return value.toFixed(9).replace(/\.?0+$/, "");
}
