/**
 * A sample-rate converter at one port end, in the place of a buffer: what arrives is put on the device's own clock, so
 * nothing slips and step is not lost, whatever the two clocks do.
 *
 * | from       | when                                                                      | to         |
 * | idle       | something arrives, and the two rates are no further apart than it bridges | finding    |
 * | finding    | its lock time has run                                                     | converting |
 * | converting | what would start a buffer anew (an end restarted or jumped), or another rate arrives | finding |
 * | any        | nothing arrives any more, or what it cannot bridge                        | idle       |
 *
 * It follows every slower change without a word. What arrives as the show begins it has known for ever.
 */
import type { Signal } from "../shared/flow.ts";
import type { Cause, ConverterState } from "../shared/record.ts";
import { FROM_START } from "../shared/record.ts";
import type { Ns } from "../shared/time.ts";
import { later, NEVER } from "../shared/time.ts";
import type { Due, Effect, Machine, MachineEvent, Step } from "./machine.ts";
import type { Arrival, Mail, Order } from "./mail.ts";
import { isLastWord } from "./mail.ts";

export interface ConverterSpec {
  readonly id: string;
  readonly sampleRateHz: number;
  readonly ratioMax: number;
  readonly lockNs: Ns;
  readonly arrival: Arrival | null;
  readonly own: Signal | null;
}

/** What it knows of what arrives; the first of these to change makes it find the rate anew. */
interface Known {
  readonly theirEpoch: number;
  readonly ownEpoch: number;
  readonly rateHz: number;
}

export interface ConverterMachineState {
  readonly arrival: Arrival | null;
  readonly own: Signal | null;
  readonly known: Known | null;
  readonly state: ConverterState;
  readonly decodes: boolean;
  readonly inStep: boolean;
  readonly due: Due;
}

type Draft = { -readonly [K in keyof ConverterMachineState]: ConverterMachineState[K] };

export function makeConverter(spec: ConverterSpec): Machine<ConverterMachineState, Order, Mail> {
  function isBridged(rateHz: number): boolean {
    const ratio = rateHz / spec.sampleRateHz;
    return ratio <= spec.ratioMax && 1 / ratio <= spec.ratioMax;
  }

  function place(s: Draft): Pick<Arrival, "link" | "way"> | { readonly link: null; readonly way: null } {
    return s.arrival === null ? { link: null, way: null } : { link: s.arrival.link, way: s.arrival.way };
  }

  function recordInput(s: Draft, effects: Effect<Mail>[]): void {
    const { decodes, inStep } = s;
    effects.push({ do: "record", fact: { kind: "input", ...place(s), decodes, inStep } });
  }

  function recordState(s: Draft, effects: Effect<Mail>[]): void {
    effects.push({ do: "record", fact: { kind: "converter", ...place(s), state: s.state } });
  }

  /** Brings it up to date with what arrives and the own clock. `hasBegun`: false before the first instant. */
  function look(s: Draft, now: Ns, cause: Cause, hasBegun: boolean, effects: Effect<Mail>[]): void {
    const before = { decodes: s.decodes, inStep: s.inStep, state: s.state };
    const { arrival, own } = s;
    const theirs = arrival?.signal ?? null;
    const isUp = arrival?.up === true;
    if (isUp && theirs !== null && own !== null && own.rateHz === spec.sampleRateHz && isBridged(theirs.rateHz)) {
      const { known } = s;
      const isSame =
        known !== null &&
        known.theirEpoch === theirs.epoch &&
        known.ownEpoch === own.epoch &&
        known.rateHz === theirs.rateHz;
      if (!isSame) {
        s.known = { theirEpoch: theirs.epoch, ownEpoch: own.epoch, rateHz: theirs.rateHz };
        s.state = hasBegun && spec.lockNs > 0 ? "finding" : "converting";
        s.due = { atNs: s.state === "finding" ? later(now, spec.lockNs) : NEVER, cause };
      }
      s.decodes = true;
      s.inStep = true;
    } else {
      s.known = null;
      s.state = "idle";
      s.decodes = false;
      // A break that is not noticed yet takes nobody out of step.
      s.inStep = isUp && own !== null && theirs === null && s.inStep;
      if (s.due.atNs !== NEVER) s.due = { atNs: NEVER, cause };
    }
    if (s.decodes !== before.decodes || s.inStep !== before.inStep) recordInput(s, effects);
    if (s.state !== before.state) recordState(s, effects);
  }

  return {
    id: spec.id,
    rank: "lives",
    start(now): Step<ConverterMachineState, Mail> {
      const s: Draft = {
        arrival: spec.arrival,
        own: spec.own,
        known: null,
        state: "idle",
        decodes: false,
        inStep: false,
        due: { atNs: NEVER, cause: FROM_START },
      };
      look(s, now, FROM_START, false, []);
      const effects: Effect<Mail>[] = [];
      recordInput(s, effects);
      recordState(s, effects);
      return { state: s, effects };
    },
    handle(state, event: MachineEvent<Order, Mail>, now): Step<ConverterMachineState, Mail> {
      const s: Draft = { ...state };
      const effects: Effect<Mail>[] = [];
      if (event.kind === "due") {
        s.state = "converting";
        s.due = { atNs: NEVER, cause: event.cause };
        recordState(s, effects);
      } else if (event.kind === "mail") {
        const { mail } = event;
        if (mail.kind === "arrival") {
          if (isLastWord(s.arrival, mail.arrival)) return { state, effects };
          s.arrival = mail.arrival;
        } else if (mail.kind === "flow") s.own = mail.signal;
        look(s, now, event.cause, true, effects);
      }
      return { state: s, effects };
    },
    due: (state) => state.due,
  };
}
