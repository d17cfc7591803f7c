/** What the map shows and says at the cursor: only what differs from before is drawn or put into words anew. */
import { h } from "../dom.ts";
import type { PageContext } from "../page.ts";
import type { Mark } from "../room/changed.ts";
import { PLAN_WORDS } from "../views/plan-mark.ts";
import { clockReader } from "./clocks.ts";
import type { MapDrawing } from "./drawing.ts";
import type { LinkMoment, Moment, Moments } from "./moments.ts";
import { deviceSaid, linkSaid, type Said, sentence, summaryWords, testedSentence, timeIn } from "./words.ts";

export interface MapTelling {
  /** One sentence for the whole, above the map. */
  readonly summary: HTMLElement;
  /** By "device foh" and "link main". */
  readonly said: ReadonlyMap<string, Said>;
  update(drawing: MapDrawing): void;
  /** Everything is drawn anew: nothing of before holds. */
  forget(): void;
  /** It is another plan that this one is compared with. */
  remark(): void;
  /** @param key "device foh" or "link main" */
  markOf(key: string): Mark | null;
  hasMarks(): boolean;
}

export function mapTelling({ run, lanes, store, room }: PageContext, moments: Moments): MapTelling {
  const { plan } = run;
  let marks = room.changed.marks(plan);
  const clocks = clockReader(run);
  const links = new Map(plan.links.map((link) => [link.id, link]));
  const tested = testedSentence(plan);
  const summary = h("p", { class: "when" });
  const said = new Map<string, Said>();
  const told = new Map<string, readonly unknown[]>();

  /** Words cost more than all else, and most stay as they are from one move of the cursor to the next. */
  const isNews = (key: string, { stretch, beside, lines }: Moment, clock: string): boolean => {
    const facts = [stretch, clock, ...beside, ...lines];
    const before = told.get(key);
    if (before?.length === facts.length && facts.every((fact, index) => fact === before[index])) return false;
    told.set(key, facts);
    return true;
  };
  const heard = (key: string, words: Said): string => {
    const mark = marks.get(key);
    const all = { ...words, plan: mark === undefined ? "" : PLAN_WORDS[mark] };
    said.set(key, all);
    return sentence(all);
  };

  return {
    summary,
    said,
    forget: () => told.clear(),
    remark() {
      marks = room.changed.marks(plan);
      told.clear();
    },
    markOf: (key) => marks.get(key) ?? null,
    hasMarks: () => marks.size > 0,
    update({ devices, wires, domains }) {
      const { lengthSeconds } = store;
      const { cursorSeconds } = store.look();
      const following = lanes.followers.at(cursorSeconds);
      const linkMoments = new Map<string, LinkMoment>();
      for (const { id } of plan.links) {
        const moment = moments.link(id, cursorSeconds);
        if (moment !== undefined) linkMoments.set(id, moment);
      }
      const now = clocks.at(cursorSeconds, following, (link, out) => moments.carries(link, out, cursorSeconds));
      for (const [id, device] of devices()) {
        const moment = moments.device(id, cursorSeconds);
        device.show(moment);
        const standing = following.standings.get(id);
        if (moment !== undefined && isNews(`device ${id}`, moment, `${standing?.upstream?.id} ${standing?.source}`))
          device.say(heard(`device ${id}`, deviceSaid(moment, following, lengthSeconds)));
      }
      for (const wire of wires) {
        const { id } = wire;
        const moment = linkMoments.get(id);
        const clockAt = { a: now.arrivals.has(`${id} a`), b: now.arrivals.has(`${id} b`) };
        wire.show(moment, clockAt);
        if (moment !== undefined && isNews(`link ${id}`, moment, `${clockAt.a} ${clockAt.b}`))
          wire.say(heard(`link ${id}`, linkSaid(plan, links.get(id)!, moment, now, lengthSeconds)));
      }
      domains.show(now.domains);
      const rig = summaryWords(following, now, [...linkMoments.values()]);
      summary.textContent = `At ${timeIn(lengthSeconds, cursorSeconds)}: ${rig}${tested === "" ? "" : ` ${tested}`}`;
    },
  };
}
