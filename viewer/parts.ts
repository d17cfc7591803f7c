/** The parts of the page in their order. */
import { compareIn } from "./compare/in-room.ts";
import { lessonsIn } from "./lessons/in-room.ts";
import { rigMapPart } from "./map/map.ts";
import type { PagePart, Room } from "./page.ts";
import { eventList } from "./room/event-list.ts";
import { mapActions } from "./room/map-actions.ts";
import { takeAwayPart } from "./takeaway/takeaway.ts";
import { assumedPart } from "./views/assumed.ts";
import { devicesPart } from "./views/devices.ts";
import { expectationsPart } from "./views/expectations.ts";
import { findingsPart } from "./views/findings.ts";
import { followPart } from "./views/follow.ts";
import { foot, head } from "./views/frame.ts";
import { heardPart } from "./views/heard.ts";
import { networksPart } from "./views/networks.ts";
import { policiesPart } from "./views/policies.ts";
import { showPart } from "./views/show.ts";
import { stabilityPart } from "./views/stability.ts";
import { timelinePart } from "./views/timeline.ts";
import { whyPart } from "./views/why.ts";

/** `returns` is the part that is drawn once more when the policies of a run come after it. */
export function partsFor(room: Room): { readonly parts: readonly PagePart[]; readonly returns: PagePart } {
  const lessons = lessonsIn(room, () => localStorage);
  const returns: PagePart = ({ run }) => (run.policiesAreComing === true ? null : policiesPart(run));
  return {
    returns,
    parts: [
      ({ run }) => head(run),
      followPart,
      (context) => rigMapPart(context, mapActions(context)),
      lessons,
      showPart,
      eventList(room),
      compareIn(room),
      whyPart,
      timelinePart,
      takeAwayPart,
      ({ run }) => heardPart(run),
      returns,
      ({ run, lanes }) => devicesPart(run, lanes.all),
      ({ run, lanes }) => networksPart(run, lanes.all),
      stabilityPart,
      ({ run }) => findingsPart(run),
      ({ run }) => expectationsPart(run),
      ({ run }) => assumedPart(run),
      ({ run }) => foot(run),
    ],
  };
}
