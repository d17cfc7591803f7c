/** When the sound that a pull takes away is back: what somebody with a stopwatch can hold against a rehearsal. */
import { secondsFromNs } from "../../shared/time.ts";
import type { Span } from "../trials/harm.ts";
import type { Rehearsed } from "./rehearsed.ts";

/**
 * "stays": nothing falls silent until it is put back or has booted. "back": by itself, so long after the pull or the
 * reboot. "back-in": only once it is in again, so long after that. "gone": not while it was watched.
 */
export type SoundBack =
  | { readonly is: "stays" | "gone" }
  | { readonly is: "back" | "back-in"; readonly seconds: number };

/** Silences of two listeners that are closer than this are one to somebody with a stopwatch, *assumed*. */
const ONE_SILENCE_SECONDS = 1;

/** @param backSeconds from the pull until it is put back; of a reboot until it has booted */
export function soundBackIn({ plan, silences, atNs, endNs }: Rehearsed, backSeconds: number): SoundBack {
  const at = secondsFromNs(atNs);
  const isBoot = plan.events.some((event) => event.atNs === atNs && event.do === "reboot");
  const [first, ...more] = silences.toSorted((one, other) => one.from - other.from || one.to - other.to);
  if (first === undefined || first.from >= at + backSeconds) return { is: "stays" };
  const last = more.reduce<Span>(
    (span, { from, to }) =>
      from <= span.to + ONE_SILENCE_SECONDS ? { from: span.from, to: Math.max(span.to, to) } : span,
    first,
  );
  if (last.to >= secondsFromNs(endNs)) return { is: "gone" };
  const seconds = last.to - at;
  return isBoot || seconds < backSeconds ? { is: "back", seconds } : { is: "back-in", seconds: seconds - backSeconds };
}
