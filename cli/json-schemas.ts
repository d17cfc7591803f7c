/** The JSON Schemas of all kinds of files, draft-07: what editors complete and check by while one is written. */
import * as z from "zod/mini";
import { lessonSchema } from "../shared/scenario-lesson.ts";
import { jsonSchemas } from "../shared/scenario-schema.ts";

/** By kind: "scenario", "rig", "library", "lesson"; that of a lesson stands in "lesson.schema.json". */
export function publishedSchemas(): ReadonlyMap<string, object> {
  const ofScenarios = Object.entries(jsonSchemas()).map(
    ([name, schema]) => [name.split(".")[0] ?? "", schema] as const,
  );
  return new Map([...ofScenarios, ["lesson", lessonJsonSchema()]]);
}

function lessonJsonSchema(): object {
  const { $schema, ...rest } = z.toJSONSchema(lessonSchema, { io: "input", target: "draft-7" });
  return { $schema, title: "A lesson", ...rest };
}
