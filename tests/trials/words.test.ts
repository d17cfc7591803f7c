/** Faults, limits and tables of trials in words: what a sentence goes on with, and in which order listeners stand. */
import { describe, expect, test } from "vitest";
import { notATest } from "../../cli/print/report.ts";
import { readAudience } from "../../cli/trials/options.ts";
import { limitWords } from "../../sim/trials/limit-words.ts";
import { type Fault, faultsIn, REPAIR_SECONDS, type RepairName } from "../../sim/trials/list.ts";
import { asPlanned } from "../../sim/trials/moments.ts";
import { ranked, tollsOf } from "../../sim/trials/rank.ts";
import { singleFaults, WANTED } from "../../sim/trials/setup.ts";
import { Trier, trialCount } from "../../sim/trials/trial.ts";
import { caseMid, caseWords } from "../../sim/trials/words.ts";
import { faultRows, summarySentences } from "../../sim/trials/words-faults.ts";
import { differenceWords } from "../../sim/trials/words-layouts.ts";
import { shippedPlan } from "../helpers/shipped.ts";

const plan = shippedPlan("leader-reboot.json");

describe("a fault inside a sentence", () => {
  const lena = { ...plan.devices[0]!, name: "Lena's desk" };
  const named = { ...plan, devices: plan.devices.map((device) => (device.id === lena.id ? lena : device)) };
  const fault = (id: string): Fault => faultsIn(named).find((each) => each.id === id)!;

  test("begins small where the word is ours, and keeps a name as it is written", () => {
    const out = [fault("cable-out foh-pa"), fault("path-cut pier railing"), fault(`reboot ${lena.id}`)];
    expect(caseWords(named, out)).toMatch(
      /^Cable foh-pa out, .*; then all cut along the pier railing, .*; then Lena's desk reboots$/,
    );
    expect(caseMid(named, out)).toMatch(/^cable foh-pa out, /);
    expect(caseMid(named, [out[2]!])).toBe("Lena's desk reboots");
  });
});

test("who hears more than a limit stands in the order of all other sheets", () => {
  const feeds = plan.feeds.map(({ id }) => id).reverse();
  const limit = { kind: "break", on: "foh-pa", unheardSeconds: null, heardSeconds: 0.02, feeds } as const;
  const said = limitWords(plan, limit);
  expect(said).toMatch(/^Cable foh-pa out: heard however short by the PA\b.* the recording/);
});

test("seconds of the table are no longer than a microsecond asks for", () => {
  const { sweep } = singleFaults(plan, { ...WANTED, draws: 1, kinds: new Set(["power-out", "supply-out"]) });
  const tolls = ranked(sweep.plan, tollsOf(sweep, new Trier(sweep).playAll({ from: 0, to: trialCount(sweep) })));
  const [head, ...rows] = faultRows(sweep.plan, tolls) as [readonly string[], ...(readonly string[])[]];
  const columns = head.flatMap((name, place) => (name.endsWith("_s") ? [place] : []));
  const cells = rows.flatMap((row) => columns.map((place) => row[place]!));
  expect(cells.some((cell) => Number(cell) > 60)).toBe(true);
  for (const cell of cells) expect(cell).toMatch(/^(?:\d+(?:\.\d{1,6})?)?$/);
});

test("a cable that comes and goes is one event of the file", () => {
  const filed = shippedPlan("bad-contact.json");
  const turns = filed.events.filter((event) => event.do === "lose-contact");
  expect(turns.length).toBeGreaterThan(2);
  expect(asPlanned(filed).leftOut).toBe(new Set(filed.events.map(({ written }) => written)).size);
});

test("feeds that nobody is said to hear are ranked by silence as well, and no plan is praised for having none", () => {
  const nobody = { ...plan, feeds: plan.feeds.map((feed) => ({ ...feed, heardBy: [] })) };
  const { sweep } = singleFaults(nobody, { ...WANTED, draws: 1, kinds: new Set(["bad-contact", "power-out"]) });
  const results = new Trier(sweep).playAll({ from: 0, to: trialCount(sweep) });
  const silences = ranked(sweep.plan, tollsOf(sweep, results)).map(({ feeds }) =>
    Math.max(...feeds.map(({ silentSeconds }) => Math.round(silentSeconds * 10) / 10)),
  );
  expect(silences[0]).toBeGreaterThan(60);
  expect(silences).toEqual(silences.toSorted((one, other) => other - one));
  const none = { ...sweep, plan: { ...nobody, feeds: [] } };
  const said = summarySentences({ sweep: none, leftOut: 0, results: [], tolls: [], missing: 0 });
  expect(said[0]).toMatch(/^The plan has no feeds/);
});

test("who hears may be called as a feed of the file calls them", () => {
  expect(readAudience("in-ears", ["pa", "ears"])).toEqual({ audience: "ears", issues: [] });
  expect(readAudience("ears", ["pa", "ears"]).audience).toBe("ears");
  expect(readAudience("in-ears", ["pa"]).issues).toHaveLength(1);
});

test("clicks of two layouts are grouped as in the table above them", () => {
  const same = { first: 0, second: 0, mean: 0, low: 0, high: 0, verdict: "same" } as const;
  const disturbances = { first: 1910.6, second: 709, mean: -1201.6, low: -1300, high: -1100, verdict: "less" } as const;
  expect(differenceWords({ silence: same, disturbances }, "A", "B")).toBe("clicks and dropouts: A 1,910.6, B 709.");
});

test("repairs are assumed as far as nobody has said how long they take", () => {
  const names = Object.keys(REPAIR_SECONDS) as RepairName[];
  expect(notATest(3, new Set())[0]).toBe("How long a repair takes is assumed: --repair cable=5m says otherwise.");
  const [some, last] = notATest(3, new Set<RepairName>(["cable"]));
  expect(some).toMatch(/^How long a repair of path, .* and sync takes is assumed: --repair path=5m/);
  expect(last).toContain("3 assumed numbers and assumed repairs".replace("3", "three"));
  expect(notATest(3, new Set(names))).toEqual([
    "A rehearsal with three assumed numbers, not a test. Pull the cables before doors.",
  ]);
});
