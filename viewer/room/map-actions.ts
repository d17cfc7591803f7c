/** What is done on the map becomes an event at the cursor, in the text that is worked on. */
import { secondsFromNs, ZERO } from "../../shared/time.ts";
import { parseShowTime } from "../../shared/units.ts";
import { cableInFile, type WrittenEvent } from "../../sim/trials/written.ts";
import type { MapActions } from "../map/actions.ts";
import type { PageContext } from "../page.ts";
import { addEvent } from "./edits.ts";
import { timeAtCursor } from "./event-list.ts";

export function mapActions(context: PageContext): MapActions {
  const { room, run, store } = context;
  const { plan } = run;
  const add = (what: string, event: Omit<WrittenEvent, "at">): void => {
    const at = timeAtCursor(context);
    // The map is to show what it did, not a thousandth before.
    store.set({ cursorSeconds: secondsFromNs(parseShowTime(at) ?? ZERO) });
    room.edit(what, (text) => addEvent(text, { at, ...event } as WrittenEvent));
  };
  return {
    pull(link, end) {
      add(`pull ${link}`, { do: "unplug", ...cableInFile(plan, link, end) });
    },
    plug(link) {
      add(`plug ${link} in`, { do: "plug", ...cableInFile(plan, link, null) });
    },
    reboot(device, part) {
      add(`reboot ${device}`, { do: "reboot", device, ...(part === "all" ? {} : { part }) });
    },
    power(device, on) {
      add(`${device} ${on ? "on" : "off"}`, { do: on ? "power-back" : "power-cut", device });
    },
    setSources(device, sources) {
      add(`clock sources of ${device}`, { do: "set-clock-sources", device, clockSources: [...sources] });
    },
    cut(path) {
      add(`cut along ${path}`, { do: "cut", path });
    },
  };
}
