/** How cells were taken that may mean two things. */
import { ISSUES_SHOWN } from "../../shared/issues.ts";
import type { ReadAs } from "../../sim/tables/entry.ts";

export function readAsLines(all: readonly ReadAs[]): string[] {
  const shown = all.slice(0, ISSUES_SHOWN);
  const lines = shown.map(
    ({ text, as, place }) => `Read ${text} as ${as} (${place.file}:${place.line}:${place.column}).`,
  );
  return all.length > shown.length ? [...lines, `and ${all.length - shown.length} more`] : lines;
}
