/** `npm run schema`: writes the JSON Schemas beside the shipped scenarios and lessons, where editors find them. */
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { jsonSchemas } from "../shared/scenario-schema.ts";
import { LESSON_SCHEMA, lessonJsonSchema } from "./lesson-json-schema.ts";

for (const [name, schema] of Object.entries({ ...jsonSchemas(), [LESSON_SCHEMA]: lessonJsonSchema() })) {
  writeFileSync(join(process.cwd(), "scenarios", name), `${JSON.stringify(schema, null, 2)}\n`);
}
