/** `npm run schema`: writes the JSON Schemas beside the shipped scenarios and lessons, where editors find them. */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { publishedSchemas } from "./json-schemas.ts";

for (const [kind, schema] of publishedSchemas()) {
  writeFileSync(join(process.cwd(), "scenarios", `${kind}.schema.json`), `${JSON.stringify(schema, null, 2)}\n`);
}
