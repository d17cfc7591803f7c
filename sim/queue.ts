/**
 * Who is due first: an indexed binary heap with one slot a machine, over typed arrays.
 *
 * Moving a wake happens in place, so nothing in it is ever stale and its size is the number of machines. Ties fall to
 * the lower slot, and slots are numbered in the order of `inEngineOrder`: the total order needs no second key.
 */
import type { Ns } from "../shared/time.ts";
import { NEVER } from "../shared/time.ts";

export interface Queue {
  /** The slot that is due first; −1 if there are no slots. */
  first(): number;
  firstAtNs(): Ns;
  atNs(slot: number): Ns;
  set(slot: number, atNs: Ns): void;
}

export function makeQueue(slots: number): Queue {
  // Instants stand in the order of the heap, not of the slots: a comparison looks at neighbours.
  const at = new Float64Array(slots).fill(NEVER);
  const heap = new Int32Array(slots); // heap[i]: slot
  const place = new Int32Array(slots); // place[slot]: i
  for (let i = 0; i < slots; i++) {
    heap[i] = i;
    place[i] = i;
  }

  function rise(from: number): void {
    const key = at[from] as number;
    const slot = heap[from] as number;
    let i = from;
    while (i > 0) {
      const parent = (i - 1) >> 1;
      const parentKey = at[parent] as number;
      const above = heap[parent] as number;
      if (parentKey < key || (parentKey === key && above < slot)) break;
      at[i] = parentKey;
      heap[i] = above;
      place[above] = i;
      i = parent;
    }
    at[i] = key;
    heap[i] = slot;
    place[slot] = i;
  }

  function sink(from: number): void {
    const key = at[from] as number;
    const slot = heap[from] as number;
    let i = from;
    for (;;) {
      let child = 2 * i + 1;
      if (child >= slots) break;
      let childKey = at[child] as number;
      const right = child + 1;
      if (right < slots) {
        const rightKey = at[right] as number;
        if (rightKey < childKey || (rightKey === childKey && (heap[right] as number) < (heap[child] as number))) {
          child = right;
          childKey = rightKey;
        }
      }
      const below = heap[child] as number;
      if (key < childKey || (key === childKey && slot < below)) break;
      at[i] = childKey;
      heap[i] = below;
      place[below] = i;
      i = child;
    }
    at[i] = key;
    heap[i] = slot;
    place[slot] = i;
  }

  return {
    first: () => (slots > 0 ? (heap[0] as number) : -1),
    firstAtNs: () => (slots > 0 ? (at[0] as Ns) : NEVER),
    atNs: (slot) => at[place[slot] as number] as Ns,
    set(slot, atNs) {
      const i = place[slot] as number;
      const before = at[i] as number;
      if (before === atNs) return;
      at[i] = atNs;
      if (atNs < before) rise(i);
      else sink(i);
    },
  };
}
