/**
 * Which clock source a device wants, as a pure function of what it can see. Terms of ITU-T G.781 and G.808.1.
 *
 * | situation                                   | wants                                        |
 * | told by hand to use one that is available   | that one                                     |
 * | on a source that is good, revertive         | the best available, if better; else stays    |
 * | on a source that is good, not revertive     | stays                                        |
 * | on none, hold-off of the lost one running   | nothing yet                                  |
 * | on none                                     | the best available, if any                   |
 *
 * A port is available when its link is up, the other end gives clock at the same rate, wait-to-restore has run, and
 * (tested only for a source that is not the current one) its frequency is inside the capture range. `internal` always is.
 */
export const INTERNAL = "internal";

export interface View {
  /** In order of preference. */
  readonly sources: readonly string[];
  readonly current: string | null;
  /** The current source is still good; true for `internal`. */
  readonly isCurrentGood: boolean;
  readonly isRevertive: boolean;
  /** Chosen by hand and not yet lost. */
  readonly byHand: string | null;
  /** A source was lost and others may not be chosen yet. */
  readonly isHeldOff: boolean;
  isAvailable(source: string): boolean;
}

export function wantedSource(view: View): string | null {
  const { current, sources } = view;
  const isSettled = current !== null && view.isCurrentGood && sources.includes(current);
  const mayUse = (source: string): boolean => (isSettled && source === current) || view.isAvailable(source);
  if (view.byHand !== null && sources.includes(view.byHand) && mayUse(view.byHand)) return view.byHand;
  if (isSettled && !view.isRevertive) return current;
  if (!isSettled && view.isHeldOff) return current;
  for (const source of sources) if (mayUse(source)) return source;
  return isSettled ? current : null;
}
