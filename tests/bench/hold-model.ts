/**
 * The hold model: take the earliest event, schedule one at now + an exponential, again and again, with as many pending
 * all the time. Once through the engine's public machine interface, once on a bare heap; the same increments for both.
 */
import { stream } from "../../shared/random.ts";
import type { Cause } from "../../shared/record.ts";
import { FROM_START } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { startEngine } from "../../sim/engine.ts";
import type { Effect, Machine, Network } from "../../sim/machine.ts";
import { inEngineOrder } from "../../sim/machine.ts";
import { holdOnBareHeap } from "./reference-heap.ts";

const INCREMENTS = 4096; // a power of two; 32 KiB, so that reading them costs both sides next to nothing
const MEAN_NS = 1e9;

/** Whole nanoseconds, exponential, mean one second. */
export function makeIncrements(): Float64Array {
  const next = stream("hold", "increments", "bench", 0);
  return Float64Array.from({ length: INCREMENTS }, () => 1 + Math.round(-MEAN_NS * Math.log(1 - next())));
}

/** A toy: its whole state is when it is due next, so the state is its own {@link Due}. */
interface ToyState {
  readonly atNs: Ns;
  readonly cause: Cause;
  readonly next: number;
}

const NO_EFFECTS: readonly Effect<never>[] = [];

/** All that differs from one toy to the next is in its state. */
function makeToys(howMany: number, increments: Float64Array): Machine<ToyState, never, never>[] {
  const after = (now: Ns, next: number): ToyState => ({
    atNs: (now + increments[next]!) as Ns,
    cause: FROM_START,
    next: (next + 1) & (INCREMENTS - 1),
  });
  const handle: Machine<ToyState, never, never>["handle"] = (state, _event, now) => ({
    state: after(now, state.next),
    effects: NO_EFFECTS,
  });
  const due = (state: ToyState): ToyState => state;
  return Array.from({ length: howMany }, (_, i) => ({
    id: `toy ${i}`,
    rank: "lives" as const,
    // Each begins elsewhere in the table.
    start: (now: Ns) => ({ state: after(now, (61 * i) & (INCREMENTS - 1)), effects: NO_EFFECTS }),
    handle,
    due,
  }));
}

/** Plays machines for `seconds` of the model's time, and says how many events that were. */
export function holdByEngine(pending: number, seconds: number, increments: Float64Array): number {
  const machines = makeToys(pending, increments).sort(inEngineOrder) as Machine<unknown, never, never>[];
  const network: Network<never, never> = { machines, wires: [], world: [] };
  const engine = startEngine(network);
  engine.playTo((seconds * 1e9) as Ns);
  return engine.eventCount;
}

/** The same on the bare heap; one place in the table will do. */
export function holdByHeap(pending: number, seconds: number, increments: Float64Array): number {
  return holdOnBareHeap(pending, seconds * 1e9, increments);
}
