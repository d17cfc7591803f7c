/** Where a number is from and when it was measured: joined through types, told, and nothing that a run asks for. */
import { describe, expect, it } from "vitest";
import { formatIssue } from "../../shared/issues.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { numbersOf } from "../../viewer/numbers.ts";
import { example } from "../helpers/example.ts";
import { plan, read } from "../helpers/rig.ts";
import { readText, thereAndBack } from "../tables/sheets.ts";

type Fields = Record<string, unknown>;

const loadIn = { value: 34, from: "load-in, stopwatch", measured: "2026-05-02", times: 3 };
const reboot = [{ at: "00:01:00", do: "reboot", device: "stage" }];

/** The example with a type under the stage box, and one more entry on top. */
function withType(type: Fields, own: Fields = {}, events: readonly object[] = reboot) {
  const scenario = structuredClone(example()) as unknown as Fields & { rig: { devices: Fields[] } };
  for (const device of scenario.rig.devices) {
    if (device.id !== "stage") continue;
    delete device.bootSeconds;
    delete device.like;
    Object.assign(device, { like: "wing-box" }, own);
  }
  return { ...scenario, deviceTypes: { ...(scenario.deviceTypes as object), "wing-box": type }, events, expect: [] };
}

const bootOf = (scenario: object) => {
  const made = plan(scenario);
  return numbersOf(made, made.devices.find(({ id }) => id === "stage")!).find(({ name }) => name === "bootSeconds")!;
};

describe("how long links take to come up, by what devices say of their inputs", () => {
  const links = (type: Fields, link: Fields = {}, own: Fields = {}) => {
    const scenario = withType(type, own) as ReturnType<typeof withType> & { rig: { links: Fields[] } };
    for (const each of scenario.rig.links) if (each.id === "main") Object.assign(each, link);
    return plan(scenario);
  };
  const main = (made: ReturnType<typeof plan>) => made.links.find(({ id }) => id === "main")?.comingUpSeconds;
  const measured = { "comingUpSeconds.madi": [{ value: 0.4, from: "pull test", measured: "2026-05-02" }] };

  it("goes before the type of the link, and what the link says goes before that", () => {
    expect(main(links({}))).toBe(0.1);
    expect(main(links({ comingUpSeconds: { madi: 0.4 } }))).toBe(0.4);
    expect(main(links({ comingUpSeconds: { aes3: 0.4 } }))).toBe(0.1);
    expect(main(links({ comingUpSeconds: { madi: 0.4 } }, { comingUpSeconds: 2 }))).toBe(2);
    // The stage box sends and hears nothing over it then.
    expect(main(links({ comingUpSeconds: { madi: 0.4 } }, { return: false }, { clockSources: ["2"] }))).toBe(0.1);
  });

  it("is measured like any other number, and no longer assumed", () => {
    const made = links({ comingUpSeconds: { madi: 0.4 }, origins: measured });
    expect(made.measured).toEqual(["comingUpSeconds.madi 0.4 s, measured 2026-05-02: stage"]);
    expect(made.assumed.find((line) => line.startsWith("madi.comingUpSeconds")) ?? "").not.toContain("main");
    expect(links({}).assumed.find((line) => line.startsWith("madi.comingUpSeconds"))).toContain("main");
  });

  it("comes back out of tables", () => {
    const { deviceTypes, ...rest } = withType({ comingUpSeconds: { madi: 0.4 }, origins: measured });
    const { text, issues } = thereAndBack(rest, deviceTypes);
    expect(issues.map(formatIssue)).toEqual([]);
    expect(main(readText(text as string).plan!)).toBe(0.4);
  });
});

describe("the origin of a number", () => {
  it("is told beside it, with the day, how often and by whom", () => {
    const type = { bootSeconds: 34, origins: { bootSeconds: [loadIn] } };
    expect(plan(withType(type)).measured).toEqual(["bootSeconds 34 s, measured 2026-05-02: stage"]);
    expect(bootOf(withType(type))).toMatchObject({
      isAssumed: false,
      origin: "Measured 2026-05-02, 3 times (load-in, stopwatch). Given by its type in the file",
    });
    expect(rehearse(plan(withType(type))).summary.measured).toEqual(plan(withType(type)).measured);
  });

  it("counts for the number that it was said of, and no other", () => {
    const type = { bootSeconds: 34, origins: { bootSeconds: [loadIn] } };
    const own = plan(withType(type, { bootSeconds: 50 }));
    expect(own.measured).toBeUndefined();
    expect(bootOf(withType(type, { bootSeconds: 50 })).origin).toBe("Given in the file");
    const other = { value: 36, from: "load-out", measured: "2026-06-11" };
    const twice = withType({ bootSeconds: 34, origins: { bootSeconds: [other, loadIn] } });
    expect(bootOf(twice).origin).toBe(
      "Measured 2026-05-02, 3 times (load-in, stopwatch); not 36 s, measured 2026-06-11 (load-out). Given by its type in the file",
    );
    const handbook = { bootSeconds: 34, origins: { bootSeconds: [{ value: 34, from: "its handbook" }] } };
    expect(plan(withType(handbook)).measured).toBeUndefined();
    expect(bootOf(withType(handbook)).origin).toBe("Given by its type in the file: from its handbook");
  });

  it("may be said by a device of what its type leaves open, and of what it gives itself", () => {
    const own = { oscillator: { offsetPpm: -6.3 }, origins: { "oscillator.offsetPpm": [{ ...loadIn, value: -6.3 }] } };
    expect(plan(withType({ bootSeconds: 34 }, own)).measured).toEqual([
      "oscillator.offsetPpm -6.3 ppm, measured 2026-05-02: stage",
    ]);
  });

  it("is listed only where the run asks for the number", () => {
    const type = { bootSeconds: 34, origins: { bootSeconds: [loadIn] } };
    expect(plan(withType(type, {}, [])).measured).toBeUndefined();
  });

  it("changes nothing of what a run records", () => {
    const said = rehearse(plan(withType({ bootSeconds: 34, origins: { bootSeconds: [{ ...loadIn, value: 99 }] } })));
    const bare = rehearse(plan(withType({ bootSeconds: 34 })));
    expect(bare.record.rows.length).toBeGreaterThan(20);
    expect(said.record).toEqual(bare.record);
    expect(said.summary).toEqual(bare.summary);
  });

  it("goes into tables and comes back", () => {
    const scenario = withType({ bootSeconds: 34, origins: { bootSeconds: [loadIn] } });
    const { deviceTypes, ...rest } = scenario;
    const { text, issues } = thereAndBack(rest, deviceTypes);
    expect(issues.map(formatIssue)).toEqual([]);
    expect(readText(text as string).plan?.measured).toEqual(plan(scenario).measured);
  });

  it.each([
    [{ bootSecond: [loadIn] }, "did you mean bootSeconds?"],
    [{ bootSeconds: [{ ...loadIn, value: "34 s" }] }, "a number from 0 to 86400 s"],
    [{ bootSeconds: [{ value: 34 }] }, 'add "from"'],
    [{ bootSeconds: [{ ...loadIn, measured: "2.5.2026" }] }, 'a date "yyyy-mm-dd"'],
    [{ bootSeconds: [{ value: 34, from: "load-in", times: 2 }] }, "the day on which it was measured"],
    [{ "loop.damping": [{ ...loadIn, value: 99 }] }, "a number from 0.1 to 10"],
    [{ bootSeconds: loadIn }, "a list of origins"],
  ])("%j is refused with its remedy", (origins, words) => {
    const { issues, plan: none } = read(withType({ bootSeconds: 34, origins }));
    expect(none).toBeNull();
    expect(issues.map(formatIssue).join("\n")).toContain(words);
  });
});
