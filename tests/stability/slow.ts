/**
 * The statistics once more, as slowly and as plainly as they are defined: from averages of frequency where the product
 * takes differences of phase, with every inner sum written out. Knows nothing of `sim`. NaN where there is no term.
 */
export const slow = {
  adev: (x: Float64Array, m: number, tau: number) => fromAverages(x, m, tau, m, [1, -1], 2),
  oadev: (x: Float64Array, m: number, tau: number) => fromAverages(x, m, tau, 1, [1, -1], 2),
  hdev: (x: Float64Array, m: number, tau: number) => fromAverages(x, m, tau, m, [1, -2, 1], 6),
  ohdev: (x: Float64Array, m: number, tau: number) => fromAverages(x, m, tau, 1, [1, -2, 1], 6),
  mdev,
  tdev: (x: Float64Array, m: number, tau: number) => (tau * mdev(x, m, tau)) / Math.sqrt(3),
  totdev,
  sampleDeviation,
  tieRms,
  mtie,
};

/** Root of the mean of squared combinations of neighbouring averages, over the divisor. */
function fromAverages(
  x: Float64Array,
  m: number,
  tau: number,
  stride: number,
  weights: readonly number[],
  divisor: number,
): number {
  const average = (begin: number) => (x[begin + m]! - x[begin]!) / tau;
  const squares: number[] = [];
  for (let begin = 0; begin + weights.length * m < x.length; begin += stride) {
    const combined = weights.reduce((sum, weight, k) => sum + weight * average(begin + k * m), 0);
    squares.push(combined ** 2);
  }
  return rootMean(squares, divisor);
}

function mdev(x: Float64Array, m: number, tau: number): number {
  const mean = (begin: number) => {
    let sum = 0;
    for (let i = begin; i < begin + m; i++) sum += x[i]!;
    return sum / m;
  };
  const squares: number[] = [];
  for (let j = 0; j + 3 * m <= x.length; j++) squares.push(((mean(j + 2 * m) - 2 * mean(j + m) + mean(j)) / tau) ** 2);
  return rootMean(squares, 2);
}

function totdev(x: Float64Array, m: number, tau: number): number {
  const last = x.length - 1;
  const extended = new Map<number, number>();
  x.forEach((value, i) => {
    extended.set(i, value);
  });
  for (let j = 1; j <= last - 1; j++) {
    extended.set(-j, 2 * x[0]! - x[j]!);
    extended.set(last + j, 2 * x[last]! - x[last - j]!);
  }
  const squares: number[] = [];
  for (let i = 1; i < last; i++) {
    const [before, after] = [extended.get(i - m), extended.get(i + m)];
    if (before === undefined || after === undefined) return Number.NaN;
    squares.push(((before - 2 * x[i]! + after) / tau) ** 2);
  }
  return rootMean(squares, 2);
}

function sampleDeviation(x: Float64Array, m: number, tau: number): number {
  const averages: number[] = [];
  for (let i = 0; i + m < x.length; i += m) averages.push((x[i + m]! - x[i]!) / tau);
  const there = averages.filter((value) => !Number.isNaN(value));
  if (there.length < 2) return Number.NaN;
  const mean = there.reduce((sum, value) => sum + value, 0) / there.length;
  return Math.sqrt(there.reduce((sum, value) => sum + (value - mean) ** 2, 0) / (there.length - 1));
}

function tieRms(x: Float64Array, m: number): number {
  const squares: number[] = [];
  for (let i = 0; i + m < x.length; i++) squares.push((x[i + m]! - x[i]!) ** 2);
  return rootMean(squares, 1);
}

function mtie(x: Float64Array, m: number): number {
  let widest = Number.NaN;
  for (let i = 0; i + m < x.length; i++) {
    const window = x.slice(i, i + m + 1).filter((value) => !Number.isNaN(value));
    if (window.length === 0) continue;
    const range = Math.max(...window) - Math.min(...window);
    if (Number.isNaN(widest) || range > widest) widest = range;
  }
  return widest;
}

function rootMean(squares: readonly number[], divisor: number): number {
  const there = squares.filter((value) => !Number.isNaN(value));
  return Math.sqrt(there.reduce((sum, value) => sum + value, 0) / there.length / divisor);
}
