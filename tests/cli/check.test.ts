/** What `check` writes besides text: SARIF, what is accepted, what it refuses. */
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { isSarif } from "../helpers/sarif.ts";
import { pulltest, scratchFolder, smallRig } from "./command.ts";
import { checkShape } from "./summary-shape.ts";

const folder = scratchFolder();

function write(name: string, value: unknown): string {
  writeFileSync(join(folder, name), typeof value === "string" ? value : JSON.stringify(value, null, 2));
  return name;
}

const inFolder = (args: readonly string[]) => pulltest(args, { cwd: folder });

const left = smallRig();
left.rig.devices = left.rig.devices.map((device) => ({ ...device, clockSources: ["internal"] }));
const REASON = "Only for the line check.";
const accepted = [{ rule: "left-on-internal", devices: ["mon"], reason: REASON }];
write("left.json", left);
write("accepted.json", { ...left, accepted });
write("stale.json", { ...smallRig(), accepted });

describe("accepted findings", () => {
  test("do not count for the status, and are listed apart with their reason", () => {
    expect(inFolder(["check", "left.json"]).status).toBe(1);
    const { status, out } = inFolder(["check", "accepted.json"]);
    expect(status).toBe(0);
    const [before, after] = out.split("Accepted, and counted nowhere: 1\n");
    expect(before).not.toContain("left-on-internal");
    expect(after).toContain("error  left-on-internal");
    expect(after).toContain(`Reason:  ${REASON}`);
  });

  test("are apart in JSON as well", () => {
    const { out } = inFolder(["check", "accepted.json", "--json"]);
    const report = checkShape.parse(JSON.parse(out));
    expect(report.errors).toBe(0);
    expect(report.findings.map(({ rule }) => rule)).not.toContain("left-on-internal");
    expect(report.accepted).toMatchObject([{ rule: "left-on-internal", reason: REASON }]);
    expect(report.feeds).toEqual([{ feed: "mix", disjointWays: 1, cuts: [["cable main"], ["path quay wall"]] }]);
  });

  test("that nothing answers to are a finding at their own place", () => {
    const { status, out } = inFolder(["check", "stale.json"]);
    expect(status).toBe(0);
    const line = Number(/stale\.json:(\d+):\d+ {2}advice {2}acceptance-unused/.exec(out)?.[1]);
    const lines = readFileSync(join(folder, "stale.json"), "utf8").split("\n");
    expect(lines[line]).toContain('"rule": "left-on-internal"');
  });
});

describe("--sarif", () => {
  const results = (name: string) => {
    const log: unknown = JSON.parse(readFileSync(join(folder, name), "utf8"));
    if (!isSarif(log)) throw new Error(JSON.stringify(isSarif.errors));
    return log.runs[0]!.results;
  };

  test("writes every finding at its line, and what is accepted as suppressed", () => {
    const { status, err } = inFolder(["check", "accepted.json", "--sarif", "quay.sarif"]);
    expect(status).toBe(0);
    expect(err).toMatch(/^Wrote quay\.sarif: \d+ results, SARIF 2\.1\.0\.\n$/);
    const one = results("quay.sarif").find(({ ruleId }) => ruleId === "left-on-internal")!;
    expect(one.suppressions.map(({ justification }) => justification)).toEqual([REASON]);
    const { artifactLocation, region } = one.locations[0]!.physicalLocation;
    expect(artifactLocation.uri).toBe("accepted.json");
    expect(readFileSync(join(folder, "accepted.json"), "utf8").split("\n")[region.startLine - 1]).toContain(
      "clockSources",
    );
  });

  test("replaces a report of ours, and nothing else without being told to", () => {
    inFolder(["check", "left.json", "--sarif", "again.sarif"]);
    expect(inFolder(["check", "left.json", "--sarif", "again.sarif"]).status).toBe(1);
    write("theirs.sarif", { version: "2.1.0", runs: [{ tool: { driver: { name: "another" } } }] });
    const refused = inFolder(["check", "left.json", "--sarif", "theirs.sarif"]);
    expect(refused.status).toBe(2);
    expect(refused.err).toContain("theirs.sarif is there already and is no report of ours; --force overwrites it");
    expect(inFolder(["check", "left.json", "--sarif", "theirs.sarif", "--force"]).status).toBe(1);
    expect(results("theirs.sarif").length).toBeGreaterThan(0);
  });

  test("never replaces what is being read, and is not written when the plan cannot be read", () => {
    const { status, err } = inFolder(["check", "left.json", "--sarif", "left.json", "--force"]);
    expect(status).toBe(2);
    expect(err).toContain("is what is being read");
    write("broken.json", { ...left, accepted: [{ rule: "no-such-rule", reason: "x" }] });
    expect(inFolder(["check", "broken.json", "--sarif", "none.sarif"]).status).toBe(2);
    expect(existsSync(join(folder, "none.sarif"))).toBe(false);
  });
});
