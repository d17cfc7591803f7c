/** What a change of clocks leaves behind that the plan does not mean. */
import { expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";
import { at, device, feed, link, planOf, unplug } from "../helpers/plan.ts";

function timeline(plan: Plan, leaders: readonly string[]): string {
  const run = rehearse({ ...plan, leaders });
  return tell(run)
    .timeline.map(({ at: when, text }) => `${when} ${text}`)
    .join("\n");
}

const links = [
  link("foh.1", "mon.1", { id: "first" }),
  link("foh.2", "stage.1", { id: "second" }),
  link("mon.2", "stage.2", { id: "third", hasReturn: true }),
  link("stage.3", "rec.1", { id: "tape" }),
  link("foh.3", "pa.1", { id: "pa" }),
];
const ends = [device("foh", ["internal"], { offsetPpm: 4 }), device("rec", ["1"]), device("pa", ["1"])];
const reboot = (id: string) => at(10, { do: "reboot", device: id, part: "all" });
const rig = (
  mon: readonly string[],
  stage: readonly string[],
  events: Plan["events"],
  words: Parameters<typeof device>[2] = {},
): Plan =>
  planOf({
    seconds: 200,
    devices: [
      ...ends.map((each) => ({ ...each, bootSeconds: 30 })),
      device("mon", mon, { offsetPpm: -3, ...words }),
      device("stage", stage, { offsetPpm: 1, ...words }),
    ],
    links,
    feeds: [feed("tape", ["stage", "rec"], links)],
    events,
  });

test("the old leader back beside the new one: two lead, and which comes first by the plan", () => {
  const text = timeline(rig(["1", "internal"], ["1", "2"], [reboot("foh")], { revertive: false }), ["foh", "mon"]);
  expect(text).toMatch(/^00:00:40 .*Two clocks lead now; by the plan device foh comes before device mon\./m);
  expect(text.match(/Two clocks lead/g)).toHaveLength(1);
});

test("where nobody listens to it any more, it is said that it is alone", () => {
  const plan = rig(["1", "internal"], ["1", "2"], [reboot("foh")], { revertive: false });
  const alone = {
    ...plan,
    devices: plan.devices.filter(({ id }) => id !== "pa"),
    links: plan.links.filter(({ id }) => id !== "pa"),
  };
  expect(timeline(alone, ["foh", "mon"])).toMatch(
    /^00:00:40 .*Nobody follows device foh, although by the plan device foh comes before device mon\./m,
  );
});

test("those who go back at once, and leaders of which the plan says nothing, are not told of", () => {
  expect(timeline(rig(["1", "internal"], ["1", "2"], [reboot("foh")]), ["foh", "mon"])).not.toContain("by the plan");
  const stays = rig(["1", "internal"], ["1", "2"], [reboot("foh")], { revertive: false });
  expect(timeline(stays, ["foh"])).not.toContain("by the plan");
});

test("a follower stuck on a source that runs free, with the way back further down its list", () => {
  const text = timeline(rig(["1"], ["2", "1"], [unplug(10, "first")]), ["foh"]);
  expect(text).toMatch(
    /^00:00:10 .*Device stage stays there: port 2 still brings a clock, so port 1 \(foh\) is never tried\./m,
  );
  const silent = timeline(rig(["1"], ["2", "1"], [unplug(10, "first")], { givesWhenUnlocked: false }), ["foh"]);
  expect(silent).not.toContain("stays there");
  const first = timeline(rig(["1"], ["1", "2"], [unplug(10, "first")]), ["foh"]);
  expect(first).not.toContain("stays there");
});

test("a ring that forms only after a failure", () => {
  const text = timeline(rig(["1", "2"], ["1", "2"], [reboot("foh")]), ["foh"]);
  expect(text).toMatch(/^00:00:10 .*Device mon and device stage are a ring of sources: nobody leads,/m);
  expect(text.match(/ring of sources/g)).toHaveLength(1);
});

test("a wrong setting after a reboot is told as the order and what it leaves behind", () => {
  const events: Plan["events"] = [
    reboot("mon"),
    at(50, { do: "set-clock-sources", device: "mon", clockSources: ["internal"] }),
  ];
  const text = timeline(rig(["1", "internal"], ["2", "1"], events), ["foh", "mon"]);
  expect(text).toContain("Device mon is told to listen to its own clock.");
  expect(text).toContain("Two clocks lead now; by the plan device foh comes before device mon.");
  expect(text).toContain("Device stage stays there: port 2 still brings a clock, so port 1 (foh) is never tried.");
});
