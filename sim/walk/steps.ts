/**
 * A pull test as somebody walks through it with a telephone in the hand: one pull after another in walking order, each with
 * what should be seen and heard and when the sound should be back. Plain data, since it goes through workers and drafts.
 */
import type { Plan } from "../../shared/plan.ts";
import { deviceOf, linkById } from "../by-id.ts";
import { doWords, dutyWords, heardWords, inWalkingOrder, seenWords } from "../paperwork/pull-sheet.ts";
import { type Pull, pullTest } from "../paperwork/pulls.ts";
import type { SoundBack } from "../paperwork/sound-back.ts";
import { stampOf } from "../stamp.ts";
import { theCableIn, theDevice } from "../tell/words.ts";
import { testedWords } from "../tested.ts";
import { singleFaults, WANTED } from "../trials/setup.ts";

export interface WalkStep {
  /** "cable-out main", "reboot foh"; of cables that go together joined by " and ". */
  readonly id: string;
  /** Cables with an entry of their own in the file that are out as a whole. */
  readonly links: readonly string[];
  /** That is rebooted; null: another thing is pulled. */
  readonly device: string | null;
  /** That is switched off; left out: another thing is pulled. */
  readonly supply?: string;
  /** "Pull cable main, FOH desk port 1 to stage box port 2" */
  readonly does: string;
  /** "main cable" */
  readonly what: string;
  readonly exercises: readonly string[];
  readonly tested: string;
  /** How long it stays out; of a reboot how long it boots. */
  readonly outSeconds: number;
  /** Empty: nothing changes. */
  readonly whileOut: readonly string[];
  /** Empty: all is as before. */
  readonly afterwards: readonly string[];
  readonly heard: string;
  readonly soundBack: SoundBack;
  /** Spare groups of which another cable carries meanwhile. */
  readonly switches: readonly string[];
}

export interface Walk {
  /** Of the plan that it was made from. */
  readonly stamp: string;
  readonly title: string;
  readonly steps: readonly WalkStep[];
  /** What no pull of these brings about. */
  readonly undone: readonly string[];
}

/** Takes about as long as a run for each cable and each device. */
export function walkFor(plan: Plan): Walk {
  const { sweep } = singleFaults(plan, WANTED);
  const [standing] = sweep.standings;
  if (standing === undefined) throw new Error("a show stands nowhere");
  const { pulls, undone } = pullTest(sweep.plan, standing.atNs);
  return {
    stamp: stampOf(plan),
    title: plan.title,
    steps: inWalkingOrder(plan, pulls).map((pull) => stepOf(plan, pull)),
    undone: undone.map((duty) => dutyWords(plan, duty)),
  };
}

function stepOf(plan: Plan, pull: Pull): WalkStep {
  const { faults, duties, carriers, backSeconds, harms, soundBack } = pull;
  const [first] = faults;
  const device = first?.kind === "reboot" ? first.on : null;
  const supply = first?.kind === "supply-out" ? first.on : null;
  // One tap of a line that is out says nothing of the line.
  const links = faults.flatMap(({ kind, id, on }) => {
    const link = linkById(plan, on);
    const isWhole = link !== undefined && (link.line === undefined || id.endsWith(" whole"));
    return kind === "cable-out" && isWhole ? [on] : [];
  });
  const cables = links.flatMap((id) => linkById(plan, id) ?? []);
  const firsts = new Map(carriers.toReversed().map(({ spare, link }) => [spare, link]));
  return {
    id: faults.map(({ id }) => id).join(" and "),
    links,
    device,
    ...(supply === null ? {} : { supply }),
    does: doWords(plan, pull),
    what:
      device !== null
        ? theDevice(deviceOf(plan, device))
        : supply !== null
          ? `supply ${supply}`
          : theCableIn(plan, first?.on ?? ""),
    exercises: duties.map((duty) => dutyWords(plan, duty)),
    tested: cables.length === 0 ? "untested" : [...new Set(cables.map((link) => testedWords(plan, link)))].join("; "),
    outSeconds: backSeconds,
    ...seenWords(plan, pull),
    heard: heardWords(plan, harms),
    soundBack,
    switches: [
      ...new Set(
        carriers
          .filter(({ spare, link, afterSeconds }) => afterSeconds < backSeconds && firsts.get(spare) !== link)
          .map(({ spare }) => spare),
      ),
    ],
  };
}
