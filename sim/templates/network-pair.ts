/** Two networks side by side, and every stream on both. */
export const networkPair = `{
  // A rig to begin with: two networks with cables and switches of their own. Play it:  pulltest rehearse FILE
  "format": 1,
  "title": "A primary and a secondary network",
  "story": "At Lantern Quay every stream goes over two networks that share neither cable nor switch, and each receiver takes every packet from whichever brings it first. The switch of the primary network reboots in the middle of a song.",
  "run": { "length": "01:00:00", "seed": "quay-1" },
  "rig": {
    "sampleRateHz": 48000,
    "leaders": ["foh"],
    // On each network the devices elect who leads. The profile says by which rules; both networks take the same.
    "networks": [
      { "id": "primary", "name": "Primary network", "profile": "aes67" },
      { "id": "secondary", "name": "Secondary network", "profile": "aes67" }
    ],
    "deviceTypes": {
      // A switch that tells clocks how long each packet waited in it. Say "plain" if yours does not.
      "show-switch": { "kind": "switch", "bridge": { "timing": "transparent" }, "bootSeconds": 45 }
    },
    "devices": [
      // The lowest priority1 wins the election.
      { "id": "foh", "name": "FOH desk", "kind": "desk", "clockSources": ["internal"], "ptp": { "priority1": 100 }, "oscillator": { "offsetPpm": 4.2 }, "bootSeconds": 75 },
      // Listens to the primary network first, then to the secondary one. It never leads.
      { "id": "stage", "name": "Stage box", "kind": "stage-box", "clockSources": ["1", "2"], "ptp": { "followerOnly": true }, "oscillator": { "offsetPpm": -6.3 } },
      { "id": "pa", "name": "PA processor", "kind": "processor", "clockSources": ["1", "2"], "ptp": { "followerOnly": true }, "oscillator": { "offsetPpm": 2.5 }, "unmuteRampSeconds": 2 },
      { "id": "switch-primary", "name": "Primary switch", "like": "show-switch" },
      { "id": "switch-secondary", "name": "Secondary switch", "like": "show-switch" }
    ],
    "links": [
      // Port 1 of every device is on the primary network, port 2 on the secondary one; their cables are laid apart.
      { "id": "foh-primary", "type": "ethernet", "network": "primary", "ends": ["foh.1", "switch-primary.1"], "lengthMetres": 60, "laidAlong": ["stage-left wall"] },
      { "id": "foh-secondary", "type": "ethernet", "network": "secondary", "ends": ["foh.2", "switch-secondary.1"], "lengthMetres": 70, "laidAlong": ["stage-right wall"] },
      { "id": "stage-primary", "type": "ethernet", "network": "primary", "ends": ["stage.1", "switch-primary.2"], "lengthMetres": 15, "laidAlong": ["behind the band"] },
      { "id": "stage-secondary", "type": "ethernet", "network": "secondary", "ends": ["stage.2", "switch-secondary.2"], "lengthMetres": 25, "laidAlong": ["under the stage"] },
      { "id": "pa-primary", "type": "ethernet", "network": "primary", "ends": ["pa.1", "switch-primary.3"], "lengthMetres": 20, "laidAlong": ["monitor side"] },
      { "id": "pa-secondary", "type": "ethernet", "network": "secondary", "ends": ["pa.2", "switch-secondary.3"], "lengthMetres": 30, "laidAlong": ["under the stalls"] },
      // A stream goes from an ethernet port to another, over whatever cables lead there.
      { "id": "inputs-primary", "type": "aes67", "from": "stage.1", "to": "foh.1", "channels": 32 },
      { "id": "inputs-secondary", "type": "aes67", "from": "stage.2", "to": "foh.2", "channels": 32 },
      { "id": "mix-primary", "type": "aes67", "from": "foh.1", "to": "pa.1", "channels": 2 },
      { "id": "mix-secondary", "type": "aes67", "from": "foh.2", "to": "pa.2", "channels": 2 }
    ],
    // Both carry all the time; the window is how far apart the two copies of a packet may come.
    "spares": [
      { "id": "inputs", "links": ["inputs-primary", "inputs-secondary"], "mode": "duplicate", "windowMilliseconds": 10 },
      { "id": "mix", "links": ["mix-primary", "mix-secondary"], "mode": "duplicate", "windowMilliseconds": 10 }
    ],
    "feeds": [
      { "id": "pa-mix", "name": "PA mix", "through": ["stage", "foh", "pa"], "channels": [32, 2], "heardBy": ["pa"] }
    ]
  },
  "events": [
    { "at": "00:20:00", "do": "reboot", "device": "switch-primary" }
  ],
  "expect": [
    { "feed": "pa-mix", "slips": { "max": 0 }, "silentSeconds": { "max": 0 }, "dropouts": { "max": 0 } }
  ]
}
`;
