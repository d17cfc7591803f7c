/** The three sentences at the top: whose clock everyone is on, what is heard at its worst, what to do. */
import { clockTroubles, neighbourSlips, onTheirOwn, primaryOf, takenClicks } from "./clocks.ts";
import { worstHeard } from "./heard.ts";
import { luckOf } from "./luck.ts";
import { whoLeads } from "./moves.ts";
import { changesIn, type Picture, pictureAt, type Told } from "./picture.ts";
import { scenesOf } from "./scenes.ts";
import { agree, deviceHead, grouped, isPlural, listed, showTime, theDevice } from "./words.ts";

/** A turn of the lead shorter than this is only a step on the way to the next. */
const PASSING_SECONDS = 5;

export function topSentences(
  told: Told,
  { fix, verdict }: { readonly fix: string | null; readonly verdict: readonly string[] },
): string[] {
  const settledAt = told.plan.begin === "cold" ? told.summary.runSeconds : scenesOf(told).settledAt;
  const opening = pictureAt(told, settledAt);
  const isQuiet = told.plan.events.length === 0;
  const troubles = isQuiet ? clockTroubles(told, opening) : [];
  const own = onTheirOwn(told, opening).filter(({ device }) =>
    neighbourSlips(told, device, settledAt).some(({ clicks }) => clicks > 2),
  );
  const isNamed = own.length === 1 && troubles.length === 2;
  const clicks =
    isQuiet && own[0] !== undefined ? takenClicks(told, own[0].device, { seconds: settledAt, isNamed }) : null;
  return [
    troubles.length === 0 ? leadership(told, settledAt) : troubles.join(" "),
    clicks ?? worstHeard(told) ?? cleanThroughout(told),
    fix ??
      (told.summary.verdict === "none"
        ? "Write down what you expect under expect, and the next run is compared with it."
        : verdict.join(" ")),
  ];
}

function cleanThroughout(told: Told): string {
  const { plan } = told;
  if (plan.feeds.length === 0) return "The file names no feeds, so nobody listens.";
  const luck = plan.feeds.map((feed) => luckOf(told, feed)).find((found) => found !== null);
  if (luck != null)
    return `Every listener hears it clean from beginning to end in this run; ${luck.hadIt} may cost one dropout.`;
  return "Every listener hears it clean from beginning to end.";
}

interface Turn {
  readonly at: number;
  readonly ids: string;
  readonly picture: Picture;
}

/** "FOH desk leads; from 00:20:00 the monitor desk, and from 00:21:15 the FOH desk again." */
function leadership(told: Told, settledAt: number): string {
  const turns = turnsOf(told, settledAt);
  const [first, ...later] = turns;
  const [only, ...more] = told.plan.devices;
  if (only !== undefined && more.length === 0) {
    const plural = isPlural(only.name);
    return `${deviceHead(only)} ${agree(plural, "is", "are")} alone, on ${agree(plural, "its", "their")} own clock.`;
  }
  if (only === undefined) return "There is no device in this rig yet.";
  if (first === undefined) return "Nobody leads: every device runs on a clock of its own.";
  const head = leadersIn(told, first.picture);
  const leads = agree(head.plural, "leads", "lead");
  if (later.length === 0)
    return `${head.head} ${leads} ${told.plan.begin === "cold" ? "in the end" : "from beginning to end"}.`;
  if (later.length > 3)
    return `${head.head} ${leads} at the start; after that the lead changes ${grouped(later.length)} times.`;
  const seen = [first.ids];
  const parts = later.map(({ at, ids, picture }) => {
    const again = seen.includes(ids) ? " again" : "";
    seen.push(ids);
    return `from ${showTime(at)} ${leadersIn(told, picture).mid}${again}`;
  });
  return `${head.head} ${leads}; ${parts.length === 1 ? parts[0] : `${parts.slice(0, -1).join(", ")}, and ${parts[parts.length - 1]}`}.`;
}

/** Who leads, from each instant on at which that changes for more than a moment. */
function turnsOf(told: Told, settledAt: number): readonly Turn[] {
  const instants = [
    settledAt,
    ...changesIn(told)
      .map(({ at }) => at)
      .filter((at) => at > settledAt),
  ];
  const turns: Turn[] = [];
  for (const at of instants) {
    const picture = pictureAt(told, at);
    const ids = whoLeads(told, picture)
      .map(({ id }) => id)
      .join(" ");
    const last = turns[turns.length - 1];
    if (ids === "" || ids === last?.ids) continue;
    const isPassing = last !== undefined && at - last.at < PASSING_SECONDS;
    if (isPassing) turns.pop();
    // The moment of the change counts, not that of the last step of it.
    const since = isPassing && turns.length > 0 ? last.at : at;
    if (turns[turns.length - 1]?.ids !== ids) turns.push({ at: since, ids, picture });
  }
  return turns;
}

function leadersIn(
  told: Told,
  picture: Picture,
): { readonly head: string; readonly mid: string; readonly plural: boolean } {
  const primary = primaryOf(told, picture);
  const leaders = [...whoLeads(told, picture)].sort((one, two) => Number(two === primary) - Number(one === primary));
  const [first] = leaders;
  const rest = leaders.slice(1).map(theDevice);
  const apart = rest.length === 0 ? "" : ", each for some of the rig";
  return {
    head: listed([deviceHead(first!), ...rest]) + apart,
    mid: listed(leaders.map(theDevice)) + apart,
    plural: leaders.length > 1 || isPlural(first!.name),
  };
}
