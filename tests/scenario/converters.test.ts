/** Converters in a file: what is read, what is assumed, and what is refused with which words. */
import { describe, expect, it } from "vitest";
import { formatIssue } from "../../shared/issues.ts";
import { plan, read } from "../helpers/rig.ts";

type Words = Readonly<Record<string, unknown>>;

function file(
  words: {
    readonly foh?: Words;
    readonly guest?: Words;
    readonly types?: Words;
    readonly events?: readonly object[];
  } = {},
) {
  return {
    format: 1,
    title: "a guest",
    run: { length: "00:30:00" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["foh"],
      deviceTypes: words.types ?? {},
      devices: [
        { id: "foh", oscillator: { offsetPpm: 1 }, clockSources: ["internal"], ...words.foh },
        { id: "guest", oscillator: { offsetPpm: 2 }, clockSources: ["internal"], ...words.guest },
        { id: "stage", oscillator: { offsetPpm: 3 }, clockSources: ["1"] },
      ],
      links: [
        { id: "in", type: "madi", from: "guest.1", to: "foh.7" },
        { id: "house", type: "aes50", ends: ["foh.1", "stage.1"] },
        { id: "word", type: "word-clock", from: "guest.2", to: "foh.8" },
      ],
    },
    events: words.events ?? [],
  };
}

const issuesOf = (words: Parameters<typeof file>[0]) => read(file(words)).issues.map(formatIssue);
const foh = (words: Parameters<typeof file>[0]) => plan(file(words)).devices.find(({ id }) => id === "foh")!;

describe("a converter in a file", () => {
  it("is true for all defaults, or an object with some numbers, or false for none", () => {
    const ports = (converter: unknown) => ({ foh: { ports: { 7: { converter } } } });
    expect(foh(ports(true)).converters).toEqual({ 7: { delaySeconds: 0.001, lockSeconds: 0.1, ratioMax: 8 } });
    expect(foh(ports({ delaySeconds: 0.0005, ratioMax: 2 })).converters).toEqual({
      7: { delaySeconds: 0.0005, lockSeconds: 0.1, ratioMax: 2 },
    });
    expect(foh(ports(false)).converters).toEqual({});
    expect(foh({}).converters).toEqual({});
  });

  it("leaves give and take to the port's other word", () => {
    const { ports, converters } = foh({ foh: { ports: { 1: { clock: "take", converter: true } } } });
    expect(ports).toEqual({ 1: "take" });
    expect(Object.keys(converters ?? {})).toEqual(["1"]);
  });

  it("comes from a type, and a device adds to it, keeps it, or takes it away", () => {
    const types = { desk: { ports: { 7: { converter: { delaySeconds: 0.003 } }, 1: { clock: "give" } } } };
    const made = (ports: Words | undefined) => foh({ types, foh: { like: "desk", ...(ports ? { ports } : {}) } });
    expect(made(undefined).converters).toMatchObject({ 7: { delaySeconds: 0.003 } });
    expect(made({ 7: { converter: true } }).converters).toMatchObject({ 7: { delaySeconds: 0.003 } });
    expect(made({ 7: { converter: { lockSeconds: 1 } } }).converters).toMatchObject({
      7: { delaySeconds: 0.003, lockSeconds: 1 },
    });
    expect(made({ 7: { converter: false } }).converters).toEqual({});
    const both = made({ 1: { converter: true } });
    expect(both.ports).toEqual({ 1: "give" });
    expect(Object.keys(both.converters ?? {})).toEqual(["1", "7"]);
  });

  it("is listed with what is assumed of it, as far as the run asks for it", () => {
    const ports = { 7: { converter: true }, 1: { converter: true } };
    const lines = (words: Parameters<typeof file>[0]) =>
      plan(file(words)).assumed.filter((line) => line.startsWith("converter"));
    expect(lines({ foh: { ports } })).toEqual(["converter.delaySeconds 0.001 s: foh"]);
    expect(
      lines({
        foh: { ports },
        guest: { sampleRateHz: 96_000 },
        events: [{ at: "00:10:00", do: "unplug", link: "in", forSeconds: 10 }],
      }),
    ).toEqual(["converter.delaySeconds 0.001 s: foh", "converter.lockSeconds 0.1 s: foh", "converter.ratioMax 8: foh"]);
    const given = { delaySeconds: 0, lockSeconds: 0, ratioMax: 1 };
    expect(lines({ foh: { ports: { 7: { converter: given } } } })).toEqual([]);
  });

  it("joins two rates on one cable, which then carries what the faster leaves room for", () => {
    const channels = (hz: number) =>
      plan(file({ foh: { ports: { 7: { converter: true } } }, guest: { sampleRateHz: hz } })).links.find(
        ({ id }) => id === "in",
      )!.channels;
    expect([channels(44_100), channels(96_000), channels(192_000)]).toEqual([64, 32, 16]);
  });
});

describe("a converter is refused", () => {
  it("at a port that the device takes its clock from, now or later", () => {
    expect(issuesOf({ foh: { ports: { 7: { converter: true } }, clockSources: ["7", "internal"] } })).toEqual([
      expect.stringMatching(
        /clockSources\[0\]: expected a port of "foh" without a converter: .+, received "7", which has one; take "7" off the clock sources, or the converter off the port$/,
      ),
    ]);
    expect(
      issuesOf({
        foh: { ports: { 7: { converter: true } } },
        events: [{ at: "00:10:00", do: "set-clock-sources", device: "foh", clockSources: ["internal", "7"] }],
      }),
    ).toEqual([expect.stringMatching(/events\[0\]\.clockSources\[1\]: expected a port of "foh" without a converter/)]);
  });

  it("where no link ends, where one only leaves, and where no audio comes", () => {
    const issue = (device: "foh" | "guest", port: number) =>
      issuesOf({ [device]: { ports: { [port]: { converter: true } } } });
    expect(issue("foh", 99)).toEqual([
      expect.stringMatching(
        /ports\["99"\]: expected a converter at a port of "foh" where audio arrives, received port 99, where no link ends; move it/,
      ),
    ]);
    expect(issue("guest", 1)).toEqual([expect.stringMatching(/received port 1, where "in" only leaves; /)]);
    expect(issue("foh", 8)).toEqual([
      expect.stringMatching(/received port 8, where "word" brings a clock and no audio;/),
    ]);
    expect(issue("foh", 1)).toEqual([]);
  });

  it("in other words than its own, each with what is expected", () => {
    const issue = (converter: unknown) => issuesOf({ foh: { ports: { 7: { converter } } } });
    expect(issue("yes")).toEqual([
      expect.stringMatching(
        /expected true, false, or an object with delaySeconds, lockSeconds or ratioMax, received "yes"/,
      ),
    ]);
    expect(issue({ delay: 0.1 })).toEqual([
      expect.stringMatching(/known here: delaySeconds, lockSeconds, ratioMax|did you mean delaySeconds/),
    ]);
    expect(issue({ ratioMax: 0.5 })).toEqual([expect.stringMatching(/expected a number from 1 to 100, received 0\.5/)]);
    expect(issuesOf({ foh: { ports: { 7: {} } } })).toEqual([
      expect.stringMatching(/expected what a port does: an object with clock, converter or both/),
    ]);
  });
});
