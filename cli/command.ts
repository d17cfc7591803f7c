/** The command and its verbs: what each takes stands in `usage/`, what it does in `verbs/`, which is read when it is asked for. */
import { Command, CommanderError } from "commander";
import { version } from "../package.json" with { type: "json" };
import { examples } from "./examples.ts";
import { BAD_INPUT } from "./status.ts";
import { type Io, withoutColour } from "./terminal.ts";
import { addAssumptions } from "./usage/assumptions.ts";
import { addChanges } from "./usage/changes.ts";
import { addCheck } from "./usage/check.ts";
import { addCompare } from "./usage/compare.ts";
import { addCsv } from "./usage/csv.ts";
import { addFaults } from "./usage/faults.ts";
import { addLibrary } from "./usage/library.ts";
import { addLimits } from "./usage/limits.ts";
import { addMerge } from "./usage/merge.ts";
import { addNew } from "./usage/new.ts";
import { addOdds } from "./usage/odds.ts";
import { addPaperwork } from "./usage/paperwork.ts";
import { addRehearse } from "./usage/rehearse.ts";
import { addSchema } from "./usage/schema.ts";
import { addStability } from "./usage/stability.ts";
import { addTested } from "./usage/tested.ts";
import { addView } from "./usage/view.ts";

/** In the order in which help lists them. */
const VERBS = [
  addNew,
  addCsv,
  addCheck,
  addRehearse,
  addFaults,
  addCompare,
  addOdds,
  addLimits,
  addAssumptions,
  addPaperwork,
  addChanges,
  addTested,
  addLibrary,
  addMerge,
  addStability,
  addView,
  addSchema,
];

/** Answers with the status to end with; throws only over faults of ours. */
export async function runCommand(args: readonly string[], surroundings: Io): Promise<number> {
  let io = surroundings;
  let status = 0;
  const program = new Command("pulltest")
    .description("Rehearses the clock and the links of a live digital audio rig before the show does.")
    .version(version, "-V, --version", "print the version")
    .option("--no-color", "plain text, whatever the terminal takes; with every verb")
    .helpOption("-h, --help", "print this help")
    .helpCommand("help [verb]", "print the help of a verb")
    .configureOutput({ writeOut: io.out, writeErr: io.err, outputError: (text, write) => write(tidied(text)) })
    .exitOverride()
    .hook("preAction", () => {
      if (program.opts<{ color: boolean }>().color === false) io = withoutColour(surroundings);
    })
    .showHelpAfterError("pulltest --help lists the verbs; pulltest help VERB lists what each takes.")
    .addHelpText(
      "before",
      examples([
        "new two-desks --out quay.json",
        "check quay.json",
        "rehearse quay.json --reboot foh@00:20:00 --html run.html",
      ]),
    )
    .addHelpText(
      "after",
      "\nResults go to standard output, everything else to standard error. FILE may be - for standard input.\n" +
        "Status: 0 every expectation met, 1 an expectation missed or an error found, 2 bad usage or input,\n" +
        "3 a fault in Pulltest, 130 interrupted.\n" +
        "Pulltest talks to no device. It changes nothing in your rig.",
    );

  for (const add of VERBS)
    add(
      program,
      () => io,
      (ended) => {
        status = ended;
      },
    );

  try {
    await program.parseAsync([...args], { from: "user" });
  } catch (error) {
    if (!(error instanceof CommanderError)) throw error;
    // Help that was asked for ends with 0; all other complaints are about what was typed.
    return error.exitCode === 0 ? 0 : BAD_INPUT;
  }
  return status;
}

/** "error: unknown option '--sed'" → "pulltest: unknown option '--sed'", without anything that a terminal would obey. */
function tidied(text: string): string {
  return text
    .replace(/^error: /, "pulltest: ")
    .replace(/[\p{Cc}\p{Cf}]/gu, (character) => (character === "\n" ? character : "\u{fffd}"));
}
