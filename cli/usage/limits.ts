/** `pulltest limits`: what it takes. */
import type { Command } from "commander";
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";

export function addLimits(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("limits")
    .summary("the longest break, the most flapping and the longest reboot that nobody hears")
    .description("Finds for each cable and each device, by halving, how much of a fault nobody hears.")
    .argument("<file>", "a scenario, or - for standard input")
    .option("--at <time>", "try them at this show time; the middle of the longest standing when left out")
    .option("--seed <seed>", "draw what is left to chance from this seed")
    .option("--json", "print everything as JSON")
    .addHelpText("before", examples(["limits quay.json"]))
    .action(async (file: string, options: { at?: string; seed?: string; json?: true }) => {
      const { limitsOfFile } = await import("../verbs/limits.ts");
      const { at = null, seed = null } = options;
      ends(await limitsOfFile({ file, at, seed, json: options.json === true }, io()));
    });
}
