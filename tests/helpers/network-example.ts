/** Two desks, a stage box and two switches on two networks at Lantern Quay, with a stream of each type. */

/** A fresh copy each time, so that a test may spoil it. */
export function networkExample() {
  return {
    format: 1,
    title: "Two networks at Lantern Quay",
    run: { length: "00:30:00" },
    rig: {
      sampleRateHz: 48_000,
      leaders: ["foh"],
      networks: [
        { id: "red", name: "Red network", profile: "st2059-2", recovery: "rapid-spanning-tree" },
        { id: "blue", domain: 7 },
      ],
      devices: [
        { id: "foh", kind: "desk", ptp: { priority1: 100, clockClass: 13, clockAccuracy: "1 us" } },
        { id: "mon", kind: "desk", clockSources: ["1", "internal"] },
        { id: "stage", kind: "stage-box", clockSources: ["1", "2"], ptp: { followerOnly: true } },
        { id: "sw-foh", kind: "switch" },
        { id: "sw-stage", kind: "switch", bridge: { timing: "boundary", priority: 4096 } },
        { id: "amp", kind: "processor", clockSources: ["1"] },
      ],
      links: [
        { id: "foh-red", type: "ethernet", network: "red", ends: ["foh.1", "sw-foh.1"] },
        { id: "mon-red", type: "ethernet", network: "red", ends: ["mon.1", "sw-stage.9"], megabitsPerSecond: 100 },
        { id: "stage-red", type: "ethernet", network: "red", ends: ["stage.1", "sw-stage.10"] },
        {
          id: "trunk",
          type: "ethernet",
          network: "red",
          ends: ["sw-foh.24", "sw-stage.24"],
          medium: "fibre",
          lengthMetres: 200,
          asymmetryNanoseconds: -40,
        },
        { id: "blue-lead", type: "ethernet", network: "blue", ends: ["foh.2", "stage.2"], lengthMetres: 80 },
        { id: "stage-foh", type: "aes67", from: "stage.1", to: "foh.1", channels: 32 },
        { id: "stage-foh-blue", type: "avb", from: "stage.2", to: "foh.2" },
        { id: "stage-mon", type: "st2110-30", from: "stage.1", to: "mon.1", packetMicroseconds: 125, channels: 16 },
        { id: "to-amp", type: "aes3", from: "foh.3", to: "amp.1" },
      ],
      feeds: [{ id: "pa-mix", through: ["stage", "foh", "amp"], channels: 2, over: ["stage-foh"], heardBy: ["pa"] }],
    },
    events: [] as object[],
  };
}
