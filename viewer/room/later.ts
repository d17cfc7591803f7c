import { afterFrame } from "../after-frame.ts";

/** What can wait until people see what cannot: one task at a time, so that a hand or a frame comes in between. */
export interface Later {
  /** In the place of what still waits. */
  put(tasks: readonly (() => void)[]): void;
  /** All that waits, now. */
  finish(): void;
}

/** @param tell whether anything waits, each time that this changes */
export function createLater(tell: (isWaiting: boolean) => void): Later {
  let tasks: readonly (() => void)[] = [];
  let round = 0;
  const next = (own: number) => {
    if (own !== round) return;
    const [task, ...more] = tasks;
    tasks = more;
    try {
      task?.();
    } finally {
      // One that fails does not keep the others.
      if (own === round) {
        if (more.length === 0) tell(false);
        else setTimeout(() => next(own));
      }
    }
  };
  return {
    put(given) {
      round += 1;
      tasks = given;
      tell(given.length > 0);
      if (given.length === 0) return;
      const own = round;
      afterFrame(() => next(own));
    },
    finish() {
      const left = tasks;
      round += 1;
      tasks = [];
      for (const task of left) task();
      tell(false);
    },
  };
}
