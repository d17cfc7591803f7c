/** `pulltest rehearse --why`: what is asked, what is answered, what is refused. */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, test } from "vitest";
import { pulltest, scratchFolder, smallRig } from "./command.ts";

const folder = scratchFolder();
const REBOOT = "scenarios/leader-reboot.json";

describe("the answer", () => {
  test("stands alone, ends with the sentence that always ends, and the status is the verdict's", () => {
    const { status, out, err } = pulltest(["rehearse", REBOOT, "--why", "stage@00:20:05"]);
    expect({ status, err }).toEqual({ status: 0, err: "" });
    expect(out).toContain("At 00:20:05 the stage box is locked to port 2 (monitor desk), since 00:20:01.320.");
    expect(out).toMatch(/^00:20:00 {6}FOH desk reboots\.$/m);
    expect(out).not.toContain("expectation");
    expect(out.trimEnd().split("\n").at(-1)).toMatch(/^A rehearsal with \d+ assumed numbers, not a test\./);
  });

  test("a missed expectation is still status 1", () => {
    const file = join(folder, "missed.json");
    writeFileSync(file, JSON.stringify({ ...smallRig(), expect: [{ feed: "mix", silentSeconds: { min: 5 } }] }));
    expect(pulltest(["rehearse", file, "--why", "mon@00:01:00"]).status).toBe(1);
  });

  test("times as people say them, several questions, faults of the command line", () => {
    const { out } = pulltest([
      "rehearse",
      REBOOT,
      "--cut",
      "quay wall@00:40:00",
      "--why",
      "pa-mix@21 min",
      "--why",
      "stage@0h40m10s",
    ]);
    expect(out).toContain("At 00:21:00 the PA is silent");
    expect(out).toContain("At 00:40:10 the stage box");
    expect(out).toContain("Everything laid along the quay wall is cut");
  });

  test("as data: each step with its row, its instant, its kind of cause and the line that tells it", () => {
    const { status, out } = pulltest(["rehearse", REBOOT, "--json", "--why", "stage@00:20:00.100"]);
    expect(status).toBe(0);
    const { schemaVersion, why } = JSON.parse(out);
    expect(schemaVersion).toBe(1);
    expect(why).toHaveLength(1);
    expect(why[0]).toMatchObject({ asked: "stage@00:20:00.100", atSeconds: 1200.1 });
    const [answer] = why[0].answers;
    expect(answer).toMatchObject({
      subject: { kind: "device", id: "stage" },
      note: "It changes within this second: ask again for 00:20:00.320.",
    });
    expect(answer.steps.map(({ subject, by, atSeconds }: Record<string, unknown>) => [subject, by, atSeconds])).toEqual(
      [
        ["device stage", "message", 1200.01],
        ["link foh-stage back", "timeout", 1200.01],
        ["link foh-stage back", "message", 1200],
        ["device foh", "event", 1200],
        ["world", "event", 1200],
      ],
    );
    expect(answer.steps.at(-1)).toMatchObject({
      fact: { kind: "event", index: 0, do: "reboot" },
      says: "FOH desk reboots.",
    });
    expect(answer.steps.at(-2).says).toBeNull();
    expect(answer.steps.every(({ row }: { row: number }) => Number.isInteger(row))).toBe(true);
  });
});

describe("what cannot be asked", () => {
  test("is refused all at once, with what was meant", () => {
    const { status, out, err } = pulltest([
      ...["rehearse", REBOOT, "--why", "stagge@00:20:00", "--why", "foh@9:00", "--why", "foh"],
      ...["--why", "foh@40:00:00", "--why", "nobody-here@00:01:00", "--why", "@00:01:00"],
    ]);
    expect({ status, out }).toEqual({ status: 2, out: "" });
    expect(err).toContain(
      '--why stagge@00:20:00: expected the id of a device, a link or a feed of the scenario, received "stagge"; did you mean stage',
    );
    expect(err).toContain(
      'received "9:00"; for 9 min write 00:09:00; as hours and minutes it is 09:00:00, after the end of the show',
    );
    expect(err).toContain("--why foh: expected WHAT@TIME");
    expect(err).toMatch(
      /--why foh@40:00:00: expected an instant within the run, which ends at 0\d:\d\d:00, received "40:00:00"; choose an earlier one/,
    );
    expect(err).toMatch(/--why nobody-here@00:01:00: .*; choose one of /);
    expect(err).toContain("--why @00:01:00: expected WHAT@TIME");
    expect(err).toContain("nothing was played");
  });

  test("stands beside what is wrong with the file", () => {
    const { status, err } = pulltest(["rehearse", "-", "--why", "foh"], { input: "{" });
    expect(status).toBe(2);
    expect(err).toContain("--why foh: expected WHAT@TIME");
    expect(err).toContain("(standard input)");
  });
});
