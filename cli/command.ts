/** Verbs and options. Nothing is done here: each verb is a file of its own, read when it is asked for. */
import { Command, CommanderError } from "commander";
import { version } from "../package.json" with { type: "json" };
import { examples } from "./examples.ts";
import { addLibraryVerbs } from "./library-command.ts";
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
        'Faults on the command line are added to those of the file. Times are show time, 00:20:00 or "20 min",\n' +
        'or the time of day where the file says when the show starts; durations 90s, "1 min 30 s", 2h.',
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
    .option("--record-csv <file>", "write the record as one table as well: all states, every slip, every event")
    .option("--vcd <file>", "write a value change dump as well, for wave viewers")
    .option("--trace <file>", "write trace events in JSON as well, for trace viewers")
    .option("--junit <file>", "write the expectations as test cases as well, in the XML that CI reads as JUnit's")
    .option("--force", "let what is written replace a file that is there")
    .option("--assumed", "list the assumed numbers, with whom each is about")
    .option("--json", "print the summary as JSON")
    .addHelpText(
      "before",
      examples([
        "rehearse quay.json",
        "rehearse quay.json --reboot monitor@00:10:00 --unplug main@00:40:00+90s",
        "rehearse quay.json --reboot foh@00:20:00/surface --html run.html",
        "rehearse quay.json --vcd run.vcd --trace run.json --junit run.xml",
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
          outputs: {
            html: options.html ?? null,
            phaseCsv: options.phaseCsv ?? null,
            recordCsv: options.recordCsv ?? null,
            vcd: options.vcd ?? null,
            trace: options.trace ?? null,
            junit: options.junit ?? null,
          },
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
      const { faultsOfFile } = await import("./verbs/faults.ts");
      status = await faultsOfFile(
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
        io,
      );
    });

  program
    .command("compare")
    .summary("layouts against the same faults: what each costs those who listen, and what it needs")
    .description(
      "Tries every single fault of each layout, with the same chance for all, and sets them side by side: who hears what,\n" +
        "what each fault costs in one and in the other, what each layout needs, and whether the order hangs on a number that\n" +
        "nobody has entered.",
    )
    .argument("<files...>", "two scenarios or more")
    .option("--at <time>", "try the faults at this show time; the middle of the longest standing when left out")
    .option("--draws <count>", "how often each, with other chance: 10 when left out")
    .option("--only <kinds>", "only these kinds, like reboot,cable-out")
    .option("--repair <what=duration>", "how long a repair takes, as with faults; repeatable", collected)
    .option("--seed <seed>", "draw what is left to chance from this seed")
    .option("--skip-assumed", "leave out whether an assumed number would turn the order round")
    .option("--csv <file>", "write a row for each fault, listener and layout as well")
    .option("--threads <count>", "use so many cores; all when left out")
    .option("--force", "let what is written replace a file that is there")
    .option("--json", "print everything as JSON")
    .addHelpText(
      "before",
      examples(["compare one-cable.json two-cables.json", "compare a.json b.json c.json --csv layouts.csv"]),
    )
    .action(async (files: string[], options: CompareOptions) => {
      const { compareFiles } = await import("./verbs/compare.ts");
      status = await compareFiles(
        {
          files,
          at: options.at ?? null,
          draws: options.draws ?? null,
          only: options.only ?? null,
          repair: options.repair ?? [],
          seed: options.seed ?? null,
          skipAssumed: options.skipAssumed === true,
          csv: options.csv ?? null,
          threads: options.threads ?? null,
          force: options.force === true,
          json: options.json === true,
        },
        io,
      );
    });

  program
    .command("odds")
    .summary("shows as chance has them: how often there is silence, by failure rates of your own")
    .description(
      "Plays many shows in which each fault comes by its own rate and is repaired as given, and says how often anybody hears\n" +
        "silence, with intervals; it stops when the answer is clear. There are no rates of ours: nobody has published any for\n" +
        "this work. The table has the columns what, mtbf_h (hours between failures of one such thing) and time_s:\n" +
        "  cable-out,5000,\n  reboot foh,400 to 1200,\n  repair cable,,60 to 240",
    )
    .argument("<file>", "a scenario, or - for standard input")
    .requiredOption("--rates <file>", "a table of failure rates and repair times")
    .option("--heard-by <who>", "for whom it has to be clear: pa, ears, wedges, broadcast or record")
    .option("--shows <count>", "how many at most; 20,000 when left out")
    .option("--seed <seed>", "draw what is left to chance from this seed")
    .option("--json", "print everything as JSON")
    .addHelpText("before", examples(["odds quay.json --rates rates.csv"]))
    .action(async (file: string, options: OddsOptions) => {
      const { oddsOfFile } = await import("./verbs/odds.ts");
      const { rates, heardBy = null, shows = null, seed = null } = options;
      status = await oddsOfFile({ file, rates, heardBy, shows, seed, json: options.json === true }, io);
    });

  program
    .command("limits")
    .summary("the longest break, the most flapping and the longest reboot that nobody hears")
    .description("Finds for each cable and each device, by halving, how much of a fault nobody hears.")
    .argument("<file>", "a scenario, or - for standard input")
    .option("--at <time>", "try them at this show time; the middle of the longest standing when left out")
    .option("--seed <seed>", "draw what is left to chance from this seed")
    .option("--json", "print everything as JSON")
    .addHelpText("before", examples(["limits quay.json"]))
    .action(async (file: string, options: { at?: string; seed?: string; json?: true }) => {
      const { limitsOfFile } = await import("./verbs/limits.ts");
      const { at = null, seed = null } = options;
      status = await limitsOfFile({ file, at, seed, json: options.json === true }, io);
    });

  program
    .command("assumptions")
    .summary("which number to measure first, because the verdict hangs on it")
    .description(
      "Tries each number that nobody has entered at what else it may well be, against every single fault, and says which of\n" +
        "them change what is heard. With --jointly the few that matter most are all free at once, and the shares of the\n" +
        "variance are told: each alone, and with all that it does together with others (Sobol indices).",
    )
    .argument("<file>", "a scenario, or - for standard input")
    .option("--heard-by <who>", "whose trouble counts: pa, ears, wedges, broadcast or record")
    .option("--at <time>", "try the faults at this show time; the middle of the longest standing when left out")
    .option("--only <kinds>", "only faults of these kinds, like reboot,cable-out")
    .option("--repair <what=duration>", "how long a repair takes, as with faults; repeatable", collected)
    .option("--jointly <samples>", "also all at once, like 64; takes its time")
    .option("--seed <seed>", "draw what is left to chance from this seed")
    .option("--json", "print everything as JSON")
    .addHelpText("before", examples(["assumptions quay.json", "assumptions quay.json --heard-by ears --only reboot"]))
    .action(async (file: string, options: AssumptionsOptions) => {
      const { assumptionsOfFile } = await import("./verbs/assumptions.ts");
      status = await assumptionsOfFile(
        {
          file,
          heardBy: options.heardBy ?? null,
          at: options.at ?? null,
          only: options.only ?? null,
          repair: options.repair ?? [],
          jointly: options.jointly ?? null,
          seed: options.seed ?? null,
          json: options.json === true,
        },
        io,
      );
    });

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
      const { paperworkFor } = await import("./verbs/paperwork.ts");
      status = await paperworkFor(
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
    .command("tested")
    .summary("what a pull test on site found, held against a plan and taken into it")
    .description(
      "Reads the result of a pull test that was walked through on the page: where the site contradicts the rehearsal, which\n" +
        "cables get the day, which numbers were measured, and what has changed since and stays untested. With --out the files\n" +
        "that change are written into a folder, all or none. Ends with status 1 if the site contradicts the rehearsal.",
    )
    .argument("<file>", "a scenario, or - for standard input")
    .option("--walk <result>", "the result that the page saved")
    .option("--from <table...>", "CSV tables of what else was measured: device, number, value and date")
    .option("--out <folder>", "write the files that change into this folder")
    .option("--force", "replace files that are there, those that were read as well")
    .option("--json", "print what was found as JSON")
    .addHelpText(
      "before",
      examples([
        "tested quay.json --walk pull-test-K7-QF.json",
        "tested quay.json --walk pull-test-K7-QF.json --out . --force",
      ]),
    )
    .action(
      async (file: string, options: { walk?: string; from?: string[]; out?: string; force?: true; json?: true }) => {
        const { testedOnSite } = await import("./verbs/tested.ts");
        const { walk = null, from = [], out = null } = options;
        status = await testedOnSite(
          { file, walk, from, out, force: options.force === true, json: options.json === true },
          io,
        );
      },
    );

  addLibraryVerbs(
    program,
    () => io,
    (ended) => {
      status = ended;
    },
  );

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
      const { mergeFiles } = await import("./verbs/merge.ts");
      status = await mergeFiles(
        {
          files: [first, second],
          joins: options.join ?? [],
          same: options.same ?? [],
          names: options.names ?? null,
          out: options.out ?? null,
          force: options.force === true,
          json: options.json === true,
        },
        io,
      );
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
    .summary("print the JSON Schema of a scenario, a rig, a library or a lesson")
    .description(
      "Prints the JSON Schema (draft-07) of a kind of file, for editors that complete and check as you type.",
    )
    .argument("[kind]", "scenario, rig, library or lesson; scenario when left out")
    .addHelpText("before", examples(["schema > scenario.schema.json", "schema rig > rig.schema.json"]))
    .action(async (kind: string | undefined) => {
      const { printSchema } = await import("./verbs/schema.ts");
      status = printSchema(kind ?? "scenario", io);
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
  readonly recordCsv?: string;
  readonly vcd?: string;
  readonly trace?: string;
  readonly junit?: string;
  readonly force?: true;
  readonly assumed?: true;
  readonly json?: true;
}

interface CompareOptions {
  readonly at?: string;
  readonly draws?: string;
  readonly only?: string;
  readonly repair?: string[];
  readonly seed?: string;
  readonly skipAssumed?: true;
  readonly csv?: string;
  readonly threads?: string;
  readonly force?: true;
  readonly json?: true;
}

interface OddsOptions {
  readonly rates: string;
  readonly heardBy?: string;
  readonly shows?: string;
  readonly seed?: string;
  readonly json?: true;
}

interface AssumptionsOptions {
  readonly heardBy?: string;
  readonly at?: string;
  readonly only?: string;
  readonly repair?: string[];
  readonly jointly?: string;
  readonly seed?: string;
  readonly json?: true;
}

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

interface MergeOptions {
  readonly join?: string[];
  readonly same?: string[];
  readonly names?: string;
  readonly out?: string;
  readonly force?: true;
  readonly json?: true;
}

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

/** "error: unknown option '--sed'" → "pulltest: unknown option '--sed'", without anything that a terminal would obey. */
function tidied(text: string): string {
  return text
    .replace(/^error: /, "pulltest: ")
    .replace(/[\p{Cc}\p{Cf}]/gu, (character) => (character === "\n" ? character : "\u{fffd}"));
}
