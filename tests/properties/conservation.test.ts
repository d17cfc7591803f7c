/**
 * Law 7, conservation, signed: between two starts of a buffer, its fill changes by what the sender's clock has counted
 * more than the receiver's, less what was dropped and plus what was repeated:
 *
 *   change of fill = fs·Δ(x_s(t − d) − x_r − d) − slip·(drops − repeats)
 *
 * The fill comes from a buffer that counts whole samples with two pointers and knows no formula; the clocks and the
 * slips from the record.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { LinkPlan, Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import type { Ns } from "../../shared/time.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import type { Alteration, Played } from "../helpers/play.ts";
import { play, withEffects, withFacts, wrapMachines } from "../helpers/play.ts";
import type { Wish } from "../helpers/random-rig.ts";
import { plans } from "../helpers/random-rig.ts";
import type { ClockReading } from "../helpers/reading.ts";
import { readClocks, readSlips } from "../helpers/reading.ts";
import { runFifo, startFifo } from "../oracle/fifo.ts";

const wish: Wish = {
  devices: [2, 5],
  seconds: [30, 60],
  secondSources: true,
  spares: true,
  loners: true,
  bending: true,
  eventCount: [0, 5],
};
/** Clocks are straight lines within a stretch to 1e-3·(1 ms)²: rates change by less than 1e-3 per second. */
const STRETCH_NS = 2_000_000;

interface Seen {
  stretches: number;
  drops: number;
  repeats: number;
}

/** Instants at which the buffer of one way of a link starts or stops: its cable, the ends' power and booting, jumps. */
function breaksOf(plan: Plan, rows: readonly Row[], link: LinkPlan, way: "there" | "back"): number[] {
  const [sender, receiver] = way === "there" ? [link.a, link.b] : [link.b, link.a];
  const delayNs = Math.max(1, Math.ceil(link.delaySeconds * 1e9));
  const breaks = new Set<number>([0, plan.lengthNs]);
  const wasStarting = new Map<string, boolean>();
  let was = "";
  for (const { atNs, subject, fact } of rows) {
    if (fact.kind === "link" && (subject === `link ${link.id} ${way}` || subject === `link ${link.id} both`)) {
      if (fact.state !== was) breaks.add(atNs); // a change of who gives is none
      was = fact.state;
    }
    const from = subject === `device ${sender.device}` ? delayNs : 0;
    if (from === 0 && subject !== `device ${receiver.device}`) continue;
    if (fact.kind === "re-aligned") breaks.add(atNs + from);
    if (fact.kind !== "clock") continue;
    const isStarting = fact.state === "starting" || fact.state === "off";
    // One that goes on with its own clock while it boots goes on counting, until it has booted.
    const goesOn =
      fact.state === "starting" &&
      plan.devices.find(({ id }) => subject === `device ${id}`)?.whileBooting === "own-clock";
    if ((isStarting && !goesOn) || wasStarting.get(subject) === true) breaks.add(atNs + from);
    wasStarting.set(subject, isStarting);
  }
  return [...breaks].filter((at) => at <= plan.lengthNs).sort((a, b) => a - b);
}

/** Holds every stretch of every buffer against the pointers; throws at the first that does not fit. */
function expectConserved(plan: Plan, played: Played, seen: Seen): void {
  const clocks = readClocks(played.rows, played.timebases);
  const slips = readSlips(played.rows);
  for (const link of plan.links) {
    if (link.channels === 0) continue;
    for (const way of link.twoWay || link.hasReturn ? (["there", "back"] as const) : (["there"] as const)) {
      const breaks = breaksOf(plan, played.rows, link, way);
      for (const [index, from] of breaks.entries()) {
        const to = breaks[index + 1];
        if (to === undefined || to - from < 10 * STRETCH_NS || !isRunning(plan, played.rows, link, way, from as Ns))
          continue;
        const found = (slips.get(`${link.id} ${way}`) ?? []).filter(({ atNs }) => atNs > from && atNs <= to);
        expectStretch(plan, clocks, link, way, from as Ns, to as Ns, found, seen);
      }
    }
  }
}

function isRunning(plan: Plan, rows: readonly Row[], link: LinkPlan, way: "there" | "back", at: Ns): boolean {
  const [sender, receiver] = way === "there" ? [link.a, link.b] : [link.b, link.a];
  const states = new Map<string, string>();
  for (const { atNs, subject, fact } of rows) {
    if (atNs > at) break;
    if (fact.kind === "link" || fact.kind === "clock") states.set(subject, fact.state);
  }
  const cable = states.get(`link ${link.id} ${link.twoWay ? "both" : way}`);
  const runs = ({ device }: { readonly device: string }): boolean => {
    const state = states.get(`device ${device}`);
    const booting = plan.devices.find(({ id }) => id === device)?.whileBooting;
    return state !== "off" && (state !== "starting" || booting === "own-clock");
  };
  return cable === "up" && runs(sender) && runs(receiver);
}

function expectStretch(
  plan: Plan,
  clocks: ClockReading,
  link: LinkPlan,
  way: "there" | "back",
  from: Ns,
  to: Ns,
  found: readonly { readonly atNs: Ns; readonly sign: 1 | -1 }[],
  seen: Seen,
): void {
  const { slipSamples, startSamples } = link.buffer;
  const [sender, receiver] = way === "there" ? [link.a.device, link.b.device] : [link.b.device, link.a.device];
  const fs = plan.sampleRateHz;
  const delay = link.delaySeconds;
  // A sender that has just jumped is read after its jump, wherever in its last nanosecond that fell.
  const sent = (at: number): number => {
    const rate = clocks.fractionalOffsetAt(
      sender,
      Math.max(at - Math.floor(delay * 1e9), from > 0 ? from - Math.ceil(delay * 1e9) : 0) as Ns,
    ) as number;
    const early = Math.max(at - Math.ceil(delay * 1e9), 0) as Ns;
    return (clocks.phaseSecondsAt(sender, early) as number) + rate * ((at - early) / 1e9 - delay);
  };
  const own = (at: number): number => clocks.phaseSecondsAt(receiver, at as Ns) as number;
  const fifo = startFifo(link.buffer);
  let fifoSlips = 0;
  // The first and the last nanosecond of a stretch may belong to what made it: they are left out at both ends.
  const [first, last] = [from + 1, to - 1];
  let before = { at: first, sent: sent(first), own: own(first) };
  const begun = before;
  while (before.at < last) {
    const at = Math.min(before.at + STRETCH_NS, last);
    const now = { at, sent: sent(at), own: own(at) };
    const seconds = (at - before.at) / 1e9;
    runFifo(
      fifo,
      {
        fromSeconds: before.at / 1e9,
        seconds,
        writerCounts: fs * (seconds + now.sent - before.sent),
        readerCounts: fs * (seconds + now.own - before.own),
      },
      () => {
        fifoSlips += 1;
      },
    );
    before = now;
  }
  const drops = found.filter(({ sign }) => sign === 1).length;
  const repeats = found.length - drops;
  const place = `${link.id} ${way} from ${from / 1e9} to ${to / 1e9} s`;
  // Its pointers see a slip up to a sample period late: one at the very end may be missing there, and only there.
  const atTheEnd = found.filter(({ atNs }) => to - atNs <= 2e9 / fs).length;
  expect(found.length - fifoSlips, `${place}: slips in the record beyond those counted`).toBeLessThanOrEqual(atTheEnd);
  expect(fifoSlips - found.length, `${place}: slips counted beyond those in the record`).toBeLessThanOrEqual(0);
  if (found.length === fifoSlips) {
    const fill = fifo.written + fifo.writerPart - fifo.read - fifo.readerPart;
    const gained = fs * (before.sent - begun.sent - (before.own - begun.own));
    expect(Math.abs(fill - startSamples - gained + slipSamples * (drops - repeats)), place).toBeLessThan(1e-5);
  }
  seen.stretches += 1;
  seen.drops += drops;
  seen.repeats += repeats;
}

test("samples are conserved between any two starts of any buffer", { timeout: PATIENCE_MS }, () => {
  const seen: Seen = { stretches: 0, drops: 0, repeats: 0 };
  fc.assert(
    fc.property(plans(wish), (plan) => expectConserved(plan, play(plan), seen)),
    { ...tries<[Plan]>(20), endOnFailure: true },
  );
  expect(seen.stretches).toBeGreaterThan(100);
  expect(seen.drops).toBeGreaterThanOrEqual(10);
  expect(seen.repeats).toBeGreaterThanOrEqual(10);
});

const broken: { name: string; alter: Alteration }[] = [
  {
    name: "drops recorded as repeats",
    alter: (rig) =>
      wrapMachines(rig, (machine) =>
        withFacts(machine, (fact) => (fact.kind === "slips" ? { ...fact, sign: fact.sign === 1 ? -1 : 1 } : fact)),
      ),
  },
  {
    name: "a train that forgets its last slip",
    alter: (rig) =>
      wrapMachines(rig, (machine) =>
        withFacts(machine, (fact) => (fact.kind === "slips" ? { ...fact, count: fact.count - 1 } : fact)),
      ),
  },
  {
    name: "a receiver that hears its own clock a millionth fast",
    alter: (rig) =>
      wrapMachines(rig, (machine) =>
        machine.id.startsWith("device")
          ? withEffects(machine, (effect) =>
              effect.do === "send" && effect.mail.kind === "flow" && effect.mail.signal !== null
                ? {
                    ...effect,
                    mail: {
                      ...effect.mail,
                      signal: {
                        ...effect.mail.signal,
                        flow: { ...effect.mail.signal.flow, rate: effect.mail.signal.flow.rate + 1e-6 },
                      },
                    },
                  }
                : effect,
            )
          : machine,
      ),
  },
];

test.each(broken)("which catches $name", { timeout: PATIENCE_MS }, ({ alter }) => {
  const law = fc.property(plans(wish), (plan) =>
    expectConserved(plan, play(plan, alter), { stretches: 0, drops: 0, repeats: 0 }),
  );
  expect(isCaught(fc.check, law, 20)).toBe(true);
});
