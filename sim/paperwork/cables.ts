/** Every cable with its ends, and the labels for them: both ends of a cable have the same one. */
import { cableOf, isWholeCable } from "../../shared/lines.ts";
import type { LinkTypeName } from "../../shared/link-types.ts";
import { linkType } from "../../shared/link-types.ts";
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import { capital, counted, grouped, listed, path } from "../tell/words.ts";
import { testedWords } from "../tested.ts";
import { row, type Sheet, type SheetColumn, type SheetSection } from "./sheet.ts";
import { walkedDevices } from "./walk.ts";
import { endWords, partWords } from "./words.ts";

const COLUMNS: readonly SheetColumn[] = [
  { head: "Label", as: "name" },
  { head: "Type", as: "text" },
  { head: "From", as: "text" },
  { head: "To", as: "text" },
  { head: "Length (m)", as: "number" },
  { head: "Main or spare", as: "text" },
  { head: "On site", as: "text" },
  { head: "Laid", as: "tick" },
  { head: "Cable tag", as: "write" },
];

export interface Label {
  readonly name: string;
  /** "FOH desk 1 - Stage box 2" */
  readonly ends: string;
  /** "spare of stage-pair, along the quay wall"; may be empty. */
  readonly about: string;
}

/** A cable as it lies: a link and its return are two on one path, a line with taps is one. */
interface Laid {
  readonly link: LinkPlan;
  readonly label: string;
  readonly from: string;
  readonly to: string;
}

export function cablesSheet(plan: Plan): Sheet {
  const laid = laidIn(plan);
  const paths = new Map<string, Laid[]>();
  for (const each of laid) {
    const key = listed(each.link.laidAlong.map(path));
    paths.set(key, [...(paths.get(key) ?? []), each]);
  }
  const metres = laid.reduce((sum, { link }) => sum + link.lengthMetres, 0);
  return {
    name: "cables",
    title: "Cable schedule",
    lead: [
      `${capital(counted(laid.length, "cable", "cables"))}, ${grouped(Math.round(metres))} m in all. Label both ends with the same name.`,
    ],
    columns: COLUMNS,
    sections: [...paths].map(
      ([key, cables]): SheetSection => ({
        title: key === "" ? "Laid along nothing that the plan names" : `Along ${key}`,
        rows: cables.map(({ link, label, from, to }) =>
          row(COLUMNS, [
            label,
            `${linkType(link.type as LinkTypeName).name}\n${link.medium}`,
            from,
            to,
            String(Number(link.lengthMetres.toFixed(1))),
            partWords(plan, link),
            testedWords(plan, link),
          ]),
        ),
      }),
    ),
    after: [],
  };
}

/** One for each cable; it is printed for both ends. */
export function labelsOf(plan: Plan): readonly Label[] {
  return laidIn(plan).map(({ link, label, from, to }) => {
    const along = link.laidAlong.length === 0 ? "" : `along ${listed(link.laidAlong.map(path))}`;
    return {
      name: label,
      ends: `${from} – ${to}`.replaceAll(" port ", " "),
      about: [partWords(plan, link), along].filter((part) => part !== "").join(", "),
    };
  });
}

/** In the order in which one walks by their ends, paths together in the order of the first cable on each. */
function laidIn(plan: Plan): readonly Laid[] {
  const place = new Map(walkedDevices(plan).map(({ id }, index) => [id, index]));
  const at = ({ a, b }: LinkPlan) => Math.min(place.get(a.device) ?? 0, place.get(b.device) ?? 0);
  return plan.links
    .filter((link) => link.stream === undefined && isWholeCable(link))
    .toSorted((one, other) => at(one) - at(other))
    .flatMap((link): Laid[] => {
      const [from, to] = [endWords(plan, link.a), endWords(plan, link.b)];
      if (link.line !== undefined) {
        const taps = plan.links.filter(({ line }) => line?.id === link.line?.id).map(({ b }) => endWords(plan, b));
        return [{ link, label: cableOf(link), from, to: listed(taps) }];
      }
      if (!link.hasReturn) return [{ link, label: link.id, from, to }];
      return [
        { link, label: `${link.id} there`, from, to },
        { link, label: `${link.id} back`, from: to, to: from },
      ];
    });
}
