/** `npm run schema`: writes the JSON Schemas beside the shipped scenarios, where editors find them. */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { jsonSchemas } from "../shared/scenario-schema.ts";

for (const [name, schema] of Object.entries(jsonSchemas())) {
  writeFileSync(join(process.cwd(), "scenarios", name), `${JSON.stringify(schema, null, 2)}\n`);
}
