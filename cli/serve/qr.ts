/** An address as a QR code (ISO/IEC 18004) of half blocks: two modules above each other in a character. */
import qrcode from "qrcode-generator";

/** Modules of light round it: ISO/IEC 18004 asks for four. */
export const QUIET_ZONE = 4;

/** One string per line of the terminal, all of one length; a block is a dark module. */
export function halfBlocks(text: string): readonly string[] {
  const code = qrcode(0, "M");
  code.addData(text, "Byte");
  code.make();
  const count = code.getModuleCount();
  const isDark = (row: number, column: number) =>
    row >= 0 && column >= 0 && row < count && column < count && code.isDark(row, column);
  const lines: string[] = [];
  for (let row = -QUIET_ZONE; row < count + QUIET_ZONE; row += 2) {
    let line = "";
    for (let column = -QUIET_ZONE; column < count + QUIET_ZONE; column += 1) {
      const [upper, lower] = [isDark(row, column), isDark(row + 1, column)];
      line += upper ? (lower ? "█" : "▀") : lower ? "▄" : " ";
    }
    lines.push(line);
  }
  return lines;
}

/**
 * Black on white whatever the terminal's own colours are: not every reader takes a code that is light on dark. Of the
 * 256 colours those of the cube, since themes give the first sixteen as they like, some of them black and white swapped.
 */
export function onWhite(line: string): string {
  return `\u001b[38;5;16;48;5;231m${line}\u001b[0m`;
}
