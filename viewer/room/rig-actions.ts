/** What is done on the map to the plan itself becomes a change of its texts, whichever of them it stands in. */

import { EditError } from "../../shared/json-text.ts";
import { deviceById, feedById } from "../../sim/by-id.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { cables, capital, counted, listed, theCable, theDevice } from "../../sim/tell/words.ts";
import type { RigActions } from "../map/rig-actions.ts";
import type { PageContext } from "../page.ts";
import { type NewCable, proposedCable, withCable } from "./cable-edits.ts";
import { freeId, renamed, setClockSources, setName, withDevice } from "./rig-edits.ts";
import { type Goes, removed } from "./rig-removal.ts";

export function rigActions({ room, run }: PageContext): RigActions {
  const { plan } = run;
  const nameIn = (kind: "device" | "feed", id: string) => {
    if (kind === "feed") return feedById(plan, id)?.name ?? id;
    const device = deviceById(plan, id);
    return device === undefined ? id : theDevice(device);
  };
  /** What the texts come to; null where they cannot be worked on. */
  const asked = <T>(ask: (files: ScenarioTexts) => T): T | null => {
    const files = room.workspace.files();
    if (files === null) return null;
    try {
      return ask(files);
    } catch (error) {
      if (error instanceof EditError) return null;
      throw error;
    }
  };
  const proposedIn = (files: ScenarioTexts, one: string, other: string, spareOf?: string): NewCable => {
    const cable = proposedCable(files, one, other, spareOf ?? null);
    const name = spareOf === undefined ? `${cable.from}-${cable.to}` : `${spareOf}-spare`;
    return { id: freeId(files, "link", name), ...cable };
  };
  return {
    rename(kind, id, { id: to, name }) {
      const change = (files: ScenarioTexts) => {
        const there = renamed(files, kind, id, to);
        return kind === "device" && name !== undefined ? setName(there, "device", to, name) : there;
      };
      return room.editFiles(`another name for ${id}`, change);
    },
    setSources: (device, sources) =>
      room.editFiles(`clock sources of ${device}`, (files) => setClockSources(files, device, sources)),
    goesWith: (kind, id) => asked((files) => goingWords(removed(files, kind, id).goes, nameIn)) ?? "",
    remove: (kind, id) => room.editFiles(`take out ${id}`, (files) => removed(files, kind, id).files),
    proposed: (one, other, spareOf) => asked((files) => proposedIn(files, one, other, spareOf)),
    join: (cable) => room.editFiles(`add the cable ${cable.id}`, (files) => withCable(files, cable)),
    add: (device, cable) => room.editFiles(`add ${device.id}`, (files) => withCable(withDevice(files, device), cable)),
    proposedFor: (name, kind, joinedTo) =>
      asked((files) => {
        const id = freeId(files, "device", name);
        return { id, cable: proposedIn(withDevice(files, { id, name, kind }), joinedTo, id) };
      }),
  };
}

const MOST_NAMED = 4;

/** "With it go cable foh-pa, the feed PA mix and two events. The stage box is left on its own clock." */
export function goingWords(goes: Goes, nameIn: (kind: "device" | "feed", id: string) => string): string {
  const ids = (all: readonly string[], one: string, many: string) =>
    all.length === 0 ? [] : [`${all.length === 1 ? one : many} ${listed(all)}`];
  const count = (number: number, one: string, many: string) => (number === 0 ? [] : [counted(number, one, many)]);
  const feeds = goes.feeds.map((id) => nameIn("feed", id));
  const all = [
    ...(goes.links.length > MOST_NAMED ? [cables(goes.links)] : goes.links.map(theCable)),
    ...ids(goes.spares, "the spare group", "the spare groups"),
    ...ids(feeds, "the feed", "the feeds"),
    ...ids(goes.supplies, "the supply", "the supplies"),
    ...count(goes.events, "event", "events"),
    ...count(goes.expectations, "expectation", "expectations"),
    ...count(goes.accepted, "accepted finding", "accepted findings"),
  ];
  const who = (devices: readonly string[]) => listed(devices.map((id) => nameIn("device", id)));
  const { leftAlone } = goes;
  const elsewhere = goes.heardThere.filter((id) => !leftAlone.includes(id));
  const alone = leftAlone.length === 1 ? "is left on its own clock" : "are left on their own clocks";
  const listens = elsewhere.length === 1 ? "listens" : "listen";
  return [
    ...(all.length === 0 ? [] : [`With it ${all.length === 1 ? "goes" : "go"} ${listed(all)}.`]),
    ...(leftAlone.length === 0 ? [] : [`${capital(who(leftAlone))} ${alone}.`]),
    ...(elsewhere.length === 0 ? [] : [`${capital(who(elsewhere))} no longer ${listens} there.`]),
  ].join(" ");
}
