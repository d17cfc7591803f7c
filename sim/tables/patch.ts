/** A patch sheet: channel, source, box, socket, desk. Each box and desk together are a feed; its channels are counted. */
import { quote } from "../../shared/issues.ts";
import { type CableBench, unlisted } from "./cables.ts";
import { type Entry, entryAt, fieldOf, setField, textOf, textsOf } from "./entry.ts";
import { freeId } from "./names.ts";
import type { Place } from "./sheet.ts";
import { bare } from "./values.ts";

interface Patched {
  readonly box: string;
  readonly desk: string;
  readonly at: Entry;
  readonly lines: string[];
}

/** Adds feeds for what no feed carries yet, and counts channels where a feed of the table leaves them out. */
export function patchFeeds(rows: readonly Entry[], feeds: Entry[], bench: CableBench): void {
  const pairs = patchedPairs(rows, bench);
  const ids = new Set(feeds.map((feed) => textOf(feed, "id")));
  for (const { box, desk, at, lines } of pairs) {
    const count = lines.length;
    const note = `On the patch sheet, ${box} to ${desk}: ${lines.join("; ")}`;
    const carrying = feeds.filter((feed) => carries(feed, box, desk));
    for (const feed of carrying) {
      const isOpen = fieldOf(feed, "channels") === undefined;
      if (isOpen && textsOf(feed, "through").length === 2) setField(feed, "channels", count);
      else if (!isOpen && channelsFrom(feed, box) !== count)
        feed.notes.push(
          `The patch sheet has ${count} from ${box} to ${desk}; this feed has ${channelsFrom(feed, box)}.`,
        );
    }
    if (carrying.length > 0) {
      carrying[0]?.notes.push(note);
      continue;
    }
    const feed = entryAt(at.at);
    for (const key of ["id", "channels", "through"]) feed.cells.set(key, at.cells.get("box") ?? at.at);
    feed.cells.set("through.1", at.cells.get("desk") ?? at.at);
    const id = freeId(`${box.slice(0, 25)}-to-${desk.slice(0, 25)}`, ids);
    ids.add(id);
    setField(feed, "id", id);
    setField(feed, "through", [box, desk]);
    setField(feed, "channels", count);
    feed.notes.push(
      note,
      "Provisional: the patch sheet ends at the desk. Where does it go from there, and who hears it?",
    );
    feeds.push(feed);
  }
}

function carries(feed: Entry, box: string, desk: string): boolean {
  const through = textsOf(feed, "through");
  return through.some((device, at) => device === box && through[at + 1] === desk);
}

function channelsFrom(feed: Entry, box: string): unknown {
  const channels = fieldOf(feed, "channels");
  return Array.isArray(channels) ? channels[textsOf(feed, "through").indexOf(box)] : channels;
}

function patchedPairs(rows: readonly Entry[], bench: CableBench): Patched[] {
  const pairs = new Map<string, Patched>();
  const sockets = new Map<string, { readonly source: string; readonly desks: Set<string> }>();
  const channels = new Set<string>();
  for (const row of rows) {
    const place = (key: string): Place => row.cells.get(key) ?? row.at;
    const [channel, source, called, socket] = ["channel", "source", "box", "socket"].map((key) => textOf(row, key)) as [
      string,
      string,
      string,
      string,
    ];
    // A line without a box is patched nowhere: a spare channel, or the heading of a group.
    if (called === "") continue;
    const box = bench.names.find(called) ?? unlisted(called, place("box"), bench, "stage-box");
    const desks = textsOf(row, "desk").map(
      (desk) => bench.names.find(desk) ?? unlisted(desk, place("desk"), bench, "desk"),
    );
    if (desks.length === 0) {
      bench.refuse(place("desk"), "the desk that this channel goes to", "nothing", "write its name into a column Desk");
      continue;
    }
    if (socket !== "") {
      const key = `${box} ${bare(socket)}`;
      const before = sockets.get(key) ?? { source, desks: new Set<string>() };
      sockets.set(key, before);
      // One socket may go to several desks, and it is one source then.
      if (bare(before.source) !== bare(source) || desks.some((desk) => before.desks.has(desk)))
        bench.refuse(
          place("socket"),
          `a socket of ${quote(called)} that no other source is in (${quote(before.source)} is in this one)`,
          quote(socket),
          "give one of the two another socket, or take its row away",
        );
      for (const desk of desks) before.desks.add(desk);
    }
    for (const desk of desks) {
      const key = `${desk} ${bare(channel)}`;
      if (channel !== "" && channels.has(key))
        bench.refuse(
          place("channel"),
          `a channel of ${quote(desk)} that no other row has`,
          quote(channel),
          "number one of the two rows anew",
        );
      channels.add(key);
      const pair = pairs.get(`${box} ${desk}`) ?? { box, desk, at: row, lines: [] };
      pairs.set(`${box} ${desk}`, pair);
      const more = row.notes.length === 0 ? "" : ` (${row.notes.join(", ")})`;
      pair.lines.push(`${channel} ${source}${socket === "" ? "" : `, socket ${socket}`}${more}`.trim());
    }
  }
  return [...pairs.values()];
}
