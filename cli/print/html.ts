/** Text inside HTML and SVG. */
import { plain } from "./plain.ts";

export function inHtml(text: string): string {
  return plain(text).replaceAll("&", "&amp;").replaceAll("<", "&lt;").replaceAll(">", "&gt;").replaceAll('"', "&quot;");
}
