/** What is done on the map becomes an event at the cursor, in the text that is worked on. */
import { linkById } from "../../sim/by-id.ts";
import type { MapActions } from "../map/actions.ts";
import type { PageContext } from "../page.ts";
import type { WrittenEvent } from "./edits.ts";
import { addEvent } from "./edits.ts";
import { timeAtCursor } from "./event-list.ts";

export function mapActions(context: PageContext): MapActions {
  const { room, run } = context;
  const { plan } = run;
  const add = (what: string, event: Omit<WrittenEvent, "at">): void =>
    room.edit(what, (text) => addEvent(text, { at: timeAtCursor(context), ...event } as WrittenEvent));
  return {
    pull(link, end) {
      add(`pull ${link}`, { do: "unplug", link: lineOf(link), ...endOf(link, end) });
    },
    plug(link) {
      add(`plug ${link} in`, { do: "plug", link: lineOf(link) });
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

  /** A tap of a T-ed line is named by the line. */
  function lineOf(link: string): string {
    return linkById(plan, link)?.line?.id ?? link;
  }

  /** As a file names an end: a device of `ends`, "from" or "to"; of a line, the device of the tap. */
  function endOf(link: string, end: "a" | "b" | null): { end?: string } {
    const found = linkById(plan, link);
    // A stream is subscribed to as a whole.
    if (found === undefined || end === null || found.stream !== undefined) return {};
    if (found.twoWay || (found.line !== undefined && end === "b")) return { end: found[end].device };
    return { end: end === "a" ? "from" : "to" };
  }
}
