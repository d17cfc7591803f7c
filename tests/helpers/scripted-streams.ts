/**
 * Streams of uniforms in the hands of a test: one that is opened while `streams.uniform` says what is handed out is a
 * function of its address and of the place in it, so that going back to where it stood once gives the same numbers
 * again. A test that wants this mocks shared/random.ts by `ofRandom` and shared/uniforms.ts by `ofUniforms`.
 */
import type * as Random from "../../shared/random.ts";
import type * as Uniforms from "../../shared/uniforms.ts";

interface Address {
  readonly seed: string;
  readonly device: string;
  readonly purpose: string;
  readonly block: number;
}

/** A stream that was opened. */
interface Opened {
  readonly address: Address;
  /** Uniforms up to the last that was handed out. */
  drawn: number;
}

/** The uniform at a place of a stream, from 0. */
type UniformAt = (place: number) => number;

interface Streams {
  /**
   * What streams hand out that are opened from now on, for good, given what the generator itself has at a place; null:
   * they are left alone.
   */
  uniform: ((address: Address, place: number, realAt: UniformAt) => number) | null;
  /** Those that were opened while there was a script. */
  readonly opened: Opened[];
}

export const streams: Streams = { uniform: null, opened: [] };

/** The generator forwards; for a place that it has passed it begins anew. */
function placesOf(begin: () => () => number): UniformAt {
  let draw = begin();
  let next = 0;
  return (place) => {
    if (place < next) {
      draw = begin();
      next = 0;
    }
    for (; next < place; next++) draw();
    next += 1;
    return draw();
  };
}

/** What a stream hands out that has a script. */
const scripted = new WeakMap<Uniforms.Draw, UniformAt>();

export function ofRandom(real: typeof Random): typeof Random {
  return {
    ...real,
    stream: (seed, device, purpose, block) => {
      const begin = () => real.stream(seed, device, purpose, block);
      const { uniform } = streams;
      if (uniform === null) return begin();
      const address = { seed, device, purpose, block };
      const opened: Opened = { address, drawn: 0 };
      streams.opened.push(opened);
      const realAt = placesOf(begin);
      const uniformAt: UniformAt = (place) => {
        opened.drawn = Math.max(opened.drawn, place + 1);
        return uniform(address, place, realAt);
      };
      let place = 0;
      const draw = Object.assign(() => uniformAt(place++), { state: begin().state });
      scripted.set(draw, uniformAt);
      return draw;
    },
  };
}

/** Streams that stand in their owners' arrays: the first of the four numbers is −1 − the index here, the second the place. */
const standing: UniformAt[] = [];

export function ofUniforms(real: typeof Uniforms): typeof Uniforms {
  const beginStream: typeof real.beginStream = (draw, state, at) => {
    real.beginStream(draw, state, at);
    const uniformAt = scripted.get(draw);
    if (uniformAt === undefined) return;
    state[at] = -standing.length - 1;
    state[at + 1] = 0;
    standing.push(uniformAt);
  };
  const drawUniforms: typeof real.drawUniforms = (state, at, count, into) => {
    // No generator has a number below zero.
    const uniformAt = standing[-(state[at] as number) - 1];
    if (uniformAt === undefined) {
      real.drawUniforms(state, at, count, into);
      return;
    }
    const from = state[at + 1] as number;
    for (let k = 0; k < count; k++) into[k] = uniformAt(from + k);
    state[at + 1] = from + count;
  };
  const drawTogether: typeof real.drawTogether = (state, at, count, first, second, thirdAt, thirdCount, third) => {
    if ((state[at] as number) >= 0) {
      real.drawTogether(state, at, count, first, second, thirdAt, thirdCount, third);
      return;
    }
    drawUniforms(state, at, count, first);
    drawUniforms(state, at + real.STREAM_NUMBERS, count, second);
    drawUniforms(state, thirdAt, thirdCount, third);
  };
  return { ...real, beginStream, drawUniforms, drawTogether };
}
