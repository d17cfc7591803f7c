/**
 * A leader that goes away and comes back, under five policies side by side: who drops out while it is away, who on its
 * return, who is on whose clock in the end. Each policy is a plan of its own and is played with the same seed. Where
 * leaders go away several times, each time is compared for itself, and what is heard is that of the whole show.
 *
 * Whether a return costs a dropout is luck where it depends on which fraction of a sample the two clocks have come
 * apart by; so each policy is played with the return at several instants, spread over the time in which they come
 * apart by one sample.
 */
import { clockRateAt } from "../shared/clock-phase.ts";
import type { Flow } from "../shared/flow.ts";
import type { Plan } from "../shared/plan.ts";
import type { RunRecord } from "../shared/record.ts";
import { type Ns, nsFromSeconds } from "../shared/time.ts";
import { timebasesOf } from "./lives.ts";
import { type Absence, absencesOf, listenedOver } from "./policies/absence.ts";
import { type Advice, adviceOf } from "./policies/advice.ts";
import { type Edit, editsOf } from "./policies/edits.ts";
import { type Outcome, outcomeOf } from "./policies/outcome.ts";
import { POLICIES, type Policy, variantsOf, whoGoesBack, withLaterOrders } from "./policies/variants.ts";
import { type Run, rehearse } from "./rehearse.ts";
import { pictureAt, statesOf, toldOf } from "./tell/picture.ts";
import { looksOf } from "./timeline.ts";

export interface PolicyOutcome {
  readonly policy: Policy;
  /** The plan has it already. */
  readonly isAsFiled: boolean;
  /** The device whose clock the rig is meant to be on as the show begins; null where the policy cannot be made. */
  readonly leads: string | null;
  /** What was changed, in words; null where the policy cannot be made. */
  readonly words: string | null;
  readonly edits: readonly Edit[];
  /** Why it cannot be made, as half a sentence; else null. */
  readonly whyNot: string | null;
  /** Null where it cannot be made. */
  readonly outcome: Outcome | null;
}

export interface PolicyComparison {
  readonly absence: Absence;
  /** Further absences of leaders in the same run. */
  readonly otherAbsences: number;
  /** By how much later than in the plan the leader is back, run by run; the first is 0. */
  readonly shiftsSeconds: readonly number[];
  /** In the order of the policies. */
  readonly policies: readonly PolicyOutcome[];
  /** Null where there is nothing to choose from. */
  readonly advice: Advice | null;
}

/** Runs of each policy. */
const RETURNS = 8;
/** A return that is later by more than this share of the absence would be another story. */
const SHIFT_SHARE_MAX = 0.25;

/** Rows that a comparison of all absences comes to, about: each policy is played anew, with the return at each instant. */
export function rowsToCompare(run: Run): number {
  return absencesOf(run).length * POLICIES.length * RETURNS * run.record.rows.length;
}

/** By instant; none where no device that leads goes away and comes back in this run. */
export function comparePolicies(run: Run): readonly PolicyComparison[] {
  const absences = absencesOf(run);
  const neverDown = neverDownIn(run);
  return absences.map((absence) => compared(run, absence, { neverDown, otherAbsences: absences.length - 1 }));
}

/** Devices that ran from beginning to end. */
export function neverDownIn({ plan, summary }: Run): ReadonlySet<string> {
  const isUp = (id: string) => statesOf(summary, id).every(({ state }) => state !== "off" && state !== "starting");
  return new Set(plan.devices.map(({ id }) => id).filter(isUp));
}

function compared(
  run: Run,
  absence: Absence,
  { neverDown, otherAbsences }: { readonly neverDown: ReadonlySet<string>; readonly otherAbsences: number },
): PolicyComparison {
  const { plan } = run;
  const shiftsSeconds = shiftsFor(run, absence);
  const policies = variantsOf(plan, absence, neverDown).map((variant): PolicyOutcome => {
    const { policy, isAsFiled, words, whyNot } = variant;
    if (variant.plan === null) return { policy, isAsFiled, leads: null, words, whyNot, edits: [], outcome: null };
    const own = variant.plan;
    const first = isAsFiled ? run : rehearse(own);
    const later = shiftsSeconds.slice(1).map((shift) => rehearse(withLaterReturn(own, absence, shift)));
    return {
      policy,
      isAsFiled,
      leads: policy === "another-leads" ? (own.leaders[0] ?? null) : absence.leader,
      words,
      whyNot,
      edits: editsOf(plan, own),
      outcome: outcomeOf([first, ...later]),
    };
  });
  const played = policies.flatMap(({ policy, outcome }) => (outcome === null ? [] : [{ policy, outcome }]));
  return { absence, otherAbsences, shiftsSeconds, policies, advice: adviceOf(played) };
}

/** Evenly over the time in which the two clocks come apart by one sample. */
function shiftsFor(run: Run, absence: Absence): readonly number[] {
  const most = SHIFT_SHARE_MAX * (absence.backAtSeconds - absence.goneAtSeconds);
  const apart = apartAtReturn(run, absence);
  const span = apart === null || apart === 0 ? most : Math.min(most, 1 / (apart * run.plan.sampleRateHz));
  return Array.from({ length: RETURNS }, (_, index) => (span * index) / RETURNS);
}

/** How far apart in frequency, as the leader is back, its clock and the one that the others are on meanwhile. */
function apartAtReturn({ plan, record, summary }: Run, absence: Absence): number | null {
  const { leader, backAtSeconds } = absence;
  const picture = pictureAt(toldOf({ plan, record, summary }), backAtSeconds - 1e-6);
  const at = nsFromSeconds(backAtSeconds);
  const timebases = timebasesOf(plan);
  const back = firstFlow(record, leader, at);
  const goBack = whoGoesBack(plan, absence);
  const rates = (goBack.length > 0 ? goBack : absence.followers).flatMap((id) => {
    const root = picture.standings.get(id)?.root?.id ?? id;
    const flow = lastFlow(record, root, at);
    return flow === null || root === leader ? [] : [clockRateAt(timebases, flow, at)];
  });
  if (back === null || rates[0] === undefined) return null;
  return Math.abs(clockRateAt(timebases, back, at) - rates[0]);
}

function firstFlow(record: RunRecord, device: string, from: Ns): Flow | null {
  const { changes } = looksOf(record).flows.get(device) ?? { changes: [] };
  return changes.find(({ atNs, value }) => atNs >= from && value !== null)?.value ?? lastFlow(record, device, from);
}

function lastFlow(record: RunRecord, device: string, before: Ns): Flow | null {
  const { changes } = looksOf(record).flows.get(device) ?? { changes: [] };
  return changes.findLast(({ atNs, value }) => atNs <= before && value !== null)?.value ?? null;
}

/** Starting takes longer, or the cables take longer to come up, and who is sent back is sent later; nothing else moves. */
function withLaterReturn(filed: Plan, absence: Absence, shiftSeconds: number): Plan {
  const { leader, how } = absence;
  const plan = withLaterOrders(filed, absence, shiftSeconds);
  if (how !== "unplugged")
    return {
      ...plan,
      devices: plan.devices.map((device) =>
        device.id === leader
          ? {
              ...device,
              bootSeconds: device.bootSeconds + shiftSeconds,
              engineBootSeconds: device.engineBootSeconds + shiftSeconds,
            }
          : device,
      ),
    };
  const links = new Set(
    listenedOver(plan)
      .get(leader)
      ?.map(({ link }) => link),
  );
  return {
    ...plan,
    links: plan.links.map((link) =>
      links.has(link.id) ? { ...link, comingUpSeconds: link.comingUpSeconds + shiftSeconds } : link,
    ),
  };
}
