/**
 * The yardstick of the engine: the hold model on a binary heap of three typed arrays (time, sequence number, id), first
 * in, first out at one time, and nothing around it. One loop with everything in place, because a call that returns a
 * number costs more than a level of the heap: as bare as a queue of events can be.
 */

/**
 * Takes the earliest, puts it back later by the next increment, until the time is over; `pending` are in it all along.
 * The length of the increments is a power of two. Returns how many were taken.
 */
export function holdOnBareHeap(pending: number, until: number, increments: Float64Array): number {
  const times = new Float64Array(pending);
  const sequence = new Uint32Array(pending);
  const ids = new Int32Array(pending);
  const mask = increments.length - 1;
  let size = 0;
  let pushed = 0;
  let taken = 0;
  let id = 0;
  let now = 0;
  for (;;) {
    // Push, up from the last place. Equal times: what is there was pushed earlier.
    const later = now + increments[pushed & mask]!;
    let i = size;
    size += 1;
    while (i > 0) {
      const parent = (i - 1) >> 1;
      if (times[parent]! <= later) break;
      times[i] = times[parent]!;
      sequence[i] = sequence[parent]!;
      ids[i] = ids[parent]!;
      i = parent;
    }
    times[i] = later;
    sequence[i] = pushed;
    ids[i] = id;
    pushed += 1;
    if (pushed < pending) {
      id = pushed;
      continue;
    }

    // Pop: the last comes to the top and goes down.
    now = times[0]!;
    if (now > until) return taken;
    taken += 1;
    id = ids[0]!;
    size -= 1;
    const time = times[size]!;
    const order = sequence[size]!;
    const last = ids[size]!;
    i = 0;
    for (;;) {
      let child = 2 * i + 1;
      if (child >= size) break;
      const right = child + 1;
      if (
        right < size &&
        (times[right]! < times[child]! || (times[right]! === times[child]! && sequence[right]! < sequence[child]!))
      ) {
        child = right;
      }
      if (time < times[child]! || (time === times[child]! && order < sequence[child]!)) break;
      times[i] = times[child]!;
      sequence[i] = sequence[child]!;
      ids[i] = ids[child]!;
      i = child;
    }
    times[i] = time;
    sequence[i] = order;
    ids[i] = last;
  }
}
