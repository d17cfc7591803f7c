/** What two plans do not agree about: every conflict that is planted is listed, with both places. */
import { describe, expect, test } from "vitest";
import type { Conflict } from "../../sim/merge/conflict.ts";
import { joinThem, readMerge } from "../../sim/merge.ts";
import { house, join, merged, planRead, type Thing, tour } from "./helpers.ts";

type House = ReturnType<typeof house>;
type Tour = ReturnType<typeof tour>;

function conflictsOf(
  change: (one: House, other: Tour) => void,
  asked: Parameters<typeof merged>[2] = {},
): readonly Conflict[] {
  const [one, other] = [house(), tour()];
  change(one, other);
  return merged(one, other, asked).conflicts;
}

const truck = (more: object = {}): Thing => ({ id: "truck", name: "Truck", clockSources: ["internal"], ...more });
const device = (rig: House | Tour, id: string) => rig.rig.devices.find((each) => each.id === id) as Thing;

describe("two plans that share nothing", () => {
  test("have two leaders, and nothing else to be asked", () => {
    const conflicts = conflictsOf(() => undefined);
    expect(conflicts.map(({ kind }) => kind)).toEqual(["two-leaders"]);
    expect(conflicts[0]?.what).toBe("Two leaders: matrix of House and foh of Tour.");
    expect(conflicts[0]?.places.map(({ file, path }) => [file, path])).toEqual([
      ["house.json", ["rig", "leaders", 0]],
      ["tour.json", ["rig", "leaders", 0]],
    ]);
    expect(conflicts[0]?.places.every(({ line }) => line > 1)).toBe(true);
  });
});

describe.each<[name: string, kind: Conflict["kind"], about: string, plant: (one: House, other: Tour) => void]>([
  [
    "a device of one id that differs",
    "same-id",
    "device truck",
    (one, other) => {
      one.rig.devices.push(truck());
      other.rig.devices.push(truck({ bootSeconds: 90 }));
    },
  ],
  [
    "a device that both list alike",
    "maybe-one",
    "device truck",
    (one, other) => {
      one.rig.devices.push(truck());
      other.rig.devices.push(truck());
    },
  ],
  [
    "a cable of one id",
    "same-id",
    "cable mon-ears",
    (one) => {
      one.rig.links.push({ id: "mon-ears", type: "aes3", from: "box.7", to: "pa.7" });
    },
  ],
  [
    "a feed of one id",
    "same-id",
    "feed mixes",
    (one) => {
      one.rig.feeds.push({ id: "mixes", through: ["matrix", "pa"], channels: 1 });
    },
  ],
  [
    "a spare group of one id",
    "same-id",
    "spare group pair",
    (one, other) => {
      one.rig.links.push({ id: "second", type: "aes3", from: "matrix.5", to: "pa.5" });
      one.rig.spares = [{ id: "pair", links: ["matrix-pa", "second"] }];
      other.rig.links.push({ id: "other", type: "madi", from: "mon.5", to: "ears.5" });
      other.rig.spares = [{ id: "pair", links: ["mon-ears", "other"] }];
    },
  ],
  [
    "a network that is alike",
    "maybe-one",
    "network network",
    (one, other) => {
      one.rig.links.push({ id: "net", type: "ethernet", ends: ["box.8", "pa.8"] });
      other.rig.links.push({ id: "lan", type: "ethernet", ends: ["foh.8", "ears.8"] });
    },
  ],
  [
    "a network of one id that differs",
    "same-id",
    "network red",
    (one, other) => {
      one.rig.networks = [{ id: "red" }];
      other.rig.networks = [{ id: "red", domain: 5 }];
    },
  ],
  [
    "a device type of one name",
    "same-id",
    "device type gear",
    (one, other) => {
      one.rig.deviceTypes = { gear: { bootSeconds: 30 } };
      device(one, "pa").like = "gear";
      other.rig.deviceTypes = { gear: { bootSeconds: 31 } };
      device(other, "ears").like = "gear";
    },
  ],
  [
    "a device type that differs in what it is like",
    "same-id",
    "device type gear",
    (one, other) => {
      one.rig.deviceTypes = { gear: { like: "old" }, old: { bootSeconds: 30 } };
      device(one, "pa").like = "gear";
      other.rig.deviceTypes = { gear: { like: "new" }, new: { bootSeconds: 31 } };
      device(other, "ears").like = "gear";
    },
  ],
  [
    "two devices of one name",
    "same-name",
    "device Stage box",
    (_, other) => {
      device(other, "mon").name = "Stage box";
    },
  ],
  [
    "two feeds of one name",
    "same-name",
    "feed Band",
    (one, other) => {
      (one.rig.feeds[0] as Thing).name = "Band";
      (other.rig.feeds[0] as Thing).name = "Band";
    },
  ],
  [
    "no leader",
    "no-leader",
    "tour",
    (_, other) => {
      other.rig.leaders = [];
      device(other, "mon").clockSources = ["internal"];
    },
  ],
  [
    "two sample rates",
    "sample-rate",
    "sampleRateHz",
    (_, other) => {
      other.rig.sampleRateHz = 96_000;
    },
  ],
  [
    "one path",
    "shared-path",
    "quay wall",
    (one, other) => {
      (one.rig.links[0] as Thing).laidAlong = ["quay wall"];
      (other.rig.links[1] as Thing).laidAlong = ["quay wall"];
    },
  ],
  [
    "one supply",
    "shared-supply",
    "pit mains",
    (one, other) => {
      device(one, "pa").power = ["pit mains"];
      device(other, "ears").power = ["pit mains"];
    },
  ],
  [
    "one supply with and without a battery",
    "shared-supply",
    "pit mains",
    (one, other) => {
      device(one, "pa").power = ["pit mains"];
      device(other, "ears").power = ["pit mains"];
      other.rig.supplies = [{ id: "pit mains", batterySeconds: 60 }];
    },
  ],
  ...(
    [
      ["length", "00:21:00"],
      ["seed", "quay-2"],
      ["begin", "cold"],
      ["wander", true],
      ["startCelsius", 12],
      ["wanderGridSeconds", 0.5],
    ] as const
  ).map(
    ([field, value]) =>
      [
        `a run with another ${field}`,
        "run",
        field,
        (_: House, other: Tour) => {
          other.run[field] = value;
        },
      ] as [string, Conflict["kind"], string, (one: House, other: Tour) => void],
  ),
  [
    "weather in one of them",
    "weather",
    "temperature",
    (one) => {
      one.events.push({ at: "00:01:00", do: "temperature", toCelsius: 10, overSeconds: 60 });
    },
  ],
  [
    "what is accepted of all",
    "acceptance",
    "house accepted.0",
    (one) => {
      one.accepted.push({ rule: "two-leaders", reason: "agreed" });
    },
  ],
])("%s", (_, kind, about, plant) => {
  const without = conflictsOf(() => undefined);
  const conflicts = conflictsOf(plant);
  const found = conflicts.filter((conflict) => conflict.kind === kind && conflict.about === about);

  test("is listed once, with a place in each file, a question and what to do", () => {
    expect(without.some((conflict) => conflict.kind === kind && conflict.about === about)).toBe(false);
    expect(found).toHaveLength(1);
    const [conflict] = found as [Conflict];
    expect(conflict.places.map(({ file }) => file)).toEqual(["house.json", "tour.json"]);
    expect(conflict.places.every(({ line, column }) => line > 0 && column > 0)).toBe(true);
    expect(conflict.question).toMatch(/\?$/);
    expect(conflict.remedy).toMatch(/\.$/);
    expect(conflict.isBlocking).toBe(false);
  });

  test("leaves all others as they were", () => {
    const kinds = (all: readonly Conflict[]) => all.map((each) => each.kind);
    if (kind !== "no-leader") expect(kinds(conflicts)).toEqual(expect.arrayContaining(kinds(without)));
  });
});

describe("ports", () => {
  test("a joining cable into a port that is taken", () => {
    const conflicts = conflictsOf(() => undefined, { joins: [join("matrix.1", "foh.7")] });
    const [conflict] = conflicts.filter(({ kind }) => kind === "port-twice");
    expect(conflict).toMatchObject({ about: "house matrix.1", isBlocking: true });
    expect(conflict?.what).toContain("box-matrix is in it");
    expect(conflict?.places[1]).toMatchObject({ file: "house.json", path: ["rig", "links", 0, "to"] });
    expect(conflicts[0]).toBe(conflict);
  });

  test("a port that an event plugs something into", () => {
    const conflicts = conflictsOf(
      (one) => {
        one.events.push({ at: "00:01:00", do: "unplug", link: "matrix-pa", end: "from" });
        one.events.push({ at: "00:02:00", do: "plug", link: "matrix-pa", end: "from", into: 9 });
      },
      { joins: [join("matrix.9", "foh.7")] },
    );
    expect(conflicts.filter(({ kind }) => kind === "port-twice")).toHaveLength(1);
  });

  test("two joining cables into one port", () => {
    const joins = [join("matrix.8", "foh.7"), join("matrix.8", "foh.6")];
    const [conflict] = conflictsOf(() => undefined, { joins }).filter(({ kind }) => kind === "port-twice");
    expect(conflict?.what).toBe("Two joining cables are to go into port 8 of matrix (House).");
  });

  const withTruck = (one: House, other: Tour) => {
    one.rig.devices.push(truck());
    other.rig.devices.push(truck());
    one.rig.links.push({ id: "split", type: "madi", from: "box.4", to: "truck.1" });
    other.rig.links.push({ id: "stems", type: "madi", from: "foh.4", to: "truck.1" });
  };

  test("a port of a device that is in both plans", () => {
    const [conflict] = conflictsOf(withTruck, { same: ["truck"] }).filter(({ kind }) => kind === "port-twice");
    expect(conflict).toMatchObject({ about: "truck.1", isBlocking: true });
    expect(conflict?.what).toContain("split of House and stems of Tour");
    expect(conflictsOf(withTruck).some(({ kind }) => kind === "port-twice")).toBe(false);
  });
});

describe("what is said to be one thing", () => {
  test("is asked about no more", () => {
    const conflicts = conflictsOf(
      (one, other) => {
        one.rig.devices.push(truck());
        other.rig.devices.push(truck());
      },
      { same: ["truck"] },
    );
    expect(conflicts.map(({ kind }) => kind)).toEqual(["two-leaders"]);
  });

  test("and is not alike, or hangs on what is two, or is in one plan only: each has to be settled first", () => {
    const conflicts = conflictsOf(
      (one, other) => {
        one.rig.devices.push(truck(), truck({ id: "van", name: "Van" }));
        other.rig.devices.push(truck({ bootSeconds: 90 }), truck({ id: "van", name: "Van" }));
        for (const rig of [one.rig, other.rig])
          rig.links.push({ id: "lead", type: "madi", from: "van.4", to: "truck.4" });
      },
      { same: ["truck", "lead", "nothing"] },
    );
    const blocking = conflicts.filter(({ isBlocking }) => isBlocking);
    expect(blocking.map(({ about }) => about)).toEqual(["device truck", "nothing", "cable lead"]);
    expect(blocking[2]?.what).toContain("device van and device truck");
  });

  test("and of which each plan expects something else, is asked about", () => {
    const conflicts = conflictsOf(
      (one, other) => {
        one.rig.devices.push(truck());
        other.rig.devices.push(truck());
        one.expect.push({ device: "truck", is: "off" });
        other.expect.push({ device: "truck", is: "free-run" });
      },
      { same: ["truck"] },
    );
    expect(conflicts.map(({ kind, about }) => [kind, about])).toContainEqual(["expectation", "device truck"]);
  });
});

describe("identities in elections", () => {
  const onNetworks = (identity: string | null) => (one: House, other: Tour) => {
    one.rig.links.push({ id: "net", type: "ethernet", ends: ["box.8", "pa.8"] });
    other.rig.devices.push({ id: "pa", name: "Tour PA", clockSources: ["internal"], oscillator: { offsetPpm: 1 } });
    other.rig.links.push({ id: "lan", type: "ethernet", ends: ["foh.8", "pa.8"] });
    if (identity === null) return;
    device(one, "box").ptp = { identity };
    device(other, "foh").ptp = { identity };
  };

  test("that both plans give have to be settled first", () => {
    const [conflict] = conflictsOf(onNetworks("001B19FFFE000001")).filter(({ kind }) => kind === "identity");
    expect(conflict).toMatchObject({ about: "001b19fffe000001", isBlocking: true });
    expect(conflict?.places[0].path).toEqual(["rig", "devices", 2, "ptp", "identity"]);
  });

  test("that come from one id are told apart, and decide as they did alone", () => {
    const [one, other] = [house(), tour()];
    onNetworks(null)(one, other);
    const outcome = joinThem(merged(one, other, { joins: [join("matrix.8", "foh.7")] }));
    const identities = outcome.plan.devices.flatMap(({ ptp }) => (ptp === undefined ? [] : [ptp.identity]));
    expect(new Set(identities).size).toBe(4);
    const alone = merged(one, other).companies.map(({ plan }) => plan.devices.find(({ id }) => id === "pa")?.ptp);
    const joined = outcome.plan.devices.filter(({ id }) => id.endsWith("-pa")).map(({ ptp }) => ptp);
    expect(joined).toHaveLength(2);
    for (const ptp of joined) expect(ptp?.identity.slice(0, 15)).toBe(alone[0]?.identity.slice(0, 15));
  });
});

test("networks that an ethernet cable joins, field by field", () => {
  const conflicts = conflictsOf(
    (one, other) => {
      one.rig.networks = [{ id: "red", domain: 1 }];
      one.rig.links.push({ id: "net", type: "ethernet", ends: ["box.8", "pa.8"] });
      other.rig.networks = [{ id: "lan", domain: 5, recovery: "ring-200ms" }];
      other.rig.links.push({ id: "lan", type: "ethernet", ends: ["foh.8", "ears.8"] });
    },
    { joins: [join("box.9", "foh.9", "ethernet")] },
  );
  const about = conflicts.filter(({ kind }) => kind === "network").map((each) => each.about);
  expect(about).toEqual(["domain of red and lan", "recovery of red and lan"]);
});

test("a rig in a file of its own and a library: places are those of the files", () => {
  const { rig, ...rest } = house();
  const { deviceTypes: _none, ...bare } = { ...rig, deviceTypes: undefined };
  const files = {
    "./house.rig.json": { ...bare, library: "./shop.library.json" },
    "./shop.library.json": { deviceTypes: { gear: { bootSeconds: 30 }, unused: { bootSeconds: 1 } } },
  };
  (files["./house.rig.json"].devices[1] as Thing).like = "gear";
  const other = tour();
  other.rig.deviceTypes = { gear: { bootSeconds: 31 }, unused: { bootSeconds: 2 } };
  device(other, "ears").like = "gear";
  const { conflicts } = readMerge({
    plans: [planRead("house.json", { ...rest, rig: "./house.rig.json" }, files), planRead("tour.json", other)],
    ...{ joins: [], same: [], names: null },
  });
  const types = conflicts.filter(({ about }) => about.startsWith("device type"));
  expect(types.map(({ about }) => about)).toEqual(["device type gear"]);
  expect(types[0]?.places[0]).toMatchObject({ file: "shop.library.json", path: ["deviceTypes", "gear"] });
  const [leaders] = conflicts.filter(({ kind }) => kind === "two-leaders");
  expect(leaders?.places[0]).toMatchObject({ file: "house.rig.json", path: ["leaders", 0] });
});
