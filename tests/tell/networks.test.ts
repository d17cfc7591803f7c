/** What networks do, in words. */
import { expect, test } from "vitest";
import type { Plan } from "../../shared/plan.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { networkReason } from "../../sim/tell/network-words.ts";
import { toldOf } from "../../sim/tell/picture.ts";
import { whyTold } from "../../sim/tell/why.ts";
import { tell } from "../../sim/tell.ts";
import { subjectsNamed, whyOf } from "../../sim/why.ts";
import { type LanternFile, lanternPlan } from "../helpers/lantern-networks.ts";

function timeline(plan: Plan): string {
  return tell(rehearse(plan))
    .timeline.map(({ at, text }) => `${at} ${text}`)
    .join("\n");
}

function why(plan: Plan, subject: string, seconds: number) {
  const { record } = rehearse(plan);
  const [about] = subjectsNamed(plan, subject);
  const at = nsFromSeconds(seconds);
  const [told] = whyTold(plan, record, whyOf(plan, record, about!, at));
  return { head: told!.head, lines: told!.lines.map(({ text }) => text), note: told!.note };
}

const at = (seconds: number, deed: object) => ({ at: `00:${String(seconds / 60).padStart(2, "0")}:00`, ...deed });
const wallCut = at(300, { do: "cut", path: "stage-left wall", forSeconds: 300 });
const withoutTrunk2 = ({ rig }: LanternFile) => {
  rig.links = rig.links.filter(({ id }) => id !== "trunk-2");
};
const withRecovery = (recovery: string) => (file: LanternFile) => {
  file.rig.networks[0]!.recovery = recovery;
};

test("as all stand: who follows whom through a switch with a clock, and nothing of switches without one", () => {
  const text = timeline(lanternPlan([at(300, { do: "unplug", link: "stage-blue" })]));
  expect(text.split("\n")[0]).toBe("00:00:00 FOH desk leads; the other devices follow it.");
});

test("a switch that only passes packets on is never on its own clock, whatever becomes of it", () => {
  const plan = lanternPlan([at(300, { do: "reboot", device: "sw-foh" })]);
  const text = timeline(plan);
  expect(text).toMatch(/^00:06:00 Switch at FOH is back\./m);
  expect(text).not.toMatch(/(Blue switch|[Ss]witch at FOH) is (back )?on its own clock/);
  expect(why(plan, "sw-foh", 60).head).toBe("At 00:01:00 the switch at FOH works, since the show began.");
  const after = why(plan, "sw-foh", 400);
  expect(after.head).toBe("At 00:06:40 the switch at FOH works, since 00:06:00.");
  expect(after.lines).toEqual(["The switch at FOH works after booting for 1 min.", "Switch at FOH reboots."]);
});

test("a new leader takes over, with the reason, and those who follow it; the old one leads again", () => {
  const text = timeline(lanternPlan([at(300, { do: "reboot", device: "foh" })]));
  expect(text).toMatch(/^00:05:00 Nobody leads the Blue network any more\./m);
  expect(text).toMatch(
    /^00:05:0[67] The monitor desk takes over as leader of the Red network: it has the better priority1\. The switch on stage follows it\./m,
  );
  expect(text).toMatch(/^00:06:.. .*The FOH desk leads the Red network again: /m);
  expect(text).toMatch(/^00:06:.. .*The FOH desk leads the Blue network again: nobody announced for \d(\.\d)? s\./m);
  expect(text).not.toMatch(/(the|The) monitor desk leads(?! the Red)/);
});

test("behind plain switches the loss shows by silence alone", () => {
  const plain = ({ rig }: LanternFile) => {
    for (const device of rig.devices) if (device.id === "sw-stage") device.bridge = { timing: "plain" };
  };
  expect(timeline(lanternPlan([at(300, { do: "power-cut", device: "foh" })], plain))).toMatch(
    /The monitor desk takes over as leader of the Red network: (nobody|the FOH desk) announced (nothing )?for \d(\.\d)? s\./i,
  );
});

test("another way is told with the cable that carries, and the way back", () => {
  const text = timeline(lanternPlan([wallCut]));
  expect(text).toMatch(/^00:05:00 .*After 0\.\d s the Red network has found another way; cable trunk-2 carries\./m);
  expect(text).toMatch(
    /^00:10:00 .*the Red network goes over cable trunk again; cable trunk-2 is held back as a spare\./m,
  );
  expect(text).toMatch(/lead on the Red network beside the FOH desk for \d(\.\d)? s\./);
  // It takes 30 s, so what leads what meanwhile is told on its own.
  const slow = timeline(lanternPlan([wallCut], withRecovery("spanning-tree")));
  expect(slow).toMatch(/^00:05:30 The Red network has found another way; cable trunk-2 carries\.$/m);
});

test("a network in two parts has two leaders, until it is whole", () => {
  const text = timeline(lanternPlan([wallCut], withoutTrunk2));
  expect(text).toMatch(/^00:05:00 .*the Red network has two leaders: the FOH desk and the monitor desk\./m);
  expect(text).toMatch(/^00:10:.. The Red network has one leader again, the FOH desk\./m);
  expect(text).not.toContain("has found another way");
});

test("nothing that holds a cable back: packets go round, as the show begins and again", () => {
  const text = timeline(lanternPlan([wallCut], withRecovery("none")));
  expect(text).toMatch(/^00:00:00 .*Packets go round on the Red network without end, and nothing passes/m);
  expect(text).toMatch(/^00:05:00 .*packets no longer go round on the Red network\./m);
  expect(text).toMatch(/^00:10:00 .*packets go round on the Red network without end/m);
});

test("a leader without sync still leads; who passes on its time is on its own clock", () => {
  const plan = lanternPlan([at(300, { do: "stop-sync", device: "foh", forSeconds: 120 })]);
  const text = timeline(plan);
  expect(text).toMatch(
    /^00:05:00 The FOH desk still leads the Blue network and the Red network: to announce is enough for that, so nobody takes over\. Switch on stage is on its own clock; the monitor desk and the stage box follow it\./m,
  );
  expect(text).toMatch(/^00:07:00 The switch on stage returns to the FOH desk\./m);
  expect(why(plan, "sw-stage", 360).lines).toContain(
    "The switch on stage is left on its own clock, because no sync comes from the FOH desk.",
  );
});

test("streams are named by the devices at their ends, and by their network where that is needed", () => {
  const text = timeline(lanternPlan([at(300, { do: "unplug", link: "ears", forSeconds: 20 }), wallCut], withoutTrunk2));
  expect(text).toContain("Stream from the stage box to the monitor desk stops.");
  expect(text).toContain("nothing comes over the stream from the stage box to the FOH desk on the Red network");
  expect(text).not.toMatch(/cable (up|ears|up-blue)\b/);
  const heard = why(lanternPlan([wallCut], withoutTrunk2), "pa-mix", 330);
  expect(heard.lines.at(-2)).toBe("The stream from the stage box to the FOH desk on the Red network is down.");
});

test("why: from a device over its node, the bridges and the cable to the event", () => {
  const { head, lines } = why(lanternPlan([wallCut]), "sw-stage", 308);
  expect(head).toMatch(
    /^At 00:05:08 the switch on stage is locked to port 1 \(the FOH desk on the Red network\), since 00:05:0\d\./,
  );
  expect(lines[0]).toMatch(/^The switch on stage is locked to port 1 \(the FOH desk on the Red network\)/);
  expect(lines.slice(-4)).toEqual([
    "The switch on stage follows the FOH desk on the Red network at port 23: the FOH desk has the better priority1.",
    "The Red network goes over cable trunk-2.",
    "The ends notice that nothing comes over cable trunk, 50 ms after the break.",
    "Everything laid along the stage-left wall is cut: cable trunk.",
  ]);
});

test("why: locked to a network all the time, while that gets another leader", () => {
  const { head, note } = why(lanternPlan([at(300, { do: "power-cut", device: "foh" })]), "stage", 400);
  expect(head).toContain("locked to port 1 (");
  expect(note).toMatch(/^What comes over the Red network is the time of the monitor desk since 00:05:/);
});

test("reasons name devices as people do, and nothing that only looks like one", () => {
  const plan = lanternPlan([]);
  expect(networkReason(plan, "foh has the better clock class")).toBe("the FOH desk has the better clock class");
  expect(networkReason(plan, "sw-stage announces foh now")).toBe("the switch on stage announces the FOH desk now");
  expect(networkReason(plan, "the way over sw-stage is the better one")).toBe(
    "the way over the switch on stage is the better one",
  );
  expect(networkReason(plan, "nobody announced for 6.2 s")).toBe("nobody announced for 6.2 s");
});

test("no device stands in any text by its id alone, nor a standard's word for a role", () => {
  const stories = [
    lanternPlan([at(300, { do: "reboot", device: "foh" })]),
    lanternPlan([wallCut]),
    lanternPlan([wallCut], withoutTrunk2),
    lanternPlan([wallCut], withRecovery("none")),
  ];
  for (const plan of stories) {
    const run = rehearse(plan);
    const told = tell(run);
    const texts = [...told.sentences, ...told.timeline.map(({ text }) => text), ...told.heard.map(({ text }) => text)];
    for (const text of texts) {
      expect(text).not.toMatch(/\b(sw-foh|sw-stage|sw-blue|mon|foh)\b/);
      expect(text).not.toMatch(/grandmaster|master|slave/i);
    }
    for (const device of plan.devices) {
      for (const seconds of [60, 302, 306, 330, 610]) {
        const { head, lines } = why(plan, device.id, seconds);
        for (const line of [head, ...lines]) expect(line).not.toMatch(/\b(sw-foh|sw-stage|sw-blue|mon|foh)\b(?!-)/);
      }
    }
    expect(toldOf(run).summary.networks).toHaveLength(2);
  }
});

test("who changes to another network of the same leader is on that network, together", () => {
  const text = timeline(
    lanternPlan([at(300, { do: "unplug", link: "stage-red", forSeconds: 60 })], ({ rig }) => {
      for (const device of rig.devices) if (device.id === "sw-stage") device.bridge = { timing: "plain" };
    }),
  );
  expect(text).toMatch(/^00:05:00 .*After 0\.\d s the stage box is on the Blue network\./m);
  expect(text).toMatch(/^00:06:.. .*[Tt]he stage box is on the Red network\./m);
});

test("a leader that comes and goes again and again is counted, not told each time", () => {
  const plan = lanternPlan([at(300, { do: "stop-sync", device: "foh", forSeconds: 120 })], ({ rig }) => {
    for (const network of rig.networks) network.profile = "802.1as";
    for (const device of rig.devices) if (device.id === "sw-stage") device.bridge = { timing: "transparent" };
  });
  const text = timeline(plan);
  expect(text).toMatch(
    /^00:05:0\d (After 0\.\d s t|T)he lead of the Red network goes to and fro between the FOH desk and the monitor desk, \d+ changes until 00:0[67]:..\./m,
  );
  expect(text.match(/takes over as leader/g) ?? []).toHaveLength(0);
});
