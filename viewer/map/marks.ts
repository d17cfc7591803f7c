/** What is marked on the map: the chosen thing, the cables of a chosen feed, all that a chosen finding is about. */
import type { PageContext } from "../page.ts";
import type { MapDrawing } from "./drawing.ts";

export interface MapMarks {
  /** "device foh", "link main"; null: nothing on the map is chosen. */
  chosen(): string | null;
  /** @param focused what has the focus, else null */
  update(focused: string | null): void;
  /** Everything is drawn anew, without a mark. */
  forget(): void;
}

export function mapMarks(
  { run, lanes, store }: PageContext,
  { elements }: Pick<MapDrawing, "elements">,
  first: string,
): MapMarks {
  const { plan, summary } = run;
  let marked: readonly string[] = [];
  let markedFor = "";

  const chosen = (): string | null => {
    const { lane } = store.look();
    const found = lanes.all.find(({ key }) => key === lane);
    if (found === undefined) return null;
    const key = `${found.kind === "stream" ? "link" : found.kind} ${found.id}`;
    return elements.has(key) ? key : null;
  };
  const feedCables = (): readonly string[] => {
    const { lane } = store.look();
    const feed = lane?.startsWith("feed ") ? plan.feeds.find(({ id }) => `feed ${id}` === lane) : undefined;
    return feed?.hops.flatMap(({ over }) => over.map(({ link }) => `link ${link}`)) ?? [];
  };
  const foundIn = (): readonly string[] => {
    const { finding } = store.look();
    const about = finding === null ? undefined : summary.findings[finding];
    if (about === undefined) return [];
    return [...about.devices.map((id) => `device ${id}`), ...about.links.map((id) => `link ${id}`)];
  };
  const put = (keys: readonly string[], name: string) => {
    for (const key of keys) elements.get(key)?.classList.add(name);
  };

  return {
    chosen,
    forget() {
      markedFor = "";
    },
    update(focused) {
      const { lane, finding } = store.look();
      const key = `${lane} ${finding} ${focused}`;
      if (key === markedFor) return;
      markedFor = key;
      const [now, onFeed, found] = [chosen(), feedCables(), foundIn()];
      for (const key of marked) elements.get(key)?.classList.remove("chosen", "on-feed", "found");
      put(onFeed, "on-feed");
      put(found, "found");
      if (now !== null) put([now], "chosen");
      marked = [...onFeed, ...found, ...(now === null ? [] : [now])];
      // One stop for the Tab key; from there on the arrow keys walk.
      const stop = focused ?? now ?? first;
      for (const [key, element] of elements) {
        set(element, "tabindex", key === stop ? "0" : "-1");
        set(element, "aria-pressed", String(key === now));
      }
    },
  };
}

function set(element: Element, name: string, value: string): void {
  if (element.getAttribute(name) !== value) element.setAttribute(name, value);
}
