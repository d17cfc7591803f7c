/** What differs between a plan and a variant of it, as one would write it into the scenario file. */
import type { DevicePlan, EventPlan, Plan } from "../../shared/plan.ts";
import { showTime } from "../tell/words.ts";

/** Where a value stands, and what it becomes; or an event that comes or goes. */
export type Edit =
  | { readonly do: "set"; readonly device: string | null; readonly field: string; readonly to: unknown }
  | { readonly do: "add-event" | "remove-event"; readonly event: Readonly<Record<string, unknown>> };

const PTP_FIELDS = ["priority1", "followerOnly"] as const;
const FIELDS = ["clockSources", "ports", "revertive", "waitToRestoreSeconds"] as const;

export function editsOf(plan: Plan, variant: Plan): readonly Edit[] {
  const isSame = (one: unknown, other: unknown) => JSON.stringify(one) === JSON.stringify(other);
  const leaders: Edit[] = isSame(plan.leaders, variant.leaders)
    ? []
    : [{ do: "set", device: null, field: "leaders", to: variant.leaders }];
  const before = new Map(plan.devices.map((device) => [device.id, device]));
  const devices = variant.devices.flatMap((device) => [
    ...FIELDS.filter((field) => !isSame(before.get(device.id)?.[field], device[field])).map(
      (field: keyof DevicePlan): Edit => ({ do: "set", device: device.id, field, to: device[field] }),
    ),
    ...PTP_FIELDS.filter((field) => before.get(device.id)?.ptp?.[field] !== device.ptp?.[field]).map(
      (field): Edit => ({ do: "set", device: device.id, field: `ptp.${field}`, to: device.ptp?.[field] }),
    ),
  ]);
  const written = (all: Plan) => all.events.filter(({ undoes }) => undoes === null).map(eventWords);
  const [was, is] = [written(plan), written(variant)];
  const missing = (from: typeof was, other: typeof was) =>
    from.filter((event) => !other.some((one) => isSame(one, event)));
  return [
    ...leaders,
    ...devices,
    ...missing(was, is).map((event): Edit => ({ do: "remove-event", event })),
    ...missing(is, was).map((event): Edit => ({ do: "add-event", event })),
  ];
}

/** In the words of the file: only orders that a variant adds or takes away come here. */
function eventWords({
  atNs,
  undoes: _undoes,
  written: _written,
  ...deed
}: EventPlan): Readonly<Record<string, unknown>> {
  const milliseconds = Math.round((atNs / 1e6) % 1000);
  const at = showTime(Math.floor(atNs / 1e9));
  return { at: milliseconds === 0 ? at : `${at}.${String(milliseconds).padStart(3, "0")}`, ...deed };
}
