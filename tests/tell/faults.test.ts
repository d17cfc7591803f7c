/** Faults in words: each once, by what it is, and where it finds nothing to do. */
import { describe, expect, it } from "vitest";
import { nsFromSeconds } from "../../shared/time.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { isTold } from "../../sim/tell/event-words.ts";
import { eventSentence } from "../../sim/tell/events.ts";
import { whyTold } from "../../sim/tell/why.ts";
import { tell } from "../../sim/tell.ts";
import { whyOf } from "../../sim/why.ts";
import { example } from "../helpers/example.ts";
import { lineExample } from "../helpers/line-example.ts";
import { plan } from "../helpers/rig.ts";

type Example = ReturnType<typeof example>;

function run(events: readonly object[], change: (rig: Example["rig"]) => object = (rig) => rig) {
  const scenario = example();
  const length = { length: "00:30:00", seed: "quay-1" };
  return rehearse(plan({ ...scenario, run: length, rig: change(scenario.rig), events, expect: [] }));
}

function timeline(...args: Parameters<typeof run>): string {
  return tell(run(...args))
    .timeline.map(({ at, text }) => `${at}  ${text}`)
    .join("\n");
}

const withStage = (field: object) => (rig: Example["rig"]) => ({
  ...rig,
  devices: rig.devices.map((device) => (device.id === "stage" ? { ...device, ...field } : device)),
});

describe("a spare that carries", () => {
  const out = { at: "00:05:00", do: "unplug", link: "main", forSeconds: 90 };

  it("is no spare for the clock of a box that does not listen to it", () => {
    const told = timeline([out], withStage({ clockSources: ["1"] }));
    expect(told).toMatch(/00:05:00 .*The PA and in-ears click every/);
    expect(told).toContain("This spare carries the audio and not the clock: the stage box does not listen to it.");
    expect(told).not.toContain("works here");
    expect(timeline([out])).toContain("This spare works here");
  });
});

describe("a cable that comes and goes", () => {
  const flaps = { at: "00:05:00", do: "intermittent", link: "main", everySeconds: 30, outSeconds: 0.4, count: 12 };

  it("is one event, and the turns after the first are counted", () => {
    expect(timeline([flaps])).toMatchInlineSnapshot(`
      "00:00:00  FOH desk leads; the other devices follow it.
      00:05:00  Main cable comes and goes: 12 times, 0.4 s each, every 30 s. The stage box loses lock and pulls in (acquiring) again within 1.5 s. The PA and in-ears drop out for 0.3 s. This spare works here; nobody has pulled it on site.
      00:05:30  So it goes on until 00:10:31, 11 times more. The PA drops out 11 times. In-ears drop out 11 times."
    `);
  });

  it("says so where nobody hears the turns that are only counted", () => {
    const told = timeline([{ ...flaps, link: "spare" }]);
    expect(told).toMatch(/So it goes on until 00:10:3\d, 11 times more\. No listener hears a difference\.$/m);
  });

  it("shows its way back where the turns are long, and goes on being one when something else happens", () => {
    const text = timeline([
      { ...flaps, everySeconds: 60, outSeconds: 20, count: 6 },
      { at: "00:07:30", do: "reboot", device: "pa" },
    ]);
    expect(text).toMatchInlineSnapshot(`
      "00:00:00  FOH desk leads; the other devices follow it.
      00:05:00  Main cable comes and goes: 6 times, 20 s each, every 1 min. After 0.3 s the stage box is on the spare. The PA and in-ears drop out for 0.3 s. This spare works here; nobody has pulled it on site.
      00:05:20  Main cable has contact again, after time 1 of 6. After 0.1 s the stage box is on the main cable. No listener hears it.
      00:06:00  So it goes on until 00:07:21, twice more. The PA drops out twice. In-ears drop out twice.
      00:07:30  PA processor reboots. The PA goes silent: it comes out of this device, so no clock plan can save it. In-ears stay clean.
      00:08:00  Main cable still comes and goes: time 4 of 6, 20 s each. After 0.3 s the stage box is on the spare. In-ears drop out for 0.3 s. This spare works here; nobody has pulled it on site.
      00:08:20  Main cable has contact again, after time 4 of 6. After 0.1 s the stage box is on the main cable. No listener hears a difference.
      00:08:30  PA processor is back and follows the FOH desk. The PA is back after 1 min, at full level with no fade. In-ears stay clean.
      00:09:00  Main cable still comes and goes: time 5 of 6, 20 s each. After 0.3 s the stage box is on the spare. The PA and in-ears drop out for 0.3 s. This spare works here; nobody has pulled it on site.
      00:09:20  Main cable has contact again, after time 5 of 6. After 0.1 s the stage box is on the main cable. No listener hears it.
      00:10:00  So it goes on until 00:10:21, once more. The PA drops out once. In-ears drop out once."
    `);
  });

  it("has one flag however often it goes", () => {
    const { events } = run([flaps, { at: "00:20:00", do: "hang", device: "pa" }]).plan;
    expect(events).toHaveLength(25);
    expect(events.filter(isTold).map(({ do: deed }) => deed)).toEqual(["lose-contact", "hang"]);
  });

  it("once is a contact that is lost; a cable that is out cannot lose it", () => {
    const once = run([{ ...flaps, link: "to-mon", end: "mon", count: 1 }]).plan;
    expect(once.events.map((event) => eventSentence(once, event))).toEqual([
      "Cable to-mon loses contact for 0.4 s, at the monitor desk.",
      "Cable to-mon has contact again.",
    ]);
    expect(
      timeline([
        { at: "00:04:00", do: "unplug", link: "main" },
        { ...flaps, count: 2 },
      ]),
    ).toContain("00:05:00  Main cable comes and goes: twice, 0.4 s each, every 30 s; main cable is out.");
  });

  it("is the first cause by its turn", () => {
    const found = run([flaps]);
    const why = whyOf(found.plan, found.record, { kind: "link", id: "main", way: "there" }, nsFromSeconds(390.2));
    const [told] = whyTold(found.plan, found.record, why);
    expect(told!.lines.at(-1)!.text).toBe("Main cable still comes and goes: time 4 of 12, 0.4 s each.");
  });
});

describe("a device that sticks", () => {
  const stick = { at: "00:05:00", do: "stick", device: "stage" };

  it("does not move, and what tells it to says so", () => {
    const text = timeline([
      stick,
      { at: "00:06:00", do: "choose-source", device: "stage", source: "2" },
      { at: "00:07:00", do: "reboot", device: "stage" },
      { at: "00:08:00", do: "choose-source", device: "stage", source: "2" },
    ]);
    expect(text).toContain("Stage box sticks to the clock source it has: it takes no other, by itself or told.");
    expect(text).toContain("00:06:00  Stage box is told to go to port 2 (FOH desk), and does not move: it is stuck.");
    expect(text).toContain("00:08:00  Stage box is told to go to port 2 (FOH desk).");
  });

  it("is told where nothing is there to stick, or to be let go", () => {
    expect(timeline([{ at: "00:04:50", do: "reboot", device: "stage" }, stick])).toContain(
      "Stage box is still booting, and has no clock source to stick to.",
    );
    expect(
      timeline([
        { ...stick, forSeconds: 300 },
        { at: "00:06:00", do: "reboot", device: "stage" },
      ]),
    ).toContain("00:10:00  Stage box chooses already; the reboot had ended that.");
  });

  it("is a note to whoever asks why", () => {
    const found = run([stick, { at: "00:06:00", do: "unplug", link: "main" }]);
    const noteAt = (seconds: number) =>
      whyTold(
        found.plan,
        found.record,
        whyOf(found.plan, found.record, { kind: "device", id: "stage" }, nsFromSeconds(seconds)),
      )[0]!.note;
    expect(noteAt(400)).toBe("Stuck since 00:05:00: no other clock source is taken.");
    expect(noteAt(200)).toBeNull();
  });
});

describe("power", () => {
  const supplies = (rig: Example["rig"]) => ({ ...rig, supplies: [{ id: "backup", batterySeconds: 20 }] });

  it("says how long a battery lasts, when it is empty, and what is not known of the next time", () => {
    const text = timeline(
      [
        { at: "00:05:00", do: "power-cut", supply: "foh", forSeconds: 60 },
        { at: "00:05:00", do: "power-cut", supply: "backup", forSeconds: 600 },
        { at: "00:20:00", do: "power-cut", supply: "backup", forSeconds: 6 },
      ],
      supplies,
    );
    expect(text).toContain("Supply backup fails: its battery feeds the FOH desk for 20 s.");
    expect(text).toContain(
      "00:05:20  The battery of supply backup is empty: the FOH desk loses power. The PA and in-ears go silent",
    );
    expect(text).toContain("Supply backup fails: its battery, if it is full again, feeds the FOH desk for 20 s.");
  });

  it("says what comes back otherwise, and only then", () => {
    const reboot = { at: "00:05:00", do: "reboot", device: "stage" };
    const cut = { at: "00:10:00", do: "power-cut", supply: "stage", forSeconds: 10 };
    const wrong = withStage({ afterReboot: { clockSources: ["2", "internal"] } });
    expect(timeline([reboot], wrong)).toContain(
      "Stage box reboots; it comes back listening to port 2 (FOH desk), then its own clock, not to what it was set to.",
    );
    expect(timeline([cut], wrong)).toContain("Supply stage is back; the stage box comes back listening to port 2");
    expect(timeline([reboot, cut], wrong)).toContain("00:10:10  Supply stage is back. ");
    expect(timeline([reboot], withStage({ afterReboot: { clockSources: ["1", "2"] } }))).toContain(
      "Stage box reboots. ",
    );
  });
});

describe("a T-ed line", () => {
  const told = (...events: object[]) => {
    const made = plan({ ...lineExample(), events });
    return made.events.map((event) => eventSentence(made, event));
  };
  const at = "00:05:00";

  it("is the word-clock line, and a tap is where it is", () => {
    expect(
      told(
        { at, do: "unplug", link: "word", forSeconds: 1 },
        { at: "00:06:00", do: "unplug", link: "word", end: "mon" },
        { at: "00:07:00", do: "unplug", link: "word", end: "from" },
        { at: "00:08:00", do: "cut", path: "cable trough" },
      ),
    ).toEqual([
      "Word-clock line out.",
      "Word-clock line back in.",
      "Word-clock line out, at the monitor desk.",
      "Word-clock line out, at the house clock.",
      "Everything laid along the cable trough is cut: word-clock line.",
    ]);
  });

  it("is named where it is why", () => {
    const found = rehearse(plan({ ...lineExample(), events: [{ at, do: "unplug", link: "word" }] }));
    const why = whyOf(found.plan, found.record, { kind: "device", id: "rec" }, nsFromSeconds(310));
    const text = whyTold(found.plan, found.record, why)[0]!
      .lines.map((line) => line.text)
      .join("\n");
    expect(text).toContain("The ends notice that nothing comes over the word-clock line (to the recorder)");
    expect(text).not.toContain(":rec");
  });
});

describe("a cable that was cut", () => {
  it("is not in already when somebody runs a new one", () => {
    const text = timeline([
      { at: "00:05:00", do: "cut", path: "stage-left wall" },
      { at: "00:06:00", do: "plug", link: "main" },
      { at: "00:07:00", do: "plug", link: "main" },
    ]);
    expect(text).toContain("00:06:00  Main cable plugged in.");
    expect(text).toContain("00:07:00  Main cable is in already.");
  });
});
