/** AVB streams on a network whose election is not IEEE 802.1AS, and other streams on one whose is. */
import type { Finding } from "../../shared/finding.ts";
import { LINK_TYPES, linkType } from "../../shared/link-types.ts";
import type { NetworkPlan, Plan } from "../../shared/plan.ts";
import { ptpProfile } from "../../shared/ptp-profiles.ts";
import { isReserved } from "../network/stream-bits.ts";
import { capital, listed } from "../tell/words.ts";
import { byText, networkWords, streams } from "./finding.ts";

export function streamClockMismatch(plan: Plan): readonly Finding[] {
  return (plan.networks ?? []).flatMap((network): Finding[] => {
    const isBridged = network.profile === "802.1as";
    const here = plan.links.filter(({ stream }) => stream?.network === network.id);
    const odd = here.filter((link) => isReserved(link) !== isBridged);
    return odd.length === 0 ? [] : [findingFor(network, odd.map(({ id }) => id).sort(byText), typesOf(odd))];
  });
}

function typesOf(links: Plan["links"]): string {
  const names = LINK_TYPES.filter((type) => links.some((link) => link.type === type)).map(
    (type) => linkType(type).name,
  );
  return listed(names);
}

function findingFor(network: NetworkPlan, links: readonly string[], types: string): Finding {
  const isBridged = network.profile === "802.1as";
  const one = links.length === 1;
  return {
    rule: "stream-clock-mismatch",
    severity: isBridged ? "warning" : "error",
    devices: [],
    links,
    path: ["networks", network.id, "profile"],
    what: `${capital(streams(links))} ${one ? "is" : "are"} ${types}, and ${networkWords(network)} elects by another profile: ${ptpProfile(network.profile).name}.`,
    why: isBridged
      ? "Devices for such streams take their time from IEEE 1588 as their profile has it, and need not understand 802.1AS."
      : "AVB says in each packet when it is to be played, by the time of IEEE 802.1AS; without that nobody knows when.",
    see: isBridged
      ? "Devices that find no leader, or one of their own; streams that are there and click."
      : "Streams that are not set up at all, or stay mute.",
    remedy: isBridged
      ? "A network of their own for these streams, or a profile that their devices and all bridges between have."
      : "Set the network to 802.1AS, with bridges that have it, or carry these channels in streams of another type.",
  };
}
