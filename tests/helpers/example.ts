/** A small rig at Lantern Quay with one of everything that a file can say: types, spares, two supplies, both kinds of link. */

/** A fresh copy each time, so that a test may spoil it. */
export function example() {
  return {
    format: 1,
    title: "The FOH desk reboots in act two",
    story: "The leader reboots; later the main cable comes out, and a supply with it.",
    run: { length: "01:30:00", seed: "quay-1" },
    rig: {
      sampleRateHz: 48000,
      leaders: ["foh"],
      deviceTypes: { box: { kind: "stage-box", bootSeconds: 20 } },
      devices: [
        {
          id: "foh",
          name: "FOH desk",
          kind: "desk",
          clockSources: ["internal"],
          oscillator: { type: "crystal", offsetPpm: 4.2 },
          bootSeconds: 75,
          power: ["foh", "backup"],
        },
        {
          id: "stage",
          name: "Stage box",
          like: "box",
          clockSources: ["1", "2"],
          oscillator: { type: "crystal", offsetPpm: -6.3 },
          holdoverSeconds: 0,
          waitToRestoreSeconds: 0,
          revertive: true,
        },
        {
          id: "pa",
          name: "PA processor",
          kind: "processor",
          clockSources: ["1"],
          oscillator: { type: "crystal", offsetPpm: 2.5 },
        },
        { id: "mon", name: "Monitor desk", kind: "desk", clockSources: ["1"] },
      ],
      links: [
        {
          id: "main",
          type: "madi",
          from: "stage.1",
          to: "foh.1",
          return: true,
          lengthMetres: 80,
          laidAlong: ["stage-left wall"],
        },
        {
          id: "spare",
          type: "madi",
          from: "stage.2",
          to: "foh.2",
          return: true,
          lengthMetres: 95,
          laidAlong: ["stage-right wall"],
        },
        { id: "to-pa", type: "aes3", from: "foh.3", to: "pa.1", lengthMetres: 5 },
        { id: "to-mon", type: "aes50", ends: ["foh.4", "mon.1"], lengthMetres: 60 },
      ],
      spares: [{ id: "stage-pair", links: ["main", "spare"], mode: "standby" }],
      feeds: [
        { id: "pa-mix", through: ["stage", "foh", "pa"], channels: [32, 2], heardBy: ["pa"] },
        { id: "ears-mix", through: ["stage", "foh", "mon"], channels: 16, heardBy: ["in-ears"] },
      ],
    },
    events: [
      { at: "00:20:00", do: "reboot", device: "foh", part: "all" },
      { at: "00:40:00", do: "unplug", link: "main", forSeconds: 90 },
      { at: "00:50:00", do: "power-cut", supply: "backup", forSeconds: 30 },
      { at: "00:55:00", do: "set-clock-sources", device: "mon", clockSources: ["internal"], forSeconds: 60 },
      { at: "01:10:00", do: "reboot", device: "stage" },
    ],
    expect: [
      { feed: "pa-mix", slips: { max: 0 }, silentSeconds: { min: 75, max: 80 } },
      { device: "stage", is: "locked", from: "00:02:00", to: "00:19:59" },
      { link: "to-mon", clock: "given", from: "00:00:00", to: "00:19:59" },
    ],
  };
}
