/** Long work in slices, so that the page can be moved meanwhile. */

/** A third of a frame at 60 a second: the rest is for drawing. */
const SLICE_MS = 5;

export interface Work {
  readonly isBusy: boolean;
  /** Ends what was under way and begins this: the first slice at once, the rest as the page has time. */
  start(job: Iterator<void>, onSlice: (isDone: boolean) => void, isPatient: boolean): void;
  stop(): void;
}

export function createWork(): Work {
  let timer = 0;
  let isBusy = false;
  const stop = () => {
    clearTimeout(timer);
    isBusy = false;
  };
  return {
    get isBusy() {
      return isBusy;
    },
    stop,
    start(job, onSlice, isPatient) {
      stop();
      const slice = () => {
        const end = performance.now() + (isPatient ? SLICE_MS : Number.POSITIVE_INFINITY);
        do isBusy = job.next().done !== true;
        while (isBusy && performance.now() < end);
        if (isBusy) timer = window.setTimeout(slice);
        onSlice(!isBusy);
      };
      slice();
    },
  };
}
