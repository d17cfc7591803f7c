/** Gaps are told as they are heard, and as what they count for: in the lines, in the counts, and asked for one by one. */
import { expect, test } from "vitest";
import { type Ns, nsFromSeconds } from "../../shared/time.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { whyTold } from "../../sim/tell/why.ts";
import { tell } from "../../sim/tell.ts";
import { whyOf } from "../../sim/why.ts";
import { plan } from "../helpers/rig.ts";

const CONTACT = { do: "intermittent", link: "main", everySeconds: 5, outSeconds: 0.25, count: 12 };

function rig(events: readonly object[], more: object = {}): object {
  return {
    format: 1,
    title: "Gaps",
    run: { length: "00:30:00", seed: "s" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["foh"],
      devices: [
        { id: "foh", name: "FOH desk", kind: "desk", clockSources: ["internal"], oscillator: { offsetPpm: 0.4 } },
        { id: "pa", name: "PA processor", kind: "processor", clockSources: ["1"], ...more },
      ],
      links: [{ id: "main", type: "madi", from: "foh.1", to: "pa.1" }],
      feeds: [{ id: "mix", through: ["foh", "pa"], channels: 2, heardBy: ["pa"] }],
    },
    events,
  };
}

test("a bad contact is so many gaps of their own length, which count as fewer dropouts", () => {
  const run = rehearse(
    plan(
      rig([
        { at: "00:10:00", ...CONTACT },
        { at: "00:20:00", do: "unplug", link: "main", forSeconds: 2 },
      ]),
    ),
  );
  const [feed] = run.summary.feeds;
  expect(feed!.dropouts.whileFaulty + feed!.dropouts.onReturn).toBe(2);
  const { heard, timeline } = tell(run);
  expect(heard[0]!.text).toMatch(/^13 gaps of up to 2(\.\d)? s(, which|\. They) count as two dropouts/);
  const line = timeline.find(({ at }) => at === "00:10:00")!.text;
  expect(line).toContain("12 times, 250 ms each, every 5 s");
  expect(line).toMatch(/The PA has 12 gaps of 0\.\d s within 55 s, which count as one dropout\./);
  expect(heard[0]!.text).not.toContain("55 s");
});

test("a jump of a clock answers for itself, and clean begins anew behind it", () => {
  // Told to listen, it pulls in and jumps by what it has drifted; it mutes at nothing.
  const made = plan(
    rig([{ at: "00:10:00.300", do: "set-clock-sources", device: "pa", clockSources: ["1"] }], {
      clockSources: ["internal"],
      muteWhile: [],
      muteOutOfStep: false,
      oscillator: { offsetPpm: 0 },
    }),
  );
  const run = rehearse(made);
  const [feed] = run.summary.feeds;
  const jumps = feed!.realignedAtSeconds;
  const states = feed!.states;
  const audible = jumps.filter((at) => states.findLast(({ fromSeconds }) => fromSeconds <= at)?.state !== "silent");
  expect(audible.length).toBeGreaterThan(0);
  const ask = (seconds: number) => {
    const atNs = (Math.ceil(nsFromSeconds(seconds) / 1e6) * 1e6) as Ns;
    const why = whyOf(made, run.record, { kind: "feed", id: "mix" }, atNs);
    return { why, told: whyTold(made, run.record, why)[0]! };
  };
  const [at] = audible;
  const then = ask(at!);
  expect(then.told.head).toMatch(/the PA drops out: the clock of the PA processor jumps\.$/);
  expect(then.told.lines.length).toBeGreaterThan(1);
  const before = ask(at! - 0.002);
  expect(before.why.nextNs).toBe(nsFromSeconds(at!));
  expect(before.told.head).not.toContain("no trouble");
  expect(before.told.note).toContain("It changes within this second");
  const after = ask(audible.at(-1)! + 5);
  expect(after.why.heard).toMatchObject({ jumps: null, sinceNs: nsFromSeconds(audible.at(-1)!) });
});
