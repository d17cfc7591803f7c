/** Examples above the help of a verb. */
export function examples(lines: readonly string[]): string {
  return `${lines.map((line) => `  pulltest ${line}`).join("\n")}\n`;
}
