/** Channels on each way of each link: what the feeds want, what there is, what is left. */
import type { Plan } from "../../shared/plan.ts";
import { linkOf } from "../by-id.ts";
import { channelBudget } from "../channel-budget.ts";
import { cableIn, capital } from "../tell/words.ts";
import { row, type Sheet, type SheetColumn } from "./sheet.ts";
import { endWords } from "./words.ts";

const COLUMNS: readonly SheetColumn[] = [
  { head: "Link", as: "name" },
  { head: "From", as: "text" },
  { head: "To", as: "text" },
  { head: "Wanted", as: "number" },
  { head: "There are", as: "number" },
  { head: "Free", as: "number" },
  { head: "For", as: "text" },
];

export function channelsSheet(plan: Plan): Sheet {
  const rows = channelBudget(plan).map(({ link: id, way, used, has, loads }) => {
    const { a, b } = linkOf(plan, id);
    const [from, to] = way === "there" ? [a, b] : [b, a];
    const name = (feed: string) => plan.feeds.find((each) => each.id === feed)?.name ?? feed;
    return row(COLUMNS, [
      capital(cableIn(plan, id)),
      endWords(plan, from),
      endWords(plan, to),
      String(used),
      String(has),
      String(has - used),
      loads.map(({ feed, channels }) => `${name(feed)}: ${channels}`).join("\n"),
    ]);
  });
  return {
    name: "channels",
    title: "Channel budget",
    lead: [
      "Each way by itself, at the sample rate of its faster end. What several feeds share is counted for each; a spare is counted as if it carried.",
    ],
    columns: COLUMNS,
    sections: [{ title: null, rows }],
    after: rows.length === 0 ? ["No feed goes over any link."] : [],
  };
}
