/** Which breaks the rig rides out without anybody doing anything, and what a longer one brings; one line a number. */
import type { Plan } from "../../shared/plan.ts";
import type { RidesOutSummary } from "../../shared/summary.ts";
import { deviceById, spareById } from "../by-id.ts";
import { linkInPort, type Told } from "./picture.ts";
import { brokenBy } from "./spares.ts";
import { capital, counted, short, source, theCableIn, theDevice } from "./words.ts";

type Planned = Pick<Told, "plan">;

/** More lines than this nobody reads beside a run. */
const LINES_MAX = 8;

/** About links that an event of the show breaks, and leaves what would take over; none where nothing breaks. */
export function ridesOutLines(told: Told): string[] {
  const breaks = told.plan.events.map((event) => brokenBy(told.plan, event));
  const rows = told.summary.ridesOut.filter((row) => {
    const relief = reliefOf(told.plan, row);
    return breaks.some(
      (broken) => broken.includes(row.link) && (relief.length === 0 || relief.some((link) => !broken.includes(link))),
    );
  });
  const lines = rows.slice(0, LINES_MAX).map((row) => ridesOutLine(told, row));
  const left = rows.length - lines.length;
  return left === 0 ? lines : [...lines, `And ${counted(left, "more such line", "more such lines")} on the page.`];
}

/** Links that what is said of a longer break counts on. */
function reliefOf(plan: Plan, { kind, id, link, beyond }: RidesOutSummary): readonly string[] {
  if (kind === "spare") return spareById(plan, id)?.links.filter((one) => one !== link) ?? [];
  if (beyond !== "next-source") return [];
  const sources = deviceById(plan, id)?.clockSources ?? [];
  const links = sources.flatMap((one) => (one === "internal" ? [] : (linkInPort(plan, id, one, 0)?.id ?? [])));
  return links.filter((one) => one !== link);
}

/** "The main cable: nothing takes over in breaks shorter than 210 ms; after a longer one the spare carries, 310 ms from the break." */
export function ridesOutLine(planned: Planned, row: RidesOutSummary): string {
  const { plan } = planned;
  const head = capital(theCableIn(plan, row.link));
  const beyond = ridesOutBeyond(plan, row);
  if (row.seconds === null) return `${head}: ${beyond}.`;
  const whom = row.kind === "clock" ? `, the clock of ${theDevice(deviceById(plan, row.id)!)}` : "";
  if (row.seconds === 0) return `${head}${whom}: after any break ${beyond}.`;
  return `${head}${whom}: nothing takes over in breaks shorter than ${short(row.seconds)}; after a longer one ${beyond}.`;
}

/** "the spare carries, 310 ms from the break". */
export function ridesOutBeyond(plan: Plan, { kind, id, link, beyond, beyondAfterSeconds }: RidesOutSummary): string {
  const after = short(beyondAfterSeconds ?? 0);
  const other = kind === "spare" ? otherOf(plan, spareById(plan, id)?.links, link) : "";
  switch (beyond) {
    case "spare":
      return `${other} carries, ${after} from the break`;
    case "by-hand":
      return `somebody has changed over to ${other} by hand, ${after} from the break`;
    case "gap":
      return `there is a gap of ${after}, then ${other} carries`;
    case "none":
      return "nothing takes over, because no other of its group is plugged in as the show begins";
    case "next-source":
      return `it takes ${nextSource(plan, id, link)}, ${after} from the break`;
    case "holdover":
      return "it is at its kept frequency (holdover)";
    case "own-clock":
      return `it is on its own clock, ${after} from the break`;
    case null:
      return "a break of any length is not heard while another of its group carries; the receiver has them all";
  }
}

function otherOf(plan: Plan, links: readonly string[] | undefined, link: string): string {
  const others = links?.filter((one) => one !== link) ?? [];
  return others.length === 1
    ? others[0] === "spare"
      ? "the spare"
      : theCableIn(plan, others[0]!)
    : "another of its group";
}

function nextSource(plan: Plan, id: string, link: string): string {
  const entry = deviceById(plan, id)?.clockSources.find(
    (one) => one === "internal" || (linkInPort(plan, id, one, 0)?.id ?? link) !== link,
  );
  return entry === undefined ? "another source" : source(entry);
}
