/** What a change of clocks leaves behind that the plan does not mean: two that lead, a follower that stays, a ring. */
import type { DevicePlan } from "../../shared/plan.ts";
import { rigParts } from "../clock-graph.ts";
import { primaryOf } from "./clocks.ts";
import { deviceBehind, type Picture, ringsIn, type Standing, type Told } from "./picture.ts";
import { agree, capital, deviceHead, isPlural, listed, source, theDevice } from "./words.ts";

/** Only what is new in `after`. */
export function ledSentences(told: Told, before: Picture, after: Picture): string[] {
  const known = new Set(pairsIn(told, before).map(({ high, low }) => `${high.id} ${low.id}`));
  const pairs = pairsIn(told, after).filter(({ high, low }) => !known.has(`${high.id} ${low.id}`));
  const stuckBefore = new Set(stuckIn(told, before).map(({ device }) => device));
  const stuck = stuckIn(told, after).filter(({ device }) => !stuckBefore.has(device));
  const ringsBefore = new Set(ringsIn(before).map(idsOf));
  const rings = ringsIn(after).filter((ring) => !ringsBefore.has(idsOf(ring)));
  return [...pairs.map((pair) => pairSentence(after, pair)), ...stuckSentences(stuck), ...rings.map(ringSentence)];
}

interface Pair {
  /** On its own clock, and earlier among the plan's leaders than the one that leads. */
  readonly high: DevicePlan;
  readonly low: DevicePlan;
}

function pairsIn({ plan }: Told, picture: Picture): readonly Pair[] {
  const rank = ({ id }: DevicePlan) => plan.leaders.indexOf(id);
  const lows = picture.leaders.filter((leader) => rank(leader) > 0);
  const parts = lows.length === 0 ? [] : rigParts(plan);
  return lows.flatMap((low): Pair[] => {
    const high = plan.leaders
      .slice(0, rank(low))
      .map((id) => picture.standings.get(id))
      .find(
        (standing) =>
          standing?.state === "free-run" &&
          parts.some((part) => part.includes(low.id) && part.includes(standing.device.id)),
      );
    return high === undefined ? [] : [{ high: high.device, low }];
  });
}

function pairSentence(picture: Picture, { high, low }: Pair): string {
  const order = `by the plan ${theDevice(high)} ${agree(isPlural(high.name), "comes", "come")} before ${theDevice(low)}`;
  return picture.leaders.includes(high)
    ? `Two clocks lead now; ${order}.`
    : `Nobody follows ${theDevice(high)}, although ${order}.`;
}

interface Stuck {
  readonly device: DevicePlan;
  /** The source that still gives a clock, and the one further down that would lead back. */
  readonly uses: string;
  readonly other: string;
  readonly behind: DevicePlan;
}

/** Those locked to a clock that runs free, with a way back to the plan's leader further down their list. */
function stuckIn(told: Told, picture: Picture): readonly Stuck[] {
  const primary = primaryOf(told, picture);
  return [...picture.standings.values()].flatMap((standing): Stuck[] => {
    const { device, source: uses, root } = standing;
    if (uses === null || primary === null || !isLost(picture, standing, primary)) return [];
    const rest = device.clockSources.slice(device.clockSources.indexOf(uses) + 1);
    for (const other of rest) {
      if (other === "internal") return [];
      const behind = deviceBehind(told, device.id, other, picture.at);
      const itsRoot = behind === null ? null : (picture.standings.get(behind.id)?.root ?? null);
      if (behind !== null && itsRoot === primary && root !== primary) return [{ device, uses, other, behind }];
    }
    return [];
  });
}

function isLost(picture: Picture, { state, root, upstream }: Standing, primary: DevicePlan): boolean {
  if (state !== "locked" || upstream === null || root === null || root === primary) return false;
  return picture.standings.get(root.id)?.state === "free-run";
}

function stuckSentences(stuck: readonly Stuck[]): string[] {
  return stuck.map(({ device, uses, other, behind }) => {
    const stays = agree(isPlural(device.name), "stays", "stay");
    return `${deviceHead(device)} ${stays} there: ${source(uses)} still brings a clock, so ${source(other)} (${behind.name}) is never tried.`;
  });
}

function ringSentence(ring: readonly DevicePlan[]): string {
  return `${capital(listed(ring.map(theDevice)))} are a ring of sources: nobody leads, and their lock lamps may be lit while they run off together.`;
}

function idsOf(devices: readonly DevicePlan[]): string {
  return devices.map(({ id }) => id).join(" ");
}
