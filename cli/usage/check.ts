/** `pulltest check`: what it takes. */
import type { Command } from "commander";
import { version } from "../../package.json" with { type: "json" };
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";

export function addCheck(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("check")
    .summary("read the plan without playing it, and say what is wrong with it")
    .description("Reads the plan without playing it: each finding with its place, why, what you would see, what to do.")
    .argument("<file>", "a scenario, or - for standard input")
    .option("--sarif <file>", "write the findings as SARIF 2.1.0 as well, for editors and CI")
    .option("--force", "let what is written replace a file that is there")
    .option("--json", "print the findings as JSON")
    .addHelpText("before", examples(["check quay.json", "check quay.json --sarif quay.sarif"]))
    .action(async (file: string, options: { sarif?: string; force?: true; json?: true }) => {
      const { checkFile } = await import("../verbs/check.ts");
      ends(
        await checkFile(
          {
            file,
            json: options.json === true,
            sarif: options.sarif ?? null,
            force: options.force === true,
            version,
          },
          io(),
        ),
      );
    });
}
