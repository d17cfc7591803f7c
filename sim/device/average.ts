/**
 * The frequency that a holdover goes on with: the control averaged over a stated time before the loss, and what the
 * device gets wrong in measuring it.
 *
 * The mean of a control over a time is what it moved the phase by in that time: own phase less that of the own
 * oscillator, at both ends. So nothing is summed up while the loop runs; what is kept is which loop was in force when.
 */
import type { Ns } from "../../shared/time.ts";
import { NEVER, nsFromSeconds, secondsBetween } from "../../shared/time.ts";
import { wanderAt } from "../../shared/wander.ts";
import { integratorNow, loopPhaseAt, timebaseOf } from "./phase.ts";
import type { LoopDrive, Work } from "./state.ts";

/** A loop as it was when something about it changed, in force until the next change. */
export interface Mark {
  readonly drive: LoopDrive;
  readonly fromNs: Ns;
  readonly untilNs: Ns;
}

/** Marks over one averaging time: while a loop settles it changes many times a second, and most of that is forgotten. */
const MARKS = 64;

/** The loop has changed: the old one was in force until now. `isClosing`: there was none, and the average starts anew. */
export function keepMark(w: Work, isClosing: boolean): void {
  const { s, now } = w;
  const { holdoverAverageSeconds } = w.n.plan;
  if (holdoverAverageSeconds === 0 || s.drive.kind !== "loop") return;
  const mark: Mark = { drive: s.drive, fromNs: now, untilNs: NEVER };
  if (isClosing) {
    s.marks = [mark];
    return;
  }
  const averageNs = nsFromSeconds(holdoverAverageSeconds);
  const kept: Mark[] = [];
  for (const each of s.marks) {
    const ended = each.untilNs === NEVER ? { ...each, untilNs: now } : each;
    if (ended.untilNs < now - averageNs) continue;
    const last = kept[kept.length - 1];
    if (last === undefined || ended.untilNs - last.untilNs >= averageNs / MARKS) kept.push(ended);
  }
  kept.push(mark);
  s.marks = kept;
}

/** What the control has moved the phase by, in seconds, up to a constant. */
function movedBy(w: Work, { drive }: Mark, at: Ns): number {
  const own = timebaseOf(w, w.s.life);
  return loopPhaseAt(w, drive, at) - own.phaseSecondsAt(at) - wanderAt(own.wander, at);
}

/** Control that a locked loop leaves to its holdover, as a fractional frequency. */
export function keptControl(w: Work): number {
  const { s, now } = w;
  const { holdoverAverageSeconds, holdoverErrorPpb } = w.n.plan;
  const error = holdoverErrorPpb * 1e-9;
  const last = s.marks[s.marks.length - 1];
  if (holdoverAverageSeconds === 0 || last === undefined) return integratorNow(w) + error;
  const wantedNs = now - nsFromSeconds(holdoverAverageSeconds);
  const first = s.marks.find((each) => each.untilNs >= wantedNs) as Mark;
  const fromNs = Math.min(Math.max(wantedNs, first.fromNs), now) as Ns;
  const seconds = secondsBetween(fromNs, now);
  if (seconds === 0) return integratorNow(w) + error;
  return (movedBy(w, last, now) - movedBy(w, first, fromNs)) / seconds + error;
}
