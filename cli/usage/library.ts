/** The verbs of a library and their options. */
import type { Command } from "commander";
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";

interface Written {
  readonly out?: string;
  readonly force?: true;
  readonly json?: true;
}

export function addLibrary(program: Command, io: () => Io, ends: (status: number) => void): void {
  const library = program
    .command("library")
    .summary("a shop's device types: where each number is from, merged, grown by what was measured")
    .description(
      "Prints what a library has of each device type: every number with who says so and when it was\n" +
        "measured, and what is still assumed. The number that stands in the file is the one that is played; its origins are kept beside it.",
    )
    .argument("<file>", "a library, or - for standard input")
    .option("--json", "print it as JSON")
    .addHelpText(
      "before",
      examples([
        "library quay.library.json",
        "library measured quay.library.json --from load-in.csv --out quay.library.json --force",
        "library merge quay.library.json pier.library.json --out both.library.json",
        "library changes monday.library.json quay.library.json",
      ]),
    )
    .action(async (file: string, options: { json?: true }) => {
      const { showLibrary } = await import("../verbs/library.ts");
      ends(await showLibrary({ file, json: options.json === true }, io()));
    });

  library
    .command("measured")
    .summary("add what was measured, from a table")
    .description(
      "Adds measurements to a library: a table with the columns type, number, value and date, and note and times if you like.\n" +
        "A number that stood goes on being played unless --play is given; where none stood, what was measured last is.\n" +
        "Comments and all else in the file stay as they are.",
    )
    .argument("<file>", "a library, or - for standard input")
    .requiredOption("--from <table...>", "CSV tables of what was measured")
    .option("--rig <scenario>", "let the tables name devices of this scenario in place of their types")
    .option("--play", "play what was measured last, also where another number stood")
    .option("--out <file>", "write here instead of to standard output")
    .option("--force", "replace a file that is there, the library itself as well")
    .option("--json", "print what was added as JSON, beside --out")
    .addHelpText("before", examples(["library measured quay.library.json --from load-in.csv --out grown.library.json"]))
    .action(
      async (file: string, options: Written & { from: string[]; rig?: string; play?: true }, command: Command) => {
        const { growLibrary } = await import("../verbs/library-measured.ts");
        const { from, rig, play } = options;
        const asked = { file, from, rig: rig ?? null, plays: play === true };
        ends(await growLibrary({ ...asked, ...written(options, command) }, io()));
      },
    );

  library
    .command("merge")
    .summary("two libraries as one, nothing that either measured lost")
    .description(
      "Writes a library with all types, numbers and measurements of both. Where they give a number differently, both stay as\n" +
        "origins, the one measured last is played (else the larger), and the question is printed.",
    )
    .argument("<one>", "a library, or - for standard input")
    .argument("<other>", "the other, or - for standard input")
    .option("--out <file>", "write here instead of to standard output")
    .option("--force", "replace a file that is there, one of the two as well")
    .option("--json", "print the questions as JSON, beside --out")
    .addHelpText("before", examples(["library merge quay.library.json pier.library.json --out both.library.json"]))
    .action(async (one: string, other: string, options: Written, command: Command) => {
      const { mergeLibraryFiles } = await import("../verbs/library-merge.ts");
      ends(await mergeLibraryFiles({ one, other, ...written(options, command) }, io()));
    });

  library
    .command("changes")
    .summary("what differs between two libraries, type by type")
    .description("Says in words what differs between two libraries. Ends with status 1 if anything does.")
    .argument("<before>", "a library, or - for standard input")
    .argument("<after>", "the other, or - for standard input")
    .option("--json", "print the changes as JSON")
    .addHelpText("before", examples(["library changes monday.library.json quay.library.json"]))
    .action(async (before: string, after: string, options: Written, command: Command) => {
      const { changesOfLibraries } = await import("../verbs/library-changes.ts");
      ends(await changesOfLibraries({ before, after, json: written(options, command).json }, io()));
    });
}

/** `--json` is an option of `library` as well, which takes it for its own wherever it stands. */
function written({ out, force, json }: Written, command: Command) {
  const isJson = json === true || command.parent?.opts<Written>().json === true;
  return { out: out ?? null, force: force === true, json: isJson };
}
