/**
 * The run cut into scenes. A scene begins with an event of the scenario, with the end of a boot, or with a change of
 * clocks that comes long after the last; what settles within seconds belongs to it.
 */
import type { DevicePlan, EventPlan } from "../../shared/plan.ts";
import { secondsFromNs } from "../../shared/time.ts";
import { type Change, changesIn, type Told } from "./picture.ts";

/** Changes closer than this belong to one scene: a dwell, a hold-off, a loop that pulls in. */
export const SETTLING_SECONDS = 5;
/** A silence that ends so soon after a scene begins, ends because of it. */
const NEAR_SECONDS = SETTLING_SECONDS;
/** Looking just before an instant. */
export const BEFORE_SECONDS = 1e-6;

export interface Scene {
  readonly at: number;
  readonly events: readonly EventPlan[];
  /** Devices whose boot ends here. */
  readonly boots: readonly DevicePlan[];
  readonly changes: readonly Change[];
  /** The last change that belongs to it. */
  readonly until: number;
  /** When the next scene begins, or the run ends. */
  readonly next: number;
  /** When something next happens in the world or a device is up again; what comes of itself before it may follow from this. */
  readonly nextPrompted: number;
}

/** What happens, in order, and the instant by which the rig has settled that the run began with. */
export function scenesOf(told: Told): { readonly settledAt: number; readonly scenes: readonly Scene[] } {
  interface Open {
    at: number;
    events: EventPlan[];
    boots: DevicePlan[];
    changes: Change[];
    until: number;
  }
  const end = told.summary.runSeconds;
  const scenes = new Map<number, Open>();
  const open = (at: number): Open => {
    const scene = scenes.get(at) ?? { at, events: [], boots: [], changes: [], until: at };
    scenes.set(at, scene);
    return scene;
  };
  for (const event of told.plan.events) {
    const at = secondsFromNs(event.atNs);
    // A contact that is back within what one scene takes is a part of it.
    const isOwnScene = event.do !== "make-contact" || event.intermittent.outSeconds > SETTLING_SECONDS;
    if (at <= end && isOwnScene) open(at).events.push(event);
  }
  const changes = changesIn(told);
  for (const change of changes) {
    if (change.from.state === "starting" && change.to.state !== "off") open(change.at).boots.push(change.device);
  }
  const anchors = [...scenes.values()].sort((one, other) => one.at - other.at);
  let current: Open | undefined;
  let settledAt = 0;
  let next = 0;
  for (const change of changes) {
    while (next < anchors.length && anchors[next]!.at <= change.at) {
      current = anchors[next]!;
      next += 1;
    }
    if (current === undefined && change.at - settledAt <= SETTLING_SECONDS) {
      settledAt = change.at;
      continue;
    }
    if (current === undefined || change.at - current.until > SETTLING_SECONDS) current = open(change.at);
    current.changes.push(change);
    current.until = change.at;
  }
  const sorted = [...scenes.values()].sort((one, other) => one.at - other.at);
  const isPrompted = ({ events, boots }: Open) => events.length > 0 || boots.length > 0;
  let nextPrompted = end;
  const made: Scene[] = [];
  for (const [index, scene] of [...sorted.entries()].reverse()) {
    made.push({ ...scene, next: sorted[index + 1]?.at ?? end, nextPrompted });
    if (isPrompted(scene)) nextPrompted = scene.at;
  }
  return { settledAt, scenes: made.reverse() };
}

/** What happens of itself to the same devices, again and again, is told this often; then only counted. */
const TOLD_TIMES = 2;
/** So many more are worth a line that counts them. */
const COUNTED_FROM = 3;

/** Scenes to be told, each with those after it that only repeat it: of themselves, or turns of a bad contact. */
export function withRepeats(
  scenes: readonly Scene[],
): readonly { readonly scene: Scene; readonly repeats: readonly Scene[] }[] {
  const grouped: { scene: Scene; repeats: Scene[] }[] = [];
  const lastOf = new Map(scenes.map((scene, index) => [contactOf(scene), index]));
  for (let index = 0; index < scenes.length; ) {
    const scene = scenes[index]!;
    const contact = contactOf(scene);
    // What comes of itself between two turns comes of them.
    const isOfContact = (other: Scene, at: number) =>
      contactOf(other) === contact || (isUnprompted(other) && at < (lastOf.get(contact) ?? 0));
    const isSame = (other: Scene, at: number) =>
      contact === null ? keyOf(scene) !== null && keyOf(other) === keyOf(scene) : isOfContact(other, at);
    let end = index + 1;
    while (end < scenes.length && isSame(scenes[end]!, end)) end += 1;
    const second = scenes.slice(index + 1, end).findIndex(beginsTurn);
    const few = end - index - TOLD_TIMES < COUNTED_FROM;
    const told = contact !== null ? (second < 0 ? end : index + 1 + second) : few ? end : index + TOLD_TIMES;
    for (const each of scenes.slice(index, told)) grouped.push({ scene: each, repeats: [] });
    grouped[grouped.length - 1]!.repeats.push(...scenes.slice(told, end));
    index = end;
  }
  return grouped;
}

function isUnprompted({ events, boots }: Scene): boolean {
  return events.length === 0 && boots.length === 0;
}

/** Null for what the world did. */
function keyOf(scene: Scene): string | null {
  if (!isUnprompted(scene)) return null;
  const { changes } = scene;
  return [...new Set(changes.map(({ device }) => device.id))].sort().join(" ");
}

/** The bad contact that a scene is a turn of; null where it is about anything else. */
function contactOf({ events, boots }: Scene): string | null {
  const [first] = events;
  if (first === undefined || events.length > 1 || boots.length > 0 || !("intermittent" in first)) return null;
  const { link, way, end, intermittent } = first;
  return `${link} ${way} ${end} ${intermittent.turns} ${intermittent.everySeconds}`;
}

function beginsTurn({ events }: Scene): boolean {
  return events.some((event) => event.do === "lose-contact");
}

export function isNear(scene: Scene, at: number): boolean {
  return at >= scene.at - BEFORE_SECONDS && at < scene.next && at - scene.at < NEAR_SECONDS;
}

/** How long after the scene's beginning the last of them chose the clock it ends with. */
export function delayOf(scene: Scene, moved: readonly DevicePlan[]): number {
  let delay = 0;
  for (const device of moved) {
    const changes = scene.changes.filter((change) => change.device === device);
    const final = changes[changes.length - 1]?.to;
    const chose = changes.find(
      ({ to }) => to.source === final?.source && (to.state === final?.state || to.state === "acquiring"),
    );
    if (chose !== undefined) delay = Math.max(delay, chose.at - scene.at);
  }
  return delay;
}

/** Something comes back, and nothing goes. */
export function isReturn(scene: Scene): boolean {
  if (scene.boots.length > 0) return true;
  return (
    scene.events.length > 0 &&
    scene.events.every(({ undoes, do: deed }) => undoes !== null || deed === "plug" || deed === "mend")
  );
}
