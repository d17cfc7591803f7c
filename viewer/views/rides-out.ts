/** How short a break of each cable must be: below which nobody notices, and below which nothing changes over. */
import type { Plan } from "../../shared/plan.ts";
import type { RidesOutSummary } from "../../shared/summary.ts";
import { ridesOutBeyond } from "../../sim/tell/rides-out.ts";
import { short } from "../../sim/tell/words.ts";
import { h, name, table } from "../dom.ts";
import type { Run } from "../run.ts";

/** All of them, whether this show breaks anything or not; null where nothing can be ridden out. */
export function ridesOutFold({ plan, summary }: Run): HTMLElement | null {
  const rows = summary.ridesOut;
  if (rows.length === 0) return null;
  return h(
    "details",
    { class: "long" },
    h("summary", {}, "How short a break must be"),
    table(
      "Breaks that the rig rides out",
      [
        { head: "Cable" },
        { head: "Carries" },
        { head: "No end notices less than", kind: "number" },
        { head: "Nothing changes over below", kind: "number" },
        { head: "A longer one" },
      ],
      rows.map((row) => [
        name(row.link),
        carries(plan, row),
        short(row.unnoticedSeconds),
        row.seconds === null ? "any length" : short(row.seconds),
        ridesOutBeyond(plan, row),
      ]),
    ),
  );
}

function carries({ devices }: Plan, { kind, id }: RidesOutSummary): Node {
  if (kind === "spare") return h("span", {}, "sound, main of ", name(id));
  return h("span", {}, "the clock of ", name(devices.find((device) => device.id === id)?.name ?? id));
}
