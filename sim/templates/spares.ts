/** FOH, monitors and boxes, each box with a main and a spare laid along another path. */
export const spares = `{
  // A rig to begin with: FOH, monitors and two boxes with spares. Play it:  pulltest rehearse FILE
  "format": 1,
  "title": "FOH, monitors and boxes with spares",
  "story": "At Lantern Quay two stage boxes reach the FOH desk over a main and a spare cable each, laid along different walls. The main of the left box is pulled during the first act.",
  "run": { "length": "01:00:00", "seed": "quay-1" },
  "rig": {
    "sampleRateHz": 48000,
    // Who leads, then who is next.
    "leaders": ["foh", "monitor"],
    // What several devices share is written once.
    "deviceTypes": {
      "box": { "kind": "stage-box", "clockSources": ["1", "2", "3"] }
    },
    "devices": [
      { "id": "foh", "name": "FOH desk", "kind": "desk", "clockSources": ["internal"], "oscillator": { "offsetPpm": 4.2 }, "bootSeconds": 75 },
      { "id": "monitor", "name": "Monitor desk", "kind": "desk", "clockSources": ["9", "internal"], "oscillator": { "offsetPpm": 1.8 }, "bootSeconds": 70 },
      { "id": "box-left", "name": "Left stage box", "like": "box", "oscillator": { "offsetPpm": -6.3 } },
      { "id": "box-right", "name": "Right stage box", "like": "box", "oscillator": { "offsetPpm": 7.1 } },
      { "id": "pa", "name": "PA processor", "kind": "processor", "clockSources": ["1", "internal"], "oscillator": { "offsetPpm": 2.5 }, "unmuteRampSeconds": 2 },
      { "id": "in-ears", "name": "In-ear transmitters", "kind": "transmitter", "clockSources": ["1", "internal"], "oscillator": { "offsetPpm": -3.9 } }
    ],
    "links": [
      { "id": "left-main", "type": "madi", "from": "box-left.1", "to": "foh.1", "return": true, "lengthMetres": 80, "laidAlong": ["stage-left wall"] },
      { "id": "left-spare", "type": "madi", "from": "box-left.2", "to": "foh.2", "return": true, "lengthMetres": 95, "laidAlong": ["stage-right wall"] },
      { "id": "right-main", "type": "madi", "from": "box-right.1", "to": "foh.3", "return": true, "lengthMetres": 95, "laidAlong": ["stage-right wall"] },
      { "id": "right-spare", "type": "madi", "from": "box-right.2", "to": "foh.4", "return": true, "lengthMetres": 80, "laidAlong": ["stage-left wall"] },
      { "id": "left-monitor", "type": "madi", "from": "box-left.3", "to": "monitor.1", "return": true, "lengthMetres": 15, "laidAlong": ["behind the band"] },
      { "id": "right-monitor", "type": "madi", "from": "box-right.3", "to": "monitor.2", "return": true, "lengthMetres": 25, "laidAlong": ["behind the band"] },
      // The monitor desk has its clock straight from the FOH desk, so that no ring can form when the FOH desk is gone.
      { "id": "clock", "type": "word-clock", "from": "foh.9", "to": "monitor.9", "lengthMetres": 90, "laidAlong": ["under the stalls"] },
      { "id": "to-pa", "type": "aes3", "from": "foh.5", "to": "pa.1", "lengthMetres": 90, "laidAlong": ["under the stalls"] },
      { "id": "to-in-ears", "type": "madi", "from": "monitor.5", "to": "in-ears.1", "lengthMetres": 5, "laidAlong": ["monitor side"] }
    ],
    // Main first. A standby spare takes over when the main is gone, and gives back when it returns.
    "spares": [
      { "id": "left-pair", "links": ["left-main", "left-spare"], "mode": "standby" },
      { "id": "right-pair", "links": ["right-main", "right-spare"], "mode": "standby" }
    ],
    "feeds": [
      { "id": "pa-mix", "name": "PA mix", "through": ["box-left", "foh", "pa"], "channels": [32, 2], "heardBy": ["pa"] },
      { "id": "in-ear-mix", "name": "In-ear mix", "through": ["box-right", "monitor", "in-ears"], "channels": [32, 16], "heardBy": ["in-ears"] }
    ]
  },
  "events": [
    { "at": "00:20:00", "do": "unplug", "link": "left-main", "forSeconds": 90 }
  ],
  "expect": [
    { "feed": "pa-mix", "silentSeconds": { "max": 2 } },
    { "feed": "in-ear-mix", "slips": { "max": 0 }, "silentSeconds": { "max": 0 } }
  ]
}
`;
