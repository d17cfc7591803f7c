/** Clock sources as one sentence that is edited: "listens to port 1 first, then port 2, then its own clock". */
import type { DevicePlan, Plan } from "../../shared/plan.ts";
import { deviceById } from "../../sim/by-id.ts";
import { portsThatHear } from "../../sim/clock-graph.ts";
import { capital, source, theDevice } from "../../sim/tell/words.ts";
import { h } from "../dom.ts";

export function sourcesEditor(
  plan: Plan,
  device: DevicePlan,
  now: readonly string[],
  set: (sources: readonly string[]) => void,
): HTMLElement {
  const heard = new Map(portsThatHear(plan, device.id).map(({ port, from }) => [String(port), from]));
  const words = (entry: string) => {
    const from = deviceById(plan, heard.get(entry));
    return from === undefined ? source(entry) : `${source(entry)} (${theDevice(from)})`;
  };
  let draft = [...now];
  const list = h("ol", { class: "map-sources" });
  const others = h("div", { class: "map-deeds" });
  const setIt = h("button", { type: "button" }, "Set it so at the cursor");
  setIt.addEventListener("click", () => set(draft));
  const problem = h("p", { class: "none" });
  const button = (sign: string, label: string, isOff: boolean, act: () => void) => {
    const made = h("button", { type: "button", "aria-label": label, title: label, disabled: isOff }, sign);
    made.addEventListener("click", () => {
      act();
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
    const left = [...new Set([...now, ...heard.keys(), "internal"])].filter((entry) => !draft.includes(entry));
    others.replaceChildren(
      ...left.map((entry) =>
        button(`then ${words(entry)}`, `Listen to ${words(entry)} as well`, false, () => {
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
    { class: "map-editor", role: "group", "aria-label": `Clock sources of ${device.name}` },
    h("p", {}, `${capital(theDevice(device))} listens to`),
    list,
    others,
    problem,
    setIt,
  );
}
