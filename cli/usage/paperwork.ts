/** `pulltest paperwork`: what it takes. */
import type { Command } from "commander";
import { version } from "../../package.json" with { type: "json" };
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";
import { collected } from "./collected.ts";

interface PaperworkOptions {
  readonly out: string;
  readonly paper?: string;
  readonly cards?: string;
  readonly only?: string;
  readonly png?: true;
  readonly at?: string;
  readonly draws?: string;
  readonly repair?: string[];
  readonly seed?: string;
  readonly threads?: string;
  readonly force?: true;
}

export function addPaperwork(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("paperwork")
    .summary("what a crew prints: clock plan, settings, cables, power-up, pull test, fault cards")
    .description(
      "Writes sheets for print (HTML) and for spreadsheets (CSV) into a folder: clock plan with a picture, settings in walking\n" +
        "order, cable schedule with labels, channel budget, power-up order, the shortest pull test that exercises every spare\n" +
        "and switch-over, fault cards, and an index of faults by what one sees or hears. Every time in them is rehearsed.",
    )
    .argument("<file>", "a scenario, or - for standard input")
    .requiredOption("--out <folder>", "write them into this folder")
    .option("--paper <size>", "a4 when left out, or letter")
    .option("--cards <count>", "cards to a page: 1 when left out, or 4")
    .option("--only <sheets>", "of clock-plan, settings, cables, channels, power-up, pull-test, fault-cards")
    .option("--png", "a picture of each card as well, by this machine's Chromium")
    .option("--at <time>", "as the rig stands at this show time; in the middle of its longest standing when left out")
    .option("--draws <count>", "how often each fault is tried, with other chance: 10 when left out")
    .option("--repair <what=duration>", "how long a repair takes, as with faults; repeatable", collected)
    .option("--seed <seed>", "draw what is left to chance from this seed")
    .option("--threads <count>", "use so many cores; all when left out")
    .option("--force", "overwrite files that are there")
    .addHelpText(
      "before",
      examples(["paperwork quay.json --out paper", "paperwork quay.json --out paper --paper letter --cards 4 --png"]),
    )
    .action(async (file: string, options: PaperworkOptions) => {
      const { paperworkFor } = await import("../verbs/paperwork.ts");
      ends(
        await paperworkFor(
          {
            file,
            out: options.out,
            paper: options.paper ?? null,
            cards: options.cards ?? null,
            only: options.only ?? null,
            png: options.png === true,
            at: options.at ?? null,
            draws: options.draws ?? null,
            repair: options.repair ?? [],
            seed: options.seed ?? null,
            threads: options.threads ?? null,
            force: options.force === true,
            version,
          },
          io(),
        ),
      );
    });
}
