/**
 * Which source is chosen, and when: ITU-T G.781 by what could be read of it (READ-2: equipment manuals, an open-source
 * daemon for synchronous Ethernet and a MIB that quote it; MEM from memory). Each rule is played by the engine.
 */
import { describe, expect, test } from "vitest";
import { defaultRow } from "../../shared/defaults.ts";
import type { EventPlan } from "../../shared/plan.ts";
import { at, device, link, planOf, plug, unplug } from "../helpers/plan.ts";
import { play } from "../helpers/play.ts";

/** Seconds from noticing a break to holding a follower to be without a source, and its reaction. */
const NOTICE = 0.01;
const REACTION = 0.01;

interface Rules {
  readonly holdOffSeconds?: number;
  readonly waitToRestoreSeconds?: number;
  readonly revertive?: boolean;
}

/** Two clocks, and a box that prefers the first: when it takes what, in seconds. */
function taken(rules: Rules, events: readonly EventPlan[]): [number, string | null][] {
  const rig = planOf({
    seconds: 900,
    devices: [
      device("first", ["internal"], { offsetPpm: 1 }),
      device("second", ["internal"], { offsetPpm: 2 }),
      device("box", ["1", "2"], { offsetPpm: 0, holdoverSeconds: 3600, ...rules }),
    ],
    links: [
      link("first.1", "box.1", { id: "one", noticeSeconds: NOTICE, comingUpSeconds: 0.1 }),
      link("second.1", "box.2", { id: "two", noticeSeconds: NOTICE, comingUpSeconds: 0.1 }),
    ],
    events,
  });
  const { rows } = play(rig);
  const found: [number, string | null][] = [];
  for (const { atNs, subject, fact } of rows) {
    if (subject !== "device box" || fact.kind !== "clock" || found.at(-1)?.[1] === fact.source) continue;
    found.push([atNs / 1e9, fact.source]);
  }
  return found;
}

const sourcesOf = (found: readonly [number, string | null][]): (string | null)[] => found.map(([, source]) => source);

describe("ITU-T G.781", () => {
  test("hold-off: 300 to 1,800 ms in steps of 100 (READ-2); our default is its lower end", () => {
    expect(defaultRow("device", "holdOffSeconds").value).toBe(0.3);
    for (let ms = 300; ms <= 1800; ms += 100) {
      const holdOffSeconds = ms / 1000;
      const shorter = taken({ holdOffSeconds }, [
        unplug(100, "one"),
        plug(100 + NOTICE + holdOffSeconds - 0.15, "one"),
      ]);
      // Back before hold-off has run, coming up included: nobody else was chosen.
      expect(sourcesOf(shorter)).not.toContain("2");
      const longer = taken({ holdOffSeconds }, [unplug(100, "one")]);
      const [when] = longer.find(([, source]) => source === "2") as [number, string];
      expect(when).toBeCloseTo(100 + NOTICE + holdOffSeconds + REACTION, 6);
    }
  });

  test("wait-to-restore: 0 to 12 minutes (READ-2), and no switch back before it has run (MEM)", () => {
    for (const minutes of [0, 5, 12]) {
      const found = taken({ holdOffSeconds: 0.3, waitToRestoreSeconds: 60 * minutes }, [
        unplug(100, "one"),
        plug(110, "one"),
      ]);
      const back = found.findLast(([, source]) => source === "1") as [number, string];
      expect(sourcesOf(found).slice(-2)).toEqual(["2", "1"]);
      expect(back[0]).toBeCloseTo(110 + 0.1 + 60 * minutes + REACTION, 6);
    }
  });

  test("the wait starts anew with every failure (MEM)", () => {
    const found = taken({ holdOffSeconds: 0.3, waitToRestoreSeconds: 60 }, [
      unplug(100, "one"),
      plug(110, "one"),
      unplug(150, "one"),
      plug(151, "one"),
    ]);
    expect(found.findLast(([, source]) => source === "1")?.[0]).toBeCloseTo(151 + 0.1 + 60 + REACTION, 6);
  });

  test("of those that are good the lowest priority number (MEM); without revertive switching it stays (G.808.1, MEM)", () => {
    const events = [unplug(100, "one"), plug(110, "one")];
    expect(sourcesOf(taken({ revertive: true }, events)).at(-1)).toBe("1");
    expect(sourcesOf(taken({ revertive: false }, events)).at(-1)).toBe("2");
  });

  test("a switch by hand waits for neither (MEM)", () => {
    const found = taken({ revertive: false, holdOffSeconds: 1.8, waitToRestoreSeconds: 720 }, [
      unplug(100, "one"),
      plug(110, "one"),
      at(120, { do: "choose-source", device: "box", source: "1" }),
    ]);
    expect(found.at(-1)?.[1]).toBe("1");
    expect(found.at(-1)?.[0]).toBeCloseTo(120 + REACTION, 6);
  });
});
