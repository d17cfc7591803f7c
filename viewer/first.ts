/** The parts of the page in their order, and those of them that people wait for. */
import type { PagePart } from "./page.ts";
import { followPart } from "./views/follow.ts";
import { head } from "./views/frame.ts";
import { showPart } from "./views/show.ts";

export const PART_ORDER = [
  "head",
  "follow",
  "map",
  "plan",
  "walk",
  "lessons",
  "show",
  "events",
  "hurt",
  "compare",
  "why",
  "shouldSee",
  "timeline",
  "takeAway",
  "heard",
  "policies",
  "devices",
  "networks",
  "stability",
  "findings",
  "expectations",
  "assumed",
  "foot",
] as const;
export type PartName = (typeof PART_ORDER)[number];

/** They are in the page's first script; the others come once these are on the screen. */
export const FIRST_PARTS = {
  head: ({ run }) => head(run),
  follow: followPart,
  show: showPart,
} as const satisfies Partial<Record<PartName, PagePart>>;

export type LaterParts = Readonly<Record<Exclude<PartName, keyof typeof FIRST_PARTS>, PagePart>>;
