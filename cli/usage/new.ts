/** `pulltest new`: what it takes. */
import type { Command } from "commander";
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";

export function addNew(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("new")
    .summary("write a rig that runs at once, to edit")
    .description(
      "Writes a rig that runs at once, to edit. Without a template: lists them.\n" +
        "With --from-csv it is made from tables: devices, cables, feeds, events, a patch sheet, in any order.",
    )
    .argument("[template]", "which rig to begin with")
    .option("--from-csv <file...>", "make it from these tables; each is known by its headings")
    .option("--out <file>", "write here instead of to standard output")
    .option("--force", "overwrite a file that is there")
    .addHelpText(
      "before",
      examples([
        "new",
        "new two-desks --out quay.json",
        "new --from-csv devices.csv cables.csv patch.csv --out quay.json",
      ]),
    )
    .action(async (template: string | undefined, options: { fromCsv?: string[]; out?: string; force?: true }) => {
      const where = { out: options.out ?? null, force: options.force === true };
      if (options.fromCsv !== undefined) {
        const { newFromCsv } = await import("../verbs/new-from-csv.ts");
        // A name before the option is one more table: nobody can want a template and tables.
        const files = [...(template === undefined ? [] : [template]), ...options.fromCsv];
        ends(await newFromCsv({ files, ...where }, io()));
        return;
      }
      const { newRig } = await import("../verbs/new.ts");
      ends(await newRig({ template: template ?? null, ...where }, io()));
    });
}
