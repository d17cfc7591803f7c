/** `pulltest stability`: what it takes. */
import type { Command } from "commander";
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";
import { collected } from "./collected.ts";

interface StabilityOptions {
  readonly device?: string;
  readonly against?: string;
  readonly step?: string;
  readonly from?: string;
  readonly to?: string;
  readonly seed?: string;
  readonly column?: string;
  readonly tau0?: string;
  readonly rateHz?: string;
  readonly taus?: string;
  readonly noise?: string;
  readonly confidence?: string;
  readonly statistics?: string;
  readonly mask?: string[];
  readonly json?: true;
}

export function addStability(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("stability")
    .summary("the stability of one clock, measured or rehearsed, and which masks it exceeds")
    .description(
      "Reads a record of phase or frequency from CSV and prints its Allan, Hadamard and total deviations, time errors,\n" +
        "intervals of confidence, and where it exceeds the masks of G.811, G.813, G.8272 and AES11.\n" +
        "Columns are found by name: phase_s, phase_ns, frequency, frequency_ppm, frequency_ppb; time_s for the spacing.\n" +
        "With --device the file is a scenario: it is played, and the clock of that device is taken while it is locked or leading.",
    )
    .argument("<file>", "a CSV file, or a scenario with --device; - for standard input")
    .option("--device <id>", "play the scenario, and take the clock of this device")
    .option("--against <id>", "its phase against the clock of this device, not against true time")
    .option("--step <seconds>", "spacing of its samples; the scenario's wander grid when left out")
    .option("--from <time>", "not the longest stretch locked or leading, but from this show time on")
    .option("--to <time>", "and up to this one")
    .option("--seed <seed>", "draw what is left to chance from this seed")
    .option("--column <name>", "which column, where several could be meant; the name without its unit will do")
    .option("--tau0 <seconds>", "spacing of the rows, where no column says the time")
    .option("--rate-hz <rate>", "sample rate: adds the masks of AES11")
    .option("--taus <list>", "averaging times in seconds, like 1,10,100; octaves when left out")
    .option("--noise <type>", "noise type for the intervals, like white-fm; found at each tau when left out")
    .option("--confidence <probability>", "of the intervals, 0.95 when left out")
    .option("--statistics <list>", "print only these, like oadev,mtie")
    .option(
      "--mask <id>",
      "compare only with this mask, and end with status 1 unless it is kept; repeatable",
      collected,
    )
    .option("--json", "print everything as JSON")
    .addHelpText(
      "before",
      examples([
        "stability clock.csv --tau0 1",
        "stability clock.csv --rate-hz 48000 --mask aes11-output-phase",
        "stability quay.json --device stage --against foh",
      ]),
    )
    .action(async (file: string, options: StabilityOptions) => {
      const { stabilityOfFile } = await import("../verbs/stability.ts");
      ends(
        await stabilityOfFile(
          {
            file,
            column: options.column ?? null,
            device: options.device ?? null,
            against: options.against ?? null,
            step: options.step ?? null,
            from: options.from ?? null,
            to: options.to ?? null,
            seed: options.seed ?? null,
            tau0: options.tau0 ?? null,
            rateHz: options.rateHz ?? null,
            taus: options.taus ?? null,
            noise: options.noise ?? null,
            confidence: options.confidence ?? null,
            statistics: options.statistics ?? null,
            masks: options.mask ?? [],
            json: options.json === true,
          },
          io(),
        ),
      );
    });
}
