/**
 * The page's side of the engine: one request at a time. A new one ends the one before, which costs no waiting: its
 * worker is shut down in the middle of whatever it does, and a fresh one is ready by then.
 */
import type { Issue } from "../../shared/issues.ts";
import type { PolicyComparison } from "../../sim/policies.ts";
import type { RunData, ScenarioTexts } from "../../sim/run-data.ts";
import type { TrialResult } from "../../sim/trials/trial.ts";
import type { Walk } from "../../sim/walk/steps.ts";
import type { Answer, Asked, Ready, Request, Swept } from "./protocol.ts";

/** How anything that was asked for may end without what was asked for. */
type NotDone =
  | { readonly is: "issues"; readonly issues: readonly Issue[] }
  | { readonly is: "failed"; readonly problem: string }
  | { readonly is: "cancelled" };

export type Outcome = { readonly is: "done"; readonly data: RunData } | NotDone;

export interface Rehearsal {
  /** Never rejects. */
  readonly promise: Promise<Outcome>;
  cancel(): void;
  /** Called with the share that is done, from 0 to 1. */
  onProgress(listener: (share: number) => void): void;
  /** Called at most once, after `done`: the returns of leaders under five policies; null where that would take long. */
  onReturns(listener: (policies: readonly PolicyComparison[] | null) => void): void;
}

/** Faults that are tried. What was handed over stands, whatever becomes of the rest. */
export interface Trying {
  /** Never rejects. */
  readonly promise: Promise<{ readonly is: "tried" } | NotDone>;
  cancel(): void;
  /** Called before any results. */
  onSweeps(listener: (sweeps: readonly Swept[]) => void): void;
  onResults(listener: (layout: number, results: readonly TrialResult[]) => void): void;
}

export interface Walking {
  /** Never rejects. */
  readonly promise: Promise<{ readonly is: "walk"; readonly walk: Walk } | NotDone>;
  cancel(): void;
}

export interface Engine {
  rehearse(files: ScenarioTexts, seed?: string): Rehearsal;
  /** Every single fault of each of these plans, by the same chance. */
  tryFaults(layouts: readonly ScenarioTexts[], wanted: Asked): Trying;
  /** The pulls of its pull test, each rehearsed. */
  walk(files: ScenarioTexts): Walking;
  /** What people have to know about how it runs; null: nothing. */
  note(): string | null;
  /** Makes the worker, if there is none yet. */
  warm(): void;
  close(): void;
}

/** As much of a worker as is used. */
export interface Helper {
  postMessage(request: Request): void;
  terminate(): void;
  onmessage: ((event: MessageEvent<Answer | Ready>) => void) | null;
  onerror: ((event: ErrorEvent) => void) | null;
}

export interface Host {
  /** Throws where there are no workers. */
  makeWorker(): Helper;
  /** The same engine on the page. */
  playHere(request: Request, answer: (answer: Answer) => void): void;
}

/** A request on its way, or one whose returns are still being compared. */
interface Waiting {
  readonly request: Request;
  hear(answer: Answer): void;
  /** To whoever waits for it. */
  cancelled(): void;
}

const BROKE_DOWN = "the engine broke down";
const ON_PAGE_NOTE = "This browser runs no workers here, so the page stands still while a run is played.";

/** @param isCold whether the worker is made only when it is asked to, or needed */
export function createEngine(host: Host, isCold = false): Engine {
  let requests = 0;
  let onPage = false;
  let current: Waiting | null = null;
  let worker: Helper | null = null;
  let isReady = false;

  const hear = (answer: Answer) => {
    if (answer.id === current?.request.id) current.hear(answer);
  };
  const playHere = (request: Request) => {
    // After the page has been drawn once more, so that it says what it is doing.
    setTimeout(() => {
      if (current?.request.id === request.id) host.playHere(request, hear);
    }, 20);
  };
  const goOnPage = () => {
    onPage = true;
    worker?.terminate();
    worker = null;
    if (current !== null) playHere(current.request);
  };
  const spawn = () => {
    isReady = false;
    try {
      const made = host.makeWorker();
      worker = made;
      made.onmessage = ({ data }) => {
        if (data.is === "ready") isReady = true;
        else hear(data);
      };
      made.onerror = (event) => {
        event.preventDefault?.();
        // One that has never spoken was refused by the browser; one that has, broke down over this request.
        if (!isReady) goOnPage();
        else {
          made.terminate();
          const request = current?.request;
          if (request !== undefined) hear({ id: request.id, is: "failed", problem: event.message ?? BROKE_DOWN });
          current = null;
          spawn();
        }
      };
    } catch {
      goOnPage();
    }
  };
  const stop = (asked: Waiting) => {
    current = null;
    asked.cancelled();
    if (onPage) return;
    worker?.terminate();
    spawn();
  };
  const warm = () => {
    if (worker === null && !onPage) spawn();
  };
  if (!isCold) warm();

  /** @param take an answer that does not end it at once: issues, a failure and being cancelled are seen to here */
  function ask<Ending>(
    make: (id: number) => Request,
    take: (answer: Answer, settle: (ending: Ending) => void, end: () => void) => void,
  ): { readonly promise: Promise<Ending | NotDone>; cancel(): void } {
    if (current !== null) stop(current);
    warm();
    requests += 1;
    const request = make(requests);
    let settle: (ending: Ending | NotDone) => void = () => {};
    const promise = new Promise<Ending | NotDone>((resolve) => {
      settle = resolve;
    });
    const end = () => {
      current = null;
    };
    const asked: Waiting = {
      request,
      hear(answer) {
        if (answer.is === "issues" || answer.is === "failed") {
          end();
          settle(answer);
        } else take(answer, settle, end);
      },
      // A promise that is settled stays as it is.
      cancelled: () => settle({ is: "cancelled" }),
    };
    current = asked;
    if (onPage) playHere(request);
    else worker?.postMessage(request);
    return {
      promise,
      cancel() {
        if (current === asked) stop(asked);
      },
    };
  }

  return {
    note: () => (onPage ? ON_PAGE_NOTE : null),
    warm,
    close() {
      current?.cancelled();
      current = null;
      worker?.terminate();
      worker = null;
    },
    rehearse(files, seed) {
      const progress = new Set<(share: number) => void>();
      const returns = new Set<(policies: readonly PolicyComparison[] | null) => void>();
      const { promise, cancel } = ask<Outcome>(
        (id) => ({ id, do: "rehearse", files, ...(seed === undefined ? {} : { seed }) }),
        (answer, settle, end) => {
          if (answer.is === "progress") for (const listener of progress) listener(answer.share);
          else if (answer.is === "returns") {
            end();
            for (const listener of returns) listener(answer.policies);
          } else if (answer.is === "done") settle(answer);
        },
      );
      return {
        promise,
        cancel,
        onProgress: (listener) => progress.add(listener),
        onReturns: (listener) => returns.add(listener),
      };
    },
    walk: (files) =>
      ask<Awaited<Walking["promise"]>>(
        (id) => ({ id, do: "walk", files }),
        (answer, settle, end) => {
          if (answer.is !== "walk") return;
          end();
          settle(answer);
        },
      ),
    tryFaults(layouts, wanted) {
      const swept = new Set<(sweeps: readonly Swept[]) => void>();
      const found = new Set<(layout: number, results: readonly TrialResult[]) => void>();
      const { promise, cancel } = ask<Awaited<Trying["promise"]>>(
        (id) => ({ id, do: "try", layouts, wanted }),
        (answer, settle, end) => {
          if (answer.is === "sweeps") for (const listener of swept) listener(answer.sweeps);
          else if (answer.is === "results") for (const listener of found) listener(answer.layout, answer.results);
          else if (answer.is === "tried") {
            end();
            settle(answer);
          }
        },
      );
      return {
        promise,
        cancel,
        onSweeps: (listener) => swept.add(listener),
        onResults: (listener) => found.add(listener),
      };
    },
  };
}
