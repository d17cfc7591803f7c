/** Random bridges, cables and faults, and what the world is like when all faults have happened. */
import fc from "fast-check";
import type { RecoveryName } from "../../shared/plan.ts";
import type { CableWords, Happening, RigWords } from "./bridge-rig.ts";

const IDS = ["b", "e", "a", "d", "c", "f"];
/** A cable that comes up, then the longest wait of all, then some. */
export const QUIET_SECONDS = 60;
export const FAULTS_SECONDS = 120;

export interface Story extends RigWords {
  readonly bridges: readonly { readonly id: string; readonly priority: number }[];
  readonly happenings: readonly Happening[];
}

export const stories = (names: readonly RecoveryName[], cabling: "any" | "circles" = "any"): fc.Arbitrary<Story> =>
  fc.integer({ min: 2, max: IDS.length }).chain((count) =>
    fc
      .record({
        recovery: fc.constantFrom(...names),
        priorities: fc.array(fc.constantFrom(4096, 32768), { minLength: count, maxLength: count }),
        ends: fc.array(fc.tuple(fc.nat(count - 1), fc.nat(count - 1), fc.nat(5)), { minLength: 1, maxLength: 9 }),
        faults: fc.array(
          fc.record({
            // Whole instants come together, and others fall within noticing of each other.
            at: fc.tuple(fc.nat(FAULTS_SECONDS), fc.constantFrom(0, 0, 0.02, 0.7)).map(([s, part]) => 1 + s + part),
            on: fc.nat(20),
            isDevice: fc.nat(3).map((n) => n === 0),
            // In circles mostly, or hardly one would ever be whole again.
            isBack: cabling === "circles" ? fc.nat(3).map((n) => n > 0) : fc.boolean(),
          }),
          { minLength: 1, maxLength: 10 },
        ),
        // Circles are one through all, or two side by side.
        second: fc.nat(2).map((n) => (count < 4 || n > 0 ? count : 2)),
        timing: fc.constantFrom("plain" as const, "transparent" as const),
      })
      .map(({ recovery, priorities, ends, faults, second, timing }) => {
        const bridges = priorities.map((priority, i) => ({ id: IDS[i] as string, priority }));
        const drawn = ends.map(([a, b, n], c): CableWords => {
          const words = { id: `c${(c * 4) % 11}`, a: IDS[a] as string, b: IDS[b] as string };
          return n === 0 ? { ...words, isUnplugged: true } : words;
        });
        const circles = bridges.map(({ id }, i): CableWords => {
          const next = i + 1 === second ? 0 : i + 1 === count ? second : i + 1;
          return { id: `c${i}`, a: id, b: IDS[next] as string };
        });
        const cables = cabling === "circles" ? circles : drawn;
        const happenings = faults.map(({ at, on, isDevice, isBack }): Happening => {
          if (isDevice) return { at, do: isBack ? "on" : "off", what: IDS[on % count] as string };
          return { at, do: isBack ? "plug" : "unplug", what: cables[on % cables.length]?.id as string };
        });
        happenings.sort((x, y) => x.at - y.at);
        return { recovery, bridges, cables, happenings, timing };
      }),
  );

/** What the world is like after all faults: by cable, whether it is plugged in between two bridges with power. */
export function truth({ cables, happenings }: Story): { isUp: boolean[]; off: Set<string> } {
  const off = new Set<string>();
  const out = new Set(cables.filter(({ isUnplugged }) => isUnplugged === true).map(({ id }) => id));
  for (const { do: deed, what } of happenings) {
    if (deed === "off") off.add(what);
    if (deed === "on") off.delete(what);
    if (deed === "unplug") out.add(what);
    if (deed === "plug") out.delete(what);
  }
  return { isUp: cables.map(({ id, a, b }) => !out.has(id) && !off.has(a) && !off.has(b)), off };
}

/** Bridges by what connects them, one after the other merged; and whether some cable closed a loop. */
export function merge(story: Story, isIn: (cable: CableWords, c: number) => boolean) {
  const part = new Map(story.bridges.map(({ id }) => [id, id]));
  const looped = new Set<string>();
  for (const [c, cable] of story.cables.entries()) {
    if (!isIn(cable, c)) continue;
    const [a, b] = [part.get(cable.a), part.get(cable.b)] as [string, string];
    if (a === b) looped.add(a);
    else {
      for (const [id, of] of part) if (of === b) part.set(id, a);
      if (looped.has(b)) looped.add(a);
    }
  }
  return { part, hasLoop: (id: string): boolean => looped.has(part.get(id) as string), loops: looped.size };
}
