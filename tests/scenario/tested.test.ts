/** The day on which a cable was pulled on site: kept in the plan, told where it is none, and nothing that a run asks for. */
import { describe, expect, it } from "vitest";
import { formatIssue } from "../../shared/issues.ts";
import { DATE_PATTERN } from "../../shared/units.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { example } from "../helpers/example.ts";
import { networkExample } from "../helpers/network-example.ts";
import { plan, read } from "../helpers/rig.ts";

type Written = Record<string, unknown> & { readonly type: string };

function withTested(base: object, date: unknown, which: (link: Written) => boolean = () => true) {
  const scenario = structuredClone(base) as { rig: { links: Written[] } };
  for (const link of scenario.rig.links) if (which(link)) link.tested = date;
  return scenario;
}

describe("the day on which a cable was pulled", () => {
  it("is kept with the cable, and nothing is kept where none is written", () => {
    const made = plan(withTested(example(), "2026-11-20", ({ id }) => id === "main"));
    expect(made.links.find(({ id }) => id === "main")?.tested).toBe("2026-11-20");
    expect(made.links.filter(({ id }) => id !== "main").every((link) => !("tested" in link))).toBe(true);
  });

  it("changes nothing of what a run records and sums up", () => {
    const [bare, dated] = [rehearse(plan(example())), rehearse(plan(withTested(example(), "2026-11-20")))];
    expect(dated.plan.links.every(({ tested }) => tested === "2026-11-20")).toBe(true);
    expect(bare.record.rows.length).toBeGreaterThan(20);
    expect(dated.record).toEqual(bare.record);
    expect(dated.summary).toEqual(bare.summary);
  });

  it.each(["2024-02-29", "2000-02-29", "2026-12-31", "2026-04-30"])("may be %s", (date) => {
    expect(read(withTested(example(), date)).issues).toEqual([]);
  });

  it.each([
    ["2026-02-29", 'write year, month and day: "2026-11-20"'],
    ["2100-02-29", 'write year, month and day: "2026-11-20"'],
    ["2026-04-31", 'write year, month and day: "2026-11-20"'],
    ["20.11.2026", 'write year, month and day: "2026-11-20"'],
    ["2026/3/4", 'did you mean "2026-03-04"?'],
    ["20261120", 'did you mean "2026-11-20"?'],
    [20_261_120, "write such a text, in double quotes"],
    [true, "write what is expected here"],
  ])("is not %s", (date, remedy) => {
    const { issues } = read(withTested(example(), date, ({ id }) => id === "main"));
    expect(issues.map(({ expected }) => expected)).toEqual([
      'a date "yyyy-mm-dd", alone or with the stamp of that day behind it, "2026-11-20 K7-QF"',
    ]);
    expect(issues.map(formatIssue)[0]).toContain(remedy);
  });

  it("is a day of the calendar, as another calendar has it, over every day that can be written of some years", () => {
    let days = 0;
    for (const year of [1900, 1999, 2000, 2023, 2024, 2100])
      for (let month = 0; month <= 13; month += 1)
        for (let day = 0; day <= 32; day += 1) {
          const two = (number: number) => String(number).padStart(2, "0");
          const at = new Date(Date.UTC(year, month - 1, day));
          const isOne = at.getUTCFullYear() === year && at.getUTCMonth() === month - 1 && at.getUTCDate() === day;
          expect(DATE_PATTERN.test(`${year}-${two(month)}-${two(day)}`), `${year} ${month} ${day}`).toBe(isOne);
          if (isOne) days += 1;
        }
    expect(days).toBe(365 * 6 + 2);
  });

  it("is refused of a stream, which has nothing to pull, and taken of an ethernet cable", () => {
    const { issues } = read(withTested(networkExample(), "2026-11-20"));
    const { links } = (networkExample() as { rig: { links: Written[] } }).rig;
    const streams = links.filter(({ type }) => ["aes67", "st2110-30", "avb"].includes(type));
    expect(links.some(({ type }) => type === "ethernet")).toBe(true);
    expect(streams.length).toBeGreaterThan(0);
    expect(issues).toHaveLength(streams.length);
    for (const issue of issues) expect(issue.expected).toBe("a key that is known here");
  });
});
