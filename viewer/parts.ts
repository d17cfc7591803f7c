/** The parts of the page that come after what people wait for. */
import { compareIn } from "./compare/in-room.ts";
import type { LaterParts } from "./first.ts";
import { hurtIn } from "./hurt/in-room.ts";
import { lessonsIn } from "./lessons/in-room.ts";
import { rigMapPart } from "./map/map.ts";
import type { Room } from "./page.ts";
import { eventList } from "./room/event-list.ts";
import { mapActions } from "./room/map-actions.ts";
import { planPart } from "./room/plan-part.ts";
import { rigActions } from "./room/rig-actions.ts";
import { takeAwayPart } from "./takeaway/takeaway.ts";
import { assumedPart } from "./views/assumed.ts";
import { devicesPart } from "./views/devices.ts";
import { expectationsPart } from "./views/expectations.ts";
import { findingsPart } from "./views/findings.ts";
import { foot } from "./views/frame.ts";
import { heardPart } from "./views/heard.ts";
import { networksPart } from "./views/networks.ts";
import { policiesPart } from "./views/policies.ts";
import { shouldSeePart } from "./views/should-see.ts";
import { stabilityPart } from "./views/stability.ts";
import { timelinePart } from "./views/timeline.ts";
import { whyPart } from "./views/why.ts";
import { walkIn } from "./walk/part.ts";

export function partsFor(room: Room): LaterParts {
  return {
    map: (context) => rigMapPart(context, mapActions(context), rigActions(context)),
    plan: planPart,
    walk: walkIn(room, () => localStorage),
    lessons: lessonsIn(room, () => localStorage),
    events: eventList(room),
    hurt: hurtIn(room, () => localStorage),
    compare: compareIn(room),
    why: whyPart,
    shouldSee: shouldSeePart,
    timeline: timelinePart,
    takeAway: takeAwayPart,
    heard: ({ run }) => heardPart(run),
    // Drawn once more when the policies of a run come after it.
    policies: ({ run }) => (run.policiesAreComing === true ? null : policiesPart(run)),
    devices: ({ run, lanes }) => devicesPart(run, lanes.all),
    networks: ({ run, lanes }) => networksPart(run, lanes.all),
    stability: stabilityPart,
    findings: findingsPart,
    expectations: ({ run }) => expectationsPart(run),
    assumed: assumedPart,
    foot: ({ run }) => foot(run),
  };
}
