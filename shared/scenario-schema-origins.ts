/**
 * Where numbers of a device or a type come from, as a scenario file and a library write it: by the name of the number,
 * a list of who says what. Beside the numbers, never in their place: the number that stands there is the one that is
 * played, whatever its origins say.
 */
import * as z from "zod/mini";
import { label, listOf, marked, matching, only, told, wholeFrom } from "./scenario-values.ts";
import { DATE_EXPECTED, DATE_PATTERN } from "./units.ts";

type Shape = Readonly<Record<string, z.ZodMiniType>>;

function originOf(value: z.ZodMiniType) {
  return marked(
    only(
      {
        value: told(value, "What it was found to be, in the unit that the name of the number says."),
        from: told(label, "Who or what says so, in one line: a pull test, a data sheet, somebody on the phone."),
        measured: z.optional(
          told(matching(DATE_PATTERN, DATE_EXPECTED), "The day on which it was measured. Left out: it was not."),
        ),
        times: z.optional(told(wholeFrom(1, 10_000, "(times)"), "How often it was measured that day. Default: once.")),
      },
      "an origin: an object with value and from",
    ),
    { dependencies: { times: ["measured"] } },
  ).check(
    z.refine(({ times, measured }) => times === undefined || measured !== undefined, {
      error: "the day on which it was measured, beside how often",
      path: ["measured"],
    }),
  );
}

/** @param fields each optional, by their keys; of objects within them "oscillator.offsetPpm" */
export function originsOf(fields: Shape) {
  const lists = Object.entries(fields).map(([name, field]) => {
    const value = field instanceof z.ZodMiniOptional ? (field._zod.def.innerType as z.ZodMiniType) : field;
    return [name, z.optional(listOf(originOf(bare(value)), "origins"))] as const;
  });
  type Origin = z.infer<ReturnType<typeof originOf>>;
  const shape = Object.fromEntries(lists) as Record<string, z.ZodMiniOptional<z.ZodMiniType<Origin[]>>>;
  return marked(only(shape, "origins: an object with the names of numbers as keys"), { id: "origins" });
}

/** Without the description and the default of the field itself. */
function bare(value: z.ZodMiniType): z.ZodMiniType {
  return z.clone(value, value._zod.def as never);
}
