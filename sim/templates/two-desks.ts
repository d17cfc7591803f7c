/** Two desks and a box: the smallest rig in which somebody has to lead. */
export const twoDesks = `{
  // A rig to begin with: two desks share one stage box over MADI. Play it:  pulltest rehearse FILE
  // Change names, cables and numbers to yours. What you leave out is filled in and listed as assumed.
  "format": 1,
  "title": "Two desks and a box",
  "story": "At Lantern Quay the FOH desk leads, the stage box follows it, and the monitor desk follows the stage box. In act two the FOH desk reboots.",
  "run": { "length": "01:00:00", "seed": "quay-1" },
  "rig": {
    "sampleRateHz": 48000,
    // Who leads, then who is next. The box runs on when the desk is gone, so the monitor desk does not notice.
    // The return is another matter: when the box takes the desk's clock again, that may cost one dropout. Whether it
    // does depends on how long the boot takes.
    "leaders": ["foh", "stage"],
    "devices": [
      {
        "id": "foh", "name": "FOH desk", "kind": "desk",
        "clockSources": ["internal"],
        // How far the clock of this very desk is off, measured. Left out, it is drawn within the tolerance.
        "oscillator": { "offsetPpm": 4.2 },
        "bootSeconds": 75
      },
      {
        "id": "stage", "name": "Stage box", "kind": "stage-box",
        // Listens to port 1, then to its own clock. Ports are numbers in quotes.
        "clockSources": ["1", "internal"],
        "oscillator": { "offsetPpm": -6.3 }
      },
      {
        "id": "monitor", "name": "Monitor desk", "kind": "desk",
        "clockSources": ["1", "internal"],
        "oscillator": { "offsetPpm": 1.8 },
        "bootSeconds": 70
      },
      {
        "id": "pa", "name": "PA processor", "kind": "processor",
        "clockSources": ["1", "internal"],
        "oscillator": { "offsetPpm": 2.5 }
      }
    ],
    "links": [
      // "return": a second cable, the other way, on the same path.
      { "id": "main", "type": "madi", "from": "stage.1", "to": "foh.1", "return": true, "lengthMetres": 80, "laidAlong": ["stage-left wall"] },
      { "id": "monitor-stage", "type": "madi", "from": "stage.2", "to": "monitor.1", "return": true, "lengthMetres": 15, "laidAlong": ["monitor side"] },
      { "id": "to-pa", "type": "aes3", "from": "foh.2", "to": "pa.1", "lengthMetres": 10, "laidAlong": ["FOH riser"] }
    ],
    // What people hear, from the source through the mix to the outputs.
    "feeds": [
      { "id": "pa-mix", "name": "PA mix", "through": ["stage", "foh", "pa"], "channels": [32, 2], "heardBy": ["pa"] },
      { "id": "in-ear-mix", "name": "In-ear mix", "through": ["stage", "monitor"], "channels": 32, "heardBy": ["in-ears"] }
    ]
  },
  "events": [
    { "at": "00:20:00", "do": "reboot", "device": "foh" }
  ],
  // What should come out. A missed expectation ends the command with status 1.
  "expect": [
    { "feed": "pa-mix", "silentSeconds": { "min": 70, "max": 85 } },
    { "feed": "in-ear-mix", "slips": { "max": 0 }, "dropouts": { "max": 1 } }
  ]
}
`;
