import { describe, expect, test } from "vitest";
import { packRecord, unpackRecord } from "../../shared/packed-record.ts";
import type { RunRecord } from "../../shared/record.ts";
import type { Wander } from "../../shared/wander.ts";
import { rehearse } from "../../sim/rehearse.ts";
import { plan } from "../helpers/rig.ts";

/** A chain that slips, loses its source and finds another, with wander in every clock. */
function noisyRun(): RunRecord {
  const wander = { sigma1: 1e-9, sigma2: 1e-10 };
  const device = (id: string, clockSources: string[], offsetPpm: number) => ({
    id,
    clockSources,
    oscillator: { offsetPpm, wander },
  });
  return rehearse(
    plan({
      format: 1,
      title: "packed",
      run: { length: "00:02:00" },
      rig: {
        sampleRateHz: 48000,
        leaders: ["foh"],
        devices: [
          device("foh", ["internal"], 2),
          device("stage", ["1"], -3),
          device("pa", ["1"], 4),
          device("guest", ["internal"], 12),
        ],
        links: [
          { id: "one", type: "madi", from: "foh.1", to: "stage.1" },
          { id: "two", type: "madi", from: "stage.2", to: "pa.1" },
          { id: "three", type: "madi", from: "guest.1", to: "stage.3" },
        ],
      },
      events: [{ at: "00:00:20", do: "unplug", link: "one", forSeconds: 30 }],
    }),
  ).record;
}

describe("a packed record", () => {
  const record = noisyRun();
  const written = JSON.stringify(packRecord(record));

  test("comes back as it was", () => {
    expect(unpackRecord(JSON.parse(written))).toEqual(record);
  });

  test("names the fields of each kind of row once", () => {
    const { record: packed, shapes } = packRecord(record);
    expect(packed.rows.length).toBeGreaterThan(10 * shapes.length);
    expect(new Set(shapes.map((shape) => JSON.stringify(shape))).size).toBe(shapes.length);
    expect(new Set(packed.rows.map(([place]) => place)).size).toBe(shapes.length);
    expect(JSON.stringify(packed.rows)).not.toContain("atNs");
  });

  test("holds each wander once, and gives each back as one object", () => {
    const { wanders } = packRecord(record);
    const loops = wanders.filter((each) => each.kind === "loop");
    expect(loops.length).toBeGreaterThan(2);
    const inRows = (of: RunRecord) =>
      new Set(of.rows.flatMap(({ fact }) => (fact.kind === "flow" && fact.flow?.wander ? [fact.flow.wander] : [])));
    expect(inRows(unpackRecord(JSON.parse(written))).size).toBe(inRows(record).size);
    // What a wander stands on comes before it.
    for (const [place, each] of wanders.entries()) {
      if (each.kind !== "loop") continue;
      for (const other of [each.reference, each.own, each.before]) expect(other ?? -1).toBeLessThan(place);
    }
    const slips = record.rows.filter(({ fact }) => fact.kind === "slips" && fact.curve.wander !== null);
    expect(slips.length).toBeGreaterThan(0);
  });

  test("keeps a bound that does not exist", () => {
    const own: Wander = {
      kind: "own",
      seed: "1",
      device: "foh",
      gridNs: 1e9 as never,
      sigma1: 0,
      sigma2: 0,
      sigma3: 1e-12,
      hMinus1: 0,
    };
    const unbounded = record.rows.map((row) =>
      row.fact.kind === "flow" && row.fact.flow?.wander?.kind === "loop"
        ? {
            ...row,
            fact: {
              ...row.fact,
              flow: {
                ...row.fact.flow,
                wander: { ...row.fact.flow.wander, reference: own, errorBound: Number.POSITIVE_INFINITY },
              },
            },
          }
        : row,
    );
    const changed = { ...record, rows: unbounded };
    expect(unpackRecord(JSON.parse(JSON.stringify(packRecord(changed))))).toEqual(changed);
  });
});
