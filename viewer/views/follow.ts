/** Who follows whom at the cursor: an ordered list in words, followers under the one they listen to. */
import { DEVICE_LOOKS } from "../../shared/states.ts";
import { type Following, rootOf, type Standing } from "../../sim/lanes/follow.ts";
import { networkBehind } from "../../sim/tell/picture.ts";
import { source } from "../../sim/tell/words.ts";
import { h, name, part } from "../dom.ts";
import { paceOf, READ_MS } from "../pace.ts";
import { BASE_CHANGED, type PageContext } from "../page.ts";
import { decimalsFor, fineTime } from "../show-time.ts";
import { NARROW } from "./narrow.ts";
import { planMark } from "./plan-mark.ts";
import { signIcon } from "./sign.ts";

/** Beyond this many the list is folded, so that the lanes stay near the top. */
const SHOWN_AT_ONCE = { wide: 30, narrow: 12 } as const;

export function followPart(context: PageContext): HTMLElement {
  const { store, lanes } = context;
  const when = h("p", { class: "when" });
  const list = h("div", { class: "follow" });
  const matter = part("follow", "Who follows whom", when, list);
  let drawn = "";
  const update = () => {
    const { cursorSeconds, fromSeconds, toSeconds } = store.look();
    const time = fineTime(cursorSeconds, decimalsFor(toSeconds - fromSeconds));
    when.replaceChildren("At ", h("strong", { class: "time" }, time), ", where the cursor is in the lanes below.");
    const following = lanes.followers.at(cursorSeconds);
    const now = [...following.standings.values()].map((s) => `${s.device.id} ${s.state} ${s.source} ${s.clockSources}`);
    const key = `${now.join("|")} ${following.leader}`;
    if (key === drawn) return;
    drawn = key;
    list.replaceChildren(...draw(context, following));
  };
  const pace = paceOf(matter, READ_MS, update);
  store.subscribe((_, isMoving) => pace.changed(isMoving));
  addEventListener(BASE_CHANGED, () => {
    drawn = "";
    update();
  });
  update();
  return matter;
}

function draw(context: PageContext, following: Following): readonly Node[] {
  const { standings, leader } = following;
  if (standings.size === 0) return [h("p", { class: "none" }, "No devices in this rig.")];
  const below = new Map<string, Standing[]>();
  const roots: Standing[] = [];
  const inRing: Standing[] = [];
  for (const { id } of context.run.summary.devices) {
    const standing = standings.get(id);
    if (standing === undefined) continue;
    const { device, upstream } = standing;
    if (rootOf(standings, device.id) === null) inRing.push(standing);
    else if (upstream === null) roots.push(standing);
    else below.set(upstream.id, [...(below.get(upstream.id) ?? []), standing]);
  }
  roots.sort(
    (one, other) =>
      Number(other.device.id === leader) - Number(one.device.id === leader) ||
      (below.get(other.device.id)?.length ?? 0) - (below.get(one.device.id)?.length ?? 0),
  );

  const item = (standing: Standing): HTMLElement => {
    const followers = below.get(standing.device.id) ?? [];
    return h(
      "li",
      {},
      line(context, standing, standing.device.id === leader),
      followers.length === 0 ? null : h("ol", {}, ...followers.map(item)),
    );
  };
  const parts: Node[] = [];
  if (leader === null)
    parts.push(h("p", { class: "nobody" }, `Nobody leads${context.lanes.isLed ? " as planned at this instant" : ""}.`));
  const list = (items: readonly Standing[]) => h("ol", { class: "tree" }, ...items.map(item));
  const rows = h("div", {}, list(roots));
  if (inRing.length > 0) {
    rows.append(
      h("p", { class: "nobody" }, "In a ring of sources: each follows the next, and nobody leads them."),
      h("ol", { class: "tree" }, ...inRing.map((standing) => h("li", {}, line(context, standing, false)))),
    );
  }
  if (standings.size <= (NARROW.matches ? SHOWN_AT_ONCE.narrow : SHOWN_AT_ONCE.wide)) parts.push(rows);
  else {
    const more = h("details", {}, h("summary", {}, `All ${standings.size} devices`), rows);
    const root = leader === null ? undefined : standings.get(leader);
    if (root !== undefined) {
      const count = [...standings.keys()].filter((id) => id !== leader && rootOf(standings, id) === leader).length;
      parts.push(
        h("ol", { class: "tree" }, h("li", {}, line(context, root, true))),
        h("p", { class: "nobody" }, `${count} of ${standings.size - 1} others follow it, at first or second hand.`),
      );
    }
    parts.push(more);
  }
  return parts;
}

function line(context: PageContext, standing: Standing, leads: boolean): HTMLElement {
  const { device, state } = standing;
  const rank = standing.source === null ? 0 : standing.clockSources.indexOf(standing.source);
  const key = leads ? "leading" : state === "locked" && rank > 0 ? "locked-later" : state;
  const look = DEVICE_LOOKS[key];
  const who = h("strong", { class: "who" }, name(device.name));
  const mark = context.room.changed.marks(context.run.plan).get(`device ${device.id}`);
  return h(
    "div",
    { class: "line" },
    signIcon(`device-${key}`, look),
    h("span", {}, who, " ", ...words(context, standing, leads), ...(mark === undefined ? [] : [planMark(mark, true)])),
  );
}

function words(context: PageContext, standing: Standing, leads: boolean): readonly (Node | string)[] {
  const { device, state, source: current, clockSources } = standing;
  const { cursorSeconds } = context.store.look();
  if (leads) return ["leads, on its own clock"];
  if (state === "off") return ["is off"];
  if (state === "starting") return ["is booting"];
  const entry = (from: string): Node => {
    const behind = from === "internal" ? null : context.lanes.followers.behind(device.id, from, cursorSeconds);
    const text = h("span", { class: from === current ? "current" : "waiting" }, source(from));
    const network = networkBehind(context.run.plan, device.id, from);
    if (network !== null) text.append(" (", name(network.name), ")");
    if (behind !== null) text.append(", ", name(behind.name));
    return text;
  };
  const rest = (entries: readonly string[], first: string) =>
    entries.flatMap((from, index) => [index === 0 ? first : ", then ", entry(from)]);
  if (state === "holdover") return ["coasts (holdover)", ...rest(clockSources, "; it is set to listen to ")];
  if (state === "free-run") {
    const others = clockSources.filter((from) => from !== "internal");
    return ["is on its own clock", ...rest(others, "; it is set to listen to ")];
  }
  const verb = state === "acquiring" ? "is pulling in to " : "listens to ";
  const rank = current === null ? -1 : clockSources.indexOf(current);
  return [
    verb,
    current === null ? "nothing" : entry(current),
    ...rest(clockSources.slice(rank + 1), ", then "),
    ...rest(clockSources.slice(0, Math.max(rank, 0)), "; first choice: "),
  ];
}
