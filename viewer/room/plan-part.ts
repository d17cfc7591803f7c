/** The stamp of the plan, and what has changed in it: for whoever has an older one on paper. */
import { spelledStamp, stampOf } from "../../sim/stamp.ts";
import { capital, counted } from "../../sim/tell/words.ts";
import { foldedIfLong, h, name, part } from "../dom.ts";
import { BASE_CHANGED, type PageContext } from "../page.ts";
import { planMark } from "../views/plan-mark.ts";
import type { Since } from "./changed.ts";
import { opened, readGiven } from "./opening.ts";

export function planPart({ run, room, announce }: PageContext): HTMLElement {
  const { plan } = run;
  const { changed } = room;
  const matter = h("div", {});
  const says = h("p", { class: "form-problem", role: "alert" });
  const picker = h("input", { type: "file", multiple: true, accept: ".json,.jsonc,application/json" });
  const compare = h("button", { type: "button" }, "Compare with a file");
  const back = h("button", { type: "button" }, "Compare with what was opened");
  const show = () => {
    const since = changed.since(plan);
    matter.replaceChildren(...matterOf(plan, since));
    back.hidden = since === null || since.file === null;
  };
  const compared = (problem: string | null) => {
    says.textContent = problem === null ? "" : `It is not compared: ${problem}`;
    if (problem === null) announce(matter.querySelector(".plan-change")?.textContent ?? "");
  };
  compare.addEventListener("click", () => picker.click());
  picker.addEventListener("change", () => {
    void readGiven([...(picker.files ?? [])]).then(({ given, problems }) => {
      const made = opened(given, null);
      compared(problems[0] ?? (made === null ? "no file was picked." : changed.compareWith(made.files)));
    });
    picker.value = "";
  });
  back.addEventListener("click", () => {
    compared(changed.compareWith(null));
    compare.focus();
  });
  show();
  addEventListener(BASE_CHANGED, show);
  return part("plan", "The plan", matter, h("div", { class: "plan-tools" }, compare, back), says);
}

function matterOf(plan: PageContext["run"]["plan"], since: Since | null): readonly HTMLElement[] {
  const stamp = stampOf(plan);
  const head = h(
    "p",
    {},
    "Plan ",
    h("strong", { class: "stamp" }, stamp),
    `: say “${spelledStamp(stamp)}”. Whoever has the same stamp has the same rig.`,
  );
  if (since === null) return [head];
  const { file, before, changes } = since;
  const against = file === null ? ["it was opened or saved"] : [name(file)];
  const line = (...words: readonly (Node | string)[]) => h("p", { class: "plan-change" }, ...words);
  if (before === null)
    return [head, line("What was opened cannot be read as it stands, so nothing is compared with it.")];
  if (changes.length === 0)
    return [
      head,
      file === null
        ? line("Nothing in the rig has changed since ", ...against, ".")
        : line("The rig is the same as in ", ...against, "."),
    ];
  const count = capital(counted(changes.length, "thing differs", "things differ"));
  const was = `, plan ${stampOf(before)}`;
  return [
    head,
    file === null
      ? line(`${capital(counted(changes.length, "thing has", "things have"))} changed since `, ...against, `${was}:`)
      : line(`${count} from `, ...against, `${was}:`),
    foldedIfLong(
      changes.length,
      "changes",
      h(
        "ul",
        { class: "plan-changes" },
        ...changes.map(({ is, words }) => h("li", {}, planMark(is), h("span", {}, words))),
      ),
    ),
    h("p", { class: "plan-changes" }, "Whatever was tested there is to be tested again. Old sheets go in the bin."),
  ];
}
