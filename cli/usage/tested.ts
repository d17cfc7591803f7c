/** `pulltest tested`: what it takes. */
import type { Command } from "commander";
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";

export function addTested(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("tested")
    .summary("what a pull test on site found, held against a plan and taken into it")
    .description(
      "Reads the result of a pull test that was walked through on the page: where the site contradicts the rehearsal, which\n" +
        "cables get the day, which numbers were measured, and what has changed since and stays untested. With --out the files\n" +
        "that change are written into a folder, all or none. Ends with status 1 if the site contradicts the rehearsal.",
    )
    .argument("<file>", "a scenario, or - for standard input")
    .option("--walk <result>", "the result that the page saved")
    .option("--from <table...>", "CSV tables of what else was measured: device, number, value and date")
    .option("--out <folder>", "write the files that change into this folder")
    .option("--force", "replace files that are there, those that were read as well")
    .option("--json", "print what was found as JSON")
    .addHelpText(
      "before",
      examples([
        "tested quay.json --walk pull-test-K7-QF.json",
        "tested quay.json --walk pull-test-K7-QF.json --out . --force",
      ]),
    )
    .action(
      async (file: string, options: { walk?: string; from?: string[]; out?: string; force?: true; json?: true }) => {
        const { testedOnSite } = await import("../verbs/tested.ts");
        const { walk = null, from = [], out = null } = options;
        ends(
          await testedOnSite(
            { file, walk, from, out, force: options.force === true, json: options.json === true },
            io(),
          ),
        );
      },
    );
}
