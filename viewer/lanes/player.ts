/** Plays the show: cursor and window go on by themselves, at a speed that one chooses, until somebody says stop. */
import { h } from "../dom.ts";
import { drawWaiting } from "../pace.ts";
import type { PageContext } from "../page.ts";
import { type Change, changesWithin, passedWords } from "./changes.ts";
import { played, SPEEDS, speedFor } from "./playing.ts";

export interface Player {
  readonly elements: readonly HTMLElement[];
  toggle(): void;
}

/** Half as often as most screens draw: smooth enough, and a large rig keeps up with it. */
const FRAME_MS = 33;
/** Without motion: a step a second can be read. */
const STEP_MS = 1000;
/** A machine that slept goes on from where it was. */
const LONGEST_MS = 2000;
/** Changes are gathered over so long before they are read out. */
const SAY_MS = 2000;

const REDUCED = "(prefers-reduced-motion: reduce)";

export function player({ lanes, store, announce }: PageContext): Player {
  const button = h("button", { type: "button", class: "play" }, "Play");
  const speed = h(
    "select",
    { "aria-label": "Speed of playing" },
    ...SPEEDS.map((each) => h("option", { value: each }, `${each}×`)),
  );
  let isPlaying = false;
  let isChosen = false;
  let frame = 0;
  let lastMs = 0;
  let saidMs = 0;
  /** What the cursor went over since the last words, and in which lane; null: all. */
  let over: { fromSeconds: number; toSeconds: number; lane: string | null } | null = null;
  let passed: Change[] = [];

  const suggest = () => {
    const { fromSeconds, toSeconds } = store.look();
    if (!isChosen && !isPlaying) speed.value = String(speedFor(toSeconds - fromSeconds));
  };
  const stop = (says: string | null) => {
    if (!isPlaying) return;
    isPlaying = false;
    cancelAnimationFrame(frame);
    button.textContent = "Play";
    drawWaiting();
    gather();
    if (says !== null) announce([passed.length === 0 ? "" : passedWords(passed), says].join(" ").trim());
    passed = [];
    suggest();
  };
  /** Nothing is looked up at a frame: only before words, and where somebody puts cursor or lane elsewhere. */
  const gather = () => {
    if (over === null) return;
    const { fromSeconds, toSeconds, lane } = over;
    const own = lane === null ? lanes.all : lanes.all.filter(({ key }) => key === lane);
    for (const change of changesWithin(own, fromSeconds, toSeconds)) passed.push(change);
    over = null;
  };
  const pass = (fromSeconds: number, toSeconds: number, nowMs: number) => {
    const { lane } = store.look();
    if (over !== null && (over.toSeconds !== fromSeconds || over.lane !== lane)) gather();
    over = { fromSeconds: over?.fromSeconds ?? fromSeconds, toSeconds, lane };
    if (nowMs - saidMs < SAY_MS) return;
    gather();
    if (passed.length === 0) return;
    announce(passedWords(passed));
    passed = [];
    saidMs = nowMs;
  };
  const tick = (nowMs: number) => {
    if (!isPlaying) return;
    // Another run has been drawn in the place of this one.
    if (!button.isConnected) return stop(null);
    const slides = !matchMedia(REDUCED).matches;
    const gone = nowMs - lastMs;
    if (gone >= (slides ? FRAME_MS : STEP_MS)) {
      lastMs = nowMs;
      const before = store.look().cursorSeconds;
      const by = (Math.min(gone, LONGEST_MS) / 1000) * Number(speed.value);
      store.set(played(store.look(), by, store.lengthSeconds, slides), slides);
      const now = store.look().cursorSeconds;
      pass(before, now, nowMs);
      if (now >= store.lengthSeconds) return stop("The show is over.");
    }
    frame = requestAnimationFrame(tick);
  };
  const start = () => {
    const { cursorSeconds, fromSeconds, toSeconds } = store.look();
    if (cursorSeconds >= store.lengthSeconds)
      store.set({ cursorSeconds: 0, fromSeconds: 0, toSeconds: toSeconds - fromSeconds });
    else if (cursorSeconds < fromSeconds || cursorSeconds > toSeconds) store.set({ cursorSeconds: fromSeconds });
    isPlaying = true;
    [over, passed] = [null, []];
    button.textContent = "Pause";
    lastMs = saidMs = performance.now();
    announce(`Playing at ${speed.value} times the speed of the show.`);
    frame = requestAnimationFrame(tick);
  };
  const toggle = () => (isPlaying ? stop("Paused.") : start());

  button.addEventListener("click", toggle);
  speed.addEventListener("change", () => {
    isChosen = true;
  });
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) stop("Paused.");
  });
  addEventListener("beforeprint", () => stop(null));
  store.subscribe(suggest);
  suggest();
  return { elements: [button, speed], toggle };
}
