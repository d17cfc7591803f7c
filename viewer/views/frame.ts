/** The head of the page, which has to answer within ten seconds, and its foot. */
import { duration } from "../../sim/tell/words.ts";
import { h, name } from "../dom.ts";
import type { Run } from "../run.ts";

export function head({ plan, summary, telling }: Run): HTMLElement {
  const [first, ...more] = telling.verdict;
  return h(
    "header",
    { class: "head" },
    h(
      "p",
      { class: "mast" },
      h("strong", {}, "Pulltest"),
      ` A rehearsal of ${duration(summary.runSeconds)}. Pulltest talks to no device. It changes nothing in your rig.`,
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
          h(
            "p",
            {},
            h("strong", {}, "In-ears out of ears. Headphones and comms headsets off. "),
            "Before any change of clock, rate, source or link.",
          ),
          h(
            "p",
            {},
            "Use a mute that does not depend on the link that failed: the amplifier or speaker processor, the last device you control. Bring up slowly.",
          ),
        ),
        plan.story === "" ? null : h("p", { class: "story" }, plan.story),
      ),
    ),
  );
}

export function foot({ summary, telling }: Run): HTMLElement {
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
      `. Plan ${summary.scenario.sha256.slice(0, 12)}.`,
      summary.worstErrorSamples === null
        ? " No bound on the error: the sources run in a ring."
        : ` Clocks within ${precise(summary.worstErrorSamples)} of a sample of the exact model.`,
    ),
  );
}

function precise(samples: number): string {
  return samples === 0 ? "0" : Number(samples.toPrecision(2)).toString();
}
