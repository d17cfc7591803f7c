/**
 * What this rehearsal stands on: the numbers of a device, each with its origin and with what would change if somebody
 * measured it; then all that nobody entered.
 */
import { counted } from "../../sim/tell/words.ts";
import { foldedIfLong, h, name, part, table } from "../dom.ts";
import { type DeviceNumber, numbersOf } from "../numbers.ts";
import type { PageContext } from "../page.ts";
import { deviceChoice } from "./device-choice.ts";

export function assumedPart(context: PageContext): HTMLElement {
  const { assumed, measured = [] } = context.run.summary;
  return part(
    "assumed",
    "Numbers behind it",
    h(
      "p",
      {},
      "A rehearsal aid, not proof. Do the pull test. Each number shows its origin; what is assumed has no source: measure it.",
    ),
    ofDevice(context),
    h("h3", {}, "Assumed, of all devices and cables"),
    assumed.length === 0
      ? h("p", { class: "none" }, "Every number in this run was entered.")
      : foldedIfLong(assumed.length, "assumed numbers", linesOf(assumed)),
    ...(measured.length === 0
      ? []
      : [h("h3", {}, "Measured"), foldedIfLong(measured.length, "measured numbers", linesOf(measured))]),
  );
}

function linesOf(lines: readonly string[]): HTMLElement {
  return h("ul", { class: "assumed" }, ...lines.map((line) => h("li", {}, line)));
}

function ofDevice(context: PageContext): HTMLElement | null {
  const choice = deviceChoice(context, "Numbers");
  if (choice === null) return null;
  const place = h("div", { class: "numbers in-words" });
  const draw = () => {
    const device = choice.device();
    const numbers = numbersOf(context.run.plan, device);
    const asked = numbers.filter(({ isAsked }) => isAsked);
    const others = numbers.filter(({ isAsked }) => !isAsked);
    const count = asked.filter(({ isAssumed }) => isAssumed).length;
    place.replaceChildren(
      h("h3", {}, name(device.name)),
      h(
        "p",
        {},
        count === 0
          ? "No number of it that this run asks for is assumed."
          : `This run asks for ${counted(count, "number of it that is", "numbers of it that are")} assumed.`,
      ),
      tableOf(`${device.name}: the numbers that this run asks for`, asked),
      ...(others.length === 0
        ? []
        : [
            h(
              "details",
              {},
              h("summary", {}, "Numbers that this run does not ask for"),
              tableOf(`${device.name}: numbers that change nothing in this run`, others),
            ),
          ]),
    );
  };
  choice.onChange(draw);
  draw();
  return h("div", {}, choice.element, place);
}

function tableOf(caption: string, numbers: readonly DeviceNumber[]): HTMLElement {
  return table(
    caption,
    [{ head: "Number" }, { head: "Is" }, { head: "Origin" }, { head: "If you measure it" }],
    numbers.map(({ name: inFile, label, value, origin, isAssumed, ifMeasured }) => [
      h("span", {}, label, " ", h("small", { class: "none" }, inFile)),
      value,
      isAssumed ? h("span", { class: "weight" }, origin) : origin,
      ifMeasured,
    ]),
  );
}
