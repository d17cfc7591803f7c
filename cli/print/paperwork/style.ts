/** How paper looks: black on white, hatches as lines, type that is read at arm's length. */

export const PAPERS = ["a4", "letter"] as const;
export type Paper = (typeof PAPERS)[number];

const PAGE: Readonly<Record<Paper, string>> = { a4: "A4", letter: "letter" };
/** What is left of a page between its margins, mm: ISO 216, and 8.5 by 11 inches. */
const INNER: Readonly<Record<Paper, { readonly width: number; readonly height: number }>> = {
  a4: { width: 190, height: 277 },
  letter: { width: 195.9, height: 259.4 },
};
const MARGIN_MM = 10;
const GAP_MM = 4;

/** Of one card, mm: a little less than its share of the page, or rounding makes one page more. */
function cardBox(paper: Paper, cardsToAPage: 1 | 4): { readonly width: number; readonly height: number } {
  const { width, height } = INNER[paper];
  const share = (side: number) => Math.floor((side - GAP_MM) / 2);
  return cardsToAPage === 1
    ? { width, height: Math.floor(height) - 2 }
    : { width: share(width), height: share(height) - 2 };
}

/** Sizes of type on a card, points: as large as fits, and never smaller than what a hand at a time can hold to read. */
const SIZES = { 1: { most: 17, least: 9 }, 4: { most: 9.5, least: 6.5 } } as const;
const POINTS_TO_MM = 25.4 / 72;
/** Of the size of type: a letter of a wide face, on average, and what a line takes. */
const LETTER = 0.56;
const LINE = { 1: 1.26, 4: 1.19 } as const;
/** What a heading takes with what is around it. */
const HEAD = { 1: 1.85, 4: 1.3 } as const;

export interface CardFit {
  readonly sizePoints: number;
  /** It takes the place of two beside each other. */
  readonly isWide: boolean;
}

/** The largest type at which these lines, broken at the card's width, fit into it. @param heads lines that are headings */
export function fitOnCard(lines: readonly string[], heads: number, paper: Paper, cardsToAPage: 1 | 4): CardFit {
  const { width, height } = cardBox(paper, cardsToAPage);
  const { most, least } = SIZES[cardsToAPage];
  const fits = (size: number, wide: number) => {
    const em = size * POINTS_TO_MM;
    // Two ems at the sides, one and a half for the sign before an item.
    const letters = (wide - 3.4 * em) / (LETTER * em);
    const rows = lines.reduce((sum, line) => sum + Math.ceil(line.length / letters), 0);
    return (rows * LINE[cardsToAPage] + heads * HEAD[cardsToAPage] + 3) * em <= height;
  };
  const widths = cardsToAPage === 1 ? [width] : [width, INNER[paper].width];
  for (const [place, wide] of widths.entries())
    for (let size = most; size >= least; size -= 0.25)
      if (fits(size, wide)) return { sizePoints: size, isWide: place > 0 };
  return { sizePoints: least, isWide: widths.length > 1 };
}

export function styleFor(paper: Paper, cardsToAPage: 1 | 4): string {
  const { width } = INNER[paper];
  const card = cardBox(paper, cardsToAPage);
  return `
@page{size:${PAGE[paper]};margin:${MARGIN_MM}mm}
*{box-sizing:border-box}
html{color-scheme:light;background:#fff;color:#000}
body{margin:0 auto;max-width:${width}mm;font:11pt/1.35 "Liberation Sans",Arial,Helvetica,sans-serif}
@media screen{body{padding:${MARGIN_MM}mm 4mm}}
header{display:flex;justify-content:space-between;gap:6mm;align-items:flex-start;border-bottom:1.5pt solid #000;padding-bottom:2mm}
h1{font-size:20pt;line-height:1.1;margin:0}
h2{font-size:13pt;margin:4mm 0 1.5mm;break-after:avoid}
p{margin:1.5mm 0}
.unseen{position:absolute;width:1px;height:1px;overflow:hidden;clip-path:inset(50%)}
.rig-name{margin:0;font-size:11pt}
.stamp{text-align:right;margin:0;white-space:nowrap}
.stamp strong{display:block;font-size:22pt;line-height:1.05;letter-spacing:.5pt}
.caution{border:1.5pt solid #000;padding:1.5mm 2.5mm;margin:3mm 0;break-inside:avoid}
.caution p{margin:.6mm 0}
table{border-collapse:collapse;width:100%;font-size:10pt}
thead{display:table-header-group}
tr{break-inside:avoid}
th,td{border:.6pt solid #000;padding:1mm 1.4mm;text-align:left;vertical-align:top;overflow-wrap:break-word}
thead th{border-bottom-width:1.5pt;font-size:9pt}
th.section{font-size:11pt;background:#fff;border-top-width:1.5pt;padding-top:1.6mm;break-after:avoid}
.name{font-weight:700;min-width:25mm}
.name small{font-weight:400;font-size:.9em}
.number{text-align:right;white-space:nowrap}
.tick{width:9mm}
.tick i{display:block;width:5mm;height:5mm;border:1pt solid #000}
.write{width:30mm}
svg.rig{display:block;width:100%;height:auto;max-height:200mm;margin:3mm 0}
svg.rig rect{fill:#fff;stroke:#000;stroke-width:1.4}
svg.rig .wire{fill:none;stroke:#000;stroke-width:2.4}
svg.rig .thin{fill:none;stroke:#000;stroke-width:1}
svg.rig text{font-size:14px;font-weight:700}
svg.rig .word{font-size:12px;font-weight:400;stroke:#fff;stroke-width:3;paint-order:stroke}
.labels{display:grid;grid-template-columns:1fr 1fr;gap:0;break-before:page}
.label{border:.6pt solid #000;padding:1.5mm 3mm;min-height:20mm;break-inside:avoid}
.label p{margin:0}
.label .big{font-size:20pt;font-weight:700;line-height:1.1;overflow-wrap:anywhere}
${cardsToAPage === 1 ? "" : `.cards{display:grid;grid-template-columns:1fr 1fr;grid-auto-flow:dense;gap:${GAP_MM}mm}`}
.card{min-height:${card.height}mm;border:2pt solid #000;padding:.45em .6em;break-inside:avoid;display:flex;flex-direction:column;line-height:1.24;min-width:0}
.card.wide{grid-column:1/-1}
.card h2{font-size:1.42em;line-height:1.12;margin:0 0 .2em;display:flex;gap:.4em}
.card h2 b{border:2pt solid #000;padding:0 .25em;align-self:flex-start}
.card h3{font-size:1em;margin:.32em 0 .08em;border-top:.8pt solid #000;padding-top:.18em}
.card ul,.card ol{margin:0;padding-left:1.15em}
.card p{margin:.1em 0}
.card .mute{border:2pt solid #000;padding:.2em .4em;margin:.3em 0}
.card .mute h3{border:0;margin:0;padding:0;font-size:1.12em}
.card .foot{margin-top:auto;border-top:2pt solid #000;padding-top:.2em;font-size:.84em}
.card .also{font-size:.86em}
footer{margin-top:4mm;border-top:.6pt solid #000;padding-top:1.5mm;font-size:9.5pt}
${cardsToAPage === 1 ? "" : ".card{line-height:1.16;padding:.3em .5em}.card h2{font-size:1.25em}.card h3{margin:.12em 0 0;padding-top:.06em;font-size:.92em}.card p{margin:0}.card .mute{margin:.12em 0;padding:.1em .35em}.card .foot{padding-top:.1em}"}
@media print{.card{break-inside:avoid}${cardsToAPage === 1 ? ".card{break-after:page}.card:last-child{break-after:auto}" : ""}}
@media screen{.card+.card{margin-top:${cardsToAPage === 1 ? GAP_MM : 0}mm}}
@media screen and (max-width:160mm){.cards{grid-template-columns:1fr}.card{min-height:0;font-size:13pt!important}.scrolls{overflow-x:auto}}
`.trim();
}
