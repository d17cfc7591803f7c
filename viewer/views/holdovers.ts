/** How long each device could go on alone, foretold at the loss, and what the run did. */
import type { Plan } from "../../shared/plan.ts";
import type { ForetoldSummary, HoldoverSummary } from "../../shared/summary.ts";
import { deviceById } from "../../sim/by-id.ts";
import { duration, ppm } from "../../sim/tell/words.ts";
import { foldedIfLong, h, name, table } from "../dom.ts";
import type { Run } from "../run.ts";
import { fineTime } from "../show-time.ts";

/** Null where no device lost the clock it was locked to. */
export function holdoverTable({ plan, summary }: Run): HTMLElement | null {
  const { holdovers } = summary;
  if (holdovers.length === 0) return null;
  return h(
    "div",
    { class: "holdovers" },
    h(
      "p",
      {},
      "Left alone, a device drifts from the clock it was on. Each time is counted from the loss: first what its numbers said in advance, then what the run did. AES11 allows an output 5 % of a sample, and asks an input to bear 25 %.",
    ),
    foldedIfLong(
      holdovers.length,
      "losses",
      table(
        "How long each device can go on alone",
        [
          { head: "Device" },
          { head: "Loss", kind: "number" },
          { head: "Goes on" },
          { head: "5 % of a sample", kind: "number" },
          { head: "25 % of a sample", kind: "number" },
          { head: "First slip", kind: "number" },
          { head: "Ends" },
        ],
        holdovers.map((each) => row(plan, each)),
      ),
    ),
  );
}

function row(plan: Plan, each: HoldoverSummary): readonly (Node | string)[] {
  const of = (wanted: number) => each.allowances.find(({ percent }) => percent === wanted);
  return [
    name(named(plan, each.device)),
    fineTime(each.atSeconds, Number.isInteger(each.atSeconds) ? 0 : 1),
    goesOn(plan, each),
    foretold(of(5)),
    foretold(of(25)),
    slips(each.links),
    ends(each),
  ];
}

function named(plan: Plan, id: string): string {
  return deviceById(plan, id)?.name ?? id;
}

function goesOn(plan: Plan, { state, keptSeconds, ownOffsetPpm, followed }: HoldoverSummary): Node {
  const side = ownOffsetPpm > 0 ? "faster" : "slower";
  const own = ownOffsetPpm === 0 ? "its own clock" : `its own clock, ${ppm(ownOffsetPpm)} ${side} than `;
  const tail = ownOffsetPpm === 0 ? "" : name(named(plan, followed));
  const kept = state === "holdover" ? `keeps its frequency for ${duration(keptSeconds)}, then ` : "";
  return h("span", {}, `${kept}${own}`, tail);
}

function foretold(each: ForetoldSummary | undefined): Node | string {
  if (each === undefined) return "–";
  const { predictedSeconds, giveOrTakeSeconds, ranSeconds } = each;
  const spread = giveOrTakeSeconds ? ` ± ${duration(giveOrTakeSeconds)}` : "";
  const predicted = predictedSeconds === null ? "never" : duration(predictedSeconds) + spread;
  return h(
    "span",
    { class: "foretold" },
    h("span", {}, predicted),
    " ",
    h("strong", {}, ranSeconds === null ? "not seen" : `run ${duration(ranSeconds)}`),
  );
}

/** The link that slips first, foretold or in the run. */
function slips(links: HoldoverSummary["links"]): Node | string {
  const when = ({ predictedSeconds, ranSeconds }: ForetoldSummary) =>
    Math.min(predictedSeconds ?? Number.POSITIVE_INFINITY, ranSeconds ?? Number.POSITIVE_INFINITY);
  const [first] = [...links].sort((one, other) => when(one) - when(other));
  if (first === undefined) return "no audio in between";
  return h("span", {}, foretold(first), " ", name(first.link));
}

function ends({ ended }: HoldoverSummary): string {
  if (ended === null) return "not before the show";
  const after = `after ${duration(ended.afterSeconds)}`;
  if (ended.state === "off") return `off ${after}`;
  return ended.state === "starting" ? `reboots ${after}` : `on a source ${after}`;
}
