/** What happens in a scenario file, and what is expected to come of it. */
import * as z from "zod/mini";
import { DEVICE_STATES, LINK_CLOCKS } from "./record.ts";
import { clockSources } from "./scenario-schema-devices.ts";
import {
  celsius,
  clockSource,
  id,
  label,
  marked,
  matching,
  numberAbove,
  offsetPpm,
  oneOf,
  only,
  port,
  SECONDS_MAX,
  seconds,
  showTime,
  told,
  wholeFrom,
} from "./scenario-values.ts";

const at = told(showTime, 'Show time "hh:mm:ss" or "hh:mm:ss.mmm".');
const forSeconds = z.optional(told(numberAbove(0, SECONDS_MAX, "s"), "And back after so long."));
const end = told(
  matching(/^[A-Za-z0-9][A-Za-z0-9_-]{0,63}$/u, '"from", "to", or a device of ends or of a line'),
  'One end: "from" or "to", or a device of ends or of a line. Default: both.',
);
const way = told(oneOf(["there", "back"]), "One cable of two. Default: both.");
const clock = oneOf(["give", "take"]);

const EVENTS = [
  "unplug",
  "plug",
  "intermittent",
  "cut",
  "reboot",
  "power-cut",
  "power-back",
  "hang",
  "stop-sync",
  "stick",
  "set-clock-sources",
  "choose-source",
  "set-port-clock",
  "step-frequency",
  "temperature",
] as const;

function happening<const N extends (typeof EVENTS)[number], S extends z.core.$ZodLooseShape>(name: N, shape: S) {
  return only({ at, do: z.literal(name), ...shape }, "an event: an object");
}

export const eventSchema = marked(
  z.discriminatedUnion(
    "do",
    [
      happening("unplug", { link: id, end: z.optional(end), way: z.optional(way), forSeconds }),
      happening("plug", {
        link: id,
        end: z.optional(end),
        way: z.optional(way),
        into: z.optional(told(port, "Another port of the device at that end.")),
      }),
      happening("intermittent", {
        link: id,
        end: z.optional(end),
        way: z.optional(way),
        everySeconds: told(numberAbove(0, SECONDS_MAX, "s"), "From one loss of contact to the next."),
        outSeconds: told(numberAbove(0, SECONDS_MAX, "s"), "How long each lasts."),
        count: z.optional(
          told(wholeFrom(1, 1000, "times"), "How often. Default: until forSeconds are over, or the run."),
        ),
        forSeconds: z.optional(
          told(numberAbove(0, SECONDS_MAX, "s"), "In place of count: none begins later than this."),
        ),
      }),
      happening("cut", {
        path: told(label, "What is cut along it: every link laid along it."),
        forSeconds,
      }),
      happening("reboot", {
        device: id,
        part: z.optional(marked(oneOf(["surface", "engine", "all"]), { description: "Default: all.", default: "all" })),
      }),
      happening("power-cut", { device: z.optional(id), supply: z.optional(label), forSeconds }),
      happening("power-back", { device: z.optional(id), supply: z.optional(label) }),
      happening("hang", { device: id, forSeconds }),
      happening("stop-sync", {
        device: told(id, "It goes on announcing itself to its network, and sends no sync."),
        forSeconds,
      }),
      happening("stick", {
        device: told(id, "It no longer changes its clock source by itself, nor when told."),
        forSeconds,
      }),
      happening("set-clock-sources", { device: id, clockSources, forSeconds }),
      happening("choose-source", { device: id, source: clockSource }),
      happening("set-port-clock", { device: id, port, clock, forSeconds }),
      happening("step-frequency", {
        device: id,
        offsetPpm: told(offsetPpm, "The new offset, not a change."),
        forSeconds,
      }),
      happening("temperature", {
        device: z.optional(told(id, "One device. Default: all.")),
        toCelsius: celsius,
        overSeconds: told(seconds, "A straight line from the present temperature; startCelsius at the start."),
      }),
    ],
    { error: `one of ${EVENTS.join(", ")}` },
  ),
  { id: "event" },
);

// ---- expectations

function bounds(number: z.ZodMiniNumber, what: string) {
  return z.optional(
    only({ min: z.optional(number), max: z.optional(number) }, `${what}: an object with min, max or both`),
  );
}

const count = wholeFrom(0, 1e12, "");
const window = { from: z.optional(at), to: z.optional(at) };

export const expectationSchema = marked(
  z.union(
    [
      only(
        {
          feed: id,
          slips: bounds(count, "slips"),
          silentSeconds: bounds(seconds, "seconds of silence"),
          dropouts: bounds(count, "dropouts"),
        },
        "an expectation: an object",
      ),
      only({ device: id, is: oneOf(DEVICE_STATES), ...window }, "an expectation: an object"),
      only({ link: id, clock: oneOf(LINK_CLOCKS), ...window }, "an expectation: an object"),
    ],
    { error: "an expectation: an object with feed, device or link" },
  ),
  { id: "expectation" },
);
