/** A fault that is written into its file is, read back, the fault that was tried. */
import { readdirSync, readFileSync } from "node:fs";
import { expect, test } from "vitest";
import type { EventPlan } from "../../shared/plan.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { readTexts } from "../../sim/plan-of.ts";
import { FAULT_KINDS, faultsIn, withFaults } from "../../sim/trials/list.ts";
import { asPlanned } from "../../sim/trials/moments.ts";
import { isSamePlan, withFaultAlone } from "../../viewer/hurt/rehearse-one.ts";

const texts = Object.fromEntries(
  readdirSync("scenarios")
    .filter((name) => /^[^.]+(\.rig|\.library)?\.json$/.test(name))
    .map((name) => [name, readFileSync(`scenarios/${name}`, "utf8")]),
);
/** No shipped rig shares a supply: two devices of one that do, and it has a battery for a minute. */
const onBattery = (texts["own-clock.json"] as string)
  .replace(/"id": "(foh|mon)",/g, '"id": "$1", "power": ["stage left"],')
  .replace('"rig": {', '"rig": { "supplies": [{ "id": "stage left", "batterySeconds": 60 }],');
/** No event of a show and no repair falls on it. */
const AT = nsFromSeconds(601.5);
/** Sources that are set right may be so by an event of their own. */
const told = (events: readonly EventPlan[]) =>
  events.map(({ written: _, undoes, ...event }) => ({
    ...event,
    undoes: event.do === "set-clock-sources" ? null : undoes,
  }));

test("every kind of fault of every shipped scenario, beside whatever its show plans", () => {
  const met = new Set<string>();
  let longer = 0;
  for (const [main, text] of Object.entries({ ...texts, "on-a-battery.json": onBattery })) {
    if (main.includes(".rig.") || main.includes(".library.")) continue;
    const { plan } = readTexts({ main, texts: { ...texts, [main]: text } });
    if (plan === null) throw new Error(`${main} cannot be read`);
    const planned = asPlanned(plan).plan;
    // A few of each kind are enough where a rig has hundreds.
    const [first, ...others] = planned.devices;
    const slower = { ...planned, devices: [{ ...first!, bootSeconds: first!.bootSeconds + 1 }, ...others] };
    expect(isSamePlan(slower, planned)).toBe(false);
    const faults = faultsIn(planned);
    const tried = faults.filter((fault, place) => faults[place - 3]?.kind !== fault.kind);
    for (const fault of tried) {
      const made = withFaultAlone(text, plan, fault, AT, 700);
      const { plan: read, issues } = readTexts({ main, texts: { ...texts, [main]: made } });
      if (read === null) throw new Error(`${main}, ${fault.id}: ${JSON.stringify(issues)}`);
      expect(told(read.events), `${main}, ${fault.id}`).toEqual(told(withFaults(planned, [fault], AT).events));
      // In whichever order a page has who listens. A lost setting, or a guest's cable, looks like one of the plan.
      if (fault.kind === "reboot" || fault.kind === "hang")
        expect(isSamePlan({ ...read, feeds: read.feeds.toReversed() }, planned), `${main}, ${fault.id}`).toBe(true);
      if (read.lengthNs > plan.lengthNs) longer += 1;
      met.add(fault.kind);
    }
  }
  expect([...met].sort()).toEqual([...FAULT_KINDS].sort());
  expect(onBattery.match(/stage left/g)).toHaveLength(3);
  expect(longer).toBeGreaterThan(0);
});
