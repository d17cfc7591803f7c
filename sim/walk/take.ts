/**
 * What a pull test found, taken into the texts of a scenario: the day on the cables that did as rehearsed, with the stamp
 * of what was pulled; and the numbers that were measured, with their origin. What has changed since is left alone.
 */
import { EditError } from "../../shared/json-text.ts";
import type { Fields } from "../../shared/mentions.ts";
import type { OriginSaid, Plan } from "../../shared/plan.ts";
import type { PullResult, PullResults } from "../../shared/scenario-pull-results.ts";
import { deviceById, linkById, spareById } from "../by-id.ts";
import { type Change, changesBetween } from "../changes.ts";
import { sameOrigin } from "../library/leaves.ts";
import { readTexts } from "../plan-of.ts";
import { changed, entryOf, type RigFiles, rigFilesOf, type Change as TextChange, typeTextOf } from "../rig-files.ts";
import type { ScenarioTexts } from "../run-data.ts";
import { stampOf } from "../stamp.ts";
import { pullStampOf } from "../tested.ts";
import { type Fit, fitsOf } from "./fits.ts";
import { contradicts, isAsRehearsed, isDone } from "./judged.ts";

/** What a result comes to, held against a plan as it is now. */
export interface Weighed {
  /** Null: the very plan that was walked with, or that plan with the numbers that were measured. */
  readonly otherPlan: { readonly stamp: string; readonly changes: readonly Change[] } | null;
  /** Cables that get the day. */
  readonly tested: readonly { readonly link: string; readonly date: string }[];
  /** Cables that did otherwise: a day that they had goes. */
  readonly refuted: readonly string[];
  /** Cables that did as rehearsed, but have changed since, or are gone: they stay untested. */
  readonly changedSince: readonly string[];
  readonly fits: readonly Fit[];
  readonly contradictions: readonly PullResult[];
  /** Skipped, or not come to. */
  readonly open: readonly PullResult[];
}

/** @throws EditError where the plan that was walked with cannot be read out of the result */
export function weighed(plan: Plan, results: PullResults): Weighed {
  const walked = stampOf(plan) === results.plan ? plan : readTexts(results.files).plan;
  if (walked === null) throw new EditError("The plan inside the result cannot be read by this Pulltest.");
  const fits = fitsOf(walked, results);
  // Once they are taken, the plan differs by the numbers that were measured: that is no change of the rig.
  const before = fits.length === 0 ? walked : (readTexts(withNumbers(results.files, fits)).plan ?? walked);
  const cables = new Map<string, { date: string; isMet: boolean }>();
  for (const pull of results.pulls) {
    if (!isDone(pull)) continue;
    for (const link of pull.links) {
      const isMet = isAsRehearsed(pull) && (cables.get(link)?.isMet ?? true);
      cables.set(link, { date: pull.date ?? "", isMet });
    }
  }
  const met = [...cables].filter(([, { isMet }]) => isMet);
  const isSame = (id: string) => {
    const is = linkById(plan, id);
    return is !== undefined && [walked, before].some((each) => stampIn(each, id) === pullStampOf(plan, is));
  };
  const isThatPlan = [walked, before].some((each) => stampOf(each) === stampOf(plan));
  return {
    otherPlan: isThatPlan ? null : { stamp: results.plan, changes: changesBetween(walked, plan) },
    tested: met.filter(([link]) => isSame(link)).map(([link, { date }]) => ({ link, date })),
    refuted: [...cables].filter(([id, { isMet }]) => !isMet && linkById(plan, id) !== undefined).map(([id]) => id),
    changedSince: met.map(([link]) => link).filter((link) => !isSame(link)),
    fits: fits.filter(({ on, id }) => (on === "device" ? deviceById(plan, id) : spareById(plan, id)) !== undefined),
    contradictions: results.pulls.filter(contradicts),
    open: results.pulls.filter((pull) => !isDone(pull)),
  };
}

function stampIn(plan: Plan, id: string): string | null {
  const link = linkById(plan, id);
  return link === undefined ? null : pullStampOf(plan, link);
}

/** One after another: two may be of one device. */
function withNumbers(files: ScenarioTexts, fits: readonly Fit[]): ScenarioTexts {
  return fits.reduce((made, fit) => changed(made, fitChanges(rigFilesOf(made), fit)), files);
}

/**
 * Numbers first: a number that was measured is no change of the rig, so the stamps beside the days are of the plan that
 * has them.
 * @throws EditError where the texts cannot be changed
 */
export function takenInto(
  files: ScenarioTexts,
  { tested, refuted, fits }: Pick<Weighed, "tested" | "refuted" | "fits">,
): ScenarioTexts {
  const measured = withNumbers(files, fits);
  const rigFiles = rigFilesOf(measured);
  const { rigFile: file } = rigFiles;
  const { plan } = readTexts(measured);
  if (plan === null) throw new EditError("With the numbers that were measured the plan cannot be read.");
  const days = [
    ...tested.map(({ link, date }) => {
      const found = linkById(plan, link);
      return { link, value: found === undefined ? undefined : `${date} ${pullStampOf(plan, found)}` };
    }),
    ...refuted.map((link) => ({ link, value: undefined })),
  ];
  return changed(
    measured,
    days.flatMap(({ link, value }): TextChange[] => {
      const entry = entryOf(rigFiles, "links", link);
      return entry === null ? [] : [{ file, path: [...entry.path, "tested"], value }];
    }),
  );
}

/** At the device, whose number it is; and beside the number of its type, which goes on being played as it stands. */
function fitChanges(rigFiles: RigFiles, { on, id, name, value, said }: Fit): TextChange[] {
  const { rigFile: file } = rigFiles;
  if (on === "spare") {
    const spare = entryOf(rigFiles, "spares", id);
    return spare === null ? [] : [{ file, path: [...spare.path, name], value }];
  }
  const device = entryOf(rigFiles, "devices", id);
  if (device === null) return [];
  const type = typeof device.entry.like === "string" ? typeTextOf(rigFiles, device.entry.like) : null;
  return [
    { file, path: [...device.path, ...name.split(".")], value },
    ...originAdded(file, device, name, said),
    ...(type === null ? [] : originAdded(type.file, type, name, said)),
  ];
}

function originAdded(
  file: string,
  { entry, path }: { readonly entry: Fields; readonly path: TextChange["path"] },
  name: string,
  said: OriginSaid,
): TextChange[] {
  const origins = entry.origins as Readonly<Record<string, readonly OriginSaid[] | undefined>> | undefined;
  const known = origins?.[name] ?? [];
  if (known.some((one) => sameOrigin(one, said))) return [];
  const value = [...known, said];
  return [
    origins === undefined
      ? { file, path: [...path, "origins"], value: { [name]: value } }
      : { file, path: [...path, "origins", name], value },
  ];
}
