/** Text from a file on its way to a terminal. */

/**
 * Without control characters (which can move the cursor, set the title, or answer for the user) and without those that
 * turn the direction of text; each becomes a visible mark. Line ends stay where the printer itself has put them.
 */
export function plain(text: string): string {
  return text.replace(/[\p{Cc}\p{Cf}\p{Zl}\p{Zp}]/gu, (character) => (character === "\n" ? character : "\u{fffd}"));
}

/** One line, whatever was in it. */
export function oneLine(text: string): string {
  return plain(text.replace(/\r?\n|\r/g, " "));
}

/** JSON for standard output: escaped so that neither a terminal nor an HTML page can be told anything by it. */
export function jsonText(value: unknown, indent = 2): string {
  return JSON.stringify(value, null, indent).replace(
    /[\u007f-\u009f\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]/g,
    (character) => `\\u${character.charCodeAt(0).toString(16).padStart(4, "0")}`,
  );
}

/** Breaks at spaces; lines after the first begin with `indent` spaces. Null: no wrapping. */
export function wrapped(text: string, columns: number | null, indent: number): string {
  if (columns === null) return text;
  // Narrower than this no indent helps.
  const width = Math.max(columns, indent + 20);
  const lines: string[] = [];
  let line = "";
  for (const word of text.split(" ")) {
    const room = lines.length === 0 ? width : width - indent;
    if (line !== "" && line.length + 1 + word.length > room) {
      lines.push(line);
      line = word;
    } else line = line === "" ? word : `${line} ${word}`;
  }
  lines.push(line);
  return lines.join(`\n${" ".repeat(indent)}`);
}
