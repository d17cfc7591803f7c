/** A fault of ours: status 3, what failed, and the one command that shows it again. */
import { cpSync, rmSync } from "node:fs";
import { join, resolve } from "node:path";
import { expect, test } from "vitest";
import { pulltest, scratchFolder } from "./command.ts";

const folder = scratchFolder();

test("an installation that has lost its page says so in two lines, and the stack only where it is asked for", () => {
  // The run itself is whole; what is broken is the command.
  cpSync("cli/dist", folder, { recursive: true });
  rmSync(join(folder, "page.html"));
  const command = join(folder, "pulltest.cjs");
  const args = ["rehearse", resolve("scenarios/two-clocks.json"), "--html", join(folder, "it's here.html")];
  const { status, out, err } = pulltest(args, { command });
  expect({ status, out }).toEqual({ status: 3, out: "" });
  const [first, second, ...rest] = err.split("\n");
  expect(first).toMatch(/^pulltest: a fault in Pulltest itself, not in your input: .*page\.html/);
  expect(second).toMatch(
    /^Reproduce: PULLTEST_DEBUG=1 pulltest rehearse \S+two-clocks\.json --html '.*it'\\''s here\.html'$/,
  );
  expect(rest).toEqual([""]);

  const told = pulltest(args, { command, env: { PULLTEST_DEBUG: "1" } });
  expect(told.status).toBe(3);
  expect(told.err).toContain("page.html");
});
