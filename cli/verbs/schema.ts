/** `pulltest schema`: prints the JSON Schema of a scenario. */
import { jsonSchemas } from "../../shared/scenario-schema.ts";
import { jsonText } from "../print/plain.ts";
import { MET } from "../status.ts";
import type { Io } from "../terminal.ts";

export function printSchema(io: Io): number {
  io.out(`${jsonText(jsonSchemas()["scenario.schema.json"])}\n`);
  return MET;
}
