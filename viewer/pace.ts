/**
 * When to draw what follows the look. While cursor or window go on and on, nobody reads every word that they pass, and
 * what is out of sight is not seen at all: each part is drawn as often as can be read, and as it is once all stands still.
 */

/** What has not moved for so long stands still. */
export const STILL_MS = 150;
/** Words that change more often than this cannot be read. */
export const READ_MS = 250;

export interface Pace {
  /** Something has changed, in a step of its own or as one of many: draws now or later. */
  changed(isMoving: boolean): void;
  /** Draws what is due, at once. */
  flush(): void;
}

interface Clock {
  now(): number;
  /** Returns the way to stop. */
  after(ms: number, act: () => void): () => void;
}

/**
 * The rule without a page: a single step at once; on the move every so often while it is in sight; at the latest when all
 * stands still.
 *
 * @param everyMs between two drawings on the move
 */
export function paceBy(clock: Clock, everyMs: number, isInSight: () => boolean, draw: () => void): Pace {
  let drawnMs = 0;
  let isDue = false;
  let forget = () => {};
  const run = () => {
    forget();
    isDue = false;
    drawnMs = clock.now();
    draw();
  };
  const flush = () => {
    if (isDue) run();
  };
  return {
    flush,
    changed(isMoving) {
      isDue = true;
      if (!isMoving || (isInSight() && clock.now() - drawnMs >= everyMs)) return run();
      forget();
      forget = clock.after(STILL_MS, flush);
    },
  };
}

const PAGE_CLOCK: Clock = {
  now: () => performance.now(),
  after(ms, act) {
    const timer = setTimeout(act, ms);
    return () => clearTimeout(timer);
  },
};

/** Those that wait until all stands still. */
const waiting = new Set<Pace>();

/** Whoever moved things has stopped, and says so: all that waits is drawn at once. */
export function drawWaiting(): void {
  for (const pace of waiting) pace.flush();
}

/** @param place where it is drawn: what is in sight of it decides */
export function paceOf(place: Element, everyMs: number, draw: () => void): Pace {
  let isInSight = true;
  const paced = paceBy(
    PAGE_CLOCK,
    everyMs,
    () => isInSight || isPrinting(),
    () => {
      waiting.delete(pace);
      draw();
    },
  );
  const pace: Pace = {
    flush: paced.flush,
    changed(isMoving) {
      waiting.add(pace);
      paced.changed(isMoving);
    },
  };
  new IntersectionObserver((entries) => {
    isInSight = entries.at(-1)?.isIntersecting === true;
    if (isInSight) pace.flush();
  }).observe(place);
  addEventListener("beforeprint", pace.flush);
  return pace;
}

export function isPrinting(): boolean {
  return document.documentElement.classList.contains("printing");
}
