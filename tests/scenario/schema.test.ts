import { readFileSync } from "node:fs";
import { Ajv } from "ajv";
import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { jsonSchemas, libraryFileSchema, rigFileSchema, scenarioSchema } from "../../shared/scenario-schema.ts";
import { example } from "../helpers/example.ts";
import { tries } from "../helpers/laws.ts";
import { networkExample } from "../helpers/network-example.ts";

const ajv = new Ajv({ strict: false, allErrors: true, unicodeRegExp: true });
const published = jsonSchemas();
const judges = {
  "scenario.schema.json": [ajv.compile(published["scenario.schema.json"] as object), scenarioSchema],
  "rig.schema.json": [ajv.compile(published["rig.schema.json"] as object), rigFileSchema],
  "library.schema.json": [ajv.compile(published["library.schema.json"] as object), libraryFileSchema],
} as const;

describe("the published JSON Schema", () => {
  it.each(Object.keys(judges))("%s is as fresh as the schema it comes from", (name) => {
    expect(JSON.parse(readFileSync(`scenarios/${name}`, "utf8")), "run npm run schema").toEqual(
      JSON.parse(JSON.stringify(published[name])),
    );
  });

  it("is draft-07, describes every field of a device, and shows defaults", () => {
    const schema = published["scenario.schema.json"] as {
      $schema: string;
      definitions: Record<string, { properties: Record<string, { default?: unknown }> }>;
    };
    expect(schema.$schema).toBe("http://json-schema.org/draft-07/schema#");
    expect(schema.definitions.device?.properties.holdOffSeconds?.default).toBe(0.3);
  });

  it.each([
    ["cables from device to device", example],
    ["networks", networkExample],
  ])("accepts and refuses what the reader's schema does, over broken and sound scenarios: %s", (_, base) => {
    const [byAjv, byZod] = judges["scenario.schema.json"];
    const seen = { accepted: 0, refused: 0 };
    fc.assert(
      fc.property(brokenOrSound(base), (scenario) => {
        const accepted = byZod.safeParse(scenario).success;
        seen[accepted ? "accepted" : "refused"] += 1;
        expect(byAjv(scenario), JSON.stringify(byAjv.errors)).toBe(accepted);
      }),
      tries(400),
    );
    expect(seen.accepted).toBeGreaterThan(20);
    expect(seen.refused).toBeGreaterThan(100);
  });
});

/** An example with one value somewhere replaced, removed or added; sometimes untouched. */
function brokenOrSound(base: () => unknown): fc.Arbitrary<unknown> {
  const places = placesIn(base());
  return fc.oneof(
    { weight: 1, arbitrary: fc.constant(base()) },
    {
      weight: 9,
      arbitrary: fc
        .record({
          place: fc.constantFrom(...places),
          action: fc.constantFrom("replace", "remove", "add"),
          value: fc.oneof(
            fc.constantFrom<unknown>(
              null,
              true,
              -1,
              0,
              1,
              2.5,
              1e6,
              "",
              "foh",
              "1",
              "00:10:00",
              "internal",
              [],
              {},
              ["foh"],
              { min: 1 },
            ),
            fc.jsonValue({ maxDepth: 2 }),
          ),
        })
        .map(({ place, action, value }) => changed(base(), place, action, value)),
    },
  );
}

type Steps = readonly (string | number)[];

function placesIn(value: unknown, steps: Steps = []): Steps[] {
  if (typeof value !== "object" || value === null) return [steps];
  return [
    steps,
    ...Object.entries(value).flatMap(([key, inner]) =>
      placesIn(inner, [...steps, Array.isArray(value) ? Number(key) : key]),
    ),
  ];
}

function changed(root: unknown, steps: Steps, action: string, value: unknown): unknown {
  const last = steps.at(-1);
  if (last === undefined) return action === "remove" ? {} : value;
  let holder = root as Record<string | number, unknown>;
  for (const step of steps.slice(0, -1)) holder = holder[step] as Record<string | number, unknown>;
  if (action === "replace") holder[last] = value;
  else if (action === "remove") {
    if (Array.isArray(holder)) holder.splice(Number(last), 1);
    else delete holder[last];
  } else if (Array.isArray(holder)) holder.push(value);
  else holder.surprise = value;
  return root;
}
