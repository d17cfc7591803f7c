/** A fault of ours: what failed, and the one command that shows it again. */
import { oneLine } from "./plain.ts";

export function faultText(error: unknown, args: readonly string[], withStack: boolean): string {
  const message = error instanceof Error ? error.message : String(error);
  const lines = [
    `pulltest: a fault in Pulltest itself, not in your input: ${oneLine(message)}`,
    `Reproduce: ${withStack ? "" : "PULLTEST_DEBUG=1 "}pulltest ${args.map(quoted).join(" ")}`,
  ];
  if (withStack && error instanceof Error && error.stack !== undefined) lines.push(error.stack);
  return `${lines.join("\n")}\n`;
}

/** As a shell reads it back. */
export function quoted(arg: string): string {
  return /^[\w@%+=:,./-]+$/.test(arg) ? arg : `'${oneLine(arg).replaceAll("'", "'\\''")}'`;
}
