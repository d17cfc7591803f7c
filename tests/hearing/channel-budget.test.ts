/** Channels wanted of each way of a link, against what it has. */
import { describe, expect, it } from "vitest";
import { channelBudget } from "../../sim/channel-budget.ts";
import { fullLinksSentence } from "../../sim/tell/channels.ts";
import { plan } from "../helpers/rig.ts";
import { spareFile } from "./spare-rig.ts";

function rig(feeds: readonly object[], sampleRateHz = 48_000) {
  const file = spareFile([]);
  return plan({ ...file, rig: { ...file.rig, sampleRateHz, feeds } });
}

const feed = (id: string, through: readonly string[], channels: number | readonly number[]) => ({
  id,
  through,
  channels,
  heardBy: ["pa"],
});

describe("the channel budget", () => {
  it("adds the feeds of one way, and counts main and spare alike", () => {
    const made = rig([
      feed("a", ["stage", "foh", "pa"], [32, 2]),
      feed("b", ["stage", "foh"], 24),
      feed("c", ["foh", "stage"], 8),
    ]);
    expect(channelBudget(made).map(({ link, way, used, has }) => `${link} ${way} ${used}/${has}`)).toEqual([
      "main there 56/64",
      "main back 8/64",
      "spare there 56/64",
      "spare back 8/64",
      "to-pa there 2/2",
    ]);
    expect(channelBudget(made)[0]?.loads).toEqual([
      { feed: "a", hop: 0, channels: 32 },
      { feed: "b", hop: 0, channels: 24 },
    ]);
  });

  it("has half as many at double rate", () => {
    expect(channelBudget(rig([feed("a", ["stage", "foh"], 24)], 96_000))[0]).toMatchObject({ used: 24, has: 32 });
  });

  it("says which links are full, and leaves out pairs, which are made to be", () => {
    expect(fullLinksSentence(rig([feed("a", ["stage", "foh", "pa"], [63, 2])]))).toBe(null);
    expect(fullLinksSentence(rig([feed("a", ["stage", "foh"], 40), feed("b", ["stage", "foh"], 24)]))).toBe(
      "No channel is left on main from stage to foh (64 of 64) and spare from stage to foh (64 of 64); what several feeds share is counted for each.",
    );
    // Beyond the limit it is a finding of the plan check.
    expect(fullLinksSentence(rig([feed("a", ["stage", "foh"], 40), feed("b", ["stage", "foh"], 25)]))).toBe(null);
  });
});
