/**
 * A leader's return under another policy, as files that an engine plays: the scenario's own texts with that policy
 * written into them.
 */
import { parse } from "jsonc-parser";
import { setAt } from "../../shared/json-text.ts";
import type { DevicePlan, EventPlan, Plan } from "../../shared/plan.ts";
import { deviceById } from "../../sim/by-id.ts";
import { nameOf } from "../../sim/lanes/lane.ts";
import { type Absence, absencesOf } from "../../sim/policies/absence.ts";
import { editsOf } from "../../sim/policies/edits.ts";
import { type Policy, variantsOf } from "../../sim/policies/variants.ts";
import { neverDownIn } from "../../sim/policies.ts";
import { plainName, type ScenarioTexts } from "../../sim/run-data.ts";
import { policyName } from "../../sim/tell/policies.ts";
import { showTime } from "../../sim/tell/words.ts";
import type { WrittenEvent } from "../../sim/trials/written.ts";
import { addEvent, removeEvent } from "../room/edits.ts";
import type { Run } from "../run.ts";

export interface PolicyChoice {
  readonly policy: Policy;
  readonly absence: Absence;
  /** "Back after a wait"; with who and when where leaders go away more than once. */
  readonly name: string;
  readonly isAsFiled: boolean;
  /** Null where it cannot be made. */
  readonly plan: Plan | null;
}

/** Of every leader that goes away and comes back; none where nobody does. */
export function policyChoices(run: Run): readonly PolicyChoice[] {
  const { plan } = run;
  const absences = absencesOf(run);
  if (absences.length === 0) return [];
  const neverDown = neverDownIn(run);
  return absences.flatMap((absence) =>
    variantsOf(plan, absence, neverDown).map(({ policy, isAsFiled, plan: made }): PolicyChoice => {
      const of = absences.length === 1 ? "" : ` (${nameOf(plan, absence.leader)}, ${showTime(absence.goneAtSeconds)})`;
      return { policy, absence, name: `${policyName(policy)}${of}`, isAsFiled, plan: made };
    }),
  );
}

/** @param files those that `plan` was read from; null where one of its devices stands in none of them */
export function filesFor(files: ScenarioTexts, plan: Plan, variant: Plan): ScenarioTexts | null {
  const { main } = files;
  const texts = { ...files.texts };
  const rig = rigIn(files);
  if (rig === null) return null;
  const set = (path: readonly (string | number)[], value: unknown) => {
    texts[rig.file] = setAt(texts[rig.file] ?? "", [...rig.path, ...path], value);
  };
  if (String(plan.leaders) !== String(variant.leaders)) set(["leaders"], variant.leaders);
  for (const device of variant.devices) {
    const before = deviceById(plan, device.id);
    const place = rig.devices.indexOf(device.id);
    const changes = before === undefined ? [] : changesOf(before, device);
    if (changes.length > 0 && place < 0) return null;
    for (const { path, value } of changes) set(["devices", place, ...path], value);
  }
  texts[main] = withEvents(texts[main] ?? "", plan, variant);
  return { main, texts };
}

interface Place {
  readonly file: string;
  /** Of the rig in its file. */
  readonly path: readonly string[];
  /** Ids, as they stand there. */
  readonly devices: readonly unknown[];
}

function rigIn({ main, texts }: ScenarioTexts): Place | null {
  const { rig } = objectIn(texts[main]);
  const isNamed = typeof rig === "string";
  const file = isNamed ? plainName(rig) : main;
  const whole = isNamed ? objectIn(texts[file]) : (rig as { devices?: unknown } | undefined);
  const devices = whole?.devices;
  if (!Array.isArray(devices)) return null;
  return { file, path: isNamed ? [] : ["rig"], devices: devices.map((device: { id?: unknown } | null) => device?.id) };
}

function objectIn(text: string | undefined): { readonly rig?: unknown; readonly devices?: unknown } {
  const value: unknown = parse(text ?? "", [], { allowTrailingComma: true });
  return typeof value === "object" && value !== null ? value : {};
}

interface Change {
  readonly path: readonly string[];
  readonly value: unknown;
}

/** What policies change in a device, where a file writes it. */
function changesOf(before: DevicePlan, after: DevicePlan): readonly Change[] {
  const changes: Change[] = [];
  const put = (path: readonly string[], was: unknown, value: unknown) => {
    if (JSON.stringify(was) !== JSON.stringify(value)) changes.push({ path, value });
  };
  put(["clockSources"], before.clockSources, after.clockSources);
  put(["revertive"], before.revertive, after.revertive);
  put(["waitToRestoreSeconds"], before.waitToRestoreSeconds, after.waitToRestoreSeconds);
  put(["ptp", "priority1"], before.ptp?.priority1, after.ptp?.priority1);
  put(["ptp", "followerOnly"], before.ptp?.followerOnly, after.ptp?.followerOnly);
  // A device type may have set a port: so what holds there is written out, which says the same as nothing.
  const clockAt = (device: DevicePlan, port: string) =>
    device.ports[port] ?? (device.clockSources.includes(port) ? "take" : "give");
  for (const port of new Set([...Object.keys(before.ports), ...Object.keys(after.ports)]))
    put(["ports", port, "clock"], before.ports[port], clockAt(after, port));
  return changes;
}

function withEvents(text: string, plan: Plan, variant: Plan): string {
  const edits = editsOf(plan, variant);
  const removed = edits.flatMap((edit) => (edit.do === "remove-event" ? [placeOf(plan, edit.event)] : []));
  const added = edits.flatMap((edit) => (edit.do === "add-event" ? [edit.event as WrittenEvent] : []));
  const without = removed
    .filter((place) => place !== null)
    .sort((one, other) => other - one)
    .reduce(removeEvent, text);
  return added.reduce(addEvent, without);
}

/** Where an order stands in the file. */
function placeOf(plan: Plan, order: Readonly<Record<string, unknown>>): number | null {
  const isIt = (event: EventPlan) => {
    const [own] = editsOf({ ...plan, events: [] }, { ...plan, events: [event] });
    return own?.do === "add-event" && JSON.stringify(own.event) === JSON.stringify(order);
  };
  return plan.events.find((event) => event.undoes === null && isIt(event))?.written ?? null;
}
