/** What people write for durations, instants and lengths: every written form reads back, and nothing is guessed silently. */
import fc from "fast-check";
import { describe, expect, test } from "vitest";
import {
  type AsSaid,
  NO_CLOCK,
  readDuration,
  readInstant,
  readLength,
  showClockOf,
  timeOfDay,
} from "../../shared/as-said.ts";
import type { Ns } from "../../shared/time.ts";
import { formatShowTime, parseShowTime } from "../../shared/units.ts";
import { tries } from "../helpers/laws.ts";

const value = (read: AsSaid<number>) => ("value" in read ? read.value : read.remedy);
const at = (text: string): Ns => parseShowTime(text) as Ns;

describe("durations", () => {
  test.each([
    ...([
      ["90", 90],
      ["90 s", 90],
      ["90s", 90],
      ["1 min 30 s", 90],
      ["1m30s", 90],
      ["1:30", 90],
      ["00:01:30", 90],
    ] as const),
    ...([
      ["1.5 h", 5400],
      ["1,5 h", 5400],
      ["500 ms", 0.5],
      ["0.1s", 0.1],
      ["2 hours and 5 minutes", 7500],
    ] as const),
    ...([
      ["1 h 1 min 1 s", 3661],
      ["90:00", 5400],
      ["0:00.25", 0.25],
      [" 12  s ", 12],
      ["1e-3", 0.001],
      ["2 days", 172_800],
    ] as const),
  ])("%s is %d s", (text, seconds) => expect(value(readDuration(text))).toBe(seconds));

  test.each(["", "s", "-1", "90x", "1:3", "1:60", "1 min 30", "1,000", "soon", "1:30 s", "ninety"])(
    "%j is none",
    (text) => {
      const read = readDuration(text);
      expect(read).toHaveProperty("remedy");
      expect("expected" in read && read.expected).toContain("how long");
    },
  );

  test("a number alone takes the unit of its heading, and one with colons none that it may not mean", () => {
    expect(value(readDuration("1.5", "min"))).toBe(90);
    expect(value(readDuration("1.5", "h"))).toBe(5400);
    expect(value(readDuration("90 s", "h"))).toBe(90);
    expect(value(readDuration("90", "approx"))).toBe(90);
    expect(readDuration("1:30", "h")).toHaveProperty("remedy");
  });
});

describe("lengths", () => {
  test.each([
    ...([
      ["12", 12],
      ["12 m", 12],
      ["12,5 m", 12.5],
      ["12.5m", 12.5],
      ["40 ft", 12.192],
      ["30'", 9.144],
    ] as const),
    ...([
      ["39' 4\"", 11.9888],
      ["39 ft 4 in", 11.9888],
      ["39′4″", 11.9888],
      ["39’ 4”", 11.9888],
      ["39'4''", 11.9888],
    ] as const),
    ...([
      ["250 cm", 2.5],
      ["0.3 km", 300],
      ["6 inches", 0.1524],
      ["7 Metres", 7],
    ] as const),
  ])("%s is %d m", (text, metres) => expect(value(readLength(text))).toBe(metres));

  test.each(["", "m", "-1 m", "12 yd", "1,000 m", "39' 4", "12 m x"])("%j is none", (text) => {
    expect(readLength(text)).toHaveProperty("remedy");
  });
});

describe("instants", () => {
  const evening = { startsAt: "17:30", lengthNs: at("08:00:00") };
  const show = { startsAt: null, lengthNs: at("01:30:00") };

  test.each([
    ...([
      ["20 min", "00:20:00"],
      ["00:20", "00:20:00"],
      ["0:20", "00:20:00"],
      ["00:20:00", "00:20:00"],
    ] as const),
    ...([
      ["0:20:00.5", "00:20:00.500"],
      ["1 h 12 min", "01:12:00"],
      ["90 s", "00:01:30"],
      ["20:00.5", "00:20:00.500"],
    ] as const),
  ])("%s is %s of a show", (text, time) => expect(value(readInstant(text, show))).toBe(at(time)));

  test.each([
    ...([
      ["18:00", "00:30:00"],
      ["17:30", "00:00:00"],
      ["00:30", "07:00:00"],
      ["1:30", "08:00:00"],
    ] as const),
    ...([
      ["00:30:00", "00:30:00"],
      ["20 min", "00:20:00"],
    ] as const),
  ])("%s is %s of a show that starts at 17:30, over midnight as well", (text, time) =>
    expect(value(readInstant(text, evening))).toBe(at(time)),
  );

  test("what is outside of the show, or more than once in it, is refused with what it would be", () => {
    expect(value(readInstant("20:00", show))).toBe(
      "for 20 min write 00:20:00; as hours and minutes it is 20:00:00, after the end of the show",
    );
    expect(value(readInstant("17:00", evening))).toContain("from 17:30 to 01:30");
    const festival = { startsAt: "17:30", lengthNs: at("30:00:00") };
    expect(value(readInstant("18:00", festival))).toBe(
      "it is 18:00 more than once in this show: write 00:30:00 or 24:30:00",
    );
    expect(value(readInstant("17:00", festival))).toBe(at("23:30:00"));
    expect(value(readInstant("24:00", evening))).toContain("a day has 24 hours");
    for (const text of ["", "20", "soon", "00:61:00", "-1 min", "0.0001 s", "6 pm"])
      expect(readInstant(text, evening), text).toHaveProperty("remedy");
  });

  test("the clock of a file is what its run says, if it can be read", () => {
    expect(showClockOf({ startsAt: "17:30", length: "01:30:00" })).toEqual({
      startsAt: "17:30",
      lengthNs: at("01:30:00"),
    });
    for (const run of [undefined, null, 3, {}, { startsAt: "24:00", length: "long" }])
      expect(showClockOf(run)).toEqual(NO_CLOCK);
    expect(["00:00:00", "00:30:00.900", "06:30:00", "31:00:00"].map((text) => timeOfDay("17:30", at(text)))).toEqual([
      ...["17:30:00", "18:00:00", "00:00:00", "00:30:00"],
    ]);
  });
});

describe("of any", () => {
  const two = (count: number) => String(count).padStart(2, "0");

  test("duration, each way to write it is read as it", () => {
    fc.assert(
      fc.property(fc.nat(99), fc.nat(59), fc.nat(59), fc.nat(999), (h, m, s, ms) => {
        const seconds = h * 3600 + m * 60 + s + ms / 1000;
        const whole = Number(seconds.toFixed(3));
        const decimals = `${s}.${String(ms).padStart(3, "0")}`;
        const forms = [
          ...[`${whole}`, `${whole} s`, `${String(whole).replace(".", ",")} sec`, `${h} h ${m} min ${decimals} s`],
          ...[`${h}h${m}m${s}s${ms}ms`, `${h}:${two(m)}:${two(s)}.${String(ms).padStart(3, "0")}`],
          ...[`${h} hours, ${m} minutes and ${s} seconds ${ms} ms`],
        ];
        for (const form of forms) {
          // A comma before three digits may mean either.
          if (/^[1-9]\d{0,2},\d{3}(?:\D|$)/.test(form)) expect(readDuration(form), form).toHaveProperty("remedy");
          else expect(readDuration(form), form).toEqual({ value: whole, understood: null });
        }
        expect(readDuration(`${h}:${two(m)}`)).toEqual({
          value: h * 60 + m,
          understood: `minutes and seconds, ${h * 60 + m} s`,
        });
      }),
      tries(200),
    );
  });

  test("instant, its own form and the time since the start are read as it, and the time of day goes there and back", () => {
    let overMidnight = 0;
    const day = fc.integer({ min: 0, max: 1439 });
    fc.assert(
      fc.property(day, fc.integer({ min: 0, max: 1439 }), fc.nat(59_999), (starts, minutes, ms) => {
        const clock = { startsAt: `${two(Math.floor(starts / 60))}:${two(starts % 60)}`, lengthNs: at("23:59:59") };
        const exact = (minutes * 60_000 + ms) * 1e6;
        const text = formatShowTime(exact as Ns);
        for (const form of [text, text.replace(/^0/, ""), `${minutes} min ${ms} ms`])
          expect(readInstant(form, clock), form).toEqual({ value: exact, understood: null });
        const onTheMinute = (minutes * 60e9) as Ns;
        const shown = timeOfDay(clock.startsAt, onTheMinute);
        expect(readInstant(shown.slice(0, 5), clock)).toEqual({
          value: onTheMinute,
          understood: `the time of day, ${formatShowTime(onTheMinute)} of the show`,
        });
        if (starts + minutes >= 1440) overMidnight++;
      }),
      tries(200),
    );
    expect(overMidnight).toBeGreaterThan(20);
  });

  test("length, in metres, in feet, in feet and inches", () => {
    fc.assert(
      fc.property(fc.nat(900), fc.nat(11), (feet, inches) => {
        const metres = Number((feet * 0.3048 + inches * 0.0254).toPrecision(12));
        for (const form of [
          `${feet} ft ${inches} in`,
          `${feet}' ${inches}"`,
          `${feet} feet, ${inches} inches`,
          `${metres} m`,
          `${metres}`,
        ])
          expect(readLength(form), form).toEqual({ value: metres, understood: null });
      }),
      tries(200),
    );
  });

  test("text at all: read or refused with what to do, and what has one colon never without saying how it was taken", () => {
    const seen = { read: 0, said: 0, refused: 0 };
    const sign = fc.constantFrom(
      ..."0123456789".split(""),
      ":05",
      "1:30",
      ":",
      ".",
      ",",
      " ",
      "s",
      "m",
      "h",
      "min",
      "'",
      '"',
      "-",
    );
    fc.assert(
      fc.property(fc.array(sign, { maxLength: 8 }), (signs) => {
        const text = signs.join("");
        for (const read of [readDuration(text), readInstant(text, NO_CLOCK), readLength(text)]) {
          if ("remedy" in read) {
            expect(read.remedy).not.toBe("");
            seen.refused++;
            continue;
          }
          expect(Number.isFinite(read.value) && read.value >= 0, text).toBe(true);
          if (text.split(":").length === 2) expect(read.understood, text).not.toBeNull();
          seen[read.understood === null ? "read" : "said"]++;
        }
      }),
      tries(3000),
    );
    expect(Math.min(seen.read, seen.refused)).toBeGreaterThan(100);
    expect(seen.said).toBeGreaterThan(20);
  });
});
