/** Bridges and bridging as machines: pure, to be gone on with from a copy, and with a cause for each decision. */
import fc from "fast-check";
import { expect, test } from "vitest";
import { RECOVERIES } from "../../shared/plan.ts";
import { nsFromSeconds } from "../../shared/time.ts";
import { PATIENCE_MS, tries } from "../helpers/laws.ts";
import type { CableWords } from "./bridge-rig.ts";
import { bridgeRig, NOTICE_SECONDS } from "./bridge-rig.ts";
import { FAULTS_SECONDS, stories } from "./bridge-stories.ts";

const END = nsFromSeconds(300);

function freeze(value: unknown): void {
  if (typeof value !== "object" || value === null || Object.isFrozen(value)) return;
  Object.freeze(value);
  for (const part of Object.values(value)) freeze(part);
}

test(
  "change nothing that they are given, answer alike twice, and go on from a copy as from the original",
  () => {
    let handled = 0;
    fc.assert(
      fc.property(stories(RECOVERIES), fc.nat(FAULTS_SECONDS), (story, cut) => {
        const rig = bridgeRig({
          ...story,
          wrap: (machine) => ({
            ...machine,
            handle(state, event, now) {
              freeze(state);
              freeze(event);
              const step = machine.handle(state, event, now);
              expect(JSON.stringify(machine.handle(state, event, now))).toBe(JSON.stringify(step));
              freeze(step);
              expect(machine.due(step.state)).toEqual(machine.due(step.state));
              expect(machine.due(step.state).atNs).toBeGreaterThanOrEqual(now);
              handled += 1;
              return step;
            },
          }),
        });
        rig.playTo(cut);
        const other = rig.goOnFrom(JSON.parse(JSON.stringify(rig.engine.moment())));
        const end = rig.engine.finish(END);
        expect(other.finish(END)).toEqual(end);
      }),
      tries(40),
    );
    expect(handled).toBeGreaterThan(2000);
  },
  PATIENCE_MS,
);

test(
  "name what each decision is due to",
  () => {
    fc.assert(
      fc.property(stories(RECOVERIES), (story) => {
        const rig = bridgeRig(story);
        const rows = rig.engine.finish(END);
        for (const { row } of rig.decisions()) {
          if (row.atNs === 0) expect(row.cause).toBe(-1);
          else expect(rows[row.cause]?.subject).toBe("world");
          // Nothing is decided sooner than a cable can say so.
          if (row.cause >= 0) expect(row.atNs).toBeGreaterThanOrEqual(rows[row.cause]?.atNs as number);
        }
      }),
      tries(60),
    );
  },
  PATIENCE_MS,
);

test("two faults at one instant: what each comes to is due to it", () => {
  const pair = (to: string): CableWords[] => ["main", "spare"].map((id) => ({ id: `${to}-${id}`, a: "a", b: to }));
  const rig = bridgeRig({
    recovery: "spanning-tree",
    bridges: ["a", "b", "c"].map((id) => ({ id })),
    cables: [...pair("b"), ...pair("c")],
    happenings: ["b", "c"].map((to) => ({ at: 10, do: "unplug", what: `${to}-main` })),
  });
  rig.playTo(60);
  const opened = rig.decisions().slice(-2);
  expect(opened).toMatchObject([
    { seconds: 10 + NOTICE_SECONDS + 30, forwards: "b-spare" },
    { seconds: 10 + NOTICE_SECONDS + 30, forwards: "b-spare c-spare" },
  ]);
  const faults = rig.engine.moment().rows.flatMap(({ subject }, row) => (subject === "world" ? [row] : []));
  expect(opened.map(({ row }) => row.cause)).toEqual(faults);
});
