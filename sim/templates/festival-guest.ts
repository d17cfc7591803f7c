/** A guest desk that joins for one act and leaves again. */
export const festivalGuest = `{
  // A rig to begin with: a guest desk joins for one act. Play it:  pulltest rehearse FILE
  "format": 1,
  "title": "A guest desk for one act",
  "story": "The house rig at Lantern Quay follows the stage box, which nobody reboots. A guest desk is switched on in the changeover, patched in, plays its act and leaves.",
  "run": { "length": "01:30:00", "seed": "quay-1" },
  "rig": {
    "sampleRateHz": 48000,
    // The box leads: it stays on from load-in to load-out, whoever comes and goes.
    "leaders": ["stage"],
    "devices": [
      { "id": "stage", "name": "Stage box", "kind": "stage-box", "clockSources": ["internal"], "oscillator": { "offsetPpm": -2.1 } },
      { "id": "foh", "name": "FOH desk", "kind": "desk", "clockSources": ["1", "internal"], "oscillator": { "offsetPpm": 4.2 }, "bootSeconds": 75 },
      { "id": "monitor", "name": "Monitor desk", "kind": "desk", "clockSources": ["1", "internal"], "oscillator": { "offsetPpm": 1.8 }, "bootSeconds": 70 },
      // Not there when the show begins. Ask the guest for its clock source, and set it before the cable goes in.
      { "id": "guest", "name": "Guest desk", "kind": "desk", "clockSources": ["1", "internal"], "oscillator": { "offsetPpm": -8.6 }, "bootSeconds": 90, "atStart": "off" },
      { "id": "pa", "name": "PA processor", "kind": "processor", "clockSources": ["1", "internal"], "oscillator": { "offsetPpm": 2.5 } }
    ],
    "links": [
      { "id": "foh-stage", "type": "madi", "from": "stage.1", "to": "foh.1", "return": true, "lengthMetres": 80, "laidAlong": ["stage-left wall"] },
      { "id": "monitor-stage", "type": "madi", "from": "stage.2", "to": "monitor.1", "return": true, "lengthMetres": 15, "laidAlong": ["monitor side"] },
      { "id": "guest-stage", "type": "madi", "from": "stage.3", "to": "guest.1", "return": true, "lengthMetres": 80, "laidAlong": ["stage-left wall"], "atStart": "unplugged" },
      { "id": "guest-pa", "type": "aes3", "from": "guest.2", "to": "pa.2", "lengthMetres": 15, "laidAlong": ["FOH riser"], "atStart": "unplugged" },
      { "id": "to-pa", "type": "aes3", "from": "foh.2", "to": "pa.1", "lengthMetres": 10, "laidAlong": ["FOH riser"] }
    ],
    "feeds": [
      { "id": "house-mix", "name": "House mix", "through": ["stage", "foh", "pa"], "channels": [32, 2], "heardBy": ["pa"] },
      { "id": "guest-mix", "name": "Guest mix", "through": ["stage", "guest", "pa"], "channels": [32, 2], "heardBy": ["pa"] },
      { "id": "in-ear-mix", "name": "In-ear mix", "through": ["stage", "monitor"], "channels": 32, "heardBy": ["in-ears"] }
    ]
  },
  "events": [
    { "at": "00:10:00", "do": "power-back", "device": "guest" },
    { "at": "00:15:00", "do": "plug", "link": "guest-stage" },
    { "at": "00:16:00", "do": "plug", "link": "guest-pa" },
    { "at": "01:10:00", "do": "unplug", "link": "guest-pa" },
    { "at": "01:11:00", "do": "unplug", "link": "guest-stage" }
  ],
  "expect": [
    { "feed": "house-mix", "slips": { "max": 0 }, "silentSeconds": { "max": 0 } },
    { "feed": "in-ear-mix", "slips": { "max": 0 }, "silentSeconds": { "max": 0 } },
    { "device": "guest", "is": "locked", "from": "00:16:00", "to": "01:10:00" }
  ]
}
`;
