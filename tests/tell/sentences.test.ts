/** The sentences that the text of a rehearsal should be able to say, each out of a real run. */
import { describe, expect, test } from "vitest";
import { told } from "./stories.ts";

const stories = told();
const tellingOf = (name: string) => {
  const story = stories.find((one) => one.name === name);
  if (story === undefined) throw new Error(`no scenario ${name}`);
  return story.telling;
};
const linesOf = (name: string) => tellingOf(name).timeline.map(({ at, text }) => `${at}  ${text}`);
const heardOf = (name: string, who: string) => tellingOf(name).heard.find((line) => line.who === who)?.text;

describe("the leader reboots mid-show", () => {
  test("what falls silent, and why no clock plan can help", () => {
    expect(linesOf("leader-reboot.json")).toContain(
      "00:20:00  FOH desk reboots. The PA goes silent: its mix is made in this desk, so no clock plan can save it.",
    );
  });

  test("who leads meanwhile, after how long, and who stays clean", () => {
    expect(linesOf("leader-reboot.json")).toContain(
      "00:20:00  After 0.3 s the monitor desk leads and the stage box follows it. In-ears, the broadcast and the recording stay clean.",
    );
  });

  test("the return, and that the return did it", () => {
    const [line] = linesOf("leader-reboot.json").filter((text) => text.startsWith("00:21:15"));
    expect(line).toContain("FOH desk is back and leads again; the others return to it at once.");
    expect(line).toContain(
      "In-ears, the broadcast and the recording drop out once. The return did this, not the failure.",
    );
  });

  test("what the PA had, and where to turn it down", () => {
    expect(heardOf("leader-reboot.json", "PA")).toBe(
      "silent for 1 min 15 s, then back at full level with no fade. Turn it down at the PA processor before the desk is back.",
    );
  });

  test("until told: the desk is back on its own clock, and the PA clicks until the others are sent back", () => {
    const [line] = linesOf("leader-reboot-stay.json").filter((text) => text.startsWith("00:21:15"));
    expect(line).toContain("FOH desk is back on its own clock, 7.3 ppm faster than the stage box");
    expect(line).toMatch(
      /The PA clicks every 2\.9 s until 00:44:5\d, 499 in all\. In-ears, the broadcast and the recording stay clean\./,
    );
  });
});

describe("a follower on its own clock", () => {
  test("which, by how much, and that its lamp may mislead", () => {
    const [clock, clicks, fix] = tellingOf("own-clock.json").sentences;
    expect(clock).toMatch(/^Monitor desk is on its own clock, 6\.2 ppm faster than the FOH desk/);
    expect(clock).toMatch(/receives the link; it is not in step with it\. Its lock lamp may be lit\.$/);
    // 6.2 ppm at 48 kHz is 0.2976 samples a second: one every 3.36 s, 1,607 in 5,400 s.
    expect(clicks).toBe("What it takes from the FOH desk clicks every 3.4 s: 1,607 times in this show.");
    expect(fix).toBe(
      "Fix first: monitor desk, clock source: port 1 (FOH desk), not internal. Rehearsed with that change: no clicks.",
    );
  });
});

describe("redundant layouts", () => {
  test("a spare that carries, and that nobody has pulled it on site", () => {
    expect(linesOf("main-out-good-spare.json")).toContain(
      "00:40:00  Main cable out. After 0.3 s the stage box is on the spare. The PA drops out for 0.3 s. This spare works here; nobody has pulled it on site.",
    );
  });

  test("a spare that was none", () => {
    const [line] = linesOf("spare-that-was-none.json").filter((text) => text.startsWith("00:40:00"));
    expect(line).toContain(
      "Not a spare: main and spare are both laid along the stage-left wall. One forklift takes both, and the PA stays silent for 10 min.",
    );
  });
});

describe("the other lessons", () => {
  test("a ring of sources runs off together, and the device outside it clicks", () => {
    const [clock, clicks] = tellingOf("ring-of-sources.json").sentences;
    expect(clock).toContain("the FOH desk takes its clock from the stage box, and the stage box from the FOH desk");
    expect(clicks).toMatch(/clicks 4\.6 times a second: 8,\d\d\d times in this show\.$/);
  });

  test("a disputed link that does not slip", () => {
    expect(tellingOf("still-giving.json").sentences[0]).toMatch(/both ends give clock \(disputed\), yet nothing slips/);
  });

  test("a surface that reboots leaves nobody to mute", () => {
    expect(linesOf("surface-reboot.json")).toContain(
      "00:20:00  FOH desk: only the surface reboots. Audio and clock go on; nobody can mute from it for 1 min 15 s. No listener hears it.",
    );
  });

  test("a clock too far off to be taken", () => {
    expect(tellingOf("out-of-capture.json").sentences[0]).toContain(
      "the guest clock is 62 ppm off nominal, more than they can pull in (acquiring)",
    );
  });

  test("a chain that loses lock from one box to the next", () => {
    expect(linesOf("long-chain.json").join("\n")).toMatch(/Pier box 6.*lose lock and pull in \(acquiring\) again/);
  });

  test("followers that wait go back by themselves when the wait is over", () => {
    expect(linesOf("leader-reboot-wait.json").join("\n")).toContain(
      "go back by themselves (revertive) to the FOH desk after a wait of 5 min (wait-to-restore)",
    );
  });
});
