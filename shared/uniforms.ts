/**
 * Many uniforms of a stream at once. Asked for one by one, each waits for the one before it to be put away and fetched
 * again; run here, a stream's recurrence stays in registers and takes half the time.
 */

/** A stream of uniforms; `state`, where it tells it, is that of the alea generator (J. Baagøe's), before the next draw. */
export interface Draw {
  (): number;
  state?(): { readonly c: number; readonly s0: number; readonly s1: number; readonly s2: number };
}

/**
 * Fills the head of an array with the next uniforms of a stream, the same numbers as asked for one by one (tested). The
 * stream is used up by that: what it would hand out afterwards is not said.
 */
export function drawUniforms(draw: Draw, count: number, into: Float64Array): void {
  if (draw.state === undefined) {
    for (let k = 0; k < count; k++) into[k] = draw();
    return;
  }
  let { c, s0, s1, s2 } = draw.state();
  for (let k = 0; k < count; k++) {
    const next = 2091639 * s0 + c * 2.3283064365386963e-10; // 2^−32
    s0 = s1;
    s1 = s2;
    c = Math.floor(next); // never negative; a conversion to an integer and back would take twice as long
    s2 = next - c;
    into[k] = s2;
  }
}
