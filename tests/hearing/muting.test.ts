/** What to mute before something is back: order, person and place; the place never hangs on what failed. */
import fc from "fast-check";
import { describe, expect, it, test } from "vitest";
import type { DevicePlan, EventPlan, FeedPlan, Plan } from "../../shared/plan.ts";
import { failedBy, MUTE_ORDER, type Mute, mutesFor } from "../../sim/muting.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { beforeReturnLines, hurtsOnReturn } from "../../sim/tell/muting.ts";
import { toldOf } from "../../sim/tell/picture.ts";
import { tries } from "../helpers/laws.ts";
import { plan } from "../helpers/rig.ts";
import { told } from "../tell/stories.ts";

const device = (id: string, kind: DevicePlan["kind"], clockSources: readonly string[], more: object = {}) => ({
  id,
  name: id,
  kind,
  clockSources,
  power: [`${id} mains`],
  ...more,
});

function rig(events: readonly object[], more: { readonly power?: readonly string[] } = {}): Plan {
  return plan({
    format: 1,
    title: "everybody",
    run: { length: "00:30:00" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["stage"],
      devices: [
        device("stage", "stage-box", ["internal"]),
        device("foh", "desk", ["1"], { bootSeconds: 60, ...more }),
        device("mon", "desk", ["1"]),
        device("pa", "processor", ["1"], more),
        device("ears", "transmitter", ["1"]),
        device("truck", "truck", ["1"]),
      ],
      links: [
        { id: "up", type: "madi", from: "stage.1", to: "foh.1", return: true },
        { id: "across", type: "madi", from: "stage.2", to: "mon.1", return: true },
        { id: "to-pa", type: "aes3", from: "foh.2", to: "pa.1" },
        { id: "to-ears", type: "madi", from: "mon.2", to: "ears.1" },
        { id: "to-truck", type: "madi", from: "foh.3", to: "truck.1" },
      ],
      feeds: [
        { id: "cast", through: ["stage", "foh", "truck"], channels: 8, heardBy: ["broadcast"] },
        { id: "main", through: ["stage", "foh", "pa"], channels: 2, heardBy: ["pa"] },
        { id: "fills", through: ["stage", "foh", "stage"], channels: 2, heardBy: ["pa"] },
        { id: "mixes", through: ["stage", "mon", "ears"], channels: 8, heardBy: ["in-ears"] },
        { id: "floor", through: ["stage", "mon"], channels: 8, heardBy: ["wedges"] },
        { id: "tape", through: ["stage", "mon"], channels: 8, heardBy: ["record"] },
      ],
    },
    events,
  });
}

const words = ({ ears, who, at }: Mute) => `${ears}: ${who}, ${at.kind === "device" ? at.device : at.kind}`;
const reboot = (id: string, part = "all") => ({ at: "00:10:00", do: "reboot", device: id, part });

describe("who mutes what, where, in which order", () => {
  test.each<[string, readonly object[], readonly string[]]>([
    [
      "a desk that is behind none of them",
      [reboot("foh")],
      [
        "in-ears: monitor engineer, ears",
        "wedges: monitor engineer, mon",
        "pa: system engineer, amplifiers",
        "pa: system engineer, pa",
        "broadcast: broadcast engineer, truck",
      ],
    ],
    [
      "the surface of the desk at whose outputs the wedges hang",
      [reboot("mon", "surface")],
      [
        "in-ears: monitor engineer, ears",
        "wedges: monitor engineer, amplifiers",
        "pa: system engineer, amplifiers",
        "pa: system engineer, pa",
        "broadcast: broadcast engineer, truck",
      ],
    ],
    [
      "what stands at the end",
      [
        { at: "00:10:00", do: "hang", device: "ears" },
        { at: "00:11:00", do: "power-cut", device: "pa", supply: undefined },
        { at: "00:12:00", do: "power-cut", supply: "truck mains" },
      ],
      [
        "in-ears: monitor engineer, receivers",
        "wedges: monitor engineer, mon",
        "pa: system engineer, amplifiers",
        "broadcast: broadcast engineer, far-end",
      ],
    ],
  ])("when %s fails", (_, events, expected) => {
    const made = rig(events);
    expect(mutesFor(made, failedBy(made, made.events), made.feeds).map(words)).toEqual(expected);
  });

  it("counts a device as failed by its supplies only when all of them go", () => {
    const cut = (supply: string) => ({ at: "00:10:00", do: "power-cut", supply });
    const more = { power: ["left", "right"] };
    const failed = (events: readonly object[]) => [...failedBy(rig(events, more), rig(events, more).events)].sort();
    expect(failed([cut("left")])).toEqual([]);
    expect(failed([cut("left"), cut("right")])).toEqual(["foh", "pa"]);
  });
});

describe("a run", () => {
  it("says it in lines, for those whom the return hurts, and nobody else", () => {
    const made = rig([reboot("foh")]);
    expect(beforeReturnLines(toldOf(rehearse(made)))).toEqual([
      "Before device foh is back, mute in this order, by a mute that does not depend on what failed. Bring up slowly.",
      "1. PA: the system engineer mutes at the amplifiers.",
      "2. PA: the system engineer mutes at device pa.",
      "3. Broadcast: the broadcast engineer mutes at device truck.",
      "If what you see differs from this: mute, then think.",
    ]);
  });

  it("takes ears out before anything else, and knows that a stage box thumps", () => {
    expect(beforeReturnLines(toldOf(rehearse(rig([reboot("stage")]))))).toEqual([
      "Before device stage is back, mute in this order, by a mute that does not depend on what failed. Bring up slowly.",
      "1. In-ears: out of ears. The monitor engineer mutes at device ears.",
      "2. Wedges: the monitor engineer mutes at device mon.",
      "3. PA: the system engineer mutes at the amplifiers.",
      "4. PA: the system engineer mutes at device pa.",
      "5. Broadcast: the broadcast engineer mutes at device truck.",
      "Agree a hand sign for ears out before the show. If what you see differs from this: mute, then think.",
      "Device stage switches preamps and phantom power while starting: expect thumps even when the clock is right.",
    ]);
  });

  it("has nothing to say where nothing comes back, or comes back before anybody could mute", () => {
    expect(beforeReturnLines(toldOf(rehearse(rig([]))))).toEqual([]);
    const brief = { at: "00:10:00", do: "unplug", link: "to-pa", forSeconds: 2 };
    const run = rehearse(rig([brief]));
    expect(run.summary.feeds.find(({ id }) => id === "main")?.returnsAtFullLevel).toBe(true);
    expect(beforeReturnLines(toldOf(run))).toEqual([]);
  });
});

test("no mute is at a device that failed or at a stage box, ears come first, and each feed is muted once for its ears", () => {
  const seen = { failed: 0, behind: 0 };
  const made = rig([]);
  const ids = made.devices.map(({ id }) => id);
  fc.assert(
    fc.property(fc.subarray(ids), fc.shuffledSubarray(made.feeds.map(({ id }) => id)), (gone, wanted) => {
      const feeds = wanted.map((id) => made.feeds.find((feed) => feed.id === id) as FeedPlan);
      const mutes = mutesFor(made, new Set(gone), feeds);
      const ranks = mutes.map(({ ears }) => MUTE_ORDER.indexOf(ears));
      expect(ranks).toEqual([...ranks].sort((a, b) => a - b));
      expect(mutes.flatMap((mute) => mute.feeds).sort()).toEqual(wanted.filter((id) => id !== "tape").sort());
      for (const { at } of mutes) {
        if (at.kind !== "device") seen.behind += 1;
        else {
          expect(gone).not.toContain(at.device);
          expect(made.devices.find(({ id }) => id === at.device)?.kind).not.toBe("stage-box");
        }
      }
      if (gone.length > 0 && mutes.length > 0) seen.failed += 1;
    }),
    tries(200),
  );
  expect(seen.failed).toBeGreaterThan(100);
  expect(seen.behind).toBeGreaterThan(100);
});

describe("every story", () => {
  const stories = told();

  test("has lines exactly where a return hurts somebody who listens, and they speak plainly", () => {
    let withLines = 0;
    for (const { name, run, telling } of stories) {
      const asked = toldOf(run);
      const hurt = run.plan.feeds.filter(
        (feed) =>
          hurtsOnReturn(asked, feed) && feed.heardBy.some((ears) => (MUTE_ORDER as readonly string[]).includes(ears)),
      );
      expect(telling.beforeReturn.length > 0, name).toBe(hurt.length > 0);
      if (hurt.length > 0) withLines += 1;
      for (const line of [...telling.beforeReturn, ...telling.ridesOut]) {
        expect(line).toMatch(/^(?:[A-Z]|\d+\. [A-Z]).*\.$/);
        expect(line).not.toMatch(/!|\b(?:pass(?:es|ed)?|safe(?:ly)?|good|ok|undefined|null|NaN)\b| {2}|\bthe the\b/i);
        expect(line.match(/(?<![\w.-])[\d.]+ ?(?:ms|s|min|h)\b/g)?.length ?? 0).toBeLessThanOrEqual(3);
      }
    }
    expect(withLines).toBeGreaterThan(5);
  });

  test("whose cables break says what they ride out, and no other does", () => {
    const breaks = (events: readonly EventPlan[]) =>
      events.some(({ do: deed }) => deed === "unplug" || deed === "cut" || deed === "lose-contact");
    const withLines = stories.filter(({ telling }) => telling.ridesOut.length > 0);
    expect(withLines.length).toBeGreaterThan(2);
    for (const { name, run } of withLines) expect(breaks(run.plan.events), name).toBe(true);
  });
});
