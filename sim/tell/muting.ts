/** Before something comes back that hurts on its return: what to mute, in which order, who, and where. */
import type { DevicePlan, FeedPlan } from "../../shared/plan.ts";
import { deviceById } from "../by-id.ts";
import { failedBy, type Mute, mutesFor } from "../muting.ts";
import type { Told } from "./picture.ts";
import { feedsInOrder, piecesOf, summaryOf } from "./pieces.ts";
import { brokenBy } from "./spares.ts";
import { capital, listed, listener, theCableIn, theDevice } from "./words.ts";

/** First who and when, then one line each, then what holds for all; none where no return hurts. */
export function beforeReturnLines(told: Told): string[] {
  const feeds = feedsInOrder(told).filter((feed) => hurtsOnReturn(told, feed));
  const failed = failedBy(told.plan, told.plan.events);
  const mutes = mutesFor(told.plan, failed, feeds);
  if (mutes.length === 0) return [];
  const boxes = told.plan.devices.filter(({ id, kind }) => kind === "stage-box" && failed.has(id));
  const sign = mutes.some(({ ears }) => ears === "in-ears") ? "Agree a hand sign for ears out before the show. " : "";
  return [
    headingOf(told, feeds, failed),
    ...mutes.map((mute, index) => `${index + 1}. ${muteWords(told, mute)}`),
    `${sign}If what you see differs from this: mute, then think.`,
    ...(boxes.length === 0 ? [] : [boxWords(boxes)]),
  ];
}

/** "Before the FOH desk is back, mute in this order, by a mute that does not depend on what failed. Bring up slowly." */
function headingOf(told: Told, feeds: readonly FeedPlan[], failed: ReadonlySet<string>): string {
  const silences = feeds.flatMap((feed) => piecesOf(told, feed)).filter(({ kind }) => kind === "silent");
  const comesIn = silences.length > 0 && silences.every(({ from, isOpen }) => from === 0 || isOpen);
  if (comesIn) return "Before it comes in, mute in this order. Bring up slowly.";
  const devices = told.plan.devices.filter(({ id }) => failed.has(id)).map(theDevice);
  const links = [...new Set(told.plan.events.flatMap((event) => brokenBy(told.plan, event)))].map((id) =>
    theCableIn(told.plan, id),
  );
  const [what, more] = [...devices, ...links];
  return `Before ${what === undefined || more !== undefined ? "it" : what} is back, mute in this order, by a mute that does not depend on what failed. Bring up slowly.`;
}

function boxWords(boxes: readonly DevicePlan[]): string {
  const one = boxes.length === 1;
  return `${capital(listed(boxes.map(theDevice)))} ${one ? "switches" : "switch"} preamps and phantom power while starting: expect thumps even when the clock is right.`;
}

/** Back from a silence in which there was time to mute, at full level; or troubled by the return itself. */
export function hurtsOnReturn(told: Told, feed: FeedPlan): boolean {
  const summary = summaryOf(told, feed);
  if (summary === undefined) return false;
  const isBack = piecesOf(told, feed).some(({ kind, isOpen }) => kind === "silent" && !isOpen);
  return (summary.returnsAtFullLevel && isBack) || summary.dropouts.onReturn > 0;
}

/** What does not wait for a mute. */
const OFF_THE_HEAD: Partial<Record<Mute["ears"], string>> = {
  "in-ears": "out of ears. ",
  "assisted-hearing": "warn who wears it. ",
  comms: "headsets off. ",
};

/** "In-ears: out of ears. The monitor engineer mutes at the in-ear transmitter." */
export function muteWords({ plan }: Pick<Told, "plan">, { ears, who, at, feeds }: Mute): string {
  const heard = plan.feeds.filter(({ id }) => feeds.includes(id)).map((feed) => ({ ...feed, heardBy: [ears] }));
  const head = listener(heard[0]!, heard.slice(0, 1)).head;
  const first = OFF_THE_HEAD[ears] ?? "";
  const deed = `the ${who} mutes at ${placeWords(plan, at)}`;
  return `${head}: ${first}${first === "" ? deed : capital(deed)}.`;
}

/** "the PA processor", "the amplifiers". */
export function placeWords(plan: Told["plan"], at: Mute["at"]): string {
  switch (at.kind) {
    case "device":
      return theDevice(deviceById(plan, at.device)!);
    case "receivers":
      return "the receiver packs";
    case "amplifiers":
      return "the amplifiers";
    case "far-end":
      return "the far end";
  }
}
