/** Both cursors, what lies between them and the pointer, over the canvas: moved without drawing it anew. */
import { h } from "../dom.ts";
import type { Look } from "../store.ts";

export interface Marks {
  readonly elements: readonly HTMLElement[];
  /** @param pointerSeconds null: the pointer is elsewhere */
  place(look: Look, pointerSeconds: number | null): void;
}

export function createMarks(): Marks {
  const mark = (kind: string) => h("div", { class: `curve-mark ${kind}`, hidden: true });
  const [between, b, a, pointer] = [mark("between-ab"), mark("b"), mark("a"), mark("pointer")];
  const put = (each: HTMLElement, share: number | null) => {
    each.hidden = share === null || !(share >= 0 && share <= 1);
    if (share !== null) each.style.left = `${100 * share}%`;
  };
  return {
    elements: [between, b, a, pointer],
    place({ fromSeconds, toSeconds, cursorSeconds, cursorBSeconds }, pointerSeconds) {
      const shareOf = (seconds: number | null) =>
        seconds === null ? null : (seconds - fromSeconds) / (toSeconds - fromSeconds);
      const [shareA, shareB] = [shareOf(cursorSeconds), shareOf(cursorBSeconds)];
      put(a, shareA);
      put(b, shareB);
      put(pointer, shareOf(pointerSeconds));
      const inside = (share: number | null) => Math.min(Math.max(share ?? 0, 0), 1);
      const [from, to] = [Math.min(inside(shareA), inside(shareB)), Math.max(inside(shareA), inside(shareB))];
      between.hidden = shareB === null || from === to;
      between.style.left = `${100 * from}%`;
      between.style.width = `${100 * (to - from)}%`;
    },
  };
}
