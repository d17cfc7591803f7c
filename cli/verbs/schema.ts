/** `pulltest schema`: prints the JSON Schema of a kind of file. */
import { nearest } from "../../shared/nearest.ts";
import { publishedSchemas } from "../json-schemas.ts";
import { jsonText, oneLine } from "../print/plain.ts";
import { BAD_INPUT, MET } from "../status.ts";
import type { Io } from "../terminal.ts";

export function printSchema(kind: string, io: Io): number {
  const schemas = publishedSchemas();
  const schema = schemas.get(kind);
  if (schema === undefined) {
    const meant = nearest(kind, schemas.keys());
    const hint = meant === null ? "" : ` Did you mean ${meant}?`;
    io.err(
      `pulltest schema: there is no schema of "${oneLine(kind)}".${hint} There are: ${[...schemas.keys()].join(", ")}.\n`,
    );
    return BAD_INPUT;
  }
  io.out(`${jsonText(schema)}\n`);
  return MET;
}
