/** Clock sources as one sentence that is edited: "listens to port 1 first, then port 2, then its own clock". */
import type { DevicePlan, Plan } from "../../shared/plan.ts";
import { deviceById } from "../../sim/by-id.ts";
import { portsThatHear } from "../../sim/clock-graph.ts";
import { capital, source, theDevice } from "../../sim/tell/words.ts";
import { h } from "../dom.ts";

export interface Sources {
  /** Whose: "the stage box". */
  readonly of: string;
  readonly now: readonly string[];
  /** Ports at which a clock arrives. */
  readonly heard: readonly string[];
  words(entry: string): string;
  /** On the button that sets it. */
  readonly deed: string;
  set(sources: readonly string[]): void;
  /** Hears of each change before it is set. */
  drafted?(sources: readonly string[]): void;
}

/** Of a device of a plan that has been played. */
export function sourcesInPlan(
  plan: Plan,
  device: DevicePlan,
  now: readonly string[],
  set: Sources["set"],
  deed = "Set it so at the cursor",
): HTMLElement {
  const heard = new Map(portsThatHear(plan, device.id).map(({ port, from }) => [String(port), from]));
  const words = (entry: string) => {
    const from = deviceById(plan, heard.get(entry));
    return from === undefined ? source(entry) : `${source(entry)} (${theDevice(from)})`;
  };
  return sourcesEditor({ of: theDevice(device), now, heard: [...heard.keys()], words, deed, set });
}

export function sourcesEditor({ of, now, heard, words, deed, set, drafted }: Sources): HTMLElement {
  let draft = [...now];
  const list = h("ol", { class: "map-sources" });
  const others = h("div", { class: "map-deeds" });
  const setIt = h("button", { type: "button" }, deed);
  setIt.addEventListener("click", () => set(draft));
  const problem = h("p", { class: "none" });
  const button = (sign: string, label: string, isOff: boolean, act: () => void) => {
    const made = h("button", { type: "button", "aria-label": label, title: label, disabled: isOff }, sign);
    made.addEventListener("click", () => {
      act();
      drafted?.(draft);
      draw();
    });
    return made;
  };
  const swap = (index: number, other: number) => {
    [draft[index], draft[other]] = [draft[other]!, draft[index]!];
  };
  const draw = () => {
    // Focus stays on the button of the same name, or on the sentence where that is gone.
    const label =
      list.contains(document.activeElement) || others.contains(document.activeElement)
        ? document.activeElement?.getAttribute("aria-label")
        : null;
    list.replaceChildren(
      ...draft.map((entry, index) =>
        h(
          "li",
          {},
          h("span", {}, `${index === 0 ? "first" : "then"} ${words(entry)}`),
          button("↑", `Listen to ${source(entry)} earlier`, index === 0, () => swap(index, index - 1)),
          button("↓", `Listen to ${source(entry)} later`, index === draft.length - 1, () => swap(index, index + 1)),
          button("×", `Do not listen to ${source(entry)}`, false, () => {
            draft = draft.filter((other) => other !== entry);
          }),
        ),
      ),
    );
    const left = [...new Set([...now, ...heard, "internal"])].filter((entry) => !draft.includes(entry));
    others.replaceChildren(
      ...left.map((entry) =>
        button(`then ${words(entry)}`, `Listen to it as well: then ${words(entry)}`, false, () => {
          draft = [...draft, entry];
        }),
      ),
    );
    const isSame = String(draft) === String(now);
    setIt.disabled = isSame || draft.length === 0;
    problem.textContent = draft.length === 0 ? "It has to listen to something: its own clock at least." : "";
    if (typeof label === "string") {
      const same = [...list.querySelectorAll("button"), ...others.querySelectorAll("button")].find(
        (each) => each.getAttribute("aria-label") === label && !each.disabled,
      );
      (same ?? list.querySelector("button:not(:disabled)") ?? setIt).focus();
    }
  };
  draw();
  return h(
    "div",
    { class: "map-editor", role: "group", "aria-label": `Clock sources of ${of}` },
    h("p", {}, `${capital(of)} listens to`),
    list,
    others,
    problem,
    setIt,
  );
}
