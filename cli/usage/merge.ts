/** `pulltest merge`: what it takes. */
import type { Command } from "commander";
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";
import { collected } from "./collected.ts";

interface MergeOptions {
  readonly join?: string[];
  readonly same?: string[];
  readonly names?: string;
  readonly out?: string;
  readonly force?: true;
  readonly json?: true;
}

export function addMerge(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("merge")
    .summary("two companies' plans as one rig: conflicts, and ways to join them, rehearsed")
    .description(
      "Lists what two plans do not agree about, each with both places, and asks which cables join the two.\n" +
        "With these it makes one leader for both, converters where audio crosses, and a common house clock, each checked and\n" +
        "played: what each company's listeners hear, as planned and when a leader reboots; what is to be set on whose devices.",
    )
    .argument("<first>", "a scenario, or - for standard input")
    .argument("<second>", "the other company's, or - for standard input")
    .option(
      "--join <device.port=device.port[:type[:there|back]]>",
      "a cable between the two: an end in the first file, an end in the second; repeatable",
      collected,
    )
    .option("--same <id>", "what both files have under this id is one thing; repeatable", collected)
    .option("--names <first,second>", "what to call the two; by their files when left out")
    .option("--out <folder>", "write a scenario for each way into this folder")
    .option("--force", "overwrite scenarios that are there")
    .option("--json", "print everything as JSON")
    .addHelpText(
      "before",
      examples([
        "merge house.json tour.json",
        "merge house.json tour.json --join foh.4=desk.7:madi --out joined",
        "merge house.json tour.json --same truck --names house,tour --join pa.3=desk.2:aes3:back",
      ]),
    )
    .action(async (first: string, second: string, options: MergeOptions) => {
      const { mergeFiles } = await import("../verbs/merge.ts");
      ends(
        await mergeFiles(
          {
            files: [first, second],
            joins: options.join ?? [],
            same: options.same ?? [],
            names: options.names ?? null,
            out: options.out ?? null,
            force: options.force === true,
            json: options.json === true,
          },
          io(),
        ),
      );
    });
}
