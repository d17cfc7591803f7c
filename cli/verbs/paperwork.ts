/** `pulltest paperwork`: what a crew prints of a plan, with every time in it rehearsed. */
import { join } from "node:path";
import { type Issue, withoutLine } from "../../shared/issues.ts";
import type { SheetName } from "../../sim/paperwork/sheet.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { stampOf } from "../../sim/stamp.ts";
import { toldOf } from "../../sim/tell/picture.ts";
import { verdictSentences } from "../../sim/tell/verdict.ts";
import { counted } from "../../sim/tell/words.ts";
import { ranked, tollsOf } from "../../sim/trials/rank.ts";
import { singleFaults } from "../../sim/trials/setup.ts";
import { makeFolder, type Output, outputObstacle, writeNewFile } from "../files.ts";
import { chromiumPath, picturesOf } from "../paperwork/chromium.ts";
import { readPaperwork, type TypedPaperwork } from "../paperwork/options.ts";
import { type PaperFile, paperworkOf } from "../paperwork/sheets.ts";
import { issuesText } from "../print/issues.ts";
import { oneLine } from "../print/plain.ts";
import { readScenarioFile } from "../scenario.ts";
import { BAD_INPUT, MET } from "../status.ts";
import type { Io } from "../terminal.ts";
import { playAll } from "../trials/all.ts";
import { clockOf, timeIssues } from "../trials/options.ts";

export interface PaperworkRequest extends TypedPaperwork {
  readonly file: string;
  /** A folder, made if it is not there. */
  readonly out: string;
  readonly seed: string | null;
  /** A picture of each card too, by a browser of this machine. */
  readonly png: boolean;
  readonly force: boolean;
  readonly version: string;
}

export async function paperworkFor(request: PaperworkRequest, io: Io): Promise<number> {
  const { file, out, seed, png, force, version } = request;
  const refused = (problem: string): number => {
    io.err(`pulltest paperwork: ${oneLine(problem)}; nothing was written\n`);
    return BAD_INPUT;
  };
  const program = png ? chromiumPath(process.env) : null;
  const read = await readScenarioFile(file, io, { events: [], options: [], seed });
  const {
    wanted,
    concerns,
    threads,
    paper,
    cardsToAPage,
    sheets,
    issues: typed,
    notes,
  } = readPaperwork(request, clockOf(read.plan));
  const issues = [...typed, ...pngIssues(png, program, sheets), ...timeIssues(wanted.atNs, read.plan), ...read.issues];
  if (issues.length > 0 || read.plan === null) {
    io.err(issuesText(issues, "nothing was written"));
    return BAD_INPUT;
  }
  for (const note of notes) io.err(`${oneLine(note)}\n`);
  const { plan } = read;
  const { sweep } = singleFaults(plan, wanted);
  const tolls = sheets.has("fault-cards")
    ? ranked(sweep.plan, tollsOf(sweep, await playAll(sweep, threads, io)), concerns)
    : [];
  const { files, cardPages } = paperworkOf({
    ...{ sheets, paper, cardsToAPage, sweep, tolls, repairsGiven: wanted.repairsGiven, version },
    title: plan.title,
    stamp: stampOf(plan),
    verdict: verdictSentences(toldOf(rehearse(plan)))[0] ?? "",
  });
  let pictures: PaperFile[] = [];
  try {
    if (program !== null && cardPages.length > 0)
      pictures = (await picturesOf(program, cardPages)).map((text, place) => ({
        ...{ name: `card-${String(place + 1).padStart(2, "0")}.png`, text },
      }));
  } catch (error) {
    return refused(`${program} made no pictures: ${(error as Error).message}`);
  }

  const all = [...files, ...pictures];
  const unmade = await makeFolder(io.workingFolder, out);
  if (unmade !== null) return refused(unmade);
  // All are looked at before the first is written: sheets of two plans in one folder are worse than none.
  const outputs = all.map(
    ({ name }): Output => ({
      name: join(out, name),
      kind: name.endsWith(".html") ? "page" : "table",
    }),
  );
  const obstacle = await outputObstacle(io.workingFolder, outputs, { inputs: read.inputs, force });
  if (obstacle !== null) return refused(obstacle);
  for (const { name, text } of all) {
    const problem = await writeNewFile(io.workingFolder, join(out, name), text, { overwrite: true });
    if (problem !== null) {
      io.err(`pulltest paperwork: ${oneLine(problem)}; what stands in ${oneLine(out)} is not all of one plan\n`);
      return BAD_INPUT;
    }
  }
  const cards = cardPages.length === 0 ? "" : `, ${counted(cardPages.length, "card", "cards")} among them`;
  io.err(`Wrote ${counted(all.length, "file", "files")} into ${oneLine(out)}${cards}, plan ${stampOf(plan)}.\n`);
  io.err(`Open ${oneLine(join(out, "index.html"))}. Print it, and pull the cables before doors.\n`);
  return MET;
}

function pngIssues(png: boolean, program: string | null, sheets: ReadonlySet<SheetName>): Issue[] {
  const issue = withoutLine("--png");
  if (png && !sheets.has("fault-cards")) {
    const remedy = "add fault-cards, or leave --png out";
    return [{ ...issue, expected: "fault-cards among the sheets of --only", received: [...sheets].join(","), remedy }];
  }
  if (!png || program !== null) return [];
  const remedy = "name it in CHROMIUM_PATH, or leave --png out and send fault-cards.html";
  return [{ ...issue, expected: "a Chromium on this machine", received: "none", remedy }];
}
