import { describe, expect, test } from "vitest";
import { readFault } from "../../cli/faults.ts";
import { parseShowTime } from "../../shared/units.ts";

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
    ["--unplug", "main@20 min+1 min 30 s", { at: "00:20:00", do: "unplug", link: "main", forSeconds: 90 }],
    ["--unplug", "main@0:40:00+90", { at: "00:40:00", do: "unplug", link: "main", forSeconds: 90 }],
    ["--unplug", "main@00:40:00+00:01:30", { at: "00:40:00", do: "unplug", link: "main", forSeconds: 90 }],
    ["--cut", "ramp @ door@00:01:00", { at: "00:01:00", do: "cut", path: "ramp @ door" }],
  ])("%s %s", (option, text, event) => expect(readFault({ option, text })).toEqual({ event, understood: [] }));

  test.each([
    ["--reboot", "foh", "DEVICE@TIME"],
    ["--reboot", "foh@20", "an instant of the show"],
    ["--reboot", "foh@00:20:00/surfce", "surface, engine or all"],
    ["--unplug", "main@00:40:00+soon", "how long, such as 90"],
    ["--unplug", "@00:40:00", "WHAT@TIME"],
  ])("%s %s is refused with what was expected", (option, text, expected) => {
    const read = readFault({ option, text });
    expect(read).toMatchObject({
      issue: { file: `${option} ${text}`, line: 0, expected: expect.stringContaining(expected) },
    });
  });

  test("what may mean two things is said back, or refused with both", () => {
    const clock = (startsAt: string | null, length = "01:30:00") => ({ startsAt, lengthNs: parseShowTime(length) });
    const read = (text: string, by: ReturnType<typeof clock>) => readFault({ option: "--unplug", text }, by);
    expect(read("main@18:00+1:30", clock("17:30"))).toEqual({
      event: { at: "00:30:00", do: "unplug", link: "main", forSeconds: 90 },
      understood: ["18:00 as the time of day, 00:30:00 of the show", "1:30 as minutes and seconds, 90 s"],
    });
    expect(read("main@0:20", clock(null))).toMatchObject({ understood: ["0:20 as hours and minutes, 00:20:00"] });
    expect(read("main@20:00", clock(null))).toMatchObject({
      issue: { remedy: "for 20 min write 00:20:00; as hours and minutes it is 20:00:00, after the end of the show" },
    });
    expect(read("main@17:00", clock("17:30"))).toMatchObject({
      issue: { remedy: "by the clock the show goes from 17:30 to 19:00; show time has its seconds as well: 17:00:00" },
    });
  });
});
