/** Each sheet's data on the rig at Lantern Quay, whose answers are known. */
import { describe, expect, it } from "vitest";
import { nsFromSeconds } from "../../shared/time.ts";
import { cablesSheet, labelsOf } from "../../sim/paperwork/cables.ts";
import { channelsSheet } from "../../sim/paperwork/channels.ts";
import { clockPlan } from "../../sim/paperwork/clock-plan.ts";
import { poweredUp, powerSteps, powerUpSheet } from "../../sim/paperwork/power-up.ts";
import { Rehearser, sightsAt } from "../../sim/paperwork/rehearsed.ts";
import { settingsSheet } from "../../sim/paperwork/settings.ts";
import type { Sheet } from "../../sim/paperwork/sheet.ts";
import { walkOf } from "../../sim/paperwork/walk.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { asPlanned } from "../../sim/trials/moments.ts";
import { shippedPlan, shippedPlans } from "../helpers/shipped.ts";

const { plan: quay } = asPlanned(shippedPlan("leader-reboot.json"));
const rowsOf = ({ sections }: Sheet) => sections.flatMap(({ rows }) => rows);
const rowOf = (sheet: Sheet, name: string) => rowsOf(sheet).find(([first]) => first?.split("\n")[0] === name);

describe("the walk", () => {
  it("begins at the leader, and comes by what short cables join at once", () => {
    expect(walkOf(quay).map(({ devices, by }) => [devices.map(({ id }) => id).join(" "), by?.id])).toEqual([
      ["foh", undefined],
      ["pa", "foh-pa"],
      ["stage", "foh-stage"],
      ["mon ears rec", "mon-stage"],
      ["truck", "stage-truck"],
    ]);
  });

  it("comes by every device of every rig once, the same whatever their order in the plan", () => {
    for (const [name, plan] of shippedPlans()) {
      const walked = walkOf(plan).flatMap(({ devices }) => devices.map(({ id }) => id));
      expect(walked.toSorted(), name).toEqual(plan.devices.map(({ id }) => id).toSorted());
      const turned = { ...plan, links: plan.links.toReversed() };
      expect(
        walkOf(turned).flatMap(({ devices }) => devices.map(({ id }) => id)),
        name,
      ).toEqual(walked);
    }
  });
});

describe("the clock plan", () => {
  it("says whom each follows, and whom next", () => {
    const sheet = clockPlan(quay);
    expect(sheet.lead[0]).toBe("FOH desk leads at 48 kHz. Next in line: Monitor desk.");
    expect(rowOf(sheet, "FOH desk")?.[1]).toBe("Leads");
    expect(rowOf(sheet, "Stage box")).toEqual([
      ...["Stage box", "FOH desk\nport 1, cable foh-stage", "Monitor desk\nport 2, cable mon-stage"],
      ...["Goes back by itself, at once", ""],
    ]);
    expect(rowOf(sheet, "PA processor")?.[2]).toBe("Its own clock, at once");
  });
});

describe("the settings sheet", () => {
  it("has what to set, and what each should show in a rig at rest", () => {
    const rehearser = new Rehearser(quay, nsFromSeconds(600));
    const sheet = settingsSheet(quay, sightsAt(rehearser.play([], 1), rehearser.atNs));
    expect(sheet.sections.map(({ title }) => title)).toContain(
      "3. Around the stage box: 90 m of cable foh-stage, along the quay wall",
    );
    const [, set, ports, seen] = rowOf(sheet, "Stage box")!;
    expect(set).toMatch(/^48 kHz\nClock source 1: port 1\nClock source 2: port 2\n/);
    expect(ports).toContain("2: mon-stage to monitor desk port 2, takes clock");
    expect(seen).toContain("Reads: clock source port 1 (FOH desk); 48 kHz.");
    expect(rowOf(sheet, "FOH desk")?.[3]).toContain("it follows nobody");
  });

  it("marks what nobody has entered, and has no wait where there is nothing to wait for", () => {
    const base = shippedPlan("main-out-good-spare.json");
    const rehearser = new Rehearser(base, nsFromSeconds(600));
    const rest = sightsAt(rehearser.play([], 1), rehearser.atNs);
    const sheet = settingsSheet(base, rest);
    expect(rowOf(sheet, "Stage box")![1]).toContain("Waits 0.3 s before it believes a loss (assumed)");
    for (const name of ["FOH desk", "PA processor"]) expect(rowOf(sheet, name)![1]).not.toContain("believes");
    const entered = { ...base, assumptions: (base.assumptions ?? []).filter(({ name }) => name !== "holdOffSeconds") };
    expect(rowOf(settingsSheet(entered, rest), "Stage box")![1]).toMatch(/believes a loss(?:\n|$)/);
  });
});

describe("the power-up order", () => {
  it("marks boot times that nobody has entered, and what is off as the show begins", () => {
    const guest = { ...quay.devices.find(({ id }) => id === "truck")!, atStart: "off" as const };
    const plan = { ...quay, devices: quay.devices.map((device) => (device.id === guest.id ? guest : device)) };
    const assumed = new Set(
      (quay.assumptions ?? []).flatMap(({ on, name, ids }) => (on === "device" && name === "bootSeconds" ? ids : [])),
    );
    expect(assumed.size).toBeGreaterThan(0);
    expect(assumed.size).toBeLessThan(quay.devices.length);
    const sheet = powerUpSheet(plan);
    for (const { id, name } of quay.devices)
      expect(rowOf(sheet, name)![2]!.endsWith(" (assumed)"), id).toBe(assumed.has(id));
    expect(rowOf(sheet, guest.name)![0]).toBe(`${guest.name}\noff as the show begins`);
  });
});

describe("the cable schedule", () => {
  it("has two cables for a link with a return, and one for a line with taps", () => {
    const sheet = cablesSheet(quay);
    expect(rowOf(sheet, "foh-stage there")?.slice(2, 5)).toEqual(["Stage box port 1", "FOH desk port 1", "90"]);
    expect(rowOf(sheet, "foh-stage back")?.slice(2, 4)).toEqual(["FOH desk port 1", "Stage box port 1"]);
    const line = cablesSheet(shippedPlan("word-clock-line.json"));
    const names = rowsOf(line).map(([name]) => name);
    expect(new Set(names).size).toBe(names.length);
    expect(names.some((name) => name?.includes(":"))).toBe(false);
  });

  it("says main and spare, and what is untested", () => {
    const plan = shippedPlan("main-out-good-spare.json");
    expect(rowOf(cablesSheet(plan), "main there")?.slice(5, 7)).toEqual(["main of stage-pair", "untested"]);
    expect(labelsOf(plan).find(({ name }) => name === "spare there")).toMatchObject({
      ends: "Stage box 2 – FOH desk 2",
      about: expect.stringContaining("spare of stage-pair, along the "),
    });
  });
});

describe("the channel budget", () => {
  it("is what the feeds want against what there is", () => {
    const sheet = channelsSheet(quay);
    expect(rowsOf(sheet).find(([, from, to]) => from === "Stage box port 2" && to === "Monitor desk port 2")).toEqual([
      ...["Cable mon-stage", "Stage box port 2", "Monitor desk port 2", "48", "48", "0"],
      "In-ear mixes: 32\nMultitrack: 16",
    ]);
  });
});

describe("the power-up order", () => {
  it("begins with whoever leads, and ends with amplifiers", () => {
    expect(powerSteps(quay).map((step) => step.map(({ id }) => id))).toEqual([
      ["foh"],
      ["pa", "stage", "mon"],
      ["ears", "rec", "truck"],
    ]);
    expect(rowsOf(powerUpSheet(quay)).at(-1)?.[0]).toBe("Amplifiers and powered speakers");
  });

  it("was played from cold: all have come to what they are in a rig at rest", () => {
    const settled = poweredUp(quay);
    const { summary } = rehearse(quay);
    for (const { id, states } of summary.devices) {
      const { state, source } = states[0]!;
      const { sight, afterSeconds } = settled.get(id)!;
      expect([id, sight.source], id).toEqual([id, source]);
      expect(sight.key === "leading" ? "free-run" : sight.key, id).toBe(state);
      const boots = quay.devices.find((device) => device.id === id)!.bootSeconds;
      expect(afterSeconds, id).toBeGreaterThanOrEqual(boots);
      expect(afterSeconds, id).toBeLessThan(boots + 30);
    }
  });
});
