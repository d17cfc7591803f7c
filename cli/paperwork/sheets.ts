/** From a plan to everything that a crew prints of it, in memory. */
import type { Ns } from "../../shared/time.ts";
import { cablesSheet, labelsOf } from "../../sim/paperwork/cables.ts";
import { type Card, CLASSES_MOST, cardsOf } from "../../sim/paperwork/cards.ts";
import { channelsSheet } from "../../sim/paperwork/channels.ts";
import { clockPlan } from "../../sim/paperwork/clock-plan.ts";
import { powerUpSheet } from "../../sim/paperwork/power-up.ts";
import { pullSheet } from "../../sim/paperwork/pull-sheet.ts";
import { pullTest } from "../../sim/paperwork/pulls.ts";
import { Rehearser, sightsAt } from "../../sim/paperwork/rehearsed.ts";
import { settingsSheet } from "../../sim/paperwork/settings.ts";
import type { Sheet, SheetName } from "../../sim/paperwork/sheet.ts";
import { symptomsOf, symptomsSheet } from "../../sim/paperwork/symptoms.ts";
import type { RepairName } from "../../sim/trials/list.ts";
import type { CaseToll } from "../../sim/trials/rank.ts";
import type { Sweep } from "../../sim/trials/trial.ts";
import { cardsCsv, sheetCsv } from "../print/paperwork/csv.ts";
import { cardAlone, cardsPage, coverPage, labelsPart, type PageHead, sheetPage } from "../print/paperwork/page.ts";
import { rigPicture } from "../print/paperwork/picture.ts";

export interface PaperFile {
  readonly name: string;
  readonly text: string | Uint8Array;
}

export interface PaperworkWish extends PageHead {
  readonly sheets: ReadonlySet<SheetName>;
  /** Of the show as planned. */
  readonly sweep: Sweep;
  /** Of every single fault, worst first; empty where no cards are wanted. */
  readonly tolls: readonly CaseToll[];
  /** Whose time somebody has said; that of the others is assumed. */
  readonly repairsGiven: ReadonlySet<RepairName>;
}

export interface Paperwork {
  readonly files: readonly PaperFile[];
  /** One page for each card, for a picture of it. */
  readonly cardPages: readonly string[];
}

export function paperworkOf(wish: PaperworkWish): Paperwork {
  const { sheets, sweep, tolls, repairsGiven, stamp, verdict } = wish;
  const head: PageHead = wish;
  const { plan, watchSeconds } = sweep;
  const atNs = sweep.standings[0]?.atNs as Ns;
  const rehearser = new Rehearser(plan, atNs);
  const made: { readonly sheet: Sheet; readonly before?: string; readonly behind?: string }[] = [];
  const wants = (name: SheetName) => sheets.has(name);
  if (wants("clock-plan")) made.push({ sheet: clockPlan(plan), before: rigPicture(plan) });
  if (wants("settings")) made.push({ sheet: settingsSheet(plan, restOf(rehearser)) });
  if (wants("cables")) made.push({ sheet: cablesSheet(plan), behind: labelsPart(labelsOf(plan)) });
  if (wants("channels")) made.push({ sheet: channelsSheet(plan) });
  if (wants("power-up")) made.push({ sheet: powerUpSheet(plan) });
  if (wants("pull-test")) made.push({ sheet: pullSheet(plan, pullTest(plan, atNs)) });
  let cards: readonly Card[] = [];
  if (wants("fault-cards")) {
    cards = cardsOf({ plan, tolls, rehearser, watchSeconds, classesMost: CLASSES_MOST, repairsGiven });
    made.push({ sheet: symptomsSheet(plan, symptomsOf(plan, tolls, rehearser, watchSeconds), cards) });
  }
  const files: PaperFile[] = made.flatMap(({ sheet, before, behind }) => [
    { name: `${sheet.name}.html`, text: sheetPage(head, sheet, { before: before ?? "", behind: behind ?? "" }) },
    { name: `${sheet.name}.csv`, text: sheetCsv({ stamp, verdict }, sheet) },
  ]);
  if (wants("fault-cards"))
    files.push(
      { name: "fault-cards.html", text: cardsPage(head, cards) },
      { name: "fault-cards.csv", text: cardsCsv({ stamp, verdict }, cards) },
    );
  const listed = [
    ...made.map(({ sheet }) => ({ file: `${sheet.name}.html`, title: sheet.title })),
    ...(wants("fault-cards") ? [{ file: "fault-cards.html", title: "Fault cards" }] : []),
  ];
  return {
    files: [{ name: "index.html", text: coverPage(head, listed) }, ...files],
    cardPages: cards.map((card) => cardAlone(head, card)),
  };
}

/** How all stands when nothing has failed. */
function restOf(rehearser: Rehearser) {
  return sightsAt(rehearser.play([], 1), rehearser.atNs);
}
