/** `pulltest assumptions`: what it takes. */
import type { Command } from "commander";
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";
import { collected } from "./collected.ts";

interface AssumptionsOptions {
  readonly heardBy?: string;
  readonly at?: string;
  readonly only?: string;
  readonly repair?: string[];
  readonly jointly?: string;
  readonly seed?: string;
  readonly json?: true;
}

export function addAssumptions(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("assumptions")
    .summary("which number to measure first, because the verdict hangs on it")
    .description(
      "Tries each number that nobody has entered at what else it may well be, against every single fault, and says which of\n" +
        "them change what is heard. With --jointly the few that matter most are all free at once, and the shares of the\n" +
        "variance are told: each alone, and with all that it does together with others (Sobol indices).",
    )
    .argument("<file>", "a scenario, or - for standard input")
    .option("--heard-by <who>", "whose trouble counts: pa, ears, wedges, broadcast or record")
    .option("--at <time>", "try the faults at this show time; the middle of the longest standing when left out")
    .option("--only <kinds>", "only faults of these kinds, like reboot,cable-out")
    .option("--repair <what=duration>", "how long a repair takes, as with faults; repeatable", collected)
    .option("--jointly <samples>", "also all at once, like 64; takes its time")
    .option("--seed <seed>", "draw what is left to chance from this seed")
    .option("--json", "print everything as JSON")
    .addHelpText("before", examples(["assumptions quay.json", "assumptions quay.json --heard-by ears --only reboot"]))
    .action(async (file: string, options: AssumptionsOptions) => {
      const { assumptionsOfFile } = await import("../verbs/assumptions.ts");
      ends(
        await assumptionsOfFile(
          {
            file,
            heardBy: options.heardBy ?? null,
            at: options.at ?? null,
            only: options.only ?? null,
            repair: options.repair ?? [],
            jointly: options.jointly ?? null,
            seed: options.seed ?? null,
            json: options.json === true,
          },
          io(),
        ),
      );
    });
}
