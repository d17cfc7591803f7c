/** `pulltest changes`: what it takes. */
import type { Command } from "commander";
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";

export function addChanges(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("changes")
    .summary("what differs between two plans, device by device and cable by cable")
    .description(
      "Compares the rigs of two scenarios by what they mean: comments, order and what is left to defaults make no difference.\n" +
        "Each plan has a stamp of four characters for paper and comms; the same stamp, the same rig. Ends with status 1 if they differ.",
    )
    .argument("<before>", "a scenario, or - for standard input")
    .argument("<after>", "the other, or - for standard input")
    .option("--json", "print the changes as JSON")
    .addHelpText("before", examples(["changes quay-monday.json quay.json"]))
    .action(async (before: string, after: string, options: { json?: true }) => {
      const { changesOfFiles } = await import("../verbs/changes.ts");
      ends(await changesOfFiles({ before, after, json: options.json === true }, io()));
    });
}
