/** A sheet of paper as data: a table under headings, whatever prints it. */
export const SHEETS = ["clock-plan", "settings", "cables", "channels", "power-up", "pull-test", "fault-cards"] as const;
export type SheetName = (typeof SHEETS)[number];

export interface SheetColumn {
  readonly head: string;
  /** "tick": a box for a person; "write": room for a hand; both are empty. "number": to the right. */
  readonly as: "text" | "name" | "number" | "tick" | "write";
}

export interface SheetSection {
  /** Null: the rows stand under no heading of their own. */
  readonly title: string | null;
  /** A cell for each column; line breaks within. */
  readonly rows: readonly (readonly string[])[];
}

export interface Sheet {
  readonly name: SheetName | "symptoms";
  readonly title: string;
  /** Before the table. */
  readonly lead: readonly string[];
  readonly columns: readonly SheetColumn[];
  readonly sections: readonly SheetSection[];
  /** Behind it. */
  readonly after: readonly string[];
}

/** A row with empty cells for what people write. */
export function row(columns: readonly SheetColumn[], cells: readonly string[]): readonly string[] {
  let next = 0;
  return columns.map(({ as }) => (as === "tick" || as === "write" ? "" : (cells[next++] ?? "")));
}
