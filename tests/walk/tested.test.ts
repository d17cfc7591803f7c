/** When a cable counts as tested, and when no longer. */
import { describe, expect, test } from "vitest";
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import { linkOf } from "../../sim/by-id.ts";
import { readTexts } from "../../sim/plan-of.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { tell } from "../../sim/tell.ts";
import { isUntested, pullStampOf, testedOf, testedWords } from "../../sim/tested.ts";
import { shippedPlan, shippedTexts } from "../helpers/shipped.ts";

const planned = shippedPlan("main-out-good-spare.json");

/** As if somebody had pulled the cable in this very plan. */
function pulled(plan: Plan, id: string): Plan {
  return withLink(plan, id, { tested: "2026-11-20", testedAs: pullStampOf(plan, linkOf(plan, id)) });
}

function withLink(plan: Plan, id: string, change: Partial<LinkPlan>): Plan {
  return { ...plan, links: plan.links.map((link) => (link.id === id ? { ...link, ...change } : link)) };
}

const state = (plan: Plan, id: string) => testedOf(plan, linkOf(plan, id));

describe("a cable that was pulled", () => {
  test("stays tested as long as what the pull was about is as it was", () => {
    const plan = pulled(planned, "main");
    expect(state(plan, "main")).toEqual({ date: "2026-11-20", isChanged: false });
    expect(isUntested(plan, linkOf(plan, "main"))).toBe(false);
    expect(isUntested(plan, linkOf(plan, "spare"))).toBe(true);
    const elsewhere = { ...plan, title: "Another night", feeds: plan.feeds.map((feed) => ({ ...feed, name: "Mix" })) };
    expect(state(elsewhere, "main")?.isChanged).toBe(false);
    const pa = plan.links.find(({ id }) => id !== "main" && id !== "spare")!;
    expect(state(withLink(plan, pa.id, { lengthMetres: 99 }), "main")?.isChanged).toBe(false);
  });

  test("is untested again once it, its spare, its group or a device at an end is another", () => {
    const plan = pulled(planned, "main");
    const changes: readonly Plan[] = [
      withLink(plan, "main", { lengthMetres: 81 }),
      withLink(plan, "spare", { laidAlong: ["stage-left wall"] }),
      { ...plan, spares: plan.spares.map((group) => ({ ...group, switchSeconds: 3 })) },
      { ...plan, devices: plan.devices.map((each) => (each.id === "stage" ? { ...each, clockSources: ["2"] } : each)) },
      { ...plan, sampleRateHz: 96_000 },
    ];
    for (const changed of changes) {
      expect(state(changed, "main")).toEqual({ date: "2026-11-20", isChanged: true });
      expect(testedWords(changed, linkOf(changed, "main"))).toBe("untested since it changed (pulled on 2026-11-20)");
    }
    expect(testedWords(plan, linkOf(plan, "main"))).toBe("pulled on 2026-11-20");
    expect(testedWords(plan, linkOf(plan, "spare"))).toBe("untested");
  });

  test("by a date alone nothing is known of what has changed", () => {
    const plan = withLink(planned, "main", { tested: "2026-11-20" });
    expect(state(withLink(plan, "main", { lengthMetres: 81 }), "main")?.isChanged).toBe(false);
  });

  test("the taps of a line are one cable, with one date", () => {
    const line = shippedPlan("word-clock-line.json");
    const taps = line.links.filter((link) => link.line !== undefined);
    expect(taps.length).toBeGreaterThan(1);
    expect(new Set(taps.map((tap) => pullStampOf(line, tap))).size).toBe(1);
  });
});

describe("the file", () => {
  const files = shippedTexts("main-out-good-spare.json");
  const dated = (tested: string) => ({
    ...files,
    texts: {
      [files.main]: files.texts[files.main]!.replace('"id": "main",', `"id": "main", "tested": "${tested}",`),
    },
  });

  test("has a date, alone or with a stamp behind it", () => {
    const link = (tested: string) => linkOf(readTexts(dated(tested)).plan!, "main");
    expect(link("2026-11-20")).toMatchObject({ tested: "2026-11-20" });
    expect(link("2026-11-20").testedAs).toBeUndefined();
    expect(link("2026-11-20 K7-QF")).toMatchObject({ tested: "2026-11-20", testedAs: "K7-QF" });
  });

  test.each(["2026-11-20 K7QF", "2026-11-20 K1-OO", "K7-QF", "2026-11-20  K7-QF", "2026-11-31 K7-QF"])(
    "with %s is refused, and told how to write it",
    (tested) => {
      const { plan, issues } = readTexts(dated(tested));
      expect(plan).toBeNull();
      expect(issues.map(({ expected }) => expected)).toEqual([
        'a date "yyyy-mm-dd", alone or with the stamp of that day behind it, "2026-11-20 K7-QF"',
      ]);
    },
  );
});

describe("what is told of a spare that carries", () => {
  const told = (plan: Plan) =>
    tell(rehearse(plan))
      .timeline.map(({ text }) => text)
      .join("\n");

  test("says whether somebody has pulled its main, and whether that still counts", () => {
    expect(told(planned)).toContain("This spare works here; nobody has pulled it on site.");
    const plan = pulled(planned, "main");
    expect(told(plan)).toContain("This spare works here; its main was pulled on site on 2026-11-20.");
    expect(told(withLink(plan, "spare", { lengthMetres: 82 }))).toContain(
      "This spare works here; something there has changed since somebody pulled it on site.",
    );
  });
});
