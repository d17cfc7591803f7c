/** Surface, engine and all of a device take their own times to boot; either part takes as long as the whole unless it is said. */
import { expect, test } from "vitest";
import { meaningOf } from "../../sim/meaning.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { example } from "../helpers/example.ts";
import { plan } from "../helpers/rig.ts";

type Part = "surface" | "engine" | "all";

/** Seconds from a reboot of a part at 60 s until that part works again. */
function down(part: Part, times: object, device = "stage"): number {
  const scenario = structuredClone(example()) as unknown as { rig: { devices: Record<string, unknown>[] } };
  for (const each of scenario.rig.devices) if (each.id === device) Object.assign(each, times);
  const { record } = rehearse(
    plan({ ...scenario, events: [{ at: "00:01:00", do: "reboot", device, part }], expect: [] }),
  );
  const own = record.rows.filter(({ subject, atNs }) => subject === `device ${device}` && atNs >= 60e9);
  const ends = own.filter(({ fact }) =>
    part === "surface" ? fact.kind === "surface" && fact.works : fact.kind === "clock" && fact.state !== "starting",
  );
  return ((ends[0]?.atNs ?? Number.NaN) - 60e9) / 1e9;
}

test("each part takes its own time", () => {
  const times = { bootSeconds: 75, surfaceBootSeconds: 20, engineBootSeconds: 41.5 };
  expect((["surface", "engine", "all"] as const).map((part) => down(part, times))).toEqual([20, 41.5, 75]);
});

test("a part of which nothing is said takes as long as all of it", () => {
  expect((["surface", "engine", "all"] as const).map((part) => down(part, { bootSeconds: 33 }))).toEqual([33, 33, 33]);
});

test("the time of a part is assumed until it is written, and only where that part alone reboots", () => {
  const assumed = (part: Part, times: object) => {
    const scenario = structuredClone(example()) as unknown as { rig: { devices: Record<string, unknown>[] } };
    for (const each of scenario.rig.devices) if (each.id === "stage") Object.assign(each, times);
    const events = [{ at: "00:01:00", do: "reboot", device: "stage", part }];
    return plan({ ...scenario, events, expect: [] }).assumed.filter((line) => /boot\w*Seconds/i.test(line));
  };
  expect(assumed("surface", { bootSeconds: 33 })).toEqual(["surfaceBootSeconds 33 s: stage"]);
  expect(assumed("engine", {})).toEqual(["engineBootSeconds 20 s: stage"]);
  expect(assumed("all", {})).toEqual([]);
  expect(assumed("surface", { surfaceBootSeconds: 5 })).toEqual([]);
});

test("the meaning of a rig has a part's time only where it differs from the whole", () => {
  const meant = (times: object) => {
    const scenario = structuredClone(example()) as unknown as { rig: { devices: Record<string, unknown>[] } };
    for (const each of scenario.rig.devices) if (each.id === "stage") Object.assign(each, times);
    return meaningOf(plan(scenario)).devices.stage;
  };
  expect(meant({ bootSeconds: 33, surfaceBootSeconds: 33 })).toEqual(meant({ bootSeconds: 33 }));
  expect(meant({ bootSeconds: 33, surfaceBootSeconds: 34 })).toMatchObject({ surfaceBootSeconds: 34 });
});
