/**
 * The page's side of the engine: one request at a time. A new one ends the one before, which costs no waiting: its
 * worker is shut down in the middle of whatever it does, and a fresh one is ready by then.
 */
import type { Issue } from "../../shared/issues.ts";
import type { PolicyComparison } from "../../sim/policies.ts";
import type { RunData, ScenarioTexts } from "../../sim/run-data.ts";
import type { Answer, Ready, Request } from "./protocol.ts";

export type Outcome =
  | { readonly is: "done"; readonly data: RunData }
  | { readonly is: "issues"; readonly issues: readonly Issue[] }
  | { readonly is: "failed"; readonly problem: string }
  | { readonly is: "cancelled" };

export interface Rehearsal {
  /** Never rejects. */
  readonly promise: Promise<Outcome>;
  cancel(): void;
  /** Called with the share that is done, from 0 to 1. */
  onProgress(listener: (share: number) => void): void;
  /** Called at most once, after `done`: the returns of leaders under five policies; null where that would take long. */
  onReturns(listener: (policies: readonly PolicyComparison[] | null) => void): void;
}

export interface Engine {
  rehearse(files: ScenarioTexts, seed?: string): Rehearsal;
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
interface Asked {
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
  let current: Asked | null = null;
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
  const stop = (asked: Asked) => {
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
      if (current !== null) stop(current);
      warm();
      requests += 1;
      const request: Request = { id: requests, do: "rehearse", files, ...(seed === undefined ? {} : { seed }) };
      const progress = new Set<(share: number) => void>();
      const returns = new Set<(policies: readonly PolicyComparison[] | null) => void>();
      let settle: (outcome: Outcome) => void = () => {};
      const promise = new Promise<Outcome>((resolve) => {
        settle = resolve;
      });
      const asked: Asked = {
        request,
        hear(answer) {
          if (answer.is === "progress") for (const listener of progress) listener(answer.share);
          else if (answer.is === "returns") {
            current = null;
            for (const listener of returns) listener(answer.policies);
          } else {
            if (answer.is !== "done") current = null;
            settle(answer);
          }
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
        onProgress: (listener) => progress.add(listener),
        onReturns: (listener) => returns.add(listener),
      };
    },
  };
}
