/** Every kind of event, in one evening, as the timeline tells it. */
import { expect, test } from "vitest";
import { readScenario } from "../../shared/scenario.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";

const scenario = {
  format: 1,
  title: "Everything at once",
  run: { length: "01:30:00", seed: "quay-1" },
  rig: {
    sampleRateHz: 48000,
    leaders: ["foh", "mon"],
    devices: [
      {
        id: "foh",
        name: "FOH desk",
        kind: "desk",
        clockSources: ["internal"],
        oscillator: { offsetPpm: 4.2 },
        bootSeconds: 75,
        power: ["rack"],
      },
      {
        id: "mon",
        name: "Monitor desk",
        kind: "desk",
        clockSources: ["9", "internal"],
        oscillator: { offsetPpm: -3.1 },
        power: ["rack", "ups"],
      },
      {
        id: "stage",
        name: "Stage box",
        kind: "stage-box",
        clockSources: ["1", "2"],
        oscillator: { offsetPpm: -6.3 },
        holdoverSeconds: 30,
      },
      { id: "pa", name: "PA processor", kind: "processor", clockSources: ["1"], oscillator: { offsetPpm: 2.5 } },
      {
        id: "late",
        name: "Recorder",
        kind: "recorder",
        clockSources: ["1"],
        oscillator: { offsetPpm: 1 },
        atStart: "off",
      },
    ],
    links: [
      {
        id: "foh-stage",
        type: "madi",
        from: "stage.1",
        to: "foh.1",
        return: true,
        lengthMetres: 90,
        laidAlong: ["quay wall"],
      },
      {
        id: "mon-stage",
        type: "madi",
        from: "stage.2",
        to: "mon.2",
        return: true,
        lengthMetres: 20,
        laidAlong: ["wing"],
      },
      { id: "clock", type: "word-clock", from: "foh.9", to: "mon.9", lengthMetres: 90, laidAlong: ["railing"] },
      { id: "to-pa", type: "aes3", from: "foh.2", to: "pa.1", lengthMetres: 60, laidAlong: ["railing"] },
      { id: "to-late", type: "madi", from: "mon.3", to: "late.1", lengthMetres: 5 },
    ],
    feeds: [
      { id: "pa-mix", name: "PA mix", through: ["stage", "foh", "pa"], channels: [32, 2], heardBy: ["pa"] },
      { id: "ears-mix", name: "Ear mix", through: ["stage", "mon"], channels: 16, heardBy: ["in-ears"] },
    ],
  },
  events: [
    { at: "00:02:00", do: "power-back", device: "late" },
    { at: "00:05:00", do: "hang", device: "foh" },
    { at: "00:06:00", do: "reboot", device: "foh", part: "engine" },
    { at: "00:10:00", do: "power-cut", supply: "rack", forSeconds: 120 },
    { at: "00:20:00", do: "set-clock-sources", device: "stage", clockSources: ["internal"] },
    { at: "00:25:00", do: "set-clock-sources", device: "stage", clockSources: ["1", "2"] },
    { at: "00:30:00", do: "step-frequency", device: "foh", offsetPpm: 12 },
    { at: "00:40:00", do: "temperature", toCelsius: 30, overSeconds: 600 },
    { at: "00:50:00", do: "cut", path: "railing", forSeconds: 30 },
    { at: "01:00:00", do: "power-cut", device: "mon" },
    { at: "01:05:00", do: "power-back", device: "mon" },
    { at: "01:10:00", do: "unplug", link: "foh-stage" },
    { at: "01:12:00", do: "unplug", link: "mon-stage" },
    { at: "01:20:00", do: "plug", link: "foh-stage" },
  ],
};

test("each event is named, with what it does to whom", () => {
  const { plan, issues } = readScenario(
    { file: "all.json", bytes: new TextEncoder().encode(JSON.stringify(scenario)) },
    () => ({ problem: "none" }),
  );
  expect(issues).toEqual([]);
  const { timeline } = tell(rehearse(plan!));
  expect(timeline.map(({ at, text }) => `${at}  ${text}`).join("\n")).toMatchInlineSnapshot(`
    "00:00:00  FOH desk leads; the other devices follow it.
    00:02:00  Recorder is switched on. No listener hears it.
    00:03:00  Recorder is up and follows the monitor desk. No listener hears it.
    00:05:00  FOH desk hangs: the clock goes on, the audio stops, the mute on it may not work. The PA goes silent: its mix is made in this desk, so no clock plan can save it. In-ears stay clean.
    00:06:00  FOH desk: the engine reboots, the surface stays up.
    00:06:00  After 0.3 s the monitor desk leads and the stage box follows it. No listener hears a difference.
    00:07:15  FOH desk is back and leads again; the others return to it at once. The recorder loses lock for 1.1 s. The PA is back after 2 min 15 s, at full level with no fade. In-ears drop out once.
    00:10:00  Supply rack fails: it feeds the FOH desk; the monitor desk has another supply. The PA goes silent: its mix is made in the FOH desk, so no clock plan can save it.
    00:10:00  After 0.3 s the monitor desk leads again and the stage box returns to it. In-ears stay clean.
    00:12:00  Supply rack is back. No listener hears a difference.
    00:13:15  FOH desk is back and leads again; the others return to it at once. The PA is back after 3 min 15 s, at full level with no fade. In-ears stay clean.
    00:20:00  Stage box is told to listen to its own clock.
    00:20:00  Stage box is on its own clock, 10.5 ppm slower than the FOH desk. It receives the link; it is not in step with it. Its lock lamp may be lit. The PA and in-ears click every 2 s until 00:24:58, 151 in all.
    00:25:00  Stage box is told to listen to port 1 (FOH desk), then port 2 (monitor desk).
    00:25:00  The stage box returns to the FOH desk. The PA and in-ears drop out once.
    00:30:00  FOH desk: its own clock steps to 12 ppm fast. No listener hears it.
    00:40:00  The air around the rig goes to 30 °C within 10 min. No listener hears it.
    00:50:00  Everything laid along the railing is cut: cables clock and to-pa. The PA goes silent: nothing comes over cable to-pa. Monitor desk is on its own clock, 15.1 ppm slower than the stage box; the recorder follows it. Monitor desk receives the link; it is not in step with it. Its lock lamp may be lit. Two clocks lead now; by the plan the FOH desk comes before the monitor desk. In-ears click every 1.4 s until 00:50:30, 22 in all.
    00:50:30  Cables along the railing are whole again: cables clock and to-pa. After 0.1 s the monitor desk and the PA processor return to the FOH desk. The PA is back after 30 s, at full level with no fade. For in-ears the clicks stop.
    01:00:00  Monitor desk loses power. In-ears go silent: they come out of this desk, so no clock plan can save them. The PA stays clean.
    01:05:00  Monitor desk has power again. No listener hears a difference.
    01:06:00  Monitor desk is back and follows the FOH desk; the recorder returns to it. In-ears are back after 6 min, at full level with no fade. The PA stays clean.
    01:10:00  Cable foh-stage out. The PA goes silent: nothing comes over cable foh-stage. After 0.3 s the stage box returns to the monitor desk. In-ears stay clean.
    01:12:00  Cable mon-stage out. In-ears go silent: nothing comes over cable mon-stage. Stage box is coasting (holdover).
    01:12:30  Stage box no longer coasts and is on its own clock.
    01:20:00  Cable foh-stage plugged in. After 0.1 s the stage box returns to the FOH desk. The PA is back after 10 min, at full level with no fade."
  `);
});
