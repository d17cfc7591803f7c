/** Why, in words: sentence by sentence on one rig, and in the tone of the rest everywhere. */
import { describe, expect, test } from "vitest";
import { nsFromSeconds, secondsFromNs } from "../../shared/time.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { type WhyTold, whyTold } from "../../sim/tell/why.ts";
import { subjectsNamed, whyOf } from "../../sim/why.ts";
import { plan as read } from "../helpers/rig.ts";
import { told } from "./stories.ts";

const plan = read({
  format: 1,
  title: "The truck joins",
  run: { length: "00:10:00", seed: "quay-1" },
  rig: {
    sampleRateHz: 48000,
    leaders: ["foh"],
    devices: [
      { id: "foh", name: "FOH desk", kind: "desk", clockSources: ["internal"], oscillator: { offsetPpm: 4.2 } },
      {
        ...{ id: "truck", name: "Broadcast truck", kind: "truck", clockSources: ["1"] },
        ...{ oscillator: { offsetPpm: -6 }, holdoverSeconds: 5, holdOffSeconds: 0 },
      },
    ],
    links: [
      {
        id: "main",
        type: "madi",
        from: "foh.1",
        to: "truck.1",
        return: true,
        lengthMetres: 50,
        laidAlong: ["quay wall"],
      },
    ],
    feeds: [{ id: "mix", name: "Mix", through: ["foh", "truck"], channels: 8, heardBy: ["broadcast"] }],
  },
  events: [{ at: "00:02:00", do: "unplug", link: "main", forSeconds: 60 }],
  expect: [],
});
const { record } = rehearse(plan);

function ask(text: string, seconds: number): string[][] {
  return subjectsNamed(plan, text).flatMap((subject) =>
    whyTold(plan, record, whyOf(plan, record, subject, nsFromSeconds(seconds))).map(({ head, lines, note }) => [
      head,
      ...lines.map((line) => `${line.at} ${line.text}`),
      ...(note === null ? [] : [note]),
    ]),
  );
}

test("from a clock of its own over holdover and loss to the cable", () => {
  expect(ask("truck", 150)).toEqual([
    [
      "At 00:02:30 the broadcast truck is on its own clock, since 00:02:05.010.",
      "00:02:05.010 The broadcast truck is left on its own clock, because its holdover ran out after 5 s.",
      "00:02:00.010 The broadcast truck coasts (holdover), because the link that carries the clock is down.",
      "00:02:00.010 The ends notice that nothing comes over the main cable, 10 ms after the break.",
      "00:02:00 Main cable out.",
    ],
  ]);
});

test("back in lock, by the cable that is back", () => {
  expect(ask("truck", 200)).toEqual([
    [
      "At 00:03:20 the broadcast truck is locked to port 1 (FOH desk), since 00:03:01.110.",
      "00:03:01.110 The broadcast truck is locked to port 1 (FOH desk), 1 s after it began to pull in.",
      "00:03:00.110 The broadcast truck pulls in to port 1 (FOH desk).",
      "00:03:00.100 The main cable is up, after 0.1 s of coming up.",
      "00:03:00 The main cable is whole and begins to come up.",
      "00:03:00 Main cable back in.",
    ],
  ]);
});

test("a second in which more happens says so", () => {
  expect(ask("truck", 120)[0]?.at(-1)).toBe("It changes within this second: ask again for 00:02:00.010.");
  expect(ask("truck", 120.01)[0]?.[0]).toBe(
    "At 00:02:00.010 the broadcast truck is coasting (holdover), since 00:02:00.010.",
  );
});

test("links and feeds", () => {
  expect(ask("main", 150)).toEqual([
    [
      "At 00:02:30 the main cable is down, since 00:02:00.",
      "00:02:00.010 The ends notice that nothing comes over the main cable, 10 ms after the break.",
      "00:02:00 Main cable out.",
    ],
  ]);
  expect(ask("mix", 150)[0]?.[0]).toBe(
    "At 00:02:30 the broadcast is silent, since 00:02:00: nothing comes over the main cable.",
  );
  expect(ask("mix", 60)).toEqual([
    ["At 00:01:00 the broadcast is clean, since the show began: there is no trouble to explain."],
  ]);
});

describe.each(told())("$name", ({ run }) => {
  test("every state of every device, link and feed is answered in whole sentences, in the tone of the rest", () => {
    const instants = [
      ...new Set(run.record.rows.filter(({ fact }) => ["clock", "link"].includes(fact.kind)).map(({ atNs }) => atNs)),
    ];
    const step = Math.max(1, Math.floor(instants.length / 12));
    const asked = instants.filter((_, index) => index % step === 0 || index === instants.length - 1);
    const texts: string[] = [];
    for (const at of asked) {
      for (const { id } of [...run.plan.devices, ...run.plan.links, ...run.plan.feeds]) {
        for (const subject of subjectsNamed(run.plan, id)) {
          const why = whyOf(run.plan, run.record, subject, at);
          for (const { head, lines } of whyTold(run.plan, run.record, why)) texts.push(...checked(head, lines));
          for (const [first] of why.chains) expect(first?.atNs).toBeLessThanOrEqual(at);
          if (why.heard !== null && why.heard.stretch.state !== "clean")
            expect(why.chains.length, `${id} ${secondsFromNs(at)}`).toBeGreaterThan(0);
        }
      }
    }
    const all = texts.join("\n");
    expect(texts.length).toBeGreaterThan(10);
    expect(all).not.toMatch(/!|\b(pass(?:es|ed)?|safe|good|all well|undefined|null|NaN|Infinity)\b/i);
    expect(all).not.toMatch(/ {2}|\bthe the\b|\.\.|,\.|\s[.,;:]/i);
    for (const text of texts) expect(text).toMatch(/^[A-Z].*\.$/);
  });
});

/** Lines go back in time. */
function checked(head: string, lines: WhyTold["lines"]): string[] {
  const at = lines.map((line) => line.steps[0]?.atNs ?? 0);
  expect([...at].sort((one, other) => other - one)).toEqual(at);
  return [head, ...lines.map(({ text }) => text)];
}
