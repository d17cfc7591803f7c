/** Sheets of paper as HTML: everything inline, no script, nothing from a network. */
import type { Label } from "../../../sim/paperwork/cables.ts";
import type { Card } from "../../../sim/paperwork/cards.ts";
import type { Sheet, SheetColumn } from "../../../sim/paperwork/sheet.ts";
import { spelledStamp } from "../../../sim/stamp.ts";
import { CAUTIONS, CAUTIONS_ONCE } from "../../../sim/tell/cautions.ts";
import { inHtml } from "../html.ts";
import { fitOnCard, type Paper, styleFor } from "./style.ts";

export interface PageHead {
  /** Of the scenario. */
  readonly title: string;
  readonly stamp: string;
  /** What its expectations came to: "Every expectation met. Not tested on site." */
  readonly verdict: string;
  readonly version: string;
  readonly paper: Paper;
  readonly cardsToAPage: 1 | 4;
}

export function sheetPage(
  head: PageHead,
  sheet: Sheet,
  parts: { readonly before?: string; readonly behind?: string } = {},
): string {
  return document(head, sheet.title, [
    ...sheet.lead.map(paragraph),
    parts.before ?? "",
    table(sheet),
    ...sheet.after.map(paragraph),
    parts.behind ?? "",
  ]);
}

export function coverPage(
  head: PageHead,
  listed: readonly { readonly file: string; readonly title: string }[],
): string {
  return document(head, "Paperwork", [
    paragraph(
      `Say the plan's stamp over comms: ${spelledStamp(head.stamp)}. Whoever has another stamp has another rig.`,
    ),
    "<h2>Sheets</h2>",
    `<ul>${listed.map(({ file, title }) => `<li><a href="${inHtml(file)}">${inHtml(title)}</a></li>`).join("")}</ul>`,
    "<h2>To be read once by everybody</h2>",
    `<ul>${CAUTIONS_ONCE.map(({ about, text }) => `<li><strong>${inHtml(about)}.</strong> ${inHtml(text)}</li>`).join("")}</ul>`,
  ]);
}

export function labelsPart(labels: readonly Label[]): string {
  const one = ({ name, ends, about }: Label) =>
    `<div class="label"><p class="big">${inHtml(name)}</p><p>${inHtml(ends)}</p>${about === "" ? "" : `<p>${inHtml(about)}</p>`}</div>`;
  // Two of each: one for either end.
  const both = labels.map((label) => one(label) + one(label)).join("");
  return `<section aria-label="Labels, two of each: one for either end"><div class="labels">${both}</div></section>`;
}

export function cardsPage(head: PageHead, cards: readonly Card[]): string {
  const body = `<main class="cards"><h1 class="unseen">Fault cards</h1>${cards.map((card) => cardPart(head, card)).join("\n")}</main>`;
  return wrapped(head, "Fault cards", body);
}

/** One card on a page of its own, for a picture of it. */
export function cardAlone(head: PageHead, card: Card): string {
  return wrapped(head, card.title, `<main class="cards">${cardPart(head, card)}</main>`);
}

/** Headings of a card: its number and title count as two. */
const CARD_HEADS = 8;

function cardPart({ title, stamp, verdict, paper, cardsToAPage }: PageHead, card: Card): string {
  const { ears, mute: muteAt, differs } = CAUTIONS;
  const fixed = [
    muteAt,
    `${ears.head} ${ears.text}`,
    `${differs.card} ${differs.people}`,
    `${verdict} Plan ${stamp}, ${title}.`,
  ];
  const own = [...card.mutes, ...card.sees, ...card.hears, ...card.todo, ...card.never, card.normal, card.back];
  const alike = card.also.length === 0 ? [] : [`Looks alike: ${card.also.join("; ")}.`];
  // The title is half as large again.
  const fit = fitOnCard([card.title, card.title, ...alike, ...fixed, ...own], CARD_HEADS, paper, cardsToAPage);
  const mute =
    card.mutes.length === 0
      ? paragraph("Nothing that was rehearsed asks for it; ears out before you touch anything.")
      : list(card.mutes, "ol");
  const also = alike.map((text) => `<p class="also">${inHtml(text)}</p>`).join("");
  return `<article class="card${fit.isWide ? " wide" : ""}" id="card-${card.number}" style="font-size:${fit.sizePoints}pt">
<h2><b>${card.number}</b> <span>${inHtml(card.title)}</span></h2>${also}
<div class="mute"><h3>Mute this first</h3>${mute}<p>${inHtml(CAUTIONS.mute)}</p></div>
<p><strong>${inHtml(CAUTIONS.ears.head)}</strong> ${inHtml(CAUTIONS.ears.text)}</p>
<h3>You see</h3>${list(card.sees)}
<h3>You hear</h3>${list(card.hears)}
<h3>Do this</h3>${list(card.todo, "ol")}
<h3>Do not</h3>${list(card.never)}
<h3>Time to normal</h3>${paragraph(card.normal)}
<h3>Will the return hurt?</h3>${paragraph(card.back)}
<div class="foot"><p><strong>${inHtml(CAUTIONS.differs.card)}</strong> ${inHtml(CAUTIONS.differs.people)}</p>
<p>${inHtml(verdict)} Plan <strong>${stamp}</strong>, ${inHtml(title)}.</p></div>
</article>`;
}

function document(head: PageHead, title: string, parts: readonly string[]): string {
  const { stamp, verdict, version } = head;
  return wrapped(
    head,
    title,
    `<header><div><h1>${inHtml(title)}</h1><p class="rig-name">${inHtml(head.title)}</p></div>
<p class="stamp">Plan <strong>${stamp}</strong></p></header>
<aside class="caution" aria-label="Before any change">
<p><strong>${inHtml(CAUTIONS.ears.head)}</strong> ${inHtml(CAUTIONS.ears.text)}</p>
<p>${inHtml(CAUTIONS.mute)}</p>
<p><strong>${inHtml(CAUTIONS.differs.sheet)}</strong> ${inHtml(CAUTIONS.differs.people)}</p></aside>
<main>
${parts.filter((part) => part !== "").join("\n")}
</main>
<footer><p>${inHtml(verdict)} Plan ${stamp} (${spelledStamp(stamp)}), pulltest ${inHtml(version)}.</p></footer>`,
  );
}

function wrapped({ title: rig, paper, cardsToAPage }: PageHead, title: string, body: string): string {
  return `<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="generator" content="Pulltest">
<meta name="viewport" content="width=device-width,initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<title>${inHtml(title)} · ${inHtml(rig)}</title>
<style>
${styleFor(paper, cardsToAPage)}
</style>
</head>
<body>
${body}
</body>
</html>
`;
}

function table({ columns, sections, title }: Sheet): string {
  if (sections.every(({ rows }) => rows.length === 0)) return "";
  const head = columns.map(({ head, as }) => `<th scope="col" class="${as}">${inHtml(head)}</th>`).join("");
  const bodies = sections.map(({ title: section, rows }) => {
    const name =
      section === null
        ? ""
        : `<tr><th class="section" scope="rowgroup" colspan="${columns.length}">${inHtml(section)}</th></tr>`;
    const lines = rows.map(
      (cells) => `<tr>${cells.map((cell, place) => cellPart(cell, columns[place] as SheetColumn)).join("")}</tr>`,
    );
    return `<tbody>${name}${lines.join("\n")}</tbody>`;
  });
  return `<div class="scrolls" role="region" aria-label="${inHtml(title)}" tabindex="0"><table><thead><tr>${head}</tr></thead>${bodies.join("\n")}</table></div>`;
}

function cellPart(cell: string, { as }: SheetColumn): string {
  if (as === "tick") return `<td class="tick"><i></i></td>`;
  const [first = "", ...others] = cell.split("\n").map(inHtml);
  if (as !== "name") return `<td class="${as}">${[first, ...others].join("<br>")}</td>`;
  const more = others.map((line) => `<br><small>${line}</small>`).join("");
  return `<th scope="row" class="name">${first}${more}</th>`;
}

function list(items: readonly string[], tag: "ul" | "ol" = "ul"): string {
  return `<${tag}>${items.map((item) => `<li>${inHtml(item)}</li>`).join("")}</${tag}>`;
}

function paragraph(text: string): string {
  return `<p>${inHtml(text)}</p>`;
}
