/** "At the cursor: what, which, for how long": one more event for the scenario, of what the rig has. */

import { NO_CLOCK } from "../../shared/as-said.ts";
import type { Plan } from "../../shared/plan.ts";
import { secondsFromNs, ZERO } from "../../shared/time.ts";
import { parseShowTime } from "../../shared/units.ts";
import { h } from "../dom.ts";
import type { Room } from "../page.ts";
import { byTheClock } from "../show-time.ts";
import { addEvent } from "./edits.ts";
import { type Choice, EVENT_KINDS, type EventKind, type Field } from "./event-kinds.ts";
import { clockOf, lastingIn, numberIn } from "./typed.ts";

export interface EventForm {
  readonly element: HTMLElement;
  /** Another plan: choices that it still has stay chosen. */
  setPlan(plan: Plan): void;
  setCursor(time: string): void;
}

export function eventForm(room: Room): EventForm {
  const what = h("select", { name: "what" });
  const which = h("select", { name: "which" });
  const more = h("span", { class: "more-fields" });
  const seconds = h("input", {
    ...{ name: "seconds", size: 12, autocomplete: "off", placeholder: "it stays" },
    title: "How long, such as 90, 90 s or 1 min 30 s, or the show time of its end as hh:mm:ss; blank: it stays",
  });
  const howLong = labelled("For how long, or until", seconds);
  const time = h("strong", { class: "time" });
  const says = h("p", { class: "form-problem", role: "alert" });
  const element = h(
    "form",
    { class: "event-form", "aria-label": "Add an event at the cursor" },
    h("p", { class: "form-head" }, "At the cursor, ", time, ":"),
    h(
      "div",
      { class: "fields" },
      labelled("What", what),
      labelled("Which", which),
      more,
      howLong,
      h("button", { type: "submit", class: "main-button" }, "Add"),
    ),
    says,
  );
  let plan: Plan | null = null;
  let drawn = "";
  let at = "";
  const kinds = () => EVENT_KINDS.filter((kind) => plan !== null && kind.things(plan).length > 0);
  const kind = (): EventKind | undefined => kinds().find((one) => one.do === what.value);

  const showKind = () => {
    const chosen = kind();
    if (plan === null || chosen === undefined) return;
    fill(which, chosen.things(plan));
    howLong.hidden = !chosen.canEnd;
    showFields();
  };
  const showFields = () => {
    const [chosen, now] = [kind(), plan];
    if (now === null || chosen === undefined) return;
    more.replaceChildren(...chosen.fields.map((field) => fieldOf(field, now, which.value)));
    says.textContent = "";
  };
  what.addEventListener("change", showKind);
  which.addEventListener("change", showFields);
  element.addEventListener("submit", (event) => {
    event.preventDefault();
    const chosen = kind();
    if (chosen === undefined) return;
    const values: Record<string, string> = {};
    const notes: string[] = [];
    for (const input of more.querySelectorAll<HTMLInputElement | HTMLSelectElement>("[name]")) {
      if (input instanceof HTMLInputElement && input.dataset.min !== undefined) {
        const { unit = "", min, max } = input.dataset;
        const read = numberIn(input.value, unit, Number(min), Number(max));
        if ("problem" in read) return complain(input, read.problem);
        notes.push(read.note);
        values[input.name] = String(read.value);
      } else values[input.name] = input.value;
    }
    const clock = plan === null ? NO_CLOCK : clockOf(plan);
    const lasting = lastingIn(chosen.canEnd ? seconds.value : "", parseShowTime(at), clock);
    if ("problem" in lasting) return complain(seconds, lasting.problem);
    says.textContent = [...notes, lasting.note].join(" ").trim();
    const text = which.selectedOptions[0]?.text ?? "";
    room.edit(`${chosen.words.toLowerCase()}, ${text} at ${at}`, (file) =>
      addEvent(file, {
        at,
        do: chosen.do,
        ...chosen.written(which.value, values),
        ...(lasting.seconds === undefined ? {} : { forSeconds: lasting.seconds }),
      }),
    );
  });
  const complain = (input: HTMLElement, problem: string) => {
    says.textContent = problem;
    input.focus();
  };
  return {
    element,
    setPlan(next) {
      plan = next;
      const offered = kinds().map((one) => ({ one, things: one.things(next) }));
      const key = JSON.stringify([
        offered.map(({ one, things }) => [one.do, things]),
        next.devices.map((d) => d.clockSources),
      ]);
      if (key === drawn) return;
      drawn = key;
      const [before, beforeWhich] = [what.value, which.value];
      fill(
        what,
        offered.map(({ one }) => ({ value: one.do, text: one.words })),
      );
      if (what.value === before && offered.some(({ things }) => things.some(({ value }) => value === beforeWhich))) {
        fill(which, kind()?.things(next) ?? []);
        if (which.value === beforeWhich) return;
      }
      showKind();
    },
    setCursor(now) {
      at = now;
      time.textContent = now + byTheClock(plan, secondsFromNs(parseShowTime(now) ?? ZERO));
    },
  };
}

/** What was chosen stays chosen if it is still there. */
function fill(select: HTMLSelectElement, choices: readonly Choice[]): void {
  const before = select.value;
  select.replaceChildren(...choices.map(({ value, text }) => h("option", { value }, text)));
  if (choices.some(({ value }) => value === before)) select.value = before;
}

function fieldOf(field: Field, plan: Plan, which: string): HTMLElement {
  if (field.type === "choice") {
    const select = h("select", { name: field.name });
    fill(select, field.choices(plan, which));
    return labelled(field.label, select);
  }
  if (field.type === "text")
    return labelled(
      field.label,
      h("input", { name: field.name, value: field.initial(plan, which), autocomplete: "off" }),
    );
  const input = h("input", {
    name: field.name,
    value: field.initial,
    inputmode: "decimal",
    size: 6,
    autocomplete: "off",
    "data-min": field.min,
    "data-max": field.max,
    "data-unit": field.unit,
  });
  return labelled(`${field.label}, in ${field.unit}`, input);
}

export function labelled(text: string, control: HTMLElement): HTMLElement {
  return h("label", { class: "field" }, h("span", {}, text), control);
}
