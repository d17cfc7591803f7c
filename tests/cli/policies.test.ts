/** `pulltest rehearse --return-policies`: what is printed, as data, and what is refused. */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { POLICIES } from "../../sim/policies/variants.ts";
import { pulltest, scratchFolder, smallRig } from "./command.ts";

const folder = scratchFolder();
const REBOOT = "scenarios/leader-reboot.json";
const ask = (...args: string[]) => pulltest(["rehearse", ...args, "--return-policies"]);

describe("the comparison", () => {
  test("of a fault from the command line; a run that misses an expectation is still status 1", () => {
    const file = join(folder, "missed.json");
    const rig = smallRig();
    rig.rig.devices[1]!.clockSources.push("internal");
    writeFileSync(file, JSON.stringify({ ...rig, expect: [{ feed: "mix", silentSeconds: { max: 0 } }] }));
    const { status, out, err } = ask(file, "--reboot", "foh@00:02:00");
    expect({ status, err }).toEqual({ status: 1, err: "" });
    expect(out).toContain("FOH desk leads, reboots at 00:02:00 and is back at 00:03:00: the return is a second fault.");
    expect(out).toContain("Cannot be made here:");
  });

  test("as data: one shape, and the same bytes again", () => {
    const { status, out, err } = ask(REBOOT, "--json");
    expect({ status, err }).toEqual({ status: 0, err: "" });
    const told = JSON.parse(out);
    expect(Object.keys(told)).toEqual([
      ...["schemaVersion", "scenario", "seed", "absence", "laterAbsences", "shiftsSeconds", "policies", "advice"],
      "assumed",
    ]);
    expect(told).toMatchObject({ schemaVersion: 1, seed: "quay-1", absence: { leader: "foh", how: "reboot" } });
    expect(told.policies.map(({ policy }: { policy: string }) => policy)).toEqual([...POLICIES]);
    for (const { outcome } of told.policies) expect(outcome).toMatchObject({ runs: told.shiftsSeconds.length });
    expect(ask(REBOOT, "--json").out).toBe(out);
  });
});

describe("what is refused", () => {
  test("a run in which no leader comes back, with what to do", () => {
    const { status, out, err } = ask("scenarios/two-clocks.json");
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toContain("expected a device that leads, goes away and comes back within the run");
    expect(err).toContain("like --reboot foh@00:20:00");
  });

  test.each([
    ["--why", "foh@00:20:00"],
    ["--html", "run.html"],
    ["--phase-csv", "phase.csv"],
  ])("%s beside it", (...args) => {
    const { status, out, err } = ask(REBOOT, ...args);
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toContain("--return-policies stands alone; leave out --why, --html and --phase-csv");
  });

  test("a file with problems, all at once", () => {
    const { status, err } = pulltest(["rehearse", "-", "--return-policies", "--reboot", "foh"], { input: "{" });
    expect(status).toBe(2);
    expect(err).toContain("--reboot foh: expected DEVICE@TIME");
    expect(err).toContain("(standard input)");
  });
});
