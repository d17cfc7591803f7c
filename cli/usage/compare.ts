/** `pulltest compare`: what it takes. */
import type { Command } from "commander";
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";
import { collected } from "./collected.ts";

interface CompareOptions {
  readonly at?: string;
  readonly draws?: string;
  readonly only?: string;
  readonly repair?: string[];
  readonly seed?: string;
  readonly skipAssumed?: true;
  readonly csv?: string;
  readonly threads?: string;
  readonly force?: true;
  readonly json?: true;
}

export function addCompare(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("compare")
    .summary("layouts against the same faults: what each costs those who listen, and what it needs")
    .description(
      "Tries every single fault of each layout, with the same chance for all, and sets them side by side: who hears what,\n" +
        "what each fault costs in one and in the other, what each layout needs, and whether the order hangs on a number that\n" +
        "nobody has entered.",
    )
    .argument("<files...>", "two scenarios or more")
    .option("--at <time>", "try the faults at this show time; the middle of the longest standing when left out")
    .option("--draws <count>", "how often each, with other chance: 10 when left out")
    .option("--only <kinds>", "only these kinds, like reboot,cable-out")
    .option("--repair <what=duration>", "how long a repair takes, as with faults; repeatable", collected)
    .option("--seed <seed>", "draw what is left to chance from this seed")
    .option("--skip-assumed", "leave out whether an assumed number would turn the order round")
    .option("--csv <file>", "write a row for each fault, listener and layout as well")
    .option("--threads <count>", "use so many cores; all when left out")
    .option("--force", "let what is written replace a file that is there")
    .option("--json", "print everything as JSON")
    .addHelpText(
      "before",
      examples(["compare one-cable.json two-cables.json", "compare a.json b.json c.json --csv layouts.csv"]),
    )
    .action(async (files: string[], options: CompareOptions) => {
      const { compareFiles } = await import("../verbs/compare.ts");
      ends(
        await compareFiles(
          {
            files,
            at: options.at ?? null,
            draws: options.draws ?? null,
            only: options.only ?? null,
            repair: options.repair ?? [],
            seed: options.seed ?? null,
            skipAssumed: options.skipAssumed === true,
            csv: options.csv ?? null,
            threads: options.threads ?? null,
            force: options.force === true,
            json: options.json === true,
          },
          io(),
        ),
      );
    });
}
