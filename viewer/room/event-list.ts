/** What happens in the scenario that is worked on: one line per written event, each to be moved, copied, taken away. */
import { NO_CLOCK } from "../../shared/as-said.ts";
import { rawAt } from "../../shared/json-text.ts";
import type { Plan } from "../../shared/plan.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { formatShowTime, parseShowTime } from "../../shared/units.ts";
import { eventSentence } from "../../sim/tell/events.ts";
import { h, part } from "../dom.ts";
import type { PageContext, PagePart, Room } from "../page.ts";
import { namesApart } from "../run.ts";
import { copyEvent, eventsIn, moveEvent, removeEvent, setLasting, setRunLength, setSeed } from "./edits.ts";
import { eventForm, labelled } from "./event-form.ts";
import { EVENT_KINDS, plainWords } from "./event-kinds.ts";
import { clockOf, lastingIn, showLengthIn, showTimeIn } from "./typed.ts";

type Fields = Readonly<Record<string, unknown>>;

const LASTING = "How long until it is over, such as 90 or 1 min 30 s, or the show time of its end; blank: it stays";

export function eventList(room: Room): PagePart {
  const { workspace } = room;
  const form = eventForm(room);
  const list = h("ol", { class: "events" });
  const says = h("p", { class: "form-problem", role: "alert" });
  const length = h("input", { class: "time-field", size: 12, autocomplete: "off", spellcheck: false });
  const seed = h("input", { size: 14, autocomplete: "off", spellcheck: false });
  const element = part(
    "events",
    "What is made to happen",
    list,
    says,
    form.element,
    h("div", { class: "fields run-fields" }, labelled("Length of the show", length), labelled("Seed of chance", seed)),
  );
  let context: PageContext | null = null;
  let drawn = "";
  /** Sentences of the last run, by the event as it was written then. */
  let sentences = new Map<string, string>();

  const clock = () => (context === null ? NO_CLOCK : clockOf(context.run.plan));
  const cursorTime = () => (context === null ? "00:00:00" : timeAtCursor(context));
  const draw = () => {
    const files = workspace.files();
    element.hidden = files === null;
    // Until there is a run it stands nowhere.
    if (files === null || context === null) return;
    const text = files.texts[files.main] ?? "";
    length.value = textAt(text, "length");
    seed.value = textAt(text, "seed");
    const events = eventsIn(text);
    const key = JSON.stringify([events, [...sentences]]);
    if (key === drawn) return;
    drawn = key;
    const focused = document.activeElement?.closest("[data-key]")?.getAttribute("data-key");
    const rows = events.flatMap((event, index) =>
      typeof event === "object" && event !== null ? [{ event: event as Fields, index }] : [],
    );
    rows.sort((one, other) => secondsOf(one.event) - secondsOf(other.event) || one.index - other.index);
    list.replaceChildren(
      ...(rows.length === 0
        ? [h("li", { class: "none" }, "Nothing: the show runs as planned.")]
        : rows.map(({ event, index }) => row(event, index))),
    );
    if (focused === null || focused === undefined || element.contains(document.activeElement)) return;
    const back =
      list.querySelector<HTMLElement>(`[data-key="${focused}"]`) ??
      [...list.querySelectorAll<HTMLElement>("[data-key]")].at(-1) ??
      form.element.querySelector("select");
    back?.focus({ preventScroll: true });
  };

  const row = (event: Fields, index: number): HTMLElement => {
    const words = sentences.get(JSON.stringify(event)) ?? plainWords(context?.run.plan ?? null, event);
    const input = (name: string, label: string, value: unknown, size: number) =>
      h("input", {
        class: "time-field",
        "data-key": `${name}-${index}`,
        "aria-label": `${label}: ${words}`,
        ...{ value: String(value ?? ""), size, autocomplete: "off", spellcheck: false },
      });
    const time = input("time", "Show time", event.at, 9);
    time.addEventListener("change", () => {
      const read = showTimeIn(time.value, clock());
      if ("problem" in read) return complain(time, read.problem);
      const { at } = read;
      room.edit(`move to ${at}: ${words}`, (text) => moveEvent(text, index, at));
      says.textContent = read.note;
    });
    const button = (name: string, text: string, what: () => string, change: (file: string) => string) => {
      const made = h(
        "button",
        { type: "button", "data-key": `${name}-${index}`, title: text, "aria-label": `${text}: ${words}` },
        // Where it is copied to is said where there is room for words.
        text.replace("Copy to the cursor", "Copy"),
      );
      made.addEventListener("click", () => room.edit(`${what()}: ${words}`, change));
      return made;
    };
    const canEnd = EVENT_KINDS.some((kind) => kind.do === event.do && kind.canEnd);
    const seconds = input("seconds", LASTING, event.forSeconds, 6);
    seconds.title = LASTING;
    // Paper leaves out what is not filled in.
    seconds.placeholder = "–";
    seconds.addEventListener("change", () => {
      const lasting = lastingIn(seconds.value, parseShowTime(String(event.at)), clock());
      if ("problem" in lasting) return complain(seconds, lasting.problem);
      room.edit(`for how long: ${words}`, (text) => setLasting(text, index, lasting.seconds));
      says.textContent = lasting.note;
    });
    return h(
      "li",
      {},
      time,
      h("span", { class: "event-words" }, words),
      canEnd ? h("span", { class: "event-lasts" }, "for ", seconds, " s") : null,
      h(
        "span",
        { class: "event-buttons" },
        button(
          "here",
          "To the cursor",
          () => `move to ${cursorTime()}`,
          (text) => moveEvent(text, index, cursorTime()),
        ),
        button(
          "copy",
          "Copy to the cursor",
          () => `copy to ${cursorTime()}`,
          (text) => copyEvent(text, index, cursorTime()),
        ),
        button(
          "remove",
          "Remove",
          () => "remove",
          (text) => removeEvent(text, index),
        ),
      ),
    );
  };
  const complain = (input: HTMLInputElement, problem: string) => {
    says.textContent = problem;
    input.focus();
    input.select();
  };
  length.addEventListener("change", () => {
    const read = showLengthIn(length.value);
    if ("problem" in read) return complain(length, read.problem);
    room.edit(`length ${read.at}`, (text) => setRunLength(text, read.at));
    says.textContent = read.note;
  });
  seed.addEventListener("change", () => {
    const typed = seed.value.trim();
    room.edit(typed === "" ? "default seed" : `seed ${typed}`, (text) => setSeed(text, typed === "" ? null : typed));
  });
  workspace.subscribe(() => {
    // What was said of an entry is over with the next change.
    says.textContent = "";
    draw();
  });

  return (next) => {
    context = next;
    const { plan, files } = next.run;
    const apart = namesApart(next.run);
    const texts = files === undefined ? [] : eventsIn(files.texts[files.main] ?? "");
    sentences = new Map(
      plan.events.flatMap((event) => {
        const written = event.written === undefined || event.written === null ? undefined : texts[event.written];
        return written === undefined || event.undoes !== null || isLaterTurn(event)
          ? []
          : [[JSON.stringify(written), apart(eventSentence(plan, event))] as const];
      }),
    );
    form.setPlan(plan);
    const follow = () => form.setCursor(cursorTime());
    next.store.subscribe(follow);
    follow();
    // What rows listen with has gone with the last drawing.
    drawn = "";
    draw();
    return element;
  };
}

function isLaterTurn(event: Plan["events"][number]): boolean {
  return "intermittent" in event && (event.do === "make-contact" || event.intermittent.turn > 1);
}

/** The cursor in the file's words: on a whole second where seconds are closer than the eye tells apart. */
export function timeAtCursor({ store }: PageContext): string {
  const { cursorSeconds, fromSeconds, toSeconds } = store.look();
  const step = toSeconds - fromSeconds > 60 ? 1 : 0.001;
  const seconds = Math.min(Math.round(cursorSeconds / step) * step, store.lengthSeconds);
  return formatShowTime(nsFromSeconds(Math.round(seconds * 1000) / 1000));
}

function secondsOf({ at }: Fields): number {
  return typeof at === "string" ? (parseShowTime(at) ?? Number.POSITIVE_INFINITY) : Number.POSITIVE_INFINITY;
}

function textAt(text: string, field: string): string {
  try {
    const raw = rawAt(text, ["run", field]);
    return raw === undefined ? "" : String(JSON.parse(raw));
  } catch {
    return "";
  }
}
