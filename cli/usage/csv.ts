/** `pulltest csv`: what it takes. */
import type { Command } from "commander";
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";

export function addCsv(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("csv")
    .summary("write a scenario as tables for a spreadsheet")
    .description(
      "Writes a scenario as CSV tables: devices, cables, feeds, events, and what else it has.\n" +
        "pulltest new --from-csv makes the same scenario of them.",
    )
    .argument("<file>", "a scenario, or - for standard input")
    .requiredOption("--out <folder>", "write them into this folder")
    .option("--force", "overwrite tables that are there")
    .addHelpText("before", examples(["csv quay.json --out tables"]))
    .action(async (file: string, options: { out: string; force?: true }) => {
      const { writeCsv } = await import("../verbs/csv.ts");
      ends(await writeCsv({ file, out: options.out, force: options.force === true }, io()));
    });
}
