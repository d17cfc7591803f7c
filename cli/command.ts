/** Verbs and options. Nothing is done here: each verb is a file of its own, read when it is asked for. */
import { Command, CommanderError } from "commander";
import { version } from "../package.json" with { type: "json" };
import { BAD_INPUT } from "./status.ts";
import { type Io, withoutColour } from "./terminal.ts";

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

  program
    .command("new")
    .summary("write a rig that runs at once, to edit")
    .description(
      "Writes a rig that runs at once, to edit. Without a template: lists them.\n" +
        "With --from-csv it is made from tables: devices, cables, feeds, events, a patch sheet, in any order.",
    )
    .argument("[template]", "which rig to begin with")
    .option("--from-csv <file...>", "make it from these tables; each is known by its headings")
    .option("--out <file>", "write here instead of to standard output")
    .option("--force", "overwrite a file that is there")
    .addHelpText(
      "before",
      examples([
        "new",
        "new two-desks --out quay.json",
        "new --from-csv devices.csv cables.csv patch.csv --out quay.json",
      ]),
    )
    .action(async (template: string | undefined, options: { fromCsv?: string[]; out?: string; force?: true }) => {
      const where = { out: options.out ?? null, force: options.force === true };
      if (options.fromCsv !== undefined) {
        const { newFromCsv } = await import("./verbs/new-from-csv.ts");
        // A name before the option is one more table: nobody can want a template and tables.
        const files = [...(template === undefined ? [] : [template]), ...options.fromCsv];
        status = await newFromCsv({ files, ...where }, io);
        return;
      }
      const { newRig } = await import("./verbs/new.ts");
      status = await newRig({ template: template ?? null, ...where }, io);
    });

  program
    .command("csv")
    .summary("write a scenario as tables for a spreadsheet")
    .description(
      "Writes a scenario as CSV tables: devices, cables, feeds, events, and what else it has.\n" +
        "pulltest new --from-csv makes the same scenario of them.",
    )
    .argument("<file>", "a scenario, or - for standard input")
    .requiredOption("--out <folder>", "write them into this folder")
    .option("--force", "overwrite tables that are there")
    .addHelpText("before", examples(["csv quay.json --out tables"]))
    .action(async (file: string, options: { out: string; force?: true }) => {
      const { writeCsv } = await import("./verbs/csv.ts");
      status = await writeCsv({ file, out: options.out, force: options.force === true }, io);
    });

  program
    .command("check")
    .summary("read the plan without playing it, and say what is wrong with it")
    .description("Reads the plan without playing it: each finding with its place, why, what you would see, what to do.")
    .argument("<file>", "a scenario, or - for standard input")
    .option("--sarif <file>", "write the findings as SARIF 2.1.0 as well, for editors and CI")
    .option("--force", "let what is written replace a file that is there")
    .option("--json", "print the findings as JSON")
    .addHelpText("before", examples(["check quay.json", "check quay.json --sarif quay.sarif"]))
    .action(async (file: string, options: { sarif?: string; force?: true; json?: true }) => {
      const { checkFile } = await import("./verbs/check.ts");
      status = await checkFile(
        {
          file,
          json: options.json === true,
          sarif: options.sarif ?? null,
          force: options.force === true,
          version,
        },
        io,
      );
    });

  program
    .command("rehearse")
    .summary("play it: who loses lock, who slips, what every listener hears")
    .description(
      "Plays the scenario and tells what happens: the timeline, what each listener heard, the verdict, what to fix first.\n" +
        "Faults on the command line are added to those of the file. Times are show time, hh:mm:ss; durations 90s, 1m30s, 2h.",
    )
    .argument("<file>", "a scenario, or - for standard input")
    .option(
      "--reboot <device@time[/part]>",
      "reboot a device: surface, engine or all (default) of it; repeatable",
      collected,
    )
    .option("--unplug <link@time[+duration]>", "pull a cable, for good or for a while; repeatable", collected)
    .option("--cut <path@time[+duration]>", "cut all that is laid along a path; repeatable", collected)
    .option("--power-cut <device@time[+duration]>", "take a device's power; repeatable", collected)
    .option(
      "--supply-cut <supply@time[+duration]>",
      "take a supply, and all that hangs on it alone; repeatable",
      collected,
    )
    .option(
      "--stop-sync <device@time[+duration]>",
      "a device that leads its network announces itself and sends no sync; repeatable",
      collected,
    )
    .option(
      "--why <what@time>",
      "instead of the whole outcome: why a device, a link or a feed is as it is then; repeatable",
      collected,
    )
    .option(
      "--return-policies",
      "instead of the whole outcome: each leader that goes away and comes back, under five policies side by side",
    )
    .option("--seed <seed>", "draw what is left to chance from this seed")
    .option("--html <file>", "write one self-contained page as well")
    .option("--phase-csv <file>", "write the phase of every device against true time as well, one column each")
    .option("--phase-step <seconds>", "spacing of its rows; the scenario's wander grid when left out")
    .option("--force", "let what is written replace a file that is there")
    .option("--assumed", "list the assumed numbers, with whom each is about")
    .option("--json", "print the summary as JSON")
    .addHelpText(
      "before",
      examples([
        "rehearse quay.json",
        "rehearse quay.json --reboot monitor@00:10:00 --unplug main@00:40:00+90s",
        "rehearse quay.json --reboot foh@00:20:00/surface --html run.html",
        "rehearse quay.json --reboot foh@00:20:00 --why stage@00:20:05",
        "rehearse quay.json --reboot foh@00:20:00 --return-policies",
      ]),
    )
    .action(async (file: string, options: RehearseOptions) => {
      const { rehearseFile } = await import("./verbs/rehearse.ts");
      status = await rehearseFile(
        {
          file,
          faults: [
            ...(options.reboot ?? []).map((text) => ({ option: "--reboot", text })),
            ...(options.unplug ?? []).map((text) => ({ option: "--unplug", text })),
            ...(options.cut ?? []).map((text) => ({ option: "--cut", text })),
            ...(options.powerCut ?? []).map((text) => ({ option: "--power-cut", text })),
            ...(options.supplyCut ?? []).map((text) => ({ option: "--supply-cut", text })),
            ...(options.stopSync ?? []).map((text) => ({ option: "--stop-sync", text })),
          ],
          seed: options.seed ?? null,
          html: options.html ?? null,
          phaseCsv: options.phaseCsv ?? null,
          phaseStep: options.phaseStep ?? null,
          force: options.force === true,
          json: options.json === true,
          assumed: options.assumed === true,
          why: options.why ?? [],
          returnPolicies: options.returnPolicies === true,
          version,
        },
        io,
      );
    });

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
      const { changesOfFiles } = await import("./verbs/changes.ts");
      status = await changesOfFiles({ before, after, json: options.json === true }, io);
    });

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
      const { stabilityOfFile } = await import("./verbs/stability.ts");
      status = await stabilityOfFile(
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
        io,
      );
    });

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
      const { viewPage } = await import("./verbs/view.ts");
      status = await viewPage({ file: file ?? null, port: options.port ?? null, share: options.share === true }, io);
    });

  program
    .command("schema")
    .summary("print the JSON Schema of a scenario")
    .description("Prints the JSON Schema (draft-07) of a scenario, for editors that complete and check as you type.")
    .addHelpText("before", examples(["schema > scenario.schema.json"]))
    .action(async () => {
      const { printSchema } = await import("./verbs/schema.ts");
      status = printSchema(io);
    });

  try {
    await program.parseAsync([...args], { from: "user" });
  } catch (error) {
    if (!(error instanceof CommanderError)) throw error;
    // Help that was asked for ends with 0; all other complaints are about what was typed.
    return error.exitCode === 0 ? 0 : BAD_INPUT;
  }
  return status;
}

interface RehearseOptions {
  readonly reboot?: string[];
  readonly unplug?: string[];
  readonly cut?: string[];
  readonly powerCut?: string[];
  readonly supplyCut?: string[];
  readonly stopSync?: string[];
  readonly why?: string[];
  readonly returnPolicies?: true;
  readonly seed?: string;
  readonly html?: string;
  readonly phaseCsv?: string;
  readonly phaseStep?: string;
  readonly force?: true;
  readonly assumed?: true;
  readonly json?: true;
}

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

function collected(text: string, before: string[] | undefined): string[] {
  return [...(before ?? []), text];
}

function examples(lines: readonly string[]): string {
  return `${lines.map((line) => `  pulltest ${line}`).join("\n")}\n`;
}

/** "error: unknown option '--sed'" → "pulltest: unknown option '--sed'", without anything that a terminal would obey. */
function tidied(text: string): string {
  return text
    .replace(/^error: /, "pulltest: ")
    .replace(/[\p{Cc}\p{Cf}]/gu, (character) => (character === "\n" ? character : "\u{fffd}"));
}
