/** `pulltest rehearse --return-policies`: what is printed, as data, and what is refused. */
import { existsSync, readFileSync, writeFileSync } from "node:fs";
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
    expect(Object.keys(told)).toEqual([...["schemaVersion", "scenario", "seed", "comparisons", "assumed"]]);
    expect(told).toMatchObject({ schemaVersion: 1, seed: "quay-1" });
    expect(told.comparisons).toHaveLength(1);
    const [compared] = told.comparisons;
    expect(Object.keys(compared)).toEqual(["absence", "otherAbsences", "shiftsSeconds", "policies", "advice"]);
    expect(compared.absence).toMatchObject({ leader: "foh", how: "reboot" });
    expect(compared.policies.map(({ policy }: { policy: string }) => policy)).toEqual([...POLICIES]);
    for (const { outcome } of compared.policies) expect(outcome).toMatchObject({ runs: compared.shiftsSeconds.length });
    expect(ask(REBOOT, "--json").out).toBe(out);
  });
});

describe("beside --html", () => {
  const page = (name: string) => readFileSync(join(folder, name), "utf8");
  const holds = (name: string) => /"policies":\[\{"absence"/.test(page(name));

  test("the page has it, what is printed is the comparison", () => {
    const { status, out, err } = ask(REBOOT, "--html", join(folder, "asked.html"));
    expect({ status, err }).toEqual({ status: 0, err: expect.stringContaining("Wrote ") });
    expect(out).toBe(ask(REBOOT).out);
    expect(holds("asked.html")).toBe(true);
  });

  test("without being asked for where it takes little, and what is printed is the outcome", () => {
    const { out } = pulltest(["rehearse", REBOOT, "--html", join(folder, "small.html")]);
    expect(out).toBe(pulltest(["rehearse", REBOOT]).out);
    expect(page("small.html")).toBe(page("asked.html"));
  });

  test("only when asked for where it takes long", () => {
    const reboots = Array.from({ length: 40 }, (_, index) => `foh@00:${String(20 + index).padStart(2, "0")}:00`);
    const twice = reboots.slice(0, 2).flatMap((each) => ["--reboot", each]);
    const many = reboots.flatMap((each, index) => (index % 4 === 0 ? ["--reboot", each] : []));
    pulltest(["rehearse", "scenarios/leader-stage-box.json", "--html", join(folder, "none.html")]);
    pulltest(["rehearse", REBOOT, ...twice, "--html", join(folder, "twice.html")]);
    pulltest(["rehearse", REBOOT, ...many, "--html", join(folder, "many.html")]);
    expect(["none.html", "twice.html", "many.html"].map(holds)).toEqual([false, true, false]);
  });

  test("nothing is written where no leader comes back", () => {
    const file = join(folder, "no-leader.html");
    expect(ask("scenarios/two-clocks.json", "--html", file).status).toBe(2);
    expect(existsSync(file)).toBe(false);
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
    ["--phase-csv", "phase.csv"],
    ["--vcd", "run.vcd"],
  ])("%s beside it", (...args) => {
    const { status, out, err } = ask(REBOOT, ...args);
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toContain(
      "--return-policies takes only --html beside it; ask for --why and for other files in a run of their own",
    );
  });

  test("a file with problems, all at once", () => {
    const { status, err } = pulltest(["rehearse", "-", "--return-policies", "--reboot", "foh"], { input: "{" });
    expect(status).toBe(2);
    expect(err).toContain("--reboot foh: expected DEVICE@TIME");
    expect(err).toContain("(standard input)");
  });
});
