/** The parts of the page in their order. */
import { compareIn } from "./compare/in-room.ts";
import { hurtIn } from "./hurt/in-room.ts";
import { lessonsIn } from "./lessons/in-room.ts";
import { rigMapPart } from "./map/map.ts";
import type { PagePart, Room } from "./page.ts";
import { eventList } from "./room/event-list.ts";
import { mapActions } from "./room/map-actions.ts";
import { planPart } from "./room/plan-part.ts";
import { rigActions } from "./room/rig-actions.ts";
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
import { shouldSeePart } from "./views/should-see.ts";
import { showPart } from "./views/show.ts";
import { stabilityPart } from "./views/stability.ts";
import { timelinePart } from "./views/timeline.ts";
import { whyPart } from "./views/why.ts";
import { walkIn } from "./walk/part.ts";

export interface Parts {
  readonly parts: readonly PagePart[];
  /** Those that people wait for; the others come once these are on the screen. */
  readonly first: ReadonlySet<PagePart>;
  /** The part that is drawn once more when the policies of a run come after it. */
  readonly returns: PagePart;
}

export function partsFor(room: Room): Parts {
  const lessons = lessonsIn(room, () => localStorage);
  const returns: PagePart = ({ run }) => (run.policiesAreComing === true ? null : policiesPart(run));
  const top: PagePart = ({ run }) => head(run);
  return {
    returns,
    first: new Set([top, followPart, showPart]),
    parts: [
      top,
      followPart,
      (context) => rigMapPart(context, mapActions(context), rigActions(context)),
      planPart,
      walkIn(room, () => localStorage),
      lessons,
      showPart,
      eventList(room),
      hurtIn(room, () => localStorage),
      compareIn(room),
      whyPart,
      shouldSeePart,
      timelinePart,
      takeAwayPart,
      ({ run }) => heardPart(run),
      returns,
      ({ run, lanes }) => devicesPart(run, lanes.all),
      ({ run, lanes }) => networksPart(run, lanes.all),
      stabilityPart,
      findingsPart,
      ({ run }) => expectationsPart(run),
      assumedPart,
      ({ run }) => foot(run),
    ],
  };
}
