/**
 * The schema of a scenario file: the one source of its types, of what each value is expected to be, and of the
 * published JSON Schema. It accepts and refuses; it changes nothing. Defaults stand in `defaults.ts`, and are only
 * shown here; what one place asks of another (ids that must exist, ports used twice) stands in the other `scenario-*` files.
 *
 * The message of each rule is the expectation in words, as an {@link "./issues.ts".Issue} prints it. Of an object with
 * keys that it does not know, it is the list of those it knows.
 */
import * as z from "zod/mini";
import { TIME_OF_DAY_EXPECTED, TIME_OF_DAY_PATTERN } from "./as-said.ts";
import { RULE_NAMES } from "./rule-names.ts";
import { deviceSchema, type deviceType, deviceTypes } from "./scenario-schema-devices.ts";
import { eventSchema, expectationSchema } from "./scenario-schema-events.ts";
import { feedSchema, linkSchema, networkSchema, spareSchema } from "./scenario-schema-links.ts";
import {
  celsius,
  filePath,
  format,
  id,
  label,
  listOf,
  marked,
  matching,
  numberAbove,
  numberFrom,
  oneOf,
  only,
  orDefault,
  schemaKey,
  showTime,
  told,
  yesOrNo,
} from "./scenario-values.ts";

// ---- what is accepted

const RULES_THAT_FIND = RULE_NAMES.filter((name) => name !== "acceptance-unused");
const named = (what: string) =>
  z.array(id, { error: `a list of ${what}` }).check(z.minLength(1, { error: `a list of at least one of the ${what}` }));

export const acceptedSchema = marked(
  only(
    {
      rule: told(
        oneOf(RULES_THAT_FIND as [string, ...string[]]),
        "The rule of the plan check whose finding is accepted.",
      ),
      devices: z.optional(told(named("devices"), "Only what is about no other device. Default: any.")),
      links: z.optional(told(named("links"), "Only what is about no other link. Default: any.")),
      reason: told(
        matching(/^(?=.*[^ ])\P{Cc}{1,500}$/u, "a reason: a text of 1 to 500 characters in one line"),
        "Why it is accepted, for whoever reads the plan next.",
      ),
    },
    "an accepted finding: an object with rule and reason",
  ),
  { id: "accepted" },
);

const acceptedFindings = told(
  listOf(acceptedSchema, "accepted findings"),
  "Findings of the plan check that are accepted, each with its reason: in a scenario, in its rig, or both.",
);

export const supplySchema = marked(
  only(
    {
      id: told(label, "As the power of devices names it."),
      batterySeconds: z.optional(
        told(
          numberAbove(0, 604_800, "s"),
          "How long it goes on without mains; full again as soon as mains is back, the better case. Default: no battery.",
        ),
      ),
    },
    "a supply: an object",
  ),
  { id: "supply" },
);

// ---- the rig

const rigFields = {
  sampleRateHz: told(numberFrom(31_000, 216_000, "Hz"), "The rate the rig is planned to run at."),
  leaders: z.optional(told(listOf(id, "devices, who leads first"), "The plan: who leads, then who is next.")),
  library: z.optional(told(filePath, "A file with more device types.")),
  deviceTypes: z.optional(deviceTypes),
  devices: listOf(deviceSchema, "devices"),
  networks: z.optional(
    told(
      listOf(networkSchema, "networks"),
      "What the ethernet links belong to. Left out: all to one network, with the defaults.",
    ),
  ),
  links: z.optional(listOf(linkSchema, "links")),
  spares: z.optional(listOf(spareSchema, "spare groups")),
  feeds: z.optional(listOf(feedSchema, "feeds")),
  supplies: z.optional(
    told(listOf(supplySchema, "supplies"), "Supplies that have more to them than a name: a battery."),
  ),
  accepted: z.optional(acceptedFindings),
};

const rig = marked(only(rigFields, "a rig: an object"), { id: "rig" });

/** A rig in a file of its own. */
export const rigFileSchema = only({ $schema: schemaKey, format: z.optional(format), ...rigFields }, "a rig: an object");

/** Device types in a file of their own. */
export const libraryFileSchema = only(
  { $schema: schemaKey, format: z.optional(format), title: z.optional(label), deviceTypes },
  "a library: an object with deviceTypes",
);
// ---- the scenario

export const runSchema = only(
  {
    length: told(showTime, "Length of the show."),
    startsAt: z.optional(
      told(
        matching(TIME_OF_DAY_PATTERN, TIME_OF_DAY_EXPECTED),
        'The time of day at show time 0, for people: "18:00" typed is then the time of day. Default: nobody says.',
      ),
    ),
    seed: orDefault("run", "seed", label),
    begin: orDefault("run", "begin", oneOf(["settled", "cold"])),
    wander: orDefault("run", "wander", yesOrNo()),
    startCelsius: orDefault("run", "startCelsius", celsius),
    wanderGridSeconds: orDefault("run", "wanderGridSeconds", numberFrom(0.001, 3600, "s")),
  },
  "the run: an object with at least length",
);

export const scenarioSchema = only(
  {
    $schema: schemaKey,
    format,
    title: told(label, "One line."),
    story: z.optional(
      told(
        matching(/^(?:\P{Cc}|[\t\n\r]){0,10000}$/u, "a text of at most 10000 characters"),
        "One paragraph for people.",
      ),
    ),
    run: runSchema,
    rig: told(
      z.union([filePath, rig], { error: 'a rig: an object, or a file such as "./quay.rig.json"' }),
      "The rig, or the file it stands in.",
    ),
    library: z.optional(told(filePath, "A file with more device types.")),
    deviceTypes: z.optional(deviceTypes),
    events: z.optional(listOf(eventSchema, "events")),
    expect: z.optional(listOf(expectationSchema, "expectations")),
    accepted: z.optional(acceptedFindings),
  },
  "a scenario: an object",
);

export type ScenarioFile = z.infer<typeof scenarioSchema>;
export type DeviceTypeFile = z.infer<typeof deviceType>;
export type DeviceFile = z.infer<typeof deviceSchema>;
export type NetworkFile = z.infer<typeof networkSchema>;
export type LinkFile = z.infer<typeof linkSchema>;
export type SpareFile = z.infer<typeof spareSchema>;
export type FeedFile = z.infer<typeof feedSchema>;
export type SupplyFile = z.infer<typeof supplySchema>;
export type EventFile = z.infer<typeof eventSchema>;
export type ExpectFile = z.infer<typeof expectationSchema>;
export type AcceptedFile = z.infer<typeof acceptedSchema>;

/** The published JSON Schemas, draft-07, by file name. They say all that a schema can: shapes, names and ranges. */
export function jsonSchemas(): Readonly<Record<string, object>> {
  const publish = (schema: z.ZodMiniType, title: string) => {
    const { $schema, ...rest } = z.toJSONSchema(schema, { io: "input", target: "draft-7" });
    return { $schema, title, ...rest };
  };
  return {
    "scenario.schema.json": publish(scenarioSchema, "A scenario"),
    "rig.schema.json": publish(rigFileSchema, "A rig in a file of its own"),
    "library.schema.json": publish(libraryFileSchema, "Device types in a file of their own"),
  };
}
