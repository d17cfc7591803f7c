/** All lanes as one table: made when it is opened, because a long run has many rows. */

import type { Lane } from "../../sim/lanes/lane.ts";
import { duration } from "../../sim/tell/words.ts";
import { h, name, table } from "../dom.ts";
import { fineTime } from "../show-time.ts";

export function stretchTable(lanes: readonly Lane[]): HTMLElement {
  const made = h("details", { class: "as-table" }, h("summary", {}, "The lanes as a table"));
  made.addEventListener("toggle", () => {
    if (!made.open || made.querySelector("table") !== null) return;
    made.append(
      table(
        "Every state of every lane",
        [
          { head: "Lane" },
          { head: "From", kind: "number" },
          { head: "Until", kind: "number" },
          { head: "For", kind: "number" },
          { head: "State" },
        ],
        lanes.flatMap(rowsOf),
      ),
    );
  });
  return made;
}

function rowsOf(lane: Lane): readonly (Node | string)[][] {
  const facts = [
    ...[...lane.stretches, ...lane.strips, ...lane.lines.flat()].map(({ fromSeconds, toSeconds, says }) => ({
      fromSeconds,
      toSeconds,
      says,
    })),
    ...lane.marks.map(({ atSeconds, says }) => ({ fromSeconds: atSeconds, toSeconds: atSeconds, says })),
  ].sort((one, other) => one.fromSeconds - other.fromSeconds);
  return facts.map(({ fromSeconds, toSeconds, says }) => [
    who(lane),
    fineTime(fromSeconds, 3),
    fineTime(toSeconds, 3),
    toSeconds === fromSeconds ? "" : duration(toSeconds - fromSeconds),
    says,
  ]);
}

function who(lane: Lane): Node {
  return h(
    "span",
    {},
    name(lane.name),
    (lane.kind === "link" || lane.kind === "stream") && lane.note !== "" ? ` (${lane.note})` : "",
  );
}
