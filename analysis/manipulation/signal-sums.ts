import type { SignalSummary } from '../../schemas/operating-point.ts';

/**
 * Running sums of one signal over a window, about its first value so that large means lose no digits:
 * [first value, sum of differences, sum of their squares, count, smallest, largest].
 */
export type SignalSums = readonly [number, number, number, number, number, number];

/**
 * Adds a stretch of a column to the sums of a signal.
 *
 * @param sums - Sums so far, or `undefined` for the first stretch.
 * @param p.values - The column; `null` entries are passed over.
 * @param p.from - First index.
 * @param p.to - Index after the last.
 * @returns New sums, or `sums` itself when the stretch holds no value.
 */
export function addToSums(
  sums: SignalSums | undefined,
  p: { readonly values: readonly (number | null)[]; readonly from: number; readonly to: number },
): SignalSums | undefined {
  let [first, sum, squares, count, smallest, largest] = sums ?? [
    0,
    0,
    0,
    0,
    Number.POSITIVE_INFINITY,
    Number.NEGATIVE_INFINITY,
  ];
  for (let i = p.from; i < p.to; i += 1) {
    const value = p.values[i];
    if (value === null || value === undefined) continue;
    if (count === 0) first = value;
    const difference = value - first;
    sum += difference;
    squares += difference * difference;
    count += 1;
    if (value < smallest) smallest = value;
    if (value > largest) largest = value;
  }
  return count === 0 ? sums : [first, sum, squares, count, smallest, largest];
}

/**
 * Mean and spread of a window. From five values on the smallest and the largest are left out of the mean, so that one
 * wild value cannot move it, while values of a coarse sensor (2 kPa steps) still average finer than a median would.
 *
 * @param sums - Sums of at least one value.
 * @returns Trimmed mean, standard deviation (n - 1) of all values, and their count.
 */
export function summarise(sums: SignalSums): SignalSummary {
  const [first, sum, squares, count, smallest, largest] = sums;
  const mean = count >= 5 ? first + (sum - (smallest - first) - (largest - first)) / (count - 2) : first + sum / count;
  const variance = count > 1 ? Math.max(0, (squares - (sum * sum) / count) / (count - 1)) : 0;
  return { mean, sd: Math.sqrt(variance), count };
}
