/** Files that a person takes from the page: what they are called, and how the browser is handed them. */
import { h } from "./dom.ts";
import type { PageContext } from "./page.ts";

/** "pulltest-two-desks-0f0f0f0f": letters and digits that every system takes, and which plan it is of. */
export function stem({ run }: PageContext): string {
  const { title, sha256 } = run.summary.scenario;
  const words = title
    .normalize("NFKD")
    .toLowerCase()
    .split(/[^a-z0-9]+/)
    .filter((word) => word !== "");
  return ["pulltest", ...words, sha256.slice(0, 8)].join("-").replace(/^(.{60}).*(-.{8})$/, "$1$2");
}

/** What is said of it afterwards. */
export const WHERE_SAVED = "in the folder where this browser keeps what it downloads";

/** Returns what to say of it. */
export function saveFile(name: string, content: Blob): string {
  const address = URL.createObjectURL(content);
  h("a", { href: address, download: name }).click();
  // The browser takes its time to fetch it.
  setTimeout(() => URL.revokeObjectURL(address), 60_000);
  return `Saved: ${name}, ${WHERE_SAVED}.`;
}
