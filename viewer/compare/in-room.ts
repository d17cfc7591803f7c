/** Comparing in the rehearsal room: which run is kept, which other one is played, and one place for both on the page. */
import { formatIssues } from "../../shared/issues.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { h, part } from "../dom.ts";
import type { Engine } from "../engine/client.ts";
import type { PageContext, PagePart, Room } from "../page.ts";
import { opened, readGiven } from "../room/opening.ts";
import { withListenersUntil } from "../room/scope.ts";
import { allShipped, shipped } from "../room/shipped.ts";
import { isSame } from "../room/workspace.ts";
import { runOf } from "../run.ts";
import { bothPlans } from "./both-plans.ts";
import { comparePart, type OtherRun } from "./compare.ts";
import { filesFor, type PolicyChoice, policyChoices } from "./policy-files.ts";

/** A run that is kept, with the files that it, or what it is another policy for, was played from. */
interface Kept extends OtherRun {
  readonly from: ScenarioTexts | null;
}

interface Playing {
  readonly label: string;
  readonly engine: Engine;
  share: number;
}

/** A part that stays the same through all runs. There are never more than two runs in memory: the page's and one more. */
export function compareIn(room: Room): PagePart {
  const place = h("div", { class: "compare-place" });
  const element = part("compare", "Compare two runs", place);
  element.classList.add("wide");
  let context: PageContext | null = null;
  let other: Kept | null = null;
  let playing: Playing | null = null;
  let problem = "";
  let isAll = false;
  let scope = new AbortController();
  /** Of views to the store, which outlives them where only this part is drawn anew. */
  const leave: (() => void)[] = [];
  let measure: () => void = () => {};
  const plans = bothPlans(
    room,
    both,
    () => (other === null || other.isBefore ? ["Before", "After"] : ["This run", other.label]),
    draw,
  );
  const picker = h("input", { type: "file", multiple: true, accept: ".json,.jsonc,application/json" });
  picker.addEventListener("change", () => {
    void playPicked([...(picker.files ?? [])]);
    picker.value = "";
  });
  element.addEventListener("drop", (event) => {
    // Elsewhere on the page it is opened in place of what is there.
    const dropped = [...(event.dataTransfer?.files ?? [])];
    if (dropped.length === 0) return;
    event.preventDefault();
    event.stopPropagation();
    void playPicked(dropped);
  });

  async function playPicked(picked: readonly File[]): Promise<void> {
    const { given, problems } = await readGiven(picked);
    const made = opened(given, null);
    if (made !== null) {
      play(`“${made.files.main}”`, made.files, null);
      // A rig of that name that comes with the page may be another than theirs.
      problem = made.notes.join(" ");
      return;
    }
    problem = problems[0] ?? "";
    draw();
  }

  /** The first of the two and the second, as files; null: one of them has none. */
  function both(): readonly ScenarioTexts[] | null {
    const [mine, theirs] = [room.workspace.files(), other?.run.files];
    if (mine === null || theirs === undefined || other === null) return null;
    return other.isBefore ? [theirs, mine] : [mine, theirs];
  }

  function draw(): void {
    if (context === null) return;
    const now = context;
    scope.abort();
    scope = new AbortController();
    for (const stop of leave.splice(0)) stop();
    const hadFocus = place.contains(document.activeElement);
    const called = document.activeElement?.textContent;
    measure = () => {};
    withListenersUntil(scope.signal, () => place.replaceChildren(...matter(now)));
    measure();
    if (!hadFocus) return;
    const controls = [...place.querySelectorAll<HTMLElement>("button, select, input, [tabindex]")];
    const again = controls.find((each) => each.textContent === called && each.localName === "button");
    (again ?? controls[0])?.focus({ preventScroll: true });
  }

  function matter(now: PageContext): readonly Node[] {
    const said = problem === "" ? [] : [h("p", { class: "compare-problem", role: "alert" }, problem)];
    if (playing !== null) return [progress(playing)];
    if (other === null)
      return [
        h("p", {}, INTRODUCTION),
        h(
          "div",
          { class: "compare-tools" },
          button(KEEP, () => keep(now)),
          ...others(now),
        ),
        ...said,
      ];
    const isItself = other.run.record === now.run.record;
    const head = h(
      "div",
      { class: "compare-tools" },
      h("p", { class: "compare-what" }, whatWords(other, now)),
      button("Stop comparing", stop),
      isItself ? null : button(other.isBefore ? "Keep this run instead" : KEEP, () => keep(now)),
      ...others(now),
    );
    if (isItself) return [head, h("p", {}, KEPT), ...said];
    const compared = comparePart(withLeaving(now), other, isAll, {
      showAll(all) {
        isAll = all;
        draw();
        place.querySelector<HTMLElement>(".compare-all input")?.focus({ preventScroll: true });
      },
    });
    measure = compared.measure;
    return [head, ...said, compared.element, ...plans.matter()];
  }

  function withLeaving(now: PageContext): PageContext {
    const subscribe: PageContext["store"]["subscribe"] = (listener) => {
      const stop = now.store.subscribe(listener);
      leave.push(stop);
      return stop;
    };
    return { ...now, store: { ...now.store, subscribe } };
  }

  function whatWords({ label, isBefore, from }: Kept, { run }: PageContext): string {
    if (isBefore) return "Before: the run that you kept. After: what is on the page now.";
    const isStale = from !== null && !isSame(from, run.files ?? null);
    const stale = isStale ? " It was played from the files as they stood before: choose it again to play it anew." : "";
    return `This run against ${label}.${stale}`;
  }

  function keep({ run, announce }: PageContext): void {
    other = { label: "Before", run, isBefore: true, from: run.files ?? null };
    problem = "";
    draw();
    announce(KEPT);
  }

  function stop(): void {
    playing?.engine.close();
    plans.stop();
    [playing, other, problem] = [null, null, ""];
    draw();
    context?.announce("Comparing has stopped.");
  }

  function play(label: string, files: ScenarioTexts | null, from: ScenarioTexts | null): void {
    plans.stop();
    [other, problem] = [null, ""];
    if (files === null) {
      problem = `${label} cannot be written into these files.`;
      draw();
      return;
    }
    const mine: Playing = { label, engine: room.newEngine(), share: 0 };
    playing = mine;
    draw();
    const rehearsal = mine.engine.rehearse(files);
    rehearsal.onProgress((share) => {
      mine.share = share;
      const meter = playing === mine ? place.querySelector("progress") : null;
      if (meter !== null) meter.value = share * 100;
    });
    void rehearsal.promise.then((outcome) => {
      mine.engine.close();
      if (playing !== mine) return;
      playing = null;
      if (outcome.is === "done") other = { label, run: runOf(outcome.data), isBefore: false, from };
      else if (outcome.is === "issues") problem = `${label} was not played: ${formatIssues(outcome.issues)[0] ?? ""}`;
      else if (outcome.is === "failed") problem = `${label} was not played: ${outcome.problem}.`;
      draw();
      context?.announce(place.querySelector(".compare-first, .compare-problem")?.textContent ?? "");
    });
  }

  function progress({ label, share }: Playing): HTMLElement {
    const meter = h("progress", { max: 100, value: share * 100, "aria-label": `Rehearsing ${label}` });
    return h(
      "div",
      { class: "compare-tools" },
      h("p", {}, `Rehearsing ${label}, to compare.`),
      meter,
      button("Cancel", stop),
    );
  }

  /** The choice of another run, and the button that plays it. */
  function others(now: PageContext): readonly HTMLElement[] {
    const { files } = now.run;
    // What was added on the command line is in no file: the room writes it into one, and plays that.
    const own = files === undefined || files.added !== undefined ? null : files;
    const choices = own === null ? [] : policyChoices(now.run);
    const select = h(
      "select",
      { "aria-label": "What to compare this run with" },
      h("option", { value: "" }, "With another run …"),
      choices.length === 0
        ? null
        : h("optgroup", { label: "This scenario, when the leader comes back" }, ...choices.map(policyOption)),
      h(
        "optgroup",
        { label: "Shipped scenarios" },
        ...allShipped().map(({ file, title }) => h("option", { value: file }, title)),
      ),
      h("option", { value: FROM_FILE }, "A file of yours …"),
    );
    const go = button("Compare", () => {
      const choice = /^policy (\d+)$/.exec(select.value);
      if (select.value === FROM_FILE) picker.click();
      else if (choice === null) {
        const title = allShipped().find(({ file }) => file === select.value)?.title;
        if (title === undefined) select.focus();
        else play(`“${title}”`, shipped(select.value), null);
      } else {
        const { name, plan } = choices[Number(choice[1])]!;
        if (own !== null && plan !== null) play(`“${name}”`, filesFor(own, now.run.plan, plan), own);
      }
    });
    return [select, go];
  }

  return (now) => {
    context = now;
    plans.setContext(now);
    draw();
    return element;
  };
}

function policyOption({ name, isAsFiled, plan }: PolicyChoice, index: number): HTMLOptionElement {
  const beside = plan === null ? ": cannot be made here" : isAsFiled ? ": as in the file" : "";
  return h("option", { value: `policy ${index}`, disabled: plan === null }, `${name}${beside}`);
}

function button(text: string, act: () => void): HTMLButtonElement {
  const made = h("button", { type: "button" }, text);
  made.addEventListener("click", act);
  return made;
}

const FROM_FILE = "file";
const KEEP = "Keep this run to compare";
const INTRODUCTION =
  "Keep this run, change something, and see both on one axis; or hold it against another policy, another scenario or a file of yours, which can be dropped here.";
const KEPT = "This run is kept as “Before”. Change something in it: the run after it stands here beside it.";
