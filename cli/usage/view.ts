/** `pulltest view`: what it takes. */
import type { Command } from "commander";
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";

export function addView(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("view")
    .summary("open the page on this machine, in a browser")
    .description(
      "Serves the page to a browser on this machine, with the file rehearsed and open to go on from; without one, with the\n" +
        "scenarios that are shipped. It stays until Ctrl-C. With --share, whoever is on the local network can read it too.",
    )
    .argument("[file]", "a scenario, or - for standard input")
    .option("--port <number>", "at this port; one that is free when left out")
    .option("--share", "also to the local network, to be read: anybody there can see the plan")
    .addHelpText("before", examples(["view", "view quay.json", "view quay.json --share --port 8080"]))
    .action(async (file: string | undefined, options: { port?: string; share?: true }) => {
      const { viewPage } = await import("../verbs/view.ts");
      ends(await viewPage({ file: file ?? null, port: options.port ?? null, share: options.share === true }, io()));
    });
}
