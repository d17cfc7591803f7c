/** What people begin with who have nothing yet: three empty tables. */
import type { ScenarioTexts } from "../../sim/run-data.ts";

const TEXT = `{
  "format": 1,
  "title": "A new rig",
  "run": { "length": "01:00:00" },
  "rig": {
    "sampleRateHz": 48000,
    "leaders": [],
    "devices": [],
    "links": [],
    "feeds": []
  },
  "events": []
}
`;

export const NEW_RIG: ScenarioTexts = { main: "new-rig.json", texts: { "new-rig.json": TEXT } };
