/** One house clock, a star of word clock from it, and the leader nobody reboots. */
export const houseClock = `{
  // A rig to begin with: a house clock that nobody reboots. Play it:  pulltest rehearse FILE
  "format": 1,
  "title": "A house clock for everyone",
  "story": "At Lantern Quay a house clock in the rack room feeds both desks and the box by word clock. The FOH desk reboots in act two; the others do not notice.",
  "run": { "length": "01:00:00", "seed": "quay-1" },
  "rig": {
    "sampleRateHz": 48000,
    // Who leads, then who is next.
    "leaders": ["house", "stage"],
    "devices": [
      { "id": "house", "name": "House clock", "kind": "house-clock", "clockSources": ["internal"], "oscillator": { "type": "ocxo", "offsetPpm": 0.05 } },
      // Listens to the house clock on port 9, then to the box.
      { "id": "foh", "name": "FOH desk", "kind": "desk", "clockSources": ["9", "1"], "oscillator": { "offsetPpm": 4.2 }, "bootSeconds": 75 },
      { "id": "monitor", "name": "Monitor desk", "kind": "desk", "clockSources": ["9", "1"], "oscillator": { "offsetPpm": 1.8 }, "bootSeconds": 70 },
      { "id": "stage", "name": "Stage box", "kind": "stage-box", "clockSources": ["9", "internal"], "oscillator": { "offsetPpm": -6.3 } },
      { "id": "pa", "name": "PA processor", "kind": "processor", "clockSources": ["9", "1"], "oscillator": { "offsetPpm": 2.5 }, "unmuteRampSeconds": 2 }
    ],
    "links": [
      // A star: one cable from the clock to each, none passed on.
      { "id": "clock-foh", "type": "word-clock", "from": "house.1", "to": "foh.9", "lengthMetres": 60, "laidAlong": ["under the stalls"] },
      { "id": "clock-monitor", "type": "word-clock", "from": "house.2", "to": "monitor.9", "lengthMetres": 20, "laidAlong": ["rack room"] },
      { "id": "clock-stage", "type": "word-clock", "from": "house.3", "to": "stage.9", "lengthMetres": 25, "laidAlong": ["rack room"] },
      { "id": "clock-pa", "type": "word-clock", "from": "house.4", "to": "pa.9", "lengthMetres": 10, "laidAlong": ["rack room"] },
      { "id": "foh-stage", "type": "madi", "from": "stage.1", "to": "foh.1", "return": true, "lengthMetres": 80, "laidAlong": ["stage-left wall"] },
      { "id": "monitor-stage", "type": "madi", "from": "stage.2", "to": "monitor.1", "return": true, "lengthMetres": 15, "laidAlong": ["monitor side"] },
      { "id": "to-pa", "type": "aes3", "from": "foh.2", "to": "pa.1", "lengthMetres": 90, "laidAlong": ["stage-right wall"] }
    ],
    "feeds": [
      { "id": "pa-mix", "name": "PA mix", "through": ["stage", "foh", "pa"], "channels": [32, 2], "heardBy": ["pa"] },
      { "id": "in-ear-mix", "name": "In-ear mix", "through": ["stage", "monitor"], "channels": 32, "heardBy": ["in-ears"] }
    ]
  },
  "events": [
    { "at": "00:20:00", "do": "reboot", "device": "foh" }
  ],
  "expect": [
    { "feed": "pa-mix", "silentSeconds": { "min": 70, "max": 85 } },
    { "feed": "in-ear-mix", "slips": { "max": 0 }, "silentSeconds": { "max": 0 } }
  ]
}
`;
