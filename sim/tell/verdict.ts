/** What the expectations of the scenario came to. The run never says that a rig is right: it was not tried on site. */
import type { Told } from "./picture.ts";
import { counted } from "./words.ts";

export function verdictSentences({ summary }: Told): string[] {
  if (summary.verdict === "none") return ["The file expects nothing, so nothing was compared. Not tested on site."];
  const missed = summary.expect.filter(({ met }) => !met);
  if (missed.length === 0) return ["Every expectation met. Not tested on site."];
  const all = summary.expect.length;
  const head =
    all === 1
      ? "The expectation was missed. Not tested on site."
      : `${counted(missed.length, "", "").trim()} of ${all} expectations missed. Not tested on site.`;
  return [
    head[0]!.toUpperCase() + head.slice(1),
    ...missed.map(({ expected, found }) => `Expected ${expected}; found ${found}.`),
  ];
}
