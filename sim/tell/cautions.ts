/** Words of caution, the same on every page and every sheet. Common practice, no source, unless said otherwise. */

/** On every sheet and card. */
export const CAUTIONS = {
  ears: {
    head: "In-ears out of ears. Headphones and comms headsets off.",
    text: "Before any change of clock, rate, source or link.",
  },
  mute: "Use a mute that does not depend on the link that failed: the amplifier or speaker processor, the last device you control. Bring up slowly.",
  differs: {
    sheet: "If what you see differs from this sheet: mute, then think.",
    card: "If what you see differs from this card: mute, then think.",
    people: "People before audio; no running in the dark, no climbing.",
  },
} as const;

/** What must not be done to a noise. */
export const NEVER_TO_STOP_NOISE =
  "Do not stop noise by pulling a digital feed, a speaker line under load or a mains plug.";

/** What else a crew has to have read once. */
export const CAUTIONS_ONCE: readonly { readonly about: string; readonly text: string }[] = [
  {
    about: "Ears",
    text: "A limiter belongs in the receiver; never defeat it. This tool cannot predict level at the ear.",
  },
  { about: "Signal", text: "Agree a hand sign for ears out before the show." },
  {
    about: "Mute",
    text: "A hung desk's own mute may not work; when only a surface reboots, nobody can mute from it.",
  },
  { about: "Do not", text: NEVER_TO_STOP_NOISE },
  {
    about: "Announcements",
    text: "If this PA carries safety or show-stop announcements: tell the person responsible for safety how long it may be silent, and agree another way to speak to the audience before doors.",
  },
  {
    about: "Mains",
    text: "Power, earthing, generators, work inside equipment: licensed or qualified people only. Reboot from the device's own menu; cut power only where its instructions allow. Mains plugs never under load. Never lift an earth to stop a hum. Supplies in a plan are labels, not an electrical design.",
  },
  { about: "When", text: "Changes in a break, ears out, outputs down. No first-time experiments during a show." },
  {
    about: "Thumps",
    text: "A stage box that reboots switches its preamps and phantom power: expect thumps even when the clock is right.",
  },
  { about: "Reach", text: "Pulltest talks to no device. It changes nothing in your rig." },
  {
    about: "Fibre",
    text: "Do not look into fibre ends, nor through a magnifier, even if the link looks off.",
  },
  { about: "Tones", text: "Outputs muted at the last device before any test tone." },
  {
    about: "Exposure",
    text: "Sudden noise and long exposure both harm; an unexpected loud sound may injure even below the limits. Follow your national noise-at-work rules.",
  },
  {
    about: "Voice alarm",
    text: "Emergency sound is out of scope: certified equipment, design and commissioning (EN 54, BS 5839-8 are examples; your local codes rule). Ask the venue how the show system is muted for an alarm.",
  },
  { about: "Venue", text: "Cable paths, rigging, vehicles on cables: agreed with the venue." },
  { about: "Model", text: "A rehearsal aid, not proof. Do the pull test." },
];
