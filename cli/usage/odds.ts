/** `pulltest odds`: what it takes. */
import type { Command } from "commander";
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";

interface OddsOptions {
  readonly rates: string;
  readonly heardBy?: string;
  readonly shows?: string;
  readonly seed?: string;
  readonly json?: true;
}

export function addOdds(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("odds")
    .summary("shows as chance has them: how often there is silence, by failure rates of your own")
    .description(
      "Plays many shows in which each fault comes by its own rate and is repaired as given, and says how often anybody hears\n" +
        "silence, with intervals; it stops when the answer is clear. There are no rates of ours: nobody has published any for\n" +
        "this work. The table has the columns what, mtbf_h (hours between failures of one such thing) and time_s:\n" +
        "  cable-out,5000,\n  reboot foh,400 to 1200,\n  repair cable,,60 to 240",
    )
    .argument("<file>", "a scenario, or - for standard input")
    .requiredOption("--rates <file>", "a table of failure rates and repair times")
    .option("--heard-by <who>", "for whom it has to be clear: pa, ears, wedges, broadcast or record")
    .option("--shows <count>", "how many at most; 20,000 when left out")
    .option("--seed <seed>", "draw what is left to chance from this seed")
    .option("--json", "print everything as JSON")
    .addHelpText("before", examples(["odds quay.json --rates rates.csv"]))
    .action(async (file: string, options: OddsOptions) => {
      const { oddsOfFile } = await import("../verbs/odds.ts");
      const { rates, heardBy = null, shows = null, seed = null } = options;
      ends(await oddsOfFile({ file, rates, heardBy, shows, seed, json: options.json === true }, io()));
    });
}
