/**
 * Edits between two words: a letter put in, left out, changed, or swapped with its neighbour (optimal string alignment).
 */
function edits(one: string, other: string): number {
  let before: number[] = [];
  let last = Array.from({ length: other.length + 1 }, (_, column) => column);
  for (let row = 1; row <= one.length; row++) {
    const next = [row];
    for (let column = 1; column <= other.length; column++) {
      const same = one[row - 1] === other[column - 1];
      let least = Math.min(last[column]! + 1, next[column - 1]! + 1, last[column - 1]! + (same ? 0 : 1));
      const swapped = row > 1 && column > 1 && one[row - 1] === other[column - 2] && one[row - 2] === other[column - 1];
      if (swapped) least = Math.min(least, before[column - 2]! + 1);
      next.push(least);
    }
    before = last;
    last = next;
  }
  return last[other.length]!;
}

/** Words longer than this are not compared: nobody types them by a slip. */
const LONGEST = 64;

/**
 * The known word that a misspelt one most likely stands for: at most one edit in three letters, capitals aside; the first
 * of equals. `undefined` where none is near enough to be worth saying.
 */
export function nearest(word: string, known: Iterable<string>): string | undefined {
  if (word.length > LONGEST) return undefined;
  const wanted = word.toLowerCase();
  let best: string | undefined;
  let fewest = Math.max(1, Math.floor(wanted.length / 3)) + 1;
  for (const each of known) {
    if (each.length > LONGEST || Math.abs(each.length - wanted.length) >= fewest) continue;
    const needed = edits(wanted, each.toLowerCase());
    if (needed < fewest) {
      fewest = needed;
      best = each;
    }
  }
  return best;
}
