/** Changes to a scenario's text: what is changed is changed, and everything else stands as it was typed. */
import fc from "fast-check";
import { parse, parseTree, visit } from "jsonc-parser";
import { describe, expect, test } from "vitest";
import { setAt } from "../../shared/json-text.ts";
import type { WrittenEvent } from "../../sim/trials/written.ts";
import {
  addEvent,
  copyEvent,
  eventsIn,
  moveEvent,
  removeEvent,
  setEvent,
  setLasting,
  setRunLength,
  setSeed,
} from "../../viewer/room/edits.ts";
import { tries } from "../helpers/laws.ts";

const COMMENTED = `// The whole show.
{
  "format": 1, /* the only one */
  "run": { "length": "01:30:00", "seed": "quay-1" }, // one act
  // What goes wrong:
  "events": [
    // first the desk
    { "at": "00:20:00", "do": "reboot", "device": "foh" }, // act two
    { "at": "00:40:00", "do": "unplug", "link": "main", "forSeconds": 5 }, // the forklift
    // and last
    {
      "at": "01:00:00", // after the interval
      "do": "hang",
      "device": "rec"
    }
  ] // end of events
}
`;
const ONE_LINE = '{"format":1,"run":{"length":"01:00:00"},"events":[{"at":"00:10:00","do":"reboot","device":"a"}]}';
const SPACED =
  '{ "run": { "length": "01:00:00" }, "events": [ { "at": "00:10:00", "do": "cut", "path": "p" }, { "at": "00:20:00", "do": "hang", "device": "a" } ] }';
const TRAILING = `{
  "run": { "length": "01:00:00" },
  "events": [
    { "at": "00:10:00", "do": "cut", "path": "p" }, // one
  ],
}
`;
const EMPTY = '{ "run": { "length": "01:00:00" }, "events": [] }';
const EMPTY_COMMENTED = `{
  "run": { "length": "01:00:00" },
  "events": [
    // nothing yet
  ]
}
`;
const NONE = `{
  "format": 1,
  "run": {
    "length": "01:00:00"
  }
}
`;
const TEXTS = { COMMENTED, ONE_LINE, SPACED, TRAILING, EMPTY, EMPTY_COMMENTED, NONE };

function commentsIn(text: string): readonly string[] {
  const found: string[] = [];
  visit(text, { onComment: (offset, length) => void found.push(text.slice(offset, offset + length)) });
  return found;
}
function readBack(text: string): Record<string, unknown> {
  const errors: never[] = [];
  const value = parse(text, errors, { allowTrailingComma: true });
  expect(errors, text).toEqual([]);
  return value;
}
const NEW: WrittenEvent = { at: "00:30:00", do: "unplug", link: "spare", forSeconds: 5 };

describe.each(Object.entries(TEXTS))("in %s", (_name, text) => {
  test("an added event comes in time order, and every comment stays", () => {
    for (const at of ["00:00:00", "00:15:00", "00:30:00", "02:00:00"]) {
      const event = { ...NEW, at };
      const changed = addEvent(text, event);
      const events = readBack(changed).events as WrittenEvent[];
      expect(events.filter((one) => one.link === "spare")).toEqual([event]);
      expect(events.map((one) => one.at)).toEqual([...events.map((one) => one.at)].sort());
      expect(events.length).toBe(eventsIn(text).length + 1);
      expect(commentsIn(changed)).toEqual(commentsIn(text));
      expect({ ...readBack(changed), events: [] }).toEqual({ ...readBack(text), events: [] });
    }
  });

  test("what is added and taken away again leaves the list as it was", () => {
    const changed = addEvent(text, NEW);
    const at = (eventsIn(changed) as WrittenEvent[]).findIndex((one) => one.link === "spare");
    const back = removeEvent(changed, at);
    expect(eventsIn(back)).toEqual(eventsIn(text));
    expect(commentsIn(back)).toEqual(commentsIn(text));
  });

  test("each event can be moved, copied, changed and taken away alone", () => {
    const before = eventsIn(text) as WrittenEvent[];
    for (const index of before.keys()) {
      const moved = moveEvent(text, index, "00:55:00");
      expect(readBack(moved).events).toEqual(
        before.map((one, at) => (at === index ? { ...one, at: "00:55:00" } : one)),
      );
      expect(commentsIn(moved)).toEqual(commentsIn(text));

      const lasts = setLasting(text, index, 12.5);
      expect(readBack(lasts).events).toEqual(
        before.map((one, at) => (at === index ? { ...one, forSeconds: 12.5 } : one)),
      );
      expect(commentsIn(lasts)).toEqual(commentsIn(text));
      const { forSeconds: _, ...stays } = before[index]!;
      expect(readBack(setLasting(lasts, index, undefined)).events).toEqual(before.toSpliced(index, 1, stays as never));
      expect(commentsIn(setLasting(lasts, index, undefined))).toEqual(commentsIn(text));

      const copied = copyEvent(text, index, "00:56:00");
      expect(readBack(copied).events).toEqual(before.toSpliced(index + 1, 0, { ...before[index]!, at: "00:56:00" }));
      expect(commentsIn(copied).filter((one) => !commentsIn(text).includes(one))).toEqual([]);
      expect(commentsIn(copied).length).toBeGreaterThanOrEqual(commentsIn(text).length);

      const event: WrittenEvent = { at: "00:57:00", do: "power-cut", supply: "a", forSeconds: 3 };
      const set = setEvent(text, index, event);
      expect(readBack(set).events).toEqual(before.toSpliced(index, 1, event));

      const removed = removeEvent(text, index);
      expect(readBack(removed).events).toEqual(before.toSpliced(index, 1));
      const lost = commentsIn(text).filter((one) => !commentsIn(removed).includes(one));
      // Only what was said in it, or behind it on its own line.
      expect(
        lost.every((one) => ["// act two", "// the forklift", "// after the interval", "// one"].includes(one)),
      ).toBe(true);
    }
  });

  test("length and seed", () => {
    const longer = setRunLength(text, "03:00:00");
    expect((readBack(longer).run as { length: string }).length).toBe("03:00:00");
    const seeded = setSeed(text, "quay-9");
    expect((readBack(seeded).run as { seed: string }).seed).toBe("quay-9");
    expect((readBack(setSeed(seeded, null)).run as { seed?: string }).seed).toBeUndefined();
    for (const changed of [longer, seeded, setSeed(seeded, null)])
      expect(commentsIn(changed)).toEqual(commentsIn(text));
    expect(setRunLength(longer, (readBack(text).run as { length: string }).length)).toBe(text);
  });
});

test("an event is written as its neighbours are: a line of its own, or the same line", () => {
  expect(addEvent(COMMENTED, NEW)).toContain(
    '// act two\n    { "at": "00:30:00", "do": "unplug", "link": "spare", "forSeconds": 5 },\n    { "at": "00:40:00"',
  );
  expect(addEvent(SPACED, { at: "00:30:00", do: "hang", device: "b" })).toBe(
    SPACED.replace(" ] }", ', { "at": "00:30:00", "do": "hang", "device": "b" } ] }'),
  );
  expect(addEvent(EMPTY, NEW)).toBe(
    '{ "run": { "length": "01:00:00" }, "events": [{ "at": "00:30:00", "do": "unplug", "link": "spare", "forSeconds": 5 }] }',
  );
  expect(removeEvent(SPACED, 1)).toBe(
    '{ "run": { "length": "01:00:00" }, "events": [ { "at": "00:10:00", "do": "cut", "path": "p" } ] }',
  );
  expect(removeEvent(SPACED, 0)).toBe(
    '{ "run": { "length": "01:00:00" }, "events": [ { "at": "00:20:00", "do": "hang", "device": "a" } ] }',
  );
  expect(setAt(SPACED, ["events", 1, "forSeconds"], 5)).toContain('"device": "a", "forSeconds": 5 }');
  expect(setAt(NONE, ["run", "seed"], "x")).toContain('    "length": "01:00:00",\n    "seed": "x"\n  }');
});

test("a text that is no JSON is not changed by guessing", () => {
  expect(() => addEvent('{ "events": [', NEW)).toThrow("mend it as text");
  expect(() => removeEvent(ONE_LINE, 4)).toThrow("no item 4");
  expect(() => moveEvent(ONE_LINE, 4, "00:00:01")).toThrow("no event 5 of 1");
});

/** Any layout: comments and breaks wherever JSON allows them. */
const GAPS = fc.constantFrom("", " ", "\n", "\n    ", " // c\n", "/* c */", "\r\n  ");
const layout = fc.array(GAPS, { minLength: 40, maxLength: 40 }).map((gaps) => {
  let used = 0;
  const gap = () => gaps[used++ % gaps.length]!;
  const events = ["00:10:00", "00:20:00", "00:30:00"].map(
    (at, index) => `{${gap()}"at"${gap()}:${gap()}"${at}",${gap()}"do":"hang"${gap()},"device":"d${index}"${gap()}}`,
  );
  return `{${gap()}"run":${gap()}{"length":"01:00:00"${gap()}},${gap()}"events":${gap()}[${gap()}${events.join(`${gap()},${gap()}`)}${gap()}]${gap()}}`;
});

test("however it is laid out, a change does what it says and the text goes on being read", () => {
  let commented = 0;
  fc.assert(
    fc.property(layout, fc.nat(2), fc.constantFrom("00:05:00", "00:20:00", "00:59:00"), (text, index, at) => {
      const before = eventsIn(text) as WrittenEvent[];
      expect(before).toHaveLength(3);
      if (commentsIn(text).length > 3) commented += 1;
      const added = addEvent(text, { ...NEW, at });
      expect((readBack(added).events as WrittenEvent[]).filter((one) => one.link !== "spare")).toEqual(before);
      expect(readBack(added).events).toHaveLength(4);
      expect(commentsIn(added)).toEqual(commentsIn(text));
      expect(readBack(removeEvent(text, index)).events).toEqual(before.toSpliced(index, 1));
      const without = setAt(text, ["events", index, "device"], undefined);
      expect((readBack(without).events as WrittenEvent[])[index]).toEqual({ at: before[index]!.at, do: "hang" });
      expect(commentsIn(without)).toEqual(commentsIn(text));
      const set = setAt(text, ["events", index, "forSeconds"], 7);
      expect((readBack(set).events as WrittenEvent[])[index]).toEqual({ ...before[index], forSeconds: 7 });
      expect(commentsIn(set)).toEqual(commentsIn(text));
      expect(parseTree(copyEvent(text, index, at))).toBeDefined();
      expect(readBack(copyEvent(text, index, at)).events).toHaveLength(4);
    }),
    tries(400),
  );
  expect(commented).toBeGreaterThan(100);
});
