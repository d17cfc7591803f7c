/** A broadcast truck that takes a split of the stage, on its own clock and through converters. */
export const broadcastSplit = `{
  // A rig to begin with: a broadcast truck takes a split of the stage. Play it:  pulltest rehearse FILE
  "format": 1,
  "title": "A split for the broadcast truck",
  "story": "A broadcast truck comes to Lantern Quay for one evening. The stage box gives it every input over fibre, and the truck makes a mix of its own. It stays on its own clock and takes the split in through a sample-rate converter. In the second act the FOH desk reboots: the PA goes silent with it, the broadcast does not.",
  "run": { "length": "01:00:00", "seed": "quay-1" },
  "rig": {
    "sampleRateHz": 48000,
    // Who leads, then who is next. The truck is a guest: it neither leads the house nor is led by it.
    "leaders": ["foh", "stage"],
    "devices": [
      { "id": "foh", "name": "FOH desk", "kind": "desk", "clockSources": ["internal"], "oscillator": { "offsetPpm": 4.2 }, "bootSeconds": 75 },
      { "id": "monitor", "name": "Monitor desk", "kind": "desk", "clockSources": ["1", "internal"], "oscillator": { "offsetPpm": 1.8 }, "bootSeconds": 70 },
      { "id": "stage", "name": "Stage box", "kind": "stage-box", "clockSources": ["1", "internal"], "oscillator": { "offsetPpm": -6.3 } },
      {
        "id": "truck", "name": "Broadcast truck", "kind": "truck",
        // Its own clock, whatever the house does. The converter puts the split on that clock; it costs a little delay.
        // The other way: "clockSources": ["1", "internal"] and no converter. Then the truck follows the show: no delay
        // more, but what happens to the clock on stage is heard in the broadcast as well. Ask the truck which it wants.
        "clockSources": ["internal"],
        "ports": { "1": { "converter": true } },
        "oscillator": { "type": "ocxo", "offsetPpm": 0.1 }
      },
      { "id": "pa", "name": "PA processor", "kind": "processor", "clockSources": ["1", "internal"], "oscillator": { "offsetPpm": 2.5 }, "unmuteRampSeconds": 2 }
    ],
    "links": [
      { "id": "foh-stage", "type": "madi", "from": "stage.1", "to": "foh.1", "return": true, "lengthMetres": 80, "laidAlong": ["stage-left wall"] },
      { "id": "monitor-stage", "type": "madi", "from": "stage.2", "to": "monitor.1", "return": true, "lengthMetres": 15, "laidAlong": ["monitor side"] },
      // One way only: nothing the truck does comes back on stage.
      { "id": "split", "type": "madi", "medium": "fibre", "from": "stage.3", "to": "truck.1", "lengthMetres": 250, "laidAlong": ["loading ramp"] },
      { "id": "to-pa", "type": "aes3", "from": "foh.2", "to": "pa.1", "lengthMetres": 10, "laidAlong": ["FOH riser"] }
    ],
    // Two mixes of the same inputs: one goes through the FOH desk, the other does not.
    "feeds": [
      { "id": "pa-mix", "name": "PA mix", "through": ["stage", "foh", "pa"], "channels": [32, 2], "heardBy": ["pa"] },
      { "id": "in-ear-mix", "name": "In-ear mix", "through": ["stage", "monitor"], "channels": 32, "heardBy": ["in-ears"] },
      { "id": "broadcast-mix", "name": "Broadcast mix", "through": ["stage", "truck"], "channels": 32, "heardBy": ["broadcast"] }
    ],
    // What the plan check finds and somebody has agreed to, with the reason, so that it need not be read again.
    "accepted": [
      { "rule": "converter-joins-clocks", "devices": ["stage", "truck"], "links": ["split"], "reason": "The truck stays on its own clock; so it stands on the patch sheet." }
    ]
  },
  "events": [
    { "at": "00:35:00", "do": "reboot", "device": "foh" }
  ],
  "expect": [
    { "feed": "broadcast-mix", "slips": { "max": 0 }, "silentSeconds": { "max": 0 } },
    { "feed": "pa-mix", "silentSeconds": { "min": 70, "max": 85 } }
  ]
}
`;
