/** Row upon row of changes to shipped rigs: whatever is done after whatever, the file reads and names nothing that is gone. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { formatIssues } from "../../shared/issues.ts";
import { EditError } from "../../shared/json-text.ts";
import { LINK_TYPES } from "../../shared/link-types.ts";
import { DEVICE_KINDS } from "../../shared/scenario-schema-devices.ts";
import type { ScenarioTexts } from "../../sim/run-data.ts";
import { TEMPLATES } from "../../sim/templates/index.ts";
import { proposedCable, withCable } from "../../viewer/room/cable-edits.ts";
import { freeId, renamed, withDevice } from "../../viewer/room/rig-edits.ts";
import { removed } from "../../viewer/room/rig-removal.ts";
import { allShipped, fromTemplate, shipped } from "../../viewer/room/shipped.ts";
import { dangling, idsOf, readFiles } from "../helpers/rig-files.ts";

/** For a person to answer, and nobody else: which way a feed goes from now on. */
const ASKED = /^one link, or one spare group/;

type Deed = (files: ScenarioTexts, one: string, other: string, choice: number) => ScenarioTexts;

const DEEDS: Readonly<Record<string, Deed>> = {
  "take a device out": (files, one) => removed(files, "device", one).files,
  "take a cable out": (files, _one, _other, choice) => {
    const links = idsOf(files, "link");
    return links.length === 0 ? files : removed(files, "link", links[choice % links.length]!).files;
  },
  join: (files, one, other) =>
    withCable(files, { id: freeId(files, "link", "more"), ...proposedCable(files, one, other) }),
  "join by another type": (files, one, other, choice) => {
    const type = LINK_TYPES[choice % LINK_TYPES.length]!;
    return withCable(files, { ...proposedCable(files, one, other), id: freeId(files, "link", "other"), type });
  },
  add: (files, one, _other, choice) => {
    const id = freeId(files, "device", "Guest desk");
    const kind = DEVICE_KINDS[choice % DEVICE_KINDS.length]!;
    const added = withDevice(files, { id, name: "Guest desk", kind });
    return withCable(added, { id: freeId(files, "link", "first"), ...proposedCable(added, one, id) });
  },
  rename: (files, one) => renamed(files, "device", one, freeId(files, "device", "Renamed")),
  spare: (files, _one, _other, choice) => {
    const { plan } = readFiles(files);
    const links = plan?.links ?? [];
    const link = links[choice % Math.max(1, links.length)];
    if (link === undefined || link.line !== undefined) return files;
    const cable = proposedCable(files, link.a.device, link.b.device, link.id);
    return withCable(files, { id: freeId(files, "link", "spare"), ...cable });
  },
};

test("whatever is done after whatever, the file reads and names nothing that is gone", () => {
  const rigs = [...TEMPLATES.map(({ name }) => fromTemplate(name)), ...allShipped().map(({ file }) => shipped(file))];
  const done = new Map<string, number>();
  let longest = 0;
  const step = fc.record({
    deed: fc.constantFrom(...Object.keys(DEEDS)),
    one: fc.nat(99),
    other: fc.nat(99),
    choice: fc.nat(99),
  });
  fc.assert(
    fc.property(fc.constantFrom(...rigs), fc.array(step, { minLength: 2, maxLength: 8 }), (rig, steps) => {
      let files = rig;
      let count = 0;
      for (const { deed, one, other, choice } of steps) {
        const devices = idsOf(files, "device");
        if (devices.length < 2) break;
        const [a, b] = [devices[one % devices.length]!, devices[other % devices.length]!];
        const before = files;
        try {
          files = DEEDS[deed]!(files, a, b, choice);
        } catch (error) {
          // What cannot be is said, and nothing is changed.
          if (!(error instanceof EditError)) throw error;
          continue;
        }
        if (files === before) continue;
        const { issues } = readFiles(files);
        expect(formatIssues(issues.filter(({ expected }) => !ASKED.test(expected)))).toEqual([]);
        expect(dangling(files)).toEqual([]);
        done.set(deed, (done.get(deed) ?? 0) + 1);
        if (issues.length > 0) break;
        longest = Math.max(longest, ++count);
      }
    }),
    { numRuns: 40, seed: 7 },
  );
  for (const deed of Object.keys(DEEDS)) expect(done.get(deed) ?? 0, deed).toBeGreaterThan(3);
  expect(longest).toBeGreaterThan(6);
});
