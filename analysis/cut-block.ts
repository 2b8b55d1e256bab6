import type { SampleBlock } from '../schemas/sample-block.ts';
import { SIGNAL_KEYS } from '../schemas/signals.ts';

/**
 * Cuts a block into parts, which a step takes in with the same result as the whole.
 *
 * @param block - Samples in rising time.
 * @param p.spanMs - Longest time from the first to the last sample of a part, in ms.
 * @param p.atMs - Times at which a part ends: samples up to and at each of them come before those after it.
 */
export function cutBlock(
  block: SampleBlock,
  p: { readonly spanMs: number; readonly atMs: readonly number[] },
): readonly SampleBlock[] {
  const parts: SampleBlock[] = [];
  const { t } = block;
  let from = 0;
  for (let i = 1; i <= t.length; i += 1) {
    const first = t[from] as number;
    const time = t[i];
    if (time !== undefined && time - first < p.spanMs && !p.atMs.some((at) => first <= at && at < time)) continue;
    parts.push(sliceBlock(block, from, i));
    from = i;
  }
  return parts;
}

/** The samples of a block from one position up to, and without, another. */
export function sliceBlock(block: SampleBlock, from: number, to: number): SampleBlock {
  if (from === 0 && to === block.t.length) return block;
  const columns = SIGNAL_KEYS.flatMap((key) => {
    const values = block.signals[key];
    return values === undefined ? [] : [[key, values.slice(from, to)] as const];
  });
  return { ...block, t: block.t.slice(from, to), signals: Object.fromEntries(columns) };
}
