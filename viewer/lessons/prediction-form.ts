/** The question, and what a learner may say to it: one of the choices, or a number. */
import type { Lesson } from "../../shared/lesson.ts";
import { h } from "../dom.ts";
import type { Predicted } from "./figures.ts";

interface Making {
  readonly predicted: Predicted | null;
  /** It has been put to the proof: shown as it was, and no longer to be changed. */
  readonly isMade: boolean;
  make(predicted: Predicted): void;
}

const NAME = "lesson-prediction";

export function predictionForm({ prediction }: Lesson, question: string, making: Making): HTMLElement {
  const { predicted, isMade, make } = making;
  const trouble = h("p", { class: "lesson-trouble", id: `${NAME}-trouble`, role: "alert" });
  const fields: HTMLElement[] = [];
  let read: () => Predicted | null;
  let remedy: string;

  if ("choices" in prediction) {
    const inputs = prediction.choices.map(({ text }, index) => {
      const isChosen = predicted !== null && "choice" in predicted && predicted.choice === index;
      const input = h("input", { type: "radio", name: NAME, value: index, checked: isChosen, disabled: isMade });
      fields.push(h("label", {}, input, h("span", {}, text)));
      return input;
    });
    read = () => {
      const choice = inputs.findIndex(({ checked }) => checked);
      return choice < 0 ? null : { choice };
    };
    remedy = "Choose one of them, then play.";
  } else {
    const value = predicted !== null && "number" in predicted ? predicted.number : "";
    const input = h("input", {
      type: "text",
      inputmode: "decimal",
      size: 8,
      autocomplete: "off",
      value,
      disabled: isMade,
      "aria-describedby": trouble.id,
    });
    fields.push(h("label", {}, "Your prediction ", input, ` ${prediction.unit}`));
    read = () => {
      const text = input.value.trim().replace(",", ".");
      const number = Number(text);
      return text !== "" && Number.isFinite(number) && number >= 0 ? { number } : null;
    };
    remedy = "Write a number such as 2.5, then play.";
  }

  const form = h(
    "form",
    { class: "lesson-form", novalidate: true },
    h("fieldset", {}, h("legend", { class: "lesson-text" }, question), ...fields),
    trouble,
    isMade ? null : h("button", { type: "submit", class: "main-button" }, "Play the run"),
  );
  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const said = read();
    trouble.textContent = said === null ? remedy : "";
    if (said === null) form.querySelector("input")?.focus();
    else make(said);
  });
  return form;
}
