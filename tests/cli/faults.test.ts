import { describe, expect, test } from "vitest";
import { durationSeconds, readFault } from "../../cli/faults.ts";

describe("faults on the command line are events in the words of a scenario", () => {
  test.each([
    ["--reboot", "foh@00:20:00", { at: "00:20:00", do: "reboot", device: "foh" }],
    ["--reboot", "foh@00:20:00.500/surface", { at: "00:20:00.500", do: "reboot", device: "foh", part: "surface" }],
    ["--unplug", "main@00:40:00", { at: "00:40:00", do: "unplug", link: "main" }],
    ["--unplug", "main@00:40:00+1m30s", { at: "00:40:00", do: "unplug", link: "main", forSeconds: 90 }],
    [
      "--cut",
      "stage-left wall@00:40:00+10min",
      { at: "00:40:00", do: "cut", path: "stage-left wall", forSeconds: 600 },
    ],
    ["--power-cut", "foh@00:20:00+2m", { at: "00:20:00", do: "power-cut", device: "foh", forSeconds: 120 }],
    ["--stop-sync", "foh@00:20:00+2m", { at: "00:20:00", do: "stop-sync", device: "foh", forSeconds: 120 }],
    ["--cut", "ramp @ door@00:01:00", { at: "00:01:00", do: "cut", path: "ramp @ door" }],
  ])("%s %s", (option, text, event) => expect(readFault({ option, text })).toEqual({ event }));

  test.each([
    ["--reboot", "foh", "DEVICE@TIME"],
    ["--reboot", "foh@20:00", 'show time "hh:mm:ss"'],
    ["--reboot", "foh@00:20:00/surfce", "surface, engine or all"],
    ["--unplug", "main@00:40:00+90", "a duration like 90s"],
    ["--unplug", "@00:40:00", "WHAT@TIME"],
  ])("%s %s is refused with what was expected", (option, text, expected) => {
    const read = readFault({ option, text });
    expect(read).toMatchObject({
      issue: { file: `${option} ${text}`, line: 0, expected: expect.stringContaining(expected) },
    });
  });

  test("durations add up their units; anything else is none", () => {
    expect(["90s", "1m30s", "1h1m1s", "500ms", "0.1s0.2s", "1.5h"].map(durationSeconds)).toEqual([
      90, 90, 3661, 0.5, 0.3, 5400,
    ]);
    expect(["", "90", "s", "-1s", "1m 30s", "1e3s", "90s!"].map(durationSeconds)).toEqual(Array(7).fill(null));
  });
});
