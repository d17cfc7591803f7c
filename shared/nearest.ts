/** The known word that a mistyped one was probably meant to be. */

/** Comparing long lists of long words takes time that nobody waits for. */
const CANDIDATES = 400;
const LETTERS = 40;

/**
 * The nearest of `known` within a third of the word's length in edits (case counts as nothing), or null. Ties go to the
 * earlier one.
 */
export function nearest(word: string, known: Iterable<string>): string | null {
  if (word.length > LETTERS) return null;
  const wanted = word.toLowerCase();
  let best: string | null = null;
  let bestDistance = Math.max(1, Math.floor(word.length / 3)) + 1;
  let seen = 0;
  for (const candidate of known) {
    if (++seen > CANDIDATES) break;
    if (candidate.length > LETTERS || Math.abs(candidate.length - word.length) >= bestDistance) continue;
    const distance = editDistance(wanted, candidate.toLowerCase(), bestDistance);
    if (distance < bestDistance) {
      best = candidate;
      bestDistance = distance;
    }
  }
  return best;
}

/** Damerau-Levenshtein distance (optimal string alignment): insert, delete, change, swap neighbours. `enough` ends it. */
function editDistance(a: string, b: string, enough: number): number {
  let beforeLast: number[] = [];
  let last = Array.from({ length: b.length + 1 }, (_, j) => j);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const change = at(last, j - 1) + (a[i - 1] === b[j - 1] ? 0 : 1);
      let best = Math.min(change, at(last, j) + 1, at(row, j - 1) + 1);
      if (i > 1 && j > 1 && a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1])
        best = Math.min(best, at(beforeLast, j - 2) + 1);
      row.push(best);
    }
    // No later row can be nearer than the nearer of two that follow each other.
    if (Math.min(...row) >= enough && Math.min(...last) >= enough) return enough;
    beforeLast = last;
    last = row;
  }
  return at(last, b.length);
}

function at(row: readonly number[], index: number): number {
  return row[index] as number;
}
