/**
 * What one looks at, as the part of an address after "#": `#v1;from=0;to=5400;cursor=1200;lane=device%20foh`. Times are
 * seconds of show time. Nothing of the plan is in it, so it means something only where the same page is open.
 */

import { decimal } from "../../sim/export/decimal.ts";
import type { Look } from "../store.ts";

export type SharedLook = Pick<Look, "fromSeconds" | "toSeconds" | "cursorSeconds" | "cursorBSeconds" | "lane">;

/** Raised when a field changes its meaning; what is read under an older one stays read. */
const VERSION = "v1";

export function formatLook({ fromSeconds, toSeconds, cursorSeconds, cursorBSeconds, lane }: SharedLook): string {
  const fields = [`from=${decimal(fromSeconds)}`, `to=${decimal(toSeconds)}`, `cursor=${decimal(cursorSeconds)}`];
  if (cursorBSeconds !== null) fields.push(`b=${decimal(cursorBSeconds)}`);
  if (lane !== null) fields.push(`lane=${encodeURIComponent(lane)}`);
  return `#${[VERSION, ...fields].join(";")}`;
}

/** What of it can be read; the rest is left out, so that it stays as it was. Null: it is no such link. */
export function parseLook(hash: string): Partial<SharedLook> | null {
  const [version, ...fields] = hash.replace(/^#/, "").split(";");
  if (version !== VERSION) return null;
  const values = new Map<string, string>();
  for (const field of fields) {
    const at = field.indexOf("=");
    if (at > 0) values.set(field.slice(0, at), field.slice(at + 1));
  }
  const [fromSeconds, toSeconds] = [seconds(values.get("from")), seconds(values.get("to"))];
  const [cursorSeconds, cursorBSeconds] = [seconds(values.get("cursor")), seconds(values.get("b"))];
  const lane = decoded(values.get("lane"));
  return {
    // One edge alone is no window.
    ...(fromSeconds !== null && toSeconds !== null && fromSeconds < toSeconds ? { fromSeconds, toSeconds } : {}),
    ...(cursorSeconds === null ? {} : { cursorSeconds }),
    ...(cursorBSeconds === null ? {} : { cursorBSeconds }),
    ...(lane === null ? {} : { lane }),
  };
}

function seconds(text: string | undefined): number | null {
  return text !== undefined && /^\d{1,12}(\.\d{1,12})?$/.test(text) ? Number(text) : null;
}

function decoded(text: string | undefined): string | null {
  try {
    return text === undefined || text === "" ? null : decodeURIComponent(text);
  } catch {
    return null;
  }
}
