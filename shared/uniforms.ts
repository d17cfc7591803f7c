/**
 * Many uniforms of a stream at once. Asked for one by one, each waits for the one before it to be put away and fetched
 * again; run here, a stream's recurrence (that of J. Baagøe's alea generator) stays in registers.
 *
 * A stream is four numbers in an array of its owner's, from where it is said: c, s0, s1, s2 of the generator before its
 * next draw. So whoever keeps the array can go on from there, as often as need be.
 */

/** A stream of uniforms that tells where its generator stands. */
export interface Draw {
  (): number;
  state(): { readonly c: number; readonly s0: number; readonly s1: number; readonly s2: number };
}

/** Numbers that a stream takes in its owner's array. */
export const STREAM_NUMBERS = 4;

export function beginStream(draw: Draw, state: number[], at: number): void {
  const { c, s0, s1, s2 } = draw.state();
  state[at] = c;
  state[at + 1] = s0;
  state[at + 2] = s1;
  state[at + 3] = s2;
}

/** Fills the head of an array with the next uniforms of a stream, the same numbers as asked for one by one (tested). */
export function drawUniforms(state: number[], at: number, count: number, into: Float64Array): void {
  let c = state[at] as number;
  let s0 = state[at + 1] as number;
  let s1 = state[at + 2] as number;
  let s2 = state[at + 3] as number;
  for (let k = 0; k < count; k++) {
    const next = 2091639 * s0 + c * 2.3283064365386963e-10; // 2^−32
    s0 = s1;
    s1 = s2;
    c = Math.floor(next); // never negative; a conversion to an integer and back would take twice as long
    s2 = next - c;
    into[k] = s2;
  }
  state[at] = c;
  state[at + 1] = s0;
  state[at + 2] = s1;
  state[at + 3] = s2;
}

/**
 * The same of two streams that stand one behind the other in the array, side by side, with as many of a third beside them
 * as are asked for, no more than of those: each number waits for the one before it in its own stream only, so that three
 * take little longer than one.
 */
export function drawTogether(
  state: number[],
  at: number,
  count: number,
  first: Float64Array,
  second: Float64Array,
  thirdAt: number,
  thirdCount: number,
  third: Float64Array,
): void {
  let c = state[at] as number;
  let s0 = state[at + 1] as number;
  let s1 = state[at + 2] as number;
  let s2 = state[at + 3] as number;
  let d = state[at + 4] as number;
  let t0 = state[at + 5] as number;
  let t1 = state[at + 6] as number;
  let t2 = state[at + 7] as number;
  let e = state[thirdAt] as number;
  let u0 = state[thirdAt + 1] as number;
  let u1 = state[thirdAt + 2] as number;
  let u2 = state[thirdAt + 3] as number;
  let k = 0;
  for (; k < thirdCount; k++) {
    const next = 2091639 * s0 + c * 2.3283064365386963e-10;
    const beside = 2091639 * t0 + d * 2.3283064365386963e-10;
    const last = 2091639 * u0 + e * 2.3283064365386963e-10;
    s0 = s1;
    t0 = t1;
    u0 = u1;
    s1 = s2;
    t1 = t2;
    u1 = u2;
    c = Math.floor(next);
    d = Math.floor(beside);
    e = Math.floor(last);
    s2 = next - c;
    t2 = beside - d;
    u2 = last - e;
    first[k] = s2;
    second[k] = t2;
    third[k] = u2;
  }
  for (; k < count; k++) {
    const next = 2091639 * s0 + c * 2.3283064365386963e-10;
    const beside = 2091639 * t0 + d * 2.3283064365386963e-10;
    s0 = s1;
    t0 = t1;
    s1 = s2;
    t1 = t2;
    c = Math.floor(next);
    d = Math.floor(beside);
    s2 = next - c;
    t2 = beside - d;
    first[k] = s2;
    second[k] = t2;
  }
  state[at] = c;
  state[at + 1] = s0;
  state[at + 2] = s1;
  state[at + 3] = s2;
  state[at + 4] = d;
  state[at + 5] = t0;
  state[at + 6] = t1;
  state[at + 7] = t2;
  state[thirdAt] = e;
  state[thirdAt + 1] = u0;
  state[thirdAt + 2] = u1;
  state[thirdAt + 3] = u2;
}
