/** Fault cards and the index by symptom: what they say comes from rehearsals, and words that promise nothing. */
import { describe, expect, it } from "vitest";
import { paperworkOf } from "../../cli/paperwork/sheets.ts";
import type { Ns } from "../../shared/time.ts";
import { type Card, CLASSES_MOST, cardsOf } from "../../sim/paperwork/cards.ts";
import { Rehearser } from "../../sim/paperwork/rehearsed.ts";
import { SHEETS } from "../../sim/paperwork/sheet.ts";
import { symptomsOf, symptomsSheet } from "../../sim/paperwork/symptoms.ts";
import { duration } from "../../sim/tell/words.ts";
import { REPAIRED_BY, type RepairName } from "../../sim/trials/list.ts";
import { type CaseToll, isHeard, nameOf, ranked, tollsOf } from "../../sim/trials/rank.ts";
import { singleFaults, WANTED } from "../../sim/trials/setup.ts";
import { Trier, trialCount } from "../../sim/trials/trial.ts";
import { caseWords } from "../../sim/trials/words.ts";
import { shippedPlan } from "../helpers/shipped.ts";

function trialsOf(name: string) {
  const { sweep } = singleFaults(shippedPlan(name), { ...WANTED, draws: 1 });
  const tolls = ranked(sweep.plan, tollsOf(sweep, new Trier(sweep).playAll({ from: 0, to: trialCount(sweep) })));
  return { sweep, tolls, rehearser: new Rehearser(sweep.plan, sweep.standings[0]?.atNs as Ns) };
}

const NONE: ReadonlySet<RepairName> = new Set();

function cardsFor(
  { sweep, tolls, rehearser }: ReturnType<typeof trialsOf>,
  classesMost = CLASSES_MOST,
  repairsGiven = NONE,
) {
  return cardsOf({ plan: sweep.plan, tolls, rehearser, watchSeconds: sweep.watchSeconds, classesMost, repairsGiven });
}

const quay = trialsOf("leader-reboot.json");
const cards = cardsFor(quay);
const cardFor = (id: string, all: readonly Card[] = cards) => all.find(({ faults }) => faults[0] === id)!;
const tollFor = (id: string): CaseToll => quay.tolls.find((toll) => nameOf(toll) === id)!;

describe("fault cards", () => {
  it("call a repair assumed unless somebody has said how long it takes", () => {
    const given = cardsFor(quay, CLASSES_MOST, new Set<RepairName>(["path"]));
    const changed = cards.filter(({ normal }, place) => normal !== given[place]!.normal);
    expect(changed.length).toBeGreaterThan(0);
    for (const { faults, normal } of changed) {
      expect(faults[0]).toMatch(/^path-cut /);
      expect(normal).toContain("(assumed)");
      expect(given.find((card) => card.faults[0] === faults[0])!.normal).not.toContain("assumed");
    }
  });

  it("do not say that nobody hears it where the plan does not say who hears what", () => {
    const { sweep } = singleFaults(
      { ...quay.sweep.plan, feeds: [] },
      { ...WANTED, draws: 1, kinds: new Set(["reboot"]) },
    );
    const tolls = tollsOf(sweep, new Trier(sweep).playAll({ from: 0, to: trialCount(sweep) }));
    const [card] = cardsFor({ sweep, tolls, rehearser: new Rehearser(sweep.plan, sweep.standings[0]?.atNs as Ns) });
    expect(card!.hears).toEqual(["The plan has no feeds: it does not say who hears what."]);
    expect(card!.normal).toBe(card!.hears[0]);
  });

  it("are there for each cable and each path whose loss somebody hears, beyond the worst as well", () => {
    const few = cardsFor(quay, 3);
    const lost = quay.tolls.filter((toll) => isHeard(toll) && /^(?:cable-out|path-cut) /.test(nameOf(toll)));
    expect(lost.length).toBeGreaterThan(4);
    for (const toll of lost) expect(few.some(({ faults }) => faults.includes(nameOf(toll)))).toBe(true);
  });

  it("ask first for one of each kind that it may be", () => {
    const mixed = cards.find(({ faults }) => new Set(faults.map((id) => id.split(" ")[0])).size > 2)!;
    const kinds = mixed.faults.map((id) => id.split(" ")[0]);
    const second = kinds.findIndex((kind) => kind !== kinds[0]);
    expect(second).toBeGreaterThan(0);
    const named = caseWords(quay.sweep.plan, tollFor(mixed.faults[second]!).faults);
    expect(mixed.also[0]).toBe(named);
  });

  it("are the worst classes in their order, then the reboot of every other device", () => {
    expect(cards.map(({ number }) => number)).toEqual(cards.map((_, place) => place + 1));
    expect(cards[0]?.faults[0]).toBe(nameOf(quay.tolls[0]!));
    for (const { id } of quay.sweep.plan.devices)
      expect(cards.filter(({ faults }) => faults[0] === `reboot ${id}`).length, id).toBe(1);
    const heads = cards.map(({ faults }) => faults[0]);
    expect(new Set(heads).size).toBe(heads.length);
    expect(cardsFor(quay, 3).length).toBeLessThan(cards.length);
  });

  it("the leader reboots: seen, heard, muted by whom, over when, hurting on return", () => {
    const card = cardFor("reboot foh");
    expect(card.title).toBe("FOH desk reboots");
    expect(card.sees[0]).toBe("FOH desk: booting at once, as before after 1 min 15 s.");
    expect(card.sees).toContain(
      "Stage box: locked to monitor desk (port 2), not its first source after 1.3 s, as before after 1 min 16 s.",
    );
    expect(card.hears).toContain("PA: silent for 1 min 15 s, then back at full level.");
    expect(card.mutes).toEqual([
      "In-ears: out of ears. The monitor engineer mutes at the in-ear transmitter.",
      "PA: the system engineer mutes at the PA processor.",
      "Broadcast: the broadcast engineer mutes at the broadcast truck.",
    ]);
    expect(card.never).toContain("Do not let it come back with outputs up or ears in.");
    expect(card.back).toMatch(
      /^Yes\. The PA comes back at full level, with no fade\. .* out once more as it comes back\./,
    );
    const over = tollFor("reboot foh").feeds.map(({ normalAfterSeconds }) => normalAfterSeconds ?? 0);
    expect(Math.max(...over)).toBeGreaterThan(75);
    expect(card.normal).toBe(`${duration(Math.max(...over))} from the fault, by itself.`);
  });

  it("nobody mutes at what has failed", () => {
    const card = cardFor("reboot pa");
    expect(card.mutes).toContain("PA: the system engineer mutes at the amplifiers.");
  });

  it("nor at what may have failed, where several look alike", () => {
    const spare = cardsFor(trialsOf("main-out-good-spare.json"));
    const alike = spare.find(({ faults }) => faults.includes("hang foh") && faults.includes("hang pa"))!;
    expect(alike.faults[0]).toBe("hang foh");
    expect(alike.mutes).toEqual(["PA: the system engineer mutes at the amplifiers."]);
  });

  it("a hung device is said to hang, and its mute is not to be trusted", () => {
    const card = cards.find(({ faults }) => faults[0]?.startsWith("hang "))!;
    expect(card.sees[0]).toContain("does not answer its own buttons");
    expect(card.todo.join(" ")).toContain("its own mute may do nothing");
  });

  it("what looks alike is named, and what tells it apart is looked at first", () => {
    const several = cards.filter(({ also }) => also.length > 1);
    expect(several.length).toBeGreaterThan(2);
    for (const { todo } of several)
      expect(todo[0]).toMatch(/^Look which it is\. .*\? The steps below are for the first\.$/);
  });
});

describe("the index by symptom", () => {
  const { plan, watchSeconds } = quay.sweep;
  const symptoms = symptomsOf(plan, quay.tolls, quay.rehearser, watchSeconds);
  const named = (name: string) => symptoms.find((each) => each.name === name)?.causes.map(nameOf) ?? [];

  it("has each fault that is heard under what is heard of it, worst first", () => {
    const silent = quay.tolls.filter(({ feeds }) =>
      feeds.some((each) => each.feed === "pa-mix" && each.silentSeconds >= 1),
    );
    expect(silent.length).toBeGreaterThan(5);
    expect(named("PA: silent")).toEqual(expect.arrayContaining(silent.map(nameOf)));
    expect(named("PA: silent")[0]).toBe(nameOf(silent[0]!));
    const all = new Set(symptoms.flatMap(({ causes }) => causes.map(nameOf)));
    for (const toll of quay.tolls) expect(all.has(nameOf(toll)), nameOf(toll)).toBe(true);
  });

  it("finds a lit lamp that clicks, one way dead, and what is not heard", () => {
    expect(named("A lock lamp is lit, yet it clicks")).toContain("setting-lost stage");
    expect(named("One way is dead, the other carries")).toEqual(
      expect.arrayContaining(["one-way-out foh-stage there", "one-way-out foh-stage back"]),
    );
    expect(named("One way is dead, the other carries")).not.toContain("cable-out foh-stage");
    const unheard = symptoms.filter(({ name }) => name.startsWith("Nothing is heard")).flatMap(({ causes }) => causes);
    expect(unheard.length).toBeGreaterThan(0);
    expect(unheard.some(isHeard)).toBe(false);
  });

  it("names one of each kind before a second of it", () => {
    const sheet = symptomsSheet(plan, symptoms, cards);
    const section = sheet.sections.find(({ title }) => title?.startsWith("PA: silent"))!;
    const shown = section.rows.map(([words]) => quay.tolls.find((toll) => caseWords(plan, toll.faults) === words)!);
    expect(shown.map(({ faults }) => faults[0]!.kind)).toContain("cable-out");
    const mended = shown.map(({ faults }) => REPAIRED_BY[faults[0]!.kind]);
    const again = mended.findIndex((by, place) => mended.indexOf(by) < place);
    expect(new Set(mended).size).toBe(again < 0 ? mended.length : again);
  });

  it("leads to the card", () => {
    const sheet = symptomsSheet(plan, symptoms, cards);
    const silent = sheet.sections.find(({ title }) => title?.startsWith("PA: silent"))!;
    for (const [words, , number] of silent.rows) {
      if (number === "") continue;
      const card = cards[Number(number) - 1]!;
      expect([card.title, ...card.also].some((each) => each === words) || card.also.length > 3, words).toBe(true);
    }
    expect(silent.rows.some(([, , number]) => number === "1")).toBe(true);
  });
});

describe("what stands on paper", () => {
  const words = {
    version: "1",
    title: "Rig",
    stamp: "K7-QF",
    verdict: "Every expectation met. Not tested on site.",
    repairsGiven: NONE,
  };
  const names = ["leader-reboot.json", "word-clock-line.json", "guests-through-converters.json", "out-of-capture.json"];

  it.each(names)("promises nothing, carries stamp and caution, and needs nothing from outside: %s", (name) => {
    const { sweep, tolls } = name === "leader-reboot.json" ? quay : trialsOf(name);
    const { files, cardPages } = paperworkOf({
      sheets: new Set(SHEETS),
      sweep,
      tolls,
      paper: "a4",
      cardsToAPage: 4,
      ...words,
    });
    expect(files.length).toBe(17);
    expect(cardPages.length).toBeGreaterThan(0);
    for (const { name, text } of files) expectOnPaper(name, String(text));
    for (const text of cardPages) expectOnPaper("a card", text);
  });

  // Their faults take seconds: what is on the other sheets is of networks.
  it.each(["ring-of-boxes.json", "one-switch-reboots.json"])("no more does that of a network: %s", (name) => {
    const { sweep } = singleFaults(shippedPlan(name), { ...WANTED, kinds: new Set(["reboot"]) });
    const sheets = new Set(SHEETS.filter((each) => each !== "fault-cards"));
    const { files } = paperworkOf({ sheets, sweep, tolls: [], paper: "letter", cardsToAPage: 1, ...words });
    expect(files.length).toBe(13);
    for (const { name, text } of files) expectOnPaper(name, String(text));
    expect(String(files.find((each) => each.name === "pull-test.html")?.text)).toMatch(/leads (?:the|network) /);
  });
});

function expectOnPaper(name: string, text: string): void {
  const words = text.replace(/<style>[\s\S]*<\/style>/, "").replace(/<[^>]*>/g, " ");
  expect(words.match(/\b(?:pass|passes|passed|safe|safely|good|all well)\b/i)?.[0], name).toBeUndefined();
  expect(words.match(/undefined|NaN|\[object|Infinity/)?.[0], name).toBeUndefined();
  for (const said of [
    ...[
      "K7-QF",
      "In-ears out of ears. Headphones and comms headsets off.",
      "Before any change of clock, rate, source or link.",
    ],
    "Use a mute that does not depend on the link that failed: the amplifier or speaker processor, the last device you control. Bring up slowly.",
    ...["Not tested on site.", "People before audio; no running in the dark, no climbing."],
  ])
    expect(words, name).toContain(said);
  expect(words, name).toMatch(/If what you see differs from this (?:sheet|card): mute, then think\./);
  expect(text, name).not.toMatch(/<script|https?:|url\(|@import/);
}
