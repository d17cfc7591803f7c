/** The head of the page, which has to answer within ten seconds, and its foot. */
import { spelledStamp, stampOf } from "../../sim/stamp.ts";
import { CAUTIONS } from "../../sim/tell/cautions.ts";
import { duration } from "../../sim/tell/words.ts";
import { h, name } from "../dom.ts";
import type { Run } from "../run.ts";

export function head({ plan, summary, telling }: Run): HTMLElement {
  const [first, ...more] = telling.verdict;
  const stamp = stampOf(plan);
  return h(
    "header",
    { class: "head" },
    h(
      "p",
      { class: "mast" },
      h("strong", {}, "Pulltest"),
      ` A rehearsal of ${duration(summary.runSeconds)}, `,
      h("strong", { class: "stamp", title: `Say “${spelledStamp(stamp)}”` }, `plan ${stamp}`),
      `. Pulltest talks to no device. It changes nothing in your rig.`,
    ),
    h("h1", {}, name(telling.title)),
    h(
      "div",
      { class: "head-body" },
      h(
        "div",
        {},
        h(
          "ol",
          { class: "sentences" },
          ...telling.sentences.map((sentence) =>
            h("li", { class: sentence === telling.fixFirst ? "fix" : null }, sentence),
          ),
        ),
        // It is one of the three already, unless something else was more urgent to say.
        telling.fixFirst === null || telling.sentences.includes(telling.fixFirst)
          ? null
          : h("p", { class: "fix" }, telling.fixFirst),
      ),
      h(
        "div",
        { class: "head-side" },
        h(
          "div",
          { class: "verdict" },
          first === undefined ? null : h("p", {}, first),
          more.length === 0 ? null : h("ul", {}, ...more.map((line) => h("li", {}, line))),
        ),
        h(
          "aside",
          { class: "caution", "aria-label": "Before any change" },
          h("p", {}, h("strong", {}, `${CAUTIONS.ears.head} `), CAUTIONS.ears.text),
          h("p", {}, CAUTIONS.mute),
        ),
        plan.story === "" ? null : h("p", { class: "story" }, plan.story),
      ),
    ),
  );
}

export function foot({ plan, summary, telling }: Run): HTMLElement {
  return h(
    "footer",
    { class: "foot" },
    h("p", { class: "last" }, telling.last),
    h("p", {}, "Pulltest talks to no device. It changes nothing in your rig."),
    h(
      "p",
      { class: "meta" },
      "Seed ",
      name(summary.seed),
      `. Plan ${stampOf(plan)}, files ${summary.scenario.sha256.slice(0, 12)}.`,
      summary.worstErrorSamples === null
        ? " No bound on the error: the sources run in a ring."
        : ` Clocks within ${precise(summary.worstErrorSamples)} of a sample of the exact model.`,
    ),
  );
}

function precise(samples: number): string {
  return samples === 0 ? "0" : Number(samples.toPrecision(2)).toString();
}
