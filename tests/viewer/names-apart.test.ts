/** Names that run the other way are set apart in sentences; others are left alone, or a search would not find them. */
import { expect, test } from "vitest";
import { namesApart } from "../../viewer/run.ts";
import { buildRun, device, RIGHT_TO_LEFT_NAME } from "../browser/fixture.ts";

test("a name from right to left, or with a sign that turns what follows, cannot turn the words behind it", () => {
  const turning = "PA\u202eprocessor";
  const run = buildRun({
    devices: [
      device("foh", RIGHT_TO_LEFT_NAME, ["internal"]),
      device("pa", turning, ["1"]),
      device("stage", "Stage box", ["1"]),
    ],
  });
  expect(
    namesApart(run)(`Turn it down at the ${turning} before ${RIGHT_TO_LEFT_NAME} is back. Stage box follows.`),
  ).toBe(
    `Turn it down at the \u2068${turning}\u2069 before \u2068${RIGHT_TO_LEFT_NAME}\u2069 is back. Stage box follows.`,
  );
});
