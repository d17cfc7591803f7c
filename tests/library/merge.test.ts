/** Two libraries as one: nothing lost, nothing twice, either way round; what they give differently is asked. */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { OriginSaid } from "../../shared/plan.ts";
import { sameValue } from "../../shared/scenario-origins.ts";
import type { DeviceTypeFile } from "../../shared/scenario-schema.ts";
import { leavesOf, originsIn, sameOrigin } from "../../sim/library/leaves.ts";
import { mergeLibraries, textWith } from "../../sim/library/merge.ts";
import { tries } from "../helpers/laws.ts";
import { libraryFromText, libraryOf, randomTypes } from "./libraries.ts";

/** Without empty objects, keys and origins in one order. */
function settled(types: Readonly<Record<string, DeviceTypeFile>>) {
  return Object.fromEntries(
    Object.entries(types)
      .sort()
      .map(([name, type]) => [
        name,
        {
          leaves: [...leavesOf(type)].sort(),
          origins: [...originsIn(type)]
            .map(([key, said]) => [
              key,
              unique(said)
                .map((each) => JSON.stringify(Object.entries(each).sort()))
                .sort(),
            ])
            .sort(),
        },
      ]),
  );
}

function unique(said: readonly OriginSaid[]): OriginSaid[] {
  return said.filter((each, index) => said.findIndex((one) => sameOrigin(one, each)) === index);
}

test("every number and every measurement of both is there once, either way round, and so is the text of the file", () => {
  const seen = { asked: 0, shared: 0, agreed: 0 };
  fc.assert(
    fc.property(randomTypes, randomTypes, (ones, others) => {
      const [a, b] = [libraryOf(ones, "a.library.json"), libraryOf(others, "b.library.json")];
      const merged = mergeLibraries(a, b);
      const turned = mergeLibraries(b, a);
      expect(settled(turned.types)).toEqual(settled(merged.types));
      expect(turned.questions).toEqual(merged.questions);
      for (const side of [a, b]) {
        for (const [name, type] of Object.entries(side.types)) {
          const made = merged.types[name] as DeviceTypeFile;
          for (const [key, said] of originsIn(type))
            for (const each of said)
              expect(
                originsIn(made)
                  .get(key)
                  ?.filter((one) => sameOrigin(one, each)).length,
              ).toBeGreaterThan(0);
          for (const [key, value] of leavesOf(type)) {
            const isPlayed = sameValue(leavesOf(made).get(key), value);
            const isKept =
              originsIn(made)
                .get(key)
                ?.some((one) => sameValue(one.value, value)) === true;
            expect(isPlayed || isKept, `${name} ${key}`).toBe(true);
            // Nothing gives way without being asked about.
            const isAsked = merged.questions.some((each) => each.type === name && each.name === key);
            if (!isPlayed) expect(isAsked, `${name} ${key}`).toBe(true);
            if (!isAsked) seen.agreed++;
          }
        }
      }
      const shared = Object.keys(a.types).filter((name) => b.types[name] !== undefined);
      for (const name of shared)
        for (const said of originsIn(merged.types[name] as DeviceTypeFile).values())
          expect(unique(said)).toHaveLength(said.length);
      const text = textWith(a.text, a.types, merged.types);
      expect(settled(libraryFromText(text).types)).toEqual(settled(merged.types));
      const again = mergeLibraries({ file: "a.library.json", types: merged.types }, b);
      expect(settled(again.types)).toEqual(settled(merged.types));
      seen.asked += merged.questions.length;
      seen.shared += shared.length;
    }),
    tries(150),
  );
  expect(seen.asked).toBeGreaterThan(50);
  expect(seen.shared).toBeGreaterThan(100);
  expect(seen.agreed).toBeGreaterThan(100);
});

test("of two numbers the one that was measured last is played; of two that nobody measured, the larger", () => {
  const desk = (bootSeconds: number, measured?: string) => ({
    desk: {
      bootSeconds,
      ...(measured && { origins: { bootSeconds: [{ value: bootSeconds, from: "load-in", measured }] } }),
    },
  });
  const merged = (one: object, other: object) =>
    mergeLibraries(libraryOf(one, "a.library.json"), libraryOf(other, "b.library.json"));
  expect(merged(desk(75, "2026-05-02"), desk(60, "2026-06-11")).types.desk?.bootSeconds).toBe(60);
  expect(merged(desk(75, "2026-05-02"), desk(90)).types.desk?.bootSeconds).toBe(75);
  expect(merged(desk(75), desk(60)).types.desk).toEqual({
    bootSeconds: 75,
    origins: {
      bootSeconds: [
        { value: 75, from: "a.library.json" },
        { value: 60, from: "b.library.json" },
      ],
    },
  });
  expect(merged(desk(75), desk(60)).questions).toEqual([
    {
      ...{ type: "desk", name: "bootSeconds", played: 75 },
      given: [
        { value: 60, by: "b.library.json" },
        { value: 75, by: "a.library.json" },
      ],
    },
  ]);
});

test("what the first file says stays as it is written, comments and all", () => {
  const text = `{
  // the shop's own
  "format": 1,
  "deviceTypes": {
    "desk": {
      "bootSeconds": 75, // power to first sound
      "origins": {
        "bootSeconds": [
          { "value": 75, "from": "load-in", "measured": "2026-05-02" } // by two people
        ]
      }
    }
  }
}
`;
  const a = libraryFromText(text, "a.library.json");
  const said = [{ value: 75, from: "load-out", measured: "2026-06-11" }];
  const b = libraryOf({ desk: { bootSeconds: 75, origins: { bootSeconds: said } }, box: {} }, "b.library.json");
  const made = textWith(a.text, a.types, mergeLibraries(a, b).types);
  for (const line of text.split("\n").filter((each) => each.includes("//"))) {
    expect(made).toContain(line.slice(line.indexOf("//")));
  }
  expect(libraryFromText(made).types.desk?.origins?.bootSeconds).toHaveLength(2);
  expect(Object.keys(libraryFromText(made).types)).toEqual(["desk", "box"]);
});
