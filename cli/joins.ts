/** Joining cables as they are typed: HERE.PORT=THERE.PORT, then the type, then which way where it is one way only. */
import { type Issue, withoutLine } from "../shared/issues.ts";
import { linkType } from "../shared/link-types.ts";
import { nearest } from "../shared/nearest.ts";
import type { Plan } from "../shared/plan.ts";
import { JOIN_TYPES, type Join, type JoinEnd, type JoinType } from "../sim/merge/join.ts";
import { listed } from "../sim/tell/words.ts";

/** What most desks have for many channels: *common practice, no source*. */
const DEFAULT_TYPE: JoinType = "madi";
const WAYS = ["both", "there", "back"] as const;
const EXAMPLE = "--join foh.4=foh.7:madi";

type Plans = readonly [Plan | null, Plan | null];

/** All issues at once. A device is looked for in the plan that it has to be in; a plan that was not read knows none. */
export function parseJoins(
  texts: readonly string[],
  plans: Plans,
  files: readonly [string, string],
): { readonly joins: readonly Join[]; readonly issues: readonly Issue[] } {
  const issues: Issue[] = [];
  const joins = texts.flatMap((text): Join[] => {
    const refuse = (expected: string, received: string, remedy: string): [] => {
      issues.push({ ...withoutLine(`--join ${text}`), expected, received, remedy });
      return [];
    };
    const [ends = "", typeText = DEFAULT_TYPE, wayText = "both", ...more] = text.split(":");
    const [here, there, ...tooMany] = ends.split("=").map(endOf);
    if (more.length > 0 || tooMany.length > 0 || !here || !there)
      return refuse(
        "DEVICE.PORT=DEVICE.PORT, the first in the first file, the second in the second; then :TYPE, then :there or :back",
        text,
        `write it like ${EXAMPLE}`,
      );
    const type = JOIN_TYPES.find((one) => one === typeText);
    if (type === undefined) {
      const meant = nearest(typeText, JOIN_TYPES);
      return refuse(
        `one of ${listed(JOIN_TYPES, "or")}`,
        typeText,
        meant === null ? "choose one of them: streams go over an ethernet cable" : `did you mean ${meant}`,
      );
    }
    const ways = WAYS.find((one) => one === wayText);
    if (ways === undefined) return refuse("both, there or back", wayText, "leave it out for both ways");
    if (ways !== "both" && linkType(type).twoWay)
      return refuse(`no way: ${type} carries both ways in one cable`, wayText, "leave it out");
    const known = [here, there].map(({ device }, side) => {
      const plan = plans[side];
      if (!plan || plan.devices.some(({ id }) => id === device)) return true;
      const ids = plan.devices.map(({ id }) => id);
      const isSwapped = plans[1 - side]?.devices.some(({ id }) => id === device) === true;
      const meant = nearest(device, ids);
      refuse(
        `the id of a device in ${files[side]}`,
        device,
        isSwapped && meant === null
          ? `it is in ${files[1 - side]}: the ends stand in the order of the files`
          : meant === null
            ? `choose one of ${ids.slice(0, 12).join(", ")}`
            : `did you mean ${meant}`,
      );
      return false;
    });
    return known.every(Boolean) ? [{ text, ends: [here, there], type, ways }] : [];
  });
  return { joins, issues };
}

function endOf(text: string): JoinEnd | null {
  const [, device, port] = /^([A-Za-z0-9][A-Za-z0-9_-]{0,63})\.([1-9][0-9]{0,2})$/.exec(text) ?? [];
  return device === undefined || port === undefined ? null : { device, port: Number(port) };
}
