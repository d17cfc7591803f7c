/** The stamp of a plan, and what differs between two: by what the plans mean, and by nothing else. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import { changesBetween } from "../../sim/changes.ts";
import { spelledStamp, stampOf } from "../../sim/stamp.ts";
import { tries } from "../helpers/laws.ts";
import { plans } from "../helpers/random-rig.ts";
import { plan as read } from "../helpers/rig.ts";

const rig = (more: object = {}, link: object = {}) => ({
  sampleRateHz: 48000,
  leaders: ["foh"],
  devices: [
    { id: "foh", name: "FOH desk", kind: "desk", clockSources: ["internal"] },
    { id: "stage", name: "Stage box", kind: "stage-box", clockSources: ["1", "internal"], ...more },
  ],
  links: [{ id: "main", type: "aes50", ends: ["foh.1", "stage.1"], ...link }],
  feeds: [{ id: "pa", name: "PA mix", through: ["stage", "foh"], channels: 8, heardBy: ["pa"] }],
});
const file = (made: object, more: object = {}) =>
  read({
    format: 1,
    title: "Lantern Quay",
    story: "",
    run: { length: "00:10:00", seed: "quay-1" },
    rig: made,
    ...more,
  });

describe("the stamp", () => {
  test("is two pairs of characters that nobody mistakes for others, and is spelled for comms", () => {
    const stamp = stampOf(file(rig()));
    expect(stamp).toMatch(/^[ACDEFGHJKLMNPQRTUVWXY34679]{2}-[ACDEFGHJKLMNPQRTUVWXY34679]{2}$/);
    expect(spelledStamp("K7-QF")).toBe("Kilo Seven, Quebec Foxtrot");
    expect(spelledStamp(stamp)).toMatch(/^[A-Z][a-z-]+ [A-Z][a-z-]+, [A-Z][a-z-]+ [A-Z][a-z-]+$/);
  });

  test("is that of the file with comments, another order, defaults written out, and other things happening", () => {
    const first = file(rig());
    const made = rig();
    const second = file(
      {
        feeds: made.feeds,
        links: [{ ends: ["stage.1", "foh.1"], lengthMetres: first.links[0]!.lengthMetres, type: "aes50", id: "main" }],
        devices: [{ ...made.devices[1], revertive: first.devices[1]!.revertive }, made.devices[0]],
        leaders: ["foh"],
        sampleRateHz: 48000,
      },
      {
        title: "Another night",
        events: [{ at: "00:01:00", do: "reboot", device: "foh" }],
        run: { length: "00:20:00", seed: "quay-9" },
      },
    );
    expect(changesBetween(first, second)).toEqual([]);
    expect(stampOf(second)).toBe(stampOf(first));
  });

  test("of one file through an edit and back is the same again", () => {
    const changed = file(rig({ bootSeconds: 61 }));
    expect(stampOf(changed)).not.toBe(stampOf(file(rig())));
    expect(stampOf(file(rig()))).toBe(stampOf(file(rig())));
  });
});

/** Fields that say nothing of the rig, or nothing that another field has not said. */
const NOT_MEANT = new Set([
  "id",
  "tested",
  "delaySeconds",
  "latencySeconds",
  "clockIsAgreed",
  "hops",
  "samplesPerPacket",
  "channelsPerPacket",
  "origins",
  "startsAt",
  "assumed",
]);

const shuffled = <T>(all: readonly T[], by: number): T[] => all.map((_, i) => all[(i * by + by) % all.length] as T);
const coprime = (length: number): number => [7, 5, 3, 2, 1].find((by) => length % by !== 0 || by === 1) ?? 1;
const anyOrder = <T>(all: readonly T[]): T[] => (all.length < 2 ? [...all] : shuffled(all, coprime(all.length)));
const turned = (link: LinkPlan): LinkPlan =>
  link.twoWay && link.ethernet === undefined ? { ...link, a: link.b, b: link.a } : link;

/** Every number, word and truth in something, by its path, but for what is not meant. */
function leaves(value: unknown, path: readonly (string | number)[] = []): (readonly (string | number)[])[] {
  if (typeof value !== "object" || value === null) return [path];
  return Object.entries(value).flatMap(([key, inside]) =>
    NOT_MEANT.has(key) ? [] : leaves(inside, [...path, Array.isArray(value) ? Number(key) : key]),
  );
}

function changedAt(value: unknown, [key, ...rest]: readonly (string | number)[]): unknown {
  if (key === undefined) {
    if (typeof value === "number") return value + 1;
    if (typeof value === "boolean") return !value;
    return `${value} or not`;
  }
  const inside = changedAt((value as Record<string, unknown>)[key], rest);
  return Array.isArray(value) ? value.with(key as number, inside) : { ...(value as object), [key]: inside };
}

test("of any rig: order, ends, words and events change no stamp; whatever else is changed changes it, and is told of its owner", () => {
  const seen = { same: 0, devices: 0, links: 0, spares: 0, feeds: 0 };
  fc.assert(
    fc.property(plans({ spares: true }), fc.nat(), (plan, pick) => {
      const stamp = stampOf(plan);
      const same: Plan = {
        ...plan,
        ...{ title: "", story: "x", seed: "other", lengthNs: plan.lengthNs, events: [], expect: [], assumed: [] },
        devices: anyOrder(plan.devices).map((device) => ({ ...device, power: [...device.power].reverse() })),
        links: anyOrder(plan.links).map(turned),
        spares: anyOrder(plan.spares),
        feeds: anyOrder(plan.feeds),
      };
      expect(stampOf(same)).toBe(stamp);
      expect(changesBetween(plan, same)).toEqual([]);
      seen.same += 1;
      for (const what of ["devices", "links", "spares", "feeds"] as const) {
        const all = plan[what];
        if (all.length === 0) continue;
        const index = pick % all.length;
        // A cable both ways has no second one back.
        const places = leaves(all[index]).filter(([key]) => key !== "hasReturn" || !(all[index] as LinkPlan).twoWay);
        const place = places[pick % places.length]!;
        const other = {
          ...plan,
          [what]: (all as readonly unknown[]).with(index, changedAt(all[index], place)),
        } as Plan;
        expect(stampOf(other), `${what}: ${place.join(".")}`).not.toBe(stamp);
        const changes = changesBetween(plan, other);
        expect(changes.map((change) => [change.what, change.id, change.is])).toEqual([
          [what, all[index]!.id, "changed"],
        ]);
        expect(changes[0]!.words).toMatch(/^[^:]+: .*, was .*\.$/s);
        seen[what] += 1;
      }
    }),
    tries(60),
  );
  for (const count of Object.values(seen)) expect(count).toBeGreaterThan(15);
});

describe("what differs", () => {
  const words = (before: Plan, after: Plan) => changesBetween(before, after).map((change) => change.words);

  test("is told with units, in the order of devices and cables, by the names that the crew has", () => {
    const after = file({
      ...rig(
        { bootSeconds: 61, clockSources: ["internal", "1"], loop: { naturalFrequencyHz: 0.5 } },
        { lengthMetres: 30 },
      ),
      leaders: ["stage"],
    });
    expect(words(file(rig()), after)).toEqual([
      "The rig: leaders Stage box, was FOH desk.",
      "Stage box: boot 61 s, was 60 s; clock sources its own clock then port 1, was port 1 then its own clock; loop natural frequency 0.5 Hz, was 1 Hz.",
      "The main cable: length 30 m, was 10 m.",
    ]);
  });

  test("of what came and what went says just that", () => {
    const { devices, links, feeds, ...rest } = rig();
    const without = file({ ...rest, devices: devices.slice(0, 1), links: [], feeds: [] });
    expect(words(file({ ...rest, devices, links, feeds }), without)).toEqual([
      "Stage box: gone.",
      "The main cable: gone.",
      "PA mix: gone.",
    ]);
    expect(words(without, file(rig()))).toEqual(["Stage box: new.", "The main cable: new.", "PA mix: new."]);
  });
});
