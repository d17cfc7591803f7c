/** A cable that is longer than its type allows on this medium, or category cable with no margin left. */
import type { Finding } from "../../shared/finding.ts";
import { isWholeCable } from "../../shared/lines.ts";
import type { LinkTypeName, MediumName } from "../../shared/link-types.ts";
import { LINK_TYPES, lengthMetresMax, linkType } from "../../shared/link-types.ts";
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import { cableIn, capital } from "../tell/words.ts";

/** Stranded reel cable loses more than the solid cable that the 100 m are meant for: *common practice, no source*. */
const CATEGORY_SHARE = 0.85;

const MEDIUM_WORDS: Readonly<Record<MediumName, string>> = {
  pair: "a twisted pair",
  category: "category cable",
  coax: "coax",
  fibre: "fibre",
};

export function cableTooLong(plan: Plan): readonly Finding[] {
  return plan.links.filter(isWholeCable).flatMap((link): Finding[] => {
    const type = LINK_TYPES.find((one) => one === link.type);
    const medium = link.medium as MediumName;
    const metresMax = type === undefined ? null : lengthMetresMax(type, medium);
    if (type === undefined || metresMax === null) return [];
    if (link.lengthMetres > metresMax) return [finding(plan, link, type, medium, metresMax, "error")];
    const isTight = medium === "category" && link.lengthMetres > CATEGORY_SHARE * metresMax;
    return isTight ? [finding(plan, link, type, medium, metresMax, "warning")] : [];
  });
}

function finding(
  plan: Plan,
  link: LinkPlan,
  type: LinkTypeName,
  medium: MediumName,
  metresMax: number,
  severity: "error" | "warning",
): Finding {
  const isError = severity === "error";
  const cableName = capital(cableIn(plan, link.id));
  const { name, media } = linkType(type);
  const further = media.find((one) => one.lengthMetresMax.value >= link.lengthMetres && one.name !== medium);
  const run = `${link.lengthMetres} m of ${MEDIUM_WORDS[medium]}`;
  return {
    rule: "cable-too-long",
    severity,
    devices: [link.a.device, link.b.device].sort(),
    links: [link.id],
    path: ["links", link.id, "lengthMetres"],
    what: isError
      ? `${cableName} is ${run}; ${name} is meant for ${metresMax} m at most.`
      : `${cableName} is ${run}, and ${metresMax} m is the limit with patch leads and joiners counted.`,
    why: isError
      ? "Past its length a link may work on the bench and fail when the cable is unreeled, moved or wet."
      : "Stranded reel cable loses more than the solid cable the limit is meant for, and every joiner takes its share.",
    see: "The link comes and goes; a lamp that blinks, dropouts of a second or more.",
    remedy:
      further === undefined
        ? `${cableName}: a shorter way, or a device between that passes the link on.`
        : `${cableName}: a shorter way, or ${MEDIUM_WORDS[further.name]}, which goes ${further.lengthMetresMax.value} m.`,
  };
}
