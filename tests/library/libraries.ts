/** Libraries of tests: small ones by hand, and random ones whose types share names and numbers. */
import fc from "fast-check";
import { type Library, readLibrary } from "../../shared/scenario-library.ts";

export function libraryOf(deviceTypes: object, file = "shop.library.json"): Library {
  return libraryFromText(JSON.stringify({ format: 1, deviceTypes }, null, 2), file);
}

export function libraryFromText(text: string, file = "shop.library.json"): Library {
  const { library, issues } = readLibrary(file, new TextEncoder().encode(text));
  if (library === null) throw new Error(JSON.stringify(issues));
  return library;
}

const seconds = fc.constantFrom(20, 34, 60, 74.5);
const origin = (value: fc.Arbitrary<unknown>) =>
  fc.record(
    {
      value,
      from: fc.constantFrom("load-in", "pull test", "its handbook"),
      measured: fc.constantFrom("2026-05-02", "2026-05-03", "2026-06-11"),
    },
    { requiredKeys: ["value", "from"] },
  );
const origins = (value: fc.Arbitrary<unknown>) => fc.array(origin(value), { minLength: 1, maxLength: 3 });

const type = fc.record(
  {
    bootSeconds: seconds,
    holdoverSeconds: seconds,
    revertive: fc.boolean(),
    muteWhile: fc.constantFrom(["starting"], ["starting", "acquiring"], []),
    loop: fc.record({ damping: fc.constantFrom(0.7, 1) }, { requiredKeys: [] }),
    oscillator: fc.record({ offsetPpm: fc.constantFrom(1, -6.3) }, { requiredKeys: [] }),
    origins: fc.record(
      {
        bootSeconds: origins(seconds),
        revertive: origins(fc.boolean()),
        "loop.damping": origins(fc.constantFrom(0.7, 1)),
      },
      { requiredKeys: [] },
    ),
  },
  { requiredKeys: [] },
);

export const randomTypes = fc.dictionary(fc.constantFrom("desk", "box", "processor"), type, { minKeys: 1 });
