/** `pulltest faults`: what it takes. */
import type { Command } from "commander";
import { version } from "../../package.json" with { type: "json" };
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";
import { collected } from "./collected.ts";

interface FaultsOptions {
  readonly at?: string;
  readonly everyMoment?: true;
  readonly pairs?: true;
  readonly draws?: string;
  readonly only?: string;
  readonly repair?: string[];
  readonly order?: string;
  readonly seed?: string;
  readonly all?: true;
  readonly csv?: string;
  readonly keep?: string;
  readonly resume?: true;
  readonly shard?: string;
  readonly from?: string[];
  readonly threads?: string;
  readonly force?: true;
  readonly json?: true;
}

export function addFaults(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("faults")
    .summary("every single fault this rig can have, worst first for those who hear it")
    .description(
      "Tries every single fault, each with its repair: cables, paths, supplies, devices that reboot, hang or come back\n" +
        "with a setting lost, spares that are dead. Faults that look alike from the front stand together.\n" +
        "Faults of the file itself are left out; what comes and goes by plan stays.",
    )
    .argument("<file>", "a scenario, or - for standard input")
    .option("--at <time>", "try them at this show time; the middle of the longest standing when left out")
    .option("--every-moment", "once in each standing of the show: every time that others are on, or follow others")
    .option("--pairs", "two at once as well, ten seconds apart: those that are worse than both alone")
    .option("--draws <count>", "how often each, with other chance: 10 when left out, 2 with --pairs")
    .option("--only <kinds>", "only these kinds, like reboot,cable-out")
    .option(
      "--repair <what=duration>",
      "how long a repair takes: cable, path, power, supply, hang, setting, sync; repeatable",
      collected,
    )
    .option("--order <concerns>", "what is worst, then what is next, like pa silence,record silence; the rest as ever")
    .option("--seed <seed>", "draw what is left to chance from this seed")
    .option("--all", "print them all, not the worst alone")
    .option("--csv <file>", "write a row for each fault and listener as well")
    .option("--keep <file>", "keep results in this file as they come")
    .option("--resume", "go on from what is kept there")
    .option("--shard <part/parts>", "play only this part of them, like 2/8, for other machines to play the rest")
    .option("--from <file...>", "take results that were kept; only what is missing is played")
    .option("--threads <count>", "use so many cores; all when left out")
    .option("--force", "let what is written replace a file that is there")
    .option("--json", "print everything as JSON")
    .addHelpText(
      "before",
      examples([
        "faults quay.json",
        "faults quay.json --at 00:20:00 --only reboot,cable-out --csv faults.csv",
        "faults quay.json --shard 2/8 --keep part-2",
        "faults quay.json --from part-1 part-2",
      ]),
    )
    .action(async (file: string, options: FaultsOptions) => {
      const { faultsOfFile } = await import("../verbs/faults.ts");
      ends(
        await faultsOfFile(
          {
            file,
            at: options.at ?? null,
            everyMoment: options.everyMoment === true,
            pairs: options.pairs === true,
            draws: options.draws ?? null,
            only: options.only ?? null,
            repair: options.repair ?? [],
            order: options.order ?? null,
            seed: options.seed ?? null,
            all: options.all === true,
            csv: options.csv ?? null,
            keep: options.keep ?? null,
            resume: options.resume === true,
            shard: options.shard ?? null,
            from: options.from ?? [],
            threads: options.threads ?? null,
            force: options.force === true,
            json: options.json === true,
            version,
          },
          io(),
        ),
      );
    });
}
