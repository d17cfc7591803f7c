import { describe, expect, it } from "vitest";
import type { DevicePlan, Plan, WanderPlan } from "../../shared/plan.ts";
import { device, foh, found, madi, rig, rules } from "./rigs.ts";

const loop = (naturalFrequencyHz: number, damping = 1) => ({ loop: { naturalFrequencyHz, damping } });

/** Boxes in a row behind the FOH desk. */
function row(boxes: readonly DevicePlan[], rest: Partial<Plan> = {}): Plan {
  const links = boxes.map(({ id }, index) =>
    madi(`to-${id}`, index === 0 ? "foh.1" : `${boxes[index - 1]!.id}.2`, `${id}.1`, { hasReturn: false }),
  );
  return rig(["foh"], [foh(["internal"]), ...boxes], links, rest);
}

const box = (n: number, words = {}) => device(`box-${n}`, ["1"], { name: `Quay box ${n}`, ...words });
const boxes = (count: number, words = {}) => Array.from({ length: count }, (_, index) => box(index + 1, words));

describe("deep-chain", () => {
  it("is advice about five default loops in a row; four stay below twice as large", () => {
    expect(rules(row(boxes(4)))).toEqual([]);
    const [finding, ...others] = found(row(boxes(5)), "deep-chain");
    expect(others).toEqual([]);
    expect(finding).toMatchObject({
      severity: "advice",
      devices: ["foh", "box-1", "box-2", "box-3", "box-4", "box-5"],
      links: ["to-box-1", "to-box-2", "to-box-3", "to-box-4", "to-box-5"],
      path: ["devices", "box-5", "clockSources"],
    });
    expect(finding!.what).toBe("Five loops stand one behind another between the FOH desk and Quay box 5.");
    // 5 × 1.249387 dB are a factor of 2.05, at 0.7071 Hz.
    expect(finding!.why).toBe(
      "Every loop hands on what swings near its own speed larger than it got it: what swings once in 1.4 s comes out 2.1 times as large.",
    );
    expect(finding!.remedy).toMatch(/^Let some of them take their clock straight from the FOH desk/);
  });

  it("counts what the loops do together: unlike loops far apart, or well damped, are not one chain", () => {
    const unlike = [0.01, 0.1, 1, 10, 100].map((hz, index) => box(index + 1, loop(hz)));
    expect(rules(row(unlike))).toEqual([]);
    expect(rules(row(boxes(5, loop(1, 4))))).toEqual([]);
    expect(found(row(boxes(3, loop(1, 0.7071))), "deep-chain")).toHaveLength(1);
  });

  it("speaks of one device alone where its loop is lively", () => {
    const [finding] = found(row(boxes(1, loop(0.5, 0.2))), "deep-chain");
    expect(finding!.what).toBe("One loop stands between the FOH desk and Quay box 1.");
    expect(finding!.why).toBe(
      "It hands on what swings near its own speed larger than it got it: what swings once in 2.1 s comes out 2.7 times as large.",
    );
    expect(finding!.path).toEqual(["devices", "box-1", "loop"]);
  });

  it("speaks once for each clock, of the gravest behind it", () => {
    const plan = row(boxes(7));
    const side = device("side", ["1"], { name: "Side box" });
    const branch = {
      ...plan,
      devices: [...plan.devices, side],
      links: [...plan.links, madi("to-side", "box-6.3", "side.1")],
    };
    expect(found(branch, "deep-chain").map(({ devices }) => devices.at(-1))).toEqual(["box-7"]);
  });
});

describe("loop-near-grid", () => {
  const wander: WanderPlan = { sigma1: 1e-9, sigma2: 1e-10, sigma3: 0, hMinus1: 0 };
  const wandering = (plan: Plan, own: WanderPlan | null = wander): Plan => ({
    ...plan,
    devices: plan.devices.map((each) =>
      each.id === "foh" ? { ...each, oscillator: { ...each.oscillator, wander: own } } : each,
    ),
  });
  const mixed = row([box(1, loop(0.1)), box(2, loop(0.100001)), box(3, loop(3))], { wanderGridSeconds: 1 });

  it("says in one finding whose loops are too fast for the grid, and which grid would do", () => {
    const [finding, ...others] = found(wandering(mixed), "loop-near-grid");
    expect(others).toEqual([]);
    expect(finding).toMatchObject({
      severity: "advice",
      devices: ["box-2", "box-3"],
      links: [],
      path: ["devices", "box-2", "loop"],
    });
    expect(finding!.what).toBe("Wander is drawn every 1 s, too coarse for the loops of Quay box 2 and Quay box 3.");
    // 0.1/3 Hz is 0.0333 s: rounded down, so that it is enough.
    expect(finding!.remedy).toBe(
      "Under run, set wanderGridSeconds to 0.033 or less; or read nothing out of this run about what these loops do to wander.",
    );
  });

  it("is gone with the grid that it asks for, and where nobody wanders", () => {
    expect(found(wandering({ ...mixed, wanderGridSeconds: 0.033 }), "loop-near-grid")).toEqual([]);
    expect(found(wandering(mixed, null), "loop-near-grid")).toEqual([]);
  });

  it("takes a tenth of a turn per step as it comes: 0.1 Hz at 1 s, 1 Hz at 0.1 s", () => {
    for (const [hz, grid] of [
      [0.1, 1],
      [1, 0.1],
      [0.3, 1 / 3],
      [100, 0.001],
    ] as const) {
      const plan = row([box(1, loop(hz))], { wanderGridSeconds: grid });
      expect(found(wandering(plan), "loop-near-grid")).toEqual([]);
      expect(found(wandering({ ...plan, wanderGridSeconds: grid * 1.001 }), "loop-near-grid")).toHaveLength(1);
    }
  });

  it("does not ask for a grid that a file may not have", () => {
    const [finding] = found(wandering(row([box(1, loop(200))], { wanderGridSeconds: 0.001 })), "loop-near-grid");
    expect(finding!.remedy).toMatch(/^No grid is fine enough for it: read nothing out of this run/);
  });

  it("leaves those out who follow nobody", () => {
    const plan = rig(["foh"], [foh(["internal"], loop(50)), box(1, loop(0.01))], [madi("to-box", "foh.1", "box-1.1")]);
    expect(found(wandering({ ...plan, wanderGridSeconds: 1 }), "loop-near-grid")).toEqual([]);
  });
});
