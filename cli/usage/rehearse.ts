/** `pulltest rehearse`: what it takes. */
import type { Command } from "commander";
import { version } from "../../package.json" with { type: "json" };
import { examples } from "../examples.ts";
import type { Io } from "../terminal.ts";
import { collected } from "./collected.ts";

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

export function addRehearse(program: Command, io: () => Io, ends: (status: number) => void): void {
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
      const { rehearseFile } = await import("../verbs/rehearse.ts");
      ends(
        await rehearseFile(
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
          io(),
        ),
      );
    });
}
