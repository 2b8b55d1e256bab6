/**
 * The known word that a mistyped one most likely stands for.
 *
 * @param p.word - As it was written; compared without regard to case, hyphens and underscores.
 * @param p.known - The words that would have been right.
 * @returns The closest of them, or `undefined` when none is close enough to be worth suggesting: more than a third of
 *   the letters would have to change.
 * @example closestWord({ word: 'ratedPowerKW', known: ['ratedPowerKw', 'ratedSpeedRpm'] }) // => 'ratedPowerKw'
 */
export function closestWord(p: { word: string; known: readonly string[] }): string | undefined {
  const word = plain(p.word);
  let best: string | undefined;
  let bestEdits = Math.max(1, Math.floor(word.length / 3)) + 1;
  for (const candidate of p.known) {
    const edits = editCount({ from: word, to: plain(candidate) });
    if (edits < bestEdits) {
      best = candidate;
      bestEdits = edits;
    }
  }
  return best;
}

function plain(text: string): string {
  return text.toLowerCase().replaceAll(/[-_\s]/g, '');
}

/** Insertions, deletions, substitutions and swaps of neighbouring letters between two texts, one row of the table at a time. */
function editCount(p: { from: string; to: string }): number {
  let beforePrevious: number[] = [];
  let previous = Array.from({ length: p.to.length + 1 }, (_, index) => index);
  for (let i = 1; i <= p.from.length; i += 1) {
    const row = [i];
    for (let j = 1; j <= p.to.length; j += 1) {
      const substituted = (previous[j - 1] ?? 0) + (p.from[i - 1] === p.to[j - 1] ? 0 : 1);
      let edits = Math.min(substituted, (previous[j] ?? 0) + 1, (row[j - 1] ?? 0) + 1);
      const swapped = i > 1 && j > 1 && p.from[i - 1] === p.to[j - 2] && p.from[i - 2] === p.to[j - 1];
      if (swapped) edits = Math.min(edits, (beforePrevious[j - 2] ?? 0) + 1);
      row.push(edits);
    }
    beforePrevious = previous;
    previous = row;
  }
  return previous[p.to.length] ?? 0;
}
