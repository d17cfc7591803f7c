/**
 * Every shipped scenario and every template through the real command, as it is printed: what has changed is seen by
 * whoever changes it. To accept what is printed now: npm run golden.
 */
import { describe, expect, test } from "vitest";
import { SHIPPED } from "../helpers/shipped.ts";
import { pulltest } from "./command.ts";

const scenarios = SHIPPED;
const HOW = "what is printed has changed; to accept it: npm run golden";

test("there are scenarios to play", () => expect(scenarios.length).toBeGreaterThanOrEqual(14));

describe.each(scenarios)("%s", (name) => {
  const file = `scenarios/${name}`;

  test("rehearse", async () => {
    const { status, out, err } = pulltest(["rehearse", file]);
    expect({ status, err }, out).toEqual({ status: 0, err: "" });
    await expect(withoutVersion(out), HOW).toMatchFileSnapshot(`../golden/${name.replace(".json", ".txt")}`);
  });

  test("check", async () => {
    const { out, err } = pulltest(["check", file]);
    expect(err).toBe("");
    await expect(out, HOW).toMatchFileSnapshot(`../golden/${name.replace(".json", ".check.txt")}`);
  });
});

test("why, through a failure and a return", async () => {
  const questions = [
    "stage@00:20:05",
    "mon@00:20:05",
    "pa-mix@00:20:05",
    "rec@00:22:00",
    "foh-stage@00:22:00",
    "foh@00:00:01",
  ];
  const asked = questions.flatMap((question) => ["--why", question]);
  const { status, out, err } = pulltest(["rehearse", "scenarios/leader-reboot.json", ...asked]);
  expect({ status, err }, out).toEqual({ status: 0, err: "" });
  await expect(withoutVersion(out), HOW).toMatchFileSnapshot("../golden/leader-reboot.why.txt");
});

test("a leader's return under five policies", async () => {
  const { status, out, err } = pulltest(["rehearse", "scenarios/leader-reboot.json", "--return-policies"]);
  expect({ status, err }, out).toEqual({ status: 0, err: "" });
  await expect(withoutVersion(out), HOW).toMatchFileSnapshot("../golden/leader-reboot.policies.txt");
});

const PAIR = ["scenarios/house-system.json", "scenarios/touring-company.json", "--names", "house,tour"];

test("two companies' plans, and what joins them", async () => {
  const asked = pulltest(["merge", ...PAIR]);
  expect({ status: asked.status, err: asked.err }, asked.out).toEqual({ status: 0, err: "" });
  await expect(asked.out, HOW).toMatchFileSnapshot("../golden/house-and-tour.conflicts.txt");
  const joined = pulltest(["merge", ...PAIR, "--join", "matrix.4=foh.7"]);
  expect({ status: joined.status, err: joined.err }, joined.out).toEqual({ status: 0, err: "" });
  await expect(joined.out, HOW).toMatchFileSnapshot("../golden/house-and-tour.merge.txt");
});

/** A new version is no new result. */
function withoutVersion(out: string): string {
  return out.replace(/pulltest \d+\.\d+\.\d+\S*/, "pulltest (version)");
}
