/**
 * The `pulltest` command.
 *
 *   main.ts      the process: arguments in, status out, broken pipes and faults of ours
 *   command.ts   verbs and options; each verb's file is read only when it is asked for
 *   verbs/*.ts   doing: read, check, play, write; they return a status and print nothing themselves
 *   print/*.ts   printing: text from data, the only place that knows about terminals
 *
 * An interrupt is left to the system: a run is one long computation, in which no handler of ours would be heard. It
 * ends at once, and the shell sees status 130.
 */
import { runCommand } from "./command.ts";
import { OUR_FAULT } from "./status.ts";
import { terminal } from "./terminal.ts";

const io = terminal(process);

process.stdout.on("error", (error: NodeJS.ErrnoException) => {
  // Whoever reads us may leave early ("| head"): that is no error of anybody's.
  if (error.code === "EPIPE") process.exit();
  const reason = error.code === "ENOSPC" ? "no space is left on the device" : error.message;
  process.stderr.write(`pulltest: the results cannot be written: ${reason}\n`, () => process.exit(OUR_FAULT));
});
// A note that cannot be written is lost: among the results it would be worse, and the status tells the rest.
process.stderr.on("error", () => {});

void main(process.argv.slice(2));

async function main(args: readonly string[]): Promise<void> {
  try {
    process.exitCode = await runCommand(args, io);
  } catch (error) {
    process.exitCode = OUR_FAULT;
    const { faultText } = await import("./print/fault.ts");
    io.err(faultText(error, args, process.env.PULLTEST_DEBUG === "1"));
  }
}
