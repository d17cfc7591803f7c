/** What was typed behind `pulltest paperwork`, read all at once. */
import type { ShowClock } from "../../shared/as-said.ts";
import { type Issue, quote, withoutLine } from "../../shared/issues.ts";
import { SHEETS, type SheetName } from "../../sim/paperwork/sheet.ts";
import { PAPERS, type Paper } from "../print/paperwork/style.ts";
import { chosen, type Refuse, readWanted, type WantedRead } from "../trials/options.ts";

export interface TypedPaperwork {
  readonly paper: string | null;
  readonly cards: string | null;
  readonly only: string | null;
  readonly at: string | null;
  readonly draws: string | null;
  readonly repair: readonly string[];
  readonly threads: string | null;
}

export interface PaperworkRead extends Pick<WantedRead, "wanted" | "concerns" | "threads" | "issues" | "notes"> {
  readonly paper: Paper;
  readonly cardsToAPage: 1 | 4;
  readonly sheets: ReadonlySet<SheetName>;
}

/** @param clock of the show, for times of day */
export function readPaperwork(typed: TypedPaperwork, clock: ShowClock): PaperworkRead {
  const issues: Issue[] = [];
  const refuse: Refuse = (option, expected, received, remedy) => {
    issues.push({ ...withoutLine(option), expected, received: quote(received), remedy });
  };
  const { at, draws, repair, threads } = typed;
  const trials = readWanted({ at, draws, repair, threads }, clock);
  const [paper = "a4"] = typed.paper === null ? [] : chosen("--paper", typed.paper, PAPERS, refuse);
  const [cards = "1"] = typed.cards === null ? [] : chosen("--cards", typed.cards, ["1", "4"] as const, refuse);
  return {
    wanted: trials.wanted,
    concerns: trials.concerns,
    threads: trials.threads,
    notes: trials.notes,
    paper,
    cardsToAPage: cards === "1" ? 1 : 4,
    sheets: new Set(typed.only === null ? SHEETS : chosen("--only", typed.only, SHEETS, refuse)),
    issues: [...issues, ...trials.issues],
  };
}
