/**
 * What can hurt: every single fault of the plan that is worked on, tried when somebody asks, and what those who listen
 * have of each. What was tried stays until it is tried anew; a plan that has changed since is said.
 */
import "./hurt.css";
import type { Plan } from "../../shared/plan.ts";
import { formatShowTime } from "../../shared/units.ts";
import { readTexts } from "../../sim/plan-of.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import type { FaultKind } from "../../sim/trials/list.ts";
import { asPlanned } from "../../sim/trials/moments.ts";
import { type CaseToll, CONCERNS, type Concern, ranked, tollsOf } from "../../sim/trials/rank.ts";
import { caseWords } from "../../sim/trials/words.ts";
import { type FaultsTried, faultRows, tollSentence } from "../../sim/trials/words-faults.ts";
import { h, part } from "../dom.ts";
import type { PageContext, PagePart, Room } from "../page.ts";
import { isSame } from "../room/workspace.ts";
import { saveFile, stem } from "../save-file.ts";
import { csvText } from "../takeaway/csv.ts";
import { asking, type Tried } from "./asking.ts";
import { type Choice, concernsOf, keepConcerns, keptConcerns, moved, worstInOwnDraw } from "./model.ts";
import { isSamePlan, withFaultAlone } from "./rehearse-one.ts";
import { concernWords, type HurtLook, hurtMatter, keyOf, STALE } from "./view.ts";

export function hurtIn(room: Room, storage: () => Storage): PagePart {
  let context: PageContext | null = null;
  let tried: Tried | null = null;
  let concerns = keptConcerns(storage);
  let choice: Choice = { feed: null, kind: null, isAll: false };
  let isConcernsOpen = false;
  let isStale = false;
  let rehearsed: HurtLook["rehearsed"] = null;
  /** The files before a fault of the list went into them, and with it. */
  let last: { readonly before: ScenarioTexts; readonly after: ScenarioTexts } | null = null;
  const place = h("div", { class: "hurt-place" });
  const asks = asking({
    room,
    words: "Try every fault",
    layouts: () => {
      const files = room.workspace.files();
      return files === null ? null : [files];
    },
    ended(found) {
      [tried, rehearsed, last] = [found, null, null];
      draw();
      context?.announce([...place.querySelectorAll(".hurt-partial, .hurt-worst")].map((p) => p.textContent).join(" "));
    },
  });
  const element = part("hurt", "What can hurt", h("p", {}, INTRODUCTION), asks.element, place);
  element.classList.add("wide");

  // What is drawn listens with nothing of its own.
  place.addEventListener("change", ({ target }) => {
    if (!(target instanceof HTMLSelectElement)) return;
    const value = target.value === "" ? null : target.value;
    choice = { ...choice, ...(target.dataset.key === "feed" ? { feed: value } : { kind: value as FaultKind | null }) };
    draw();
  });
  place.addEventListener(
    "toggle",
    ({ target }) => {
      if (target instanceof HTMLDetailsElement && target.matches(".hurt-concerns")) isConcernsOpen = target.open;
    },
    true,
  );
  place.addEventListener("click", ({ target }) => {
    const button = target instanceof Element ? target.closest<HTMLElement>("[data-do]") : null;
    const name = button?.dataset.of ?? "";
    const deeds: Readonly<Record<string, () => void>> = {
      rehearse: () => rehearse(name),
      lanes: () => document.querySelector<HTMLElement>("#show .board")?.focus(),
      all() {
        choice = { ...choice, isAll: true };
        draw();
      },
      csv: saveCsv,
      up: () => move(name as Concern, -1),
      down: () => move(name as Concern, 1),
      reset: () => order(CONCERNS, "The order is as it was."),
    };
    deeds[button?.dataset.do ?? ""]?.();
  });

  function rankedBy(plan: Plan): (tolls: readonly CaseToll[]) => readonly CaseToll[] {
    return (tolls) => ranked(plan, tolls, concerns);
  }

  function told(): FaultsTried | null {
    const [swept, results] = [tried?.swept[0], tried?.results[0]];
    if (swept === undefined || results === undefined || tried === null) return null;
    const { sweep, leftOut } = swept;
    return { sweep, leftOut, results, missing: tried.missing, tolls: rankedBy(sweep.plan)(tollsOf(sweep, results)) };
  }

  function order(next: readonly Concern[], says: string): void {
    concerns = next;
    keepConcerns(storage, concerns);
    draw();
    context?.announce(says);
  }

  function move(concern: Concern, by: 1 | -1): void {
    const plan = tried?.swept[0]?.sweep.plan;
    if (plan === undefined) return;
    const next = moved(concerns, concernsOf(plan, concerns), concern, by);
    order(next, `${concernWords(concern)}: now ${concernsOf(plan, next).indexOf(concern) + 1}.`);
  }

  function saveCsv(): void {
    const found = told();
    if (found === null || context === null) return;
    const content = new Blob([csvText(faultRows(found.sweep.plan, found.tolls))], { type: "text/csv" });
    context.announce(saveFile(`${stem(context)}-faults.csv`, content));
  }

  /** The fault alone, at the moment at which it is worst in the plan's own draw: one step in the files. */
  function rehearse(name: string): void {
    const found = told();
    const files = room.workspace.files();
    if (found === null || files === null || context === null) return;
    const { sweep, results } = found;
    const say = (words: string) => {
      rehearsed = { name, words };
      draw();
      context?.announce(words);
    };
    // Without the one before: a setting that is lost could not be told from one that the show plans.
    const base = last !== null && isSame(files, last.after) ? last.before : files;
    const { plan } = readTexts(base);
    const worst = worstInOwnDraw(sweep, results, name, rankedBy(sweep.plan));
    const fault = worst?.toll.faults[0];
    const standing = worst === null ? undefined : sweep.standings[worst.standing];
    if (plan === null || !isSamePlan(plan, sweep.plan)) {
      say(STALE);
      return;
    }
    if (worst === null || fault === undefined || standing === undefined) return;
    const { atNs } = standing;
    const words = caseWords(sweep.plan, [fault]);
    const heard = tollSentence(sweep.plan, worst.toll);
    const others = heard === "" ? "In this draw nobody hears anything of it; in others somebody did." : heard;
    const out = asPlanned(plan).leftOut > 0 ? " What the file had of faults is out for it." : "";
    context.store.set({ cursorSeconds: atNs / 1e9 });
    room.edit(`rehearse alone: ${words}`, () =>
      withFaultAlone(base.texts[base.main] ?? "", plan, fault, atNs, sweep.watchSeconds),
    );
    const after = room.workspace.files();
    if (after !== null) last = { before: base, after };
    say(`${formatShowTime(atNs)} ${words}. ${others} It is among the events now.${out} Undo takes all of it back.`);
  }

  function isOtherPlan(): boolean {
    const plan = tried?.swept[0]?.sweep.plan;
    if (last !== null && isSame(room.workspace.files(), last.after)) return false;
    return context !== null && plan !== undefined && !isSamePlan(context.run.plan, plan);
  }

  function draw(): void {
    const key = place.contains(document.activeElement) ? keyOf(document.activeElement) : null;
    const found = told();
    isStale = isOtherPlan();
    if (found !== null)
      place.replaceChildren(...hurtMatter(found, { choice, concerns, isConcernsOpen, rehearsed, isStale }));
    if (key === null) return;
    const controls = [...place.querySelectorAll<HTMLElement>("[data-key]")];
    // A button at the end of its way is out of use, so its neighbour takes the focus.
    const same = controls.find((each) => keyOf(each) === key && !each.matches(":disabled"));
    const near = controls.find((each) => key.endsWith(` ${each.dataset.of}`) && !each.matches(":disabled"));
    (same ?? near ?? controls[0])?.focus({ preventScroll: true });
  }

  return (next) => {
    context = next;
    asks.setContext(next);
    if (isOtherPlan() !== isStale) draw();
    return room.workspace.files() === null ? null : element;
  };
}

const INTRODUCTION =
  "Every single fault of this plan, with its repair, one by one: cables, spares, paths, power, devices, settings. What each listener has of it, the worst first.";
