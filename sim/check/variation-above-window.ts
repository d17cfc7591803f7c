/**
 * The waits of clock packets in plain bridges, after the follower's loop, against its lock window. One finding a network.
 *
 * A wait spread evenly over a width P has a deviation of P/√12; those of bridges on the way add up in square, and a loop
 * lets through the part of it that `keptShare` says.
 */
import type { Finding } from "../../shared/finding.ts";
import { addTo } from "../../shared/lists.ts";
import type { Plan } from "../../shared/plan.ts";
import { ptpProfile } from "../../shared/ptp-profiles.ts";
import { keptShare } from "../network/outcome.ts";
import { byText, mid, names, networkWords } from "./finding.ts";
import { micros } from "./micros.ts";
import type { NetworkFollower } from "./network-clocks.ts";
import { networkFollowers } from "./network-clocks.ts";

/** One sample in four hundred is further out: then it is out of its window every few minutes at the latest. */
const SIGMAS = 3;

interface Restless {
  readonly follower: NetworkFollower;
  /** Three deviations, after the loop. */
  readonly swingSeconds: number;
  readonly windowSeconds: number;
}

export function variationAboveWindow(plan: Plan): readonly Finding[] {
  const byNetwork = new Map<string, Restless[]>();
  for (const follower of networkFollowers(plan)) {
    const { device, network } = follower.site;
    const syncSeconds = ptpProfile(network.profile).syncSeconds.value;
    const swingSeconds = SIGMAS * Math.sqrt(follower.path.varianceSeconds2 * keptShare(device.loop, syncSeconds));
    const windowSeconds = device.lockWindowPercent / 100 / device.sampleRateHz;
    if (swingSeconds <= windowSeconds) continue;
    const found = { follower, swingSeconds, windowSeconds };
    addTo(byNetwork, network.id, found);
  }
  return [...byNetwork.keys()].sort(byText).map((id) => findingFor(plan, byNetwork.get(id)!));
}

function findingFor(plan: Plan, unordered: readonly Restless[]): Finding {
  const idOf = ({ follower }: Restless) => follower.site.device.id;
  const found = unordered.toSorted((one, two) => byText(idOf(one), idOf(two)));
  const ids = found.map(idOf);
  const worst = found.reduce((most, one) =>
    one.swingSeconds / one.windowSeconds > most.swingSeconds / most.windowSeconds ? one : most,
  );
  const { device, network } = worst.follower.site;
  return {
    rule: "variation-above-window",
    severity: "warning",
    devices: ids,
    links: [],
    path: ["devices", device.id, "loop"],
    what: `On ${networkWords(network)} waits in plain bridges reach ${names(plan, ids)}: after its loop the clock of ${mid(plan, device.id)} still swings by up to ${micros(worst.swingSeconds)}, and its lock window is ${micros(worst.windowSeconds)}.`,
    why: "A plain bridge lets clock packets wait behind others, a different time each; the loop takes the mean and leaves a rest.",
    see: "Lock that comes and goes while every cable is in; more so when the network is busy.",
    remedy:
      "Use transparent or boundary switches between the leader and its followers, or a slower loop where there is a setting.",
  };
}
