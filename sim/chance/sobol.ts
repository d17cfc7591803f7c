/**
 * Variance-based sensitivity: which share of a result's variance each input has by itself, and with all that it does
 * together with others.
 *
 * First order by A. Saltelli et al., "Variance based sensitivity analysis of model output. Design and estimator for the
 * total sensitivity index", Computer Physics Communications 181, 2010, table 2 (b); total by M. J. W. Jansen, "Analysis of
 * variance designs for model output", CPC 117, 1999, the same table (f). Both from memory, and tested on a function whose
 * indices are known in closed form.
 */
import type { Draw } from "../../shared/uniforms.ts";

export interface SobolIndices {
  /** Of each input: its own share, and its share with all interactions. Near 0 either may come out below 0. */
  readonly first: readonly number[];
  readonly total: readonly number[];
  readonly mean: number;
  readonly variance: number;
}

/**
 * @param model of inputs evenly spread over 0 to 1
 * @param samples the model is asked samples · (inputs + 2) times
 */
export function sobolIndices(
  model: (inputs: readonly number[]) => number,
  inputs: number,
  samples: number,
  draw: Draw,
): SobolIndices {
  const point = (): number[] => Array.from({ length: inputs }, () => draw());
  let sum = 0;
  let squares = 0;
  const own = new Float64Array(inputs);
  const joint = new Float64Array(inputs);
  for (let sample = 0; sample < samples; sample += 1) {
    const [one, other] = [point(), point()];
    const [atOne, atOther] = [model(one), model(other)];
    sum += atOne + atOther;
    squares += atOne * atOne + atOther * atOther;
    for (let input = 0; input < inputs; input += 1) {
      const mixed = [...one];
      mixed[input] = other[input] as number;
      const atMixed = model(mixed);
      own[input] = (own[input] as number) + atOther * (atMixed - atOne);
      joint[input] = (joint[input] as number) + (atOne - atMixed) * (atOne - atMixed);
    }
  }
  const mean = sum / (2 * samples);
  const variance = squares / (2 * samples) - mean * mean;
  const share = (value: number) => (variance > 0 ? value / samples / variance : 0);
  return {
    first: [...own].map(share),
    total: [...joint].map((value) => share(value / 2)),
    mean,
    variance: Math.max(0, variance),
  };
}
