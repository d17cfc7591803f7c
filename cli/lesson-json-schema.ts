/** The JSON Schema of a lesson, draft-07: what editors complete and check by while one is written. */
import * as z from "zod/mini";
import { lessonSchema } from "../shared/scenario-lesson.ts";

/** Of its file, beside the schemas of scenarios. */
export const LESSON_SCHEMA = "lesson.schema.json";

export function lessonJsonSchema(): object {
  const { $schema, ...rest } = z.toJSONSchema(lessonSchema, { io: "input", target: "draft-7" });
  return { $schema, title: "A lesson", ...rest };
}
