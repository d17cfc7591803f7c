/**
 * Law 16: what falls on one nanosecond. What arrives exactly at a time-out is in time; what is due exactly when the
 * cable is pulled finds it pulled. Both under both orders of the devices' names, which decide who is woken first.
 */
import { describe, expect, test } from "vitest";
import type { DevicePlan, EventPlan, LinkPlan, Plan } from "../../shared/plan.ts";
import { rehearse } from "../../sim/rehearse.ts";
import type { DeviceWords } from "../oracle/hand-rig.ts";
import { at, cable, device, plan, plug, unplug } from "../oracle/hand-rig.ts";

/** Leader and follower by name, so that either may be woken first. */
const ORDERS = [
  { leader: "a", follower: "b" },
  { leader: "b", follower: "a" },
] as const;

interface Names {
  readonly leader: string;
  readonly follower: string;
}

function rigOf(
  { leader, follower }: Names,
  words: { leader?: DeviceWords; follower?: DeviceWords; link?: Partial<LinkPlan> },
  events: EventPlan[],
  seconds = 25,
): Plan {
  const devices: DevicePlan[] = [
    device(leader, ["internal"], { offsetPpm: 5, ...words.leader }),
    device(follower, ["1"], { offsetPpm: -5, ...words.follower }),
  ];
  return plan(
    seconds,
    devices,
    [cable(`${leader}.1`, `${follower}.1`, { id: "wire", delaySeconds: 5e-7, ...words.link })],
    events,
  );
}

/** "12.300000000 locked 1", one line per row about a device's clock. */
function clockRows(run: ReturnType<typeof rehearse>, id: string): string[] {
  return run.record.rows.flatMap(({ atNs, subject, fact }) =>
    fact.kind === "clock" && subject === `device ${id}`
      ? [`${(atNs / 1e9).toFixed(9)} ${fact.state} ${fact.source ?? "-"}`]
      : [],
  );
}

describe.each(ORDERS)("leader $leader, follower $follower", (names) => {
  const { leader, follower } = names;

  test("a source that is back exactly as hold-off ends is in time; a nanosecond later it is not", () => {
    // Pulled at 10 s, noticed 50 ms later; hold-off of 300 ms ends at 10.35 s. The link takes 100 ms to come up.
    const link = { noticeSeconds: 0.05, comingUpSeconds: 0.1 };
    const words = { link, follower: { holdoverSeconds: 20, waitToRestoreSeconds: 4 } };
    const inTime = rehearse(rigOf(names, words, [unplug(10, "wire"), plug(10.25, "wire")]));
    expect(clockRows(inTime, follower).slice(1, 3)).toEqual(["10.050000000 holdover -", "10.350000000 locked 1"]);
    const late = rehearse(rigOf(names, words, [unplug(10, "wire"), plug(10.250000001, "wire")]));
    // Wait-to-restore of 4 s from link up, then the reaction time of 10 ms.
    expect(clockRows(late, follower).slice(1, 3)).toEqual(["10.050000000 holdover -", "14.360000001 acquiring 1"]);
  });

  test("a cable that is pulled exactly as it would come up does not come up", () => {
    const words = { link: { comingUpSeconds: 0.1 }, follower: { holdoverSeconds: 20 } };
    const run = rehearse(rigOf(names, words, [unplug(10, "wire"), plug(12, "wire"), unplug(12.1, "wire")]));
    const states = run.summary.links[0]?.states.map(({ state, fromSeconds }) => `${fromSeconds} ${state}`);
    expect(states).toEqual(["0 up", "10 down", "12 coming-up", "12.1 down"]);
    expect(clockRows(run, follower)).toEqual(["0.000000000 locked 1", "10.000000000 holdover -"]);
  });

  test("a cable that is whole again exactly as the break would be noticed was never missed", () => {
    const words = { link: { noticeSeconds: 0.05, comingUpSeconds: 0.1 } };
    const run = rehearse(rigOf(names, words, [unplug(10, "wire"), plug(10.05, "wire")]));
    expect(run.summary.links[0]?.states.map(({ state }) => state)).toEqual(["up", "down", "up"]);
    expect(clockRows(run, follower)).toEqual(["0.000000000 locked 1"]);
  });

  test("a source that is pulled exactly as the reaction to it ends is not taken", () => {
    const words = { link: { comingUpSeconds: 0.1 }, follower: { holdoverSeconds: 20, holdOffSeconds: 0.05 } };
    // Up at 12.1 s; the reaction ends at 12.11 s.
    const run = rehearse(rigOf(names, words, [unplug(10, "wire"), plug(12, "wire"), unplug(12.11, "wire")]));
    expect(clockRows(run, follower)).toEqual(["0.000000000 locked 1", "10.000000000 holdover -"]);
    const taken = rehearse(rigOf(names, words, [unplug(10, "wire"), plug(12, "wire"), unplug(12.110000001, "wire")]));
    expect(clockRows(taken, follower).slice(2)).toEqual(["12.110000000 acquiring 1", "12.110000001 holdover -"]);
  });

  test("a device that is pulled in exactly as its dwell ends has not locked", () => {
    // Same frequency, begun in step: inside the window at once, so the dwell of 1 s ends at 4.1 + 0.01 + 1 s.
    const words = {
      link: { comingUpSeconds: 0.1 },
      leader: { offsetPpm: 0 },
      follower: { offsetPpm: 0, holdOffSeconds: 0 },
    };
    const events = [unplug(2, "wire"), plug(4, "wire")];
    const free = rehearse(rigOf(names, words, events));
    expect(clockRows(free, follower).slice(2)).toEqual(["4.110000000 acquiring 1", "5.110000000 locked 1"]);
    const pulled = rehearse(rigOf(names, words, [...events, unplug(5.11, "wire")]));
    expect(clockRows(pulled, follower).slice(2)).toEqual(["4.110000000 acquiring 1", "5.110000000 free-run -"]);
  });

  test("power that goes exactly as a device has booted finds it booting", () => {
    const words = { leader: { bootSeconds: 4 }, follower: { holdoverSeconds: 20 }, link: { comingUpSeconds: 0.1 } };
    const cut = at(14, { do: "power-cut", device: leader, supply: null });
    const run = rehearse(rigOf(names, words, [at(10, { do: "reboot", device: leader, part: "all" }), cut]));
    expect(clockRows(run, leader)).toEqual([
      "0.000000000 free-run internal",
      "10.000000000 starting -",
      "14.000000000 off -",
    ]);
  });

  test("a source of an agreed link that turns to taking exactly as it would be chosen is not chosen", () => {
    const words = {
      link: { clockIsAgreed: true, twoWay: true, comingUpSeconds: 0.1, delaySeconds: 0 },
      follower: { holdoverSeconds: 20, holdOffSeconds: 0.05 },
    };
    const turn = at(12.11, { do: "set-port-clock", device: leader, port: 1, clock: "take" });
    const run = rehearse(rigOf(names, words, [unplug(10, "wire"), plug(12, "wire"), turn]));
    expect(clockRows(run, follower)).toEqual(["0.000000000 locked 1", "10.000000000 holdover -"]);
  });

  test("both ends that choose each other at one instant both jump, and by the same amount", () => {
    // 20 ppm apart for the 0.4 s of booting and the 0.01 s of reaction: 0.3936 samples at 48 kHz.
    const words = { offsetPpm: 10, bootSeconds: 0.4 };
    const mutual = {
      ...plan(
        0.5,
        [device(leader, ["1"], words), device(follower, ["1"], { ...words, offsetPpm: -10 })],
        [cable(`${leader}.2`, `${follower}.1`, { id: "there" }), cable(`${follower}.2`, `${leader}.1`, { id: "back" })],
        [],
        "cold",
      ),
    };
    const jumps = rehearse(mutual).record.rows.flatMap(({ subject, fact }) =>
      fact.kind === "re-aligned" ? [`${subject} ${(fact.bySeconds * 48_000).toFixed(6)}`] : [],
    );
    expect(jumps.sort()).toEqual([`device ${leader} -0.393600`, `device ${follower} 0.393600`].sort());
  });
});
