/** A house clock at Lantern Quay that feeds two desks and a recorder over one T-ed word-clock line. */

/** A fresh copy each time; `line`: what differs in the line. */
export function lineExample(line: object = {}) {
  const follower = (id: string, name: string, kind: string, offsetPpm: number) => ({
    id,
    name,
    kind,
    clockSources: ["1", "internal"],
    oscillator: { offsetPpm },
  });
  return {
    format: 1,
    title: "Word clock over T-pieces",
    run: { length: "00:20:00", seed: "quay-1" },
    rig: {
      sampleRateHz: 48_000,
      leaders: ["house"],
      devices: [
        {
          id: "house",
          name: "House clock",
          kind: "house-clock",
          clockSources: ["internal"],
          oscillator: { offsetPpm: 1 },
        },
        follower("foh", "FOH desk", "desk", -3),
        follower("mon", "Monitor desk", "desk", 2.5),
        follower("rec", "Recorder", "recorder", 6),
      ],
      links: [
        {
          id: "word",
          type: "word-clock",
          from: "house.1",
          to: ["foh.1", "mon.1", "rec.1"],
          terminatedAt: ["rec.1"],
          lengthMetres: 24,
          laidAlong: ["cable trough"],
          ...line,
        },
        { id: "split", type: "madi", from: "foh.2", to: "mon.2", lengthMetres: 5 },
      ],
      feeds: [{ id: "ears-mix", through: ["foh", "mon"], channels: 8, heardBy: ["in-ears"] }],
    },
    events: [] as object[],
  };
}
