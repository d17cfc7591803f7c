/** Puts one run on the page: reads it, makes the store, and hands both to the views in the order of the page. */
import "./style.css";
import { h } from "./dom.ts";
import { inPageWords } from "./expected.ts";
import { lanesOf } from "./lane.ts";
import { inPageOrder } from "./order.ts";
import type { PageContext } from "./page.ts";
import { type Run, readRun } from "./run.ts";
import { slipsOf } from "./slips.ts";
import { createStore } from "./store.ts";
import { themeStyle } from "./theme.ts";
import { assumedPart } from "./views/assumed.ts";
import { devicesPart } from "./views/devices.ts";
import { expectationsPart } from "./views/expectations.ts";
import { findingsPart } from "./views/findings.ts";
import { followPart } from "./views/follow.ts";
import { foot, head } from "./views/frame.ts";
import { heardPart } from "./views/heard.ts";
import { showPart } from "./views/show.ts";
import { stabilityPart } from "./views/stability.ts";
import { timelinePart } from "./views/timeline.ts";
import { whyPart } from "./views/why.ts";

document.head.append(h("style", {}, themeStyle()));
const place = document.querySelector("#page");
const read = readRun(document);
if (place !== null) {
  if ("problem" in read) place.append(h("p", { class: "problem" }, read.problem));
  else draw(place, read.run);
}

function draw(place: Element, given: Run): void {
  const ordered = inPageOrder(given);
  const lanes = lanesOf(ordered);
  const run = inPageWords(ordered, lanes.all);
  document.title = `${run.telling.title} · Pulltest`;
  const live = h("p", { class: "unseen", role: "status", "aria-live": "polite" });
  let announcing = 0;
  const context: PageContext = {
    run,
    lanes,
    slips: slipsOf(run),
    store: createStore(run.summary.runSeconds, firstCursor(run)),
    announce(text) {
      // Held keys would otherwise queue a sentence per repeat.
      clearTimeout(announcing);
      announcing = window.setTimeout(() => {
        live.textContent = text;
      }, 250);
    },
  };
  place.append(
    head(run),
    followPart(context),
    showPart(context),
    whyPart(context),
    timelinePart(context),
    heardPart(run),
    devicesPart(run, context.lanes.all),
    stabilityPart(context),
    findingsPart(run),
    expectationsPart(run),
    assumedPart(run),
    foot(run),
    live,
  );
  // Views measure themselves once they are in the page.
  context.store.set({});
  dispatchEvent(new Event("resize"));
}

/** Just before the first thing that happens: the rig as it was meant to stand. */
function firstCursor({ summary }: Run): number {
  const first = summary.events[0]?.atSeconds ?? summary.runSeconds / 2;
  return Math.max(0, first - 0.001);
}
