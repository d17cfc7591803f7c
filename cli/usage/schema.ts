/** `pulltest schema`: what it takes. */
import type { Command } from "commander";
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";

export function addSchema(program: Command, io: () => Io, ends: (status: number) => void): void {
  program
    .command("schema")
    .summary("print the JSON Schema of a scenario, a rig, a library or a lesson")
    .description(
      "Prints the JSON Schema (draft-07) of a kind of file, for editors that complete and check as you type.",
    )
    .argument("[kind]", "scenario, rig, library or lesson; scenario when left out")
    .addHelpText("before", examples(["schema > scenario.schema.json", "schema rig > rig.schema.json"]))
    .action(async (kind: string | undefined) => {
      const { printSchema } = await import("../verbs/schema.ts");
      ends(printSchema(kind ?? "scenario", io()));
    });
}
