/**
 * Law: a sample-rate converter at an input changes no clock. In a rig with one at every input that nobody takes clock
 * from, each device does what it did without; nothing slips at those inputs, and step is not lost there.
 */
import fc from "fast-check";
import { expect, test } from "vitest";
import type { ConverterPlan, DevicePlan, Plan } from "../../shared/plan.ts";
import type { Row } from "../../shared/record.ts";
import { waysOf } from "../../sim/converted.ts";
import { isCaught, PATIENCE_MS, tries } from "../helpers/laws.ts";
import { play } from "../helpers/play.ts";
import { EVERY_EVENT, plans } from "../helpers/random-rig.ts";

const converter: ConverterPlan = { delaySeconds: 0.001, lockSeconds: 0.1, ratioMax: 8 };
const rigs = plans({ secondSources: true, spares: true, loners: true, events: EVERY_EVENT, seconds: [60, 300] });

/** Ports of a device that may stand in its clock sources at some time. */
function followedPorts({ events }: Plan, device: DevicePlan): ReadonlySet<string> {
  const later = events.flatMap((event) =>
    event.do === "set-clock-sources" && event.device === device.id ? event.clockSources : [],
  );
  return new Set([...device.clockSources, ...later]);
}

function withConverters(plan: Plan): Plan {
  const inputs = plan.links.flatMap((link) => waysOf(link).map(({ to }) => to));
  return {
    ...plan,
    devices: plan.devices.map((device) => {
      const followed = followedPorts(plan, device);
      const ports = inputs.filter(({ device: id, port }) => id === device.id && !followed.has(String(port)));
      return { ...device, converters: Object.fromEntries(ports.map(({ port }) => [port, converter])) };
    }),
  };
}

/** What devices and cables did, without the numbers of causes, which count the rows of inputs too. */
function clocksOf(rows: readonly Row[]): string[] {
  return rows
    .filter(({ fact }) => !["input", "slips", "converter"].includes(fact.kind))
    .map(({ atNs, subject, fact }) => `${atNs} ${subject} ${JSON.stringify(fact)}`);
}

function slipsAt(rows: readonly Row[], ports: ReadonlySet<string>): number {
  return rows.reduce(
    (sum, { subject, fact }) => sum + (fact.kind === "slips" && ports.has(subject) ? fact.count : 0),
    0,
  );
}

const seen = { ports: 0, slips: 0, searches: 0, steps: 0 };

function law(plan: Plan, convert: (plan: Plan) => Plan = withConverters): void {
  const converted = convert(plan);
  const ports = new Set(
    converted.devices.flatMap(({ id, converters = {} }) => Object.keys(converters).map((port) => `port ${id}.${port}`)),
  );
  const [without, withThem] = [play(plan).rows, play(converted).rows];
  seen.ports += ports.size;
  seen.slips += slipsAt(without, ports);
  expect(clocksOf(withThem)).toEqual(clocksOf(without));
  expect(slipsAt(withThem, ports)).toBe(0);
  for (const { subject, fact } of withThem) {
    if (!ports.has(subject)) continue;
    if (fact.kind === "converter" && fact.state === "finding") seen.searches += 1;
    if (fact.kind !== "input" || !fact.decodes) continue;
    seen.steps += 1;
    expect(fact.inStep).toBe(true);
  }
}

test("converters change no clock, and nothing slips behind one", { timeout: PATIENCE_MS }, () => {
  fc.assert(
    fc.property(rigs, (plan) => law(plan)),
    tries(40),
  );
  expect(seen.ports).toBeGreaterThan(40);
  expect(seen.slips).toBeGreaterThan(100);
  expect(seen.searches).toBeGreaterThan(20);
  expect(seen.steps).toBeGreaterThan(40);
});

test("a converter that is put where a clock is followed is noticed", { timeout: PATIENCE_MS }, () => {
  const everywhere = (plan: Plan): Plan => ({
    ...plan,
    devices: plan.devices.map((device) => ({
      ...device,
      converters: Object.fromEntries(device.clockSources.map((source) => [source, converter])),
    })),
  });
  const broken = fc.property(rigs, (plan) => law(plan, everywhere));
  expect(isCaught(fc.check, broken, 40)).toBe(true);
});
