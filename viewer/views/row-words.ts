/** What each lane is at the cursor, in words at the end of its row. */

import { stretchAt } from "../../sim/lanes/follow.ts";
import type { Lane, Stretch } from "../../sim/lanes/lane.ts";
import { h } from "../dom.ts";
import { paceOf } from "../pace.ts";
import { showSign, signIcon } from "./sign.ts";

/** While the cursor goes on, words are drawn so many rows a frame, in turns: each of a full screen some times a second. */
const WORDS_A_FRAME = 2;

export interface SpokenRow {
  readonly lane: Lane;
  readonly words: HTMLElement;
  /** On the screen itself: what is only near waits while cursor or window move. */
  isSeen: boolean;
  /** What its words say; null: nothing yet. */
  said: readonly Stretch[] | null;
}

export interface RowWords {
  /** The cursor is elsewhere. */
  changed(isMoving: boolean): void;
  sayAll(): void;
}

export function rowWords(rows: readonly SpokenRow[], place: Element, cursorSeconds: () => number): RowWords {
  /** Whether there was something new to say. */
  const say = (row: SpokenRow): boolean => {
    const seconds = cursorSeconds();
    const stretch = stretchAt(row.lane.stretches, seconds);
    const now = [...(stretch === undefined ? [] : [stretch]), ...besideAt(row.lane, seconds)];
    if (row.said?.length === now.length && now.every((each, index) => each === row.said?.[index])) return false;
    row.said = now;
    speak(row.words, now);
    return true;
  };
  const sayAll = () => {
    for (const row of rows) if (row.words.isConnected) say(row);
  };
  const pace = paceOf(place, Number.POSITIVE_INFINITY, sayAll);
  let turn = 0;
  let turning = 0;
  const sayNext = () => {
    turning = 0;
    let count = 0;
    for (let looked = 0; looked < rows.length && count < WORDS_A_FRAME; looked++) {
      turn = (turn + 1) % rows.length;
      const row = rows[turn]!;
      if (row.isSeen && say(row)) count += 1;
    }
    if (count > 0) sayInTurns();
  };
  const sayInTurns = () => {
    if (turning === 0) turning = requestAnimationFrame(sayNext);
  };
  return {
    sayAll,
    changed(isMoving) {
      pace.changed(isMoving);
      if (isMoving) sayInTurns();
    },
  };
}

/** What holds beside the state of a lane. */
export function besideAt({ strips, lines }: Lane, seconds: number): readonly Stretch[] {
  const ofLines = lines.flatMap((line) => stretchAt(line, seconds) ?? []);
  return [...strips, ...ofLines].filter((each) => covers(each, seconds));
}

function speak(words: HTMLElement, facts: readonly Stretch[]): void {
  // What matters most stands first: a narrow page shows no more than that.
  const inOrder = facts.toSorted((one, other) => other.look.concern - one.look.concern);
  while (words.childElementCount > facts.length) words.lastElementChild?.remove();
  for (const [place, { key, look, says }] of inOrder.entries()) {
    const name = look.concern === 0 ? "spoken calm" : "spoken";
    const fact = words.children[place];
    if (fact === undefined) {
      words.append(h("span", { class: name }, signIcon(key, look), h("span", {}, says)));
      continue;
    }
    // What stands there changes: a new sign would make the browser put its layers together anew.
    const [icon, text] = fact.children as unknown as [SVGSVGElement, HTMLElement];
    fact.className = name;
    showSign(icon, key, look);
    text.textContent = says;
  }
}

function covers({ fromSeconds, toSeconds }: Stretch, seconds: number): boolean {
  return fromSeconds <= seconds && seconds < toSeconds;
}
